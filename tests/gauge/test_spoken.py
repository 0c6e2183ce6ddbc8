"""A study entered by voice, keypad and file at once; what the ear hears is played by the test."""

from __future__ import annotations

import os
import pty
import signal
import subprocess
import sys
import time

import pytest
from click.testing import CliRunner

from benchterm.cli import cli
from benchterm.config import Voice as Wanted
from benchterm.gauge import options
from benchterm.gauge.given import Given, Wish
from benchterm.gauge.sheet import load
from benchterm.gauge.spoken import WAITS, Voice, reply
from benchterm.locations import grammar_file
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import fill
from benchterm.voice.talk import Talk
from benchterm.voice.wire import Problem, Uttered, says

GRAMMAR = Grammar.load(grammar_file("en"))
NAMES = ("--piece", "1", "--piece", "2", "--operator", "Ada", "--operator", "Ben", "--trials", "2")


def uttered(words, decision="sure"):
    meanings = GRAMMAR.parse(words.split()).meanings
    times = dict.fromkeys(("begin_s", "end_s", "closed_s", "decode_s", "behind_s"), 0.0)
    return Uttered(
        words=words if meanings else "",
        says=says(fill(meanings[0])) if meanings else None,
        decision=decision,
        why="" if meanings else "not understood",
        confidence=0.9,
        scores={},
        others=(),
        goes_on=False,
        speech_db=-20.0,
        noise_db=-50.0,
        **times,
    )


HEARD = Given(22.5, "twenty two point five")


@pytest.mark.parametrize(
    ("words", "decision", "asked", "answer", "still_asked"),
    [
        ("twenty two point five", "sure", None, HEARD, None),
        ("twenty two point five", "ask", None, None, HEARD),
        ("twenty two point five", "reject", None, None, None),
        ("yes", "sure", HEARD, HEARD, None),
        ("yes", "ask", HEARD, None, HEARD),
        ("yes", "sure", None, None, None),
        ("no", "ask", HEARD, None, None),
        ("far twenty two point five", "sure", None, None, None),
        ("three clicks", "sure", None, None, None),
        ("undo that", "sure", None, Wish.BACK, None),
        ("undo that", "ask", None, None, None),
        ("close the session", "sure", None, Wish.STOP, None),
        ("repeat", "sure", HEARD, None, HEARD),
    ],
)
def test_what_becomes_of_what_is_heard(words, decision, asked, answer, still_asked):
    found = reply(uttered(words, decision), asked)
    assert (found.answer, found.asked) == (answer, still_asked)


class Puppet(Talk):
    """A talk without its processes: hears one phrase each time a value is asked for."""

    def __init__(self, script):
        super().__init__(Wanted(), GRAMMAR, "en", None)
        self.script = list(script)
        self.said = []
        self.stopped = False
        self.mouth.say = self._said

    def start(self, wake):
        self._wake = wake

    def stop(self):
        self.stopped = True

    def _said(self, tone="", text="", _language="en"):
        self.said.append((tone, text))
        asks = text.startswith("trial") or tone in ("ask", "refused")
        if asks and self.script:
            news = self.script.pop(0)
            self._put(news if isinstance(news, Problem) else uttered(*news))


@pytest.fixture
def study(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    sheet = tmp_path / "study.csv"

    def run(script, keys=None):
        talk = Puppet(script)
        monkeypatch.setattr("benchterm.gauge.judging.voice_of", lambda **_: Voice(talk, GRAMMAR))
        words = ["gauge", "study", "--sheet", str(sheet), *NAMES]
        result = CliRunner().invoke(cli, words, input=keys)
        assert result.exit_code == 0, result.output
        assert talk.stopped
        return (
            talk,
            result.output,
            [entry for _, entry in load(sheet) if entry] if sheet.exists() else [],
        )

    return run


def test_values_said_are_on_disk_and_read_back(study):
    script = [
        ("fifteen",),
        ("fifty", "ask"),
        ("sixteen", "ask"),
        ("yes",),
        ("undo that",),
        ("seventeen point five",),
        ("what a noise",),
        ("close the session",),
    ]
    talk, shown, entries = study(script)
    assert [entry.n_cm for entry in entries] == [15, 17.5]
    assert entries[1].heard == "seventeen point five"
    assert ("taken", "one five, fifteen") in talk.said
    assert ("ask", "five zero, fifty?") in talk.said
    assert ("undone" in text for _, text in talk.said)
    assert "6 readings are still wanted" in shown
    assert talk.microphone._waits == WAITS


def test_the_prompt_says_trial_operator_and_piece(study):
    talk, shown, _ = study([("repeat",), ("close the session",)])
    prompts = [text for _, text in talk.said if text.startswith("trial 1, Ada, piece")]
    assert len(prompts) == 2
    assert prompts[0] in shown


def test_without_a_microphone_it_says_so_and_goes_on_by_keypad(study):
    gone = Problem("no microphone", "No microphone is there.", "The keypad does everything.")
    _, shown, entries = study([gone], keys="20.1\n20,2\n.\n")
    assert "The keypad does everything." in shown
    assert [entry.n_cm for entry in entries] == [20.1, 20.2]


def test_killed_at_any_prompt_what_was_shown_as_taken_is_on_disk(tmp_path):
    sheet = tmp_path / "study.csv"
    command = (sys.executable, "-m", "benchterm", "gauge", "study", "--sheet", str(sheet))
    near, far = pty.openpty()
    running = subprocess.Popen(
        [*command, *NAMES, "--no-voice"],
        stdin=far,
        stdout=far,
        env=os.environ | {"BENCHTERM_HOME": str(tmp_path)},
    )
    os.close(far)
    os.write(near, b"20.1\n20.2\n20.3\n")
    seen, deadline = b"", time.monotonic() + 20
    while b"20.30 N/cm" not in seen:
        assert time.monotonic() < deadline, seen
        seen += os.read(near, 4096)
    running.send_signal(signal.SIGKILL)
    running.wait()
    os.close(near)
    assert [entry.n_cm for _, entry in load(sheet) if entry] == [20.1, 20.2, 20.3]
    result = CliRunner().invoke(cli, ["gauge", "study", "--sheet", str(sheet)], input="1\n.\n")
    assert "4 readings are still wanted" in result.output


def test_it_is_not_listened_to_where_nobody_sits(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    assert options.voice_of(wanted=None) is None
    assert options.voice_of(wanted=False) is None
    assert options.voice_of(wanted=True) is not None
