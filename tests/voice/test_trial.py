"""``benchterm voice``, ``voice try`` and ``say``."""

from __future__ import annotations

import builtins
from pathlib import Path
from typing import Any, Self

import msgspec
import pytest
from click.testing import CliRunner
from voice.test_wire import uttered

from benchterm.cli import cli
from benchterm.config import Settings, Voice
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import fill
from benchterm.voice import inspection, listening
from benchterm.voice.inspection import inspect
from benchterm.voice.portaudio import Device, NoSound
from benchterm.voice.trial import Try, advice, phrases, tried
from benchterm.voice.wire import Uttered


def heard(english: Grammar, words: str, **more: Any) -> Uttered:
    meanings = english.parse(words.split()).meanings
    one = uttered(fill(meanings[0]) if meanings else None, words)
    given = {"confidence": 0.97, "speech_db": -20.0, "noise_db": -50.0} | more
    return msgspec.structs.replace(one, **given)


@pytest.mark.parametrize(
    ("wanted", "words", "decision", "mark"),
    [
        ("far twenty two point five", "far two two point five", "sure", "●"),
        ("far twenty two point five", "far twenty two point five", "ask", "◐"),
        ("far twenty two point five", "far twenty three point five", "sure", "■"),
        ("far twenty two point five", "mumble", "reject", "■"),
    ],
)
def test_what_was_heard_is_compared_by_meaning(english, wanted, words, decision, mark):
    one = tried(wanted, heard(english, words, decision=decision), english)
    assert one.line.startswith(mark)
    assert one.right is (mark in "●◐")


def test_nothing_heard(english):
    assert tried("mark", None, english).line == "○ nothing was heard"


@pytest.mark.parametrize(
    ("levels", "said"),
    [
        ({}, "This place and this microphone will do."),
        ({"noise_db": -30.0}, "The shop is loud: your voice stands only 10 dB above it."),
        ({"speech_db": -1.0}, "too loud for the microphone"),
        ({"speech_db": -50.0, "noise_db": -80.0}, "Your voice is faint"),
    ],
)
def test_advice_about_the_place(english, levels, said):
    tries = [tried("mark", heard(english, "mark", **levels), english)] * 3
    assert said in " ".join(advice(tries))


def test_advice_counts_what_was_taken_asked_and_wrong(english):
    tries = [
        tried("mark", heard(english, "mark"), english),
        tried("mark", heard(english, "mark", decision="ask"), english),
        tried("mark", heard(english, "yes"), english),
        tried("mark", None, english),
    ]
    first, *more = advice(tries)
    assert first == "1 of 4 taken at once, 1 rightly asked back, 1 taken wrong."
    assert any("undo" in line for line in more)
    assert any("Nothing was heard" in line for line in advice([Try("mark", None, right=False)]))


def test_phrases_can_be_said_and_close_nothing(english):
    asked = phrases(english, 40)
    assert len(asked) >= 10
    for words in asked:
        assert english.parse(words.split()).meanings
        assert not {"mute", "close"} & set(words.split())


# What is there.


def found(monkeypatch: pytest.MonkeyPatch, voice: Voice, devices: Any) -> dict[str, str]:
    monkeypatch.setattr(inspection, "devices", devices)
    return {one.what: one.text for one in inspect(Settings(voice=voice))}


def two() -> tuple[Device, ...]:
    return (Device("desk", 48_000, 1, 0, "in"), Device("box", 48_000, 0, 2, "out"))


def none() -> tuple[Device, ...]:
    raise NoSound("no portaudio", "PortAudio is missing.", works="Keys.", todo="Install it.")


def test_everything_is_there(monkeypatch: pytest.MonkeyPatch):
    lines = found(monkeypatch, Voice(), two)
    assert lines["microphone"] == "● microphone: desk (48000 Hz), in use"
    assert lines["speaker"] == "● speaker: box (48000 Hz), in use"
    assert "hash as expected" in lines["ear"]
    assert lines["grammar"].startswith("● grammar: en, ")


@pytest.mark.parametrize(
    ("voice", "devices", "what", "line"),
    [
        (Voice(), none, "sound", "○ sound: PortAudio is missing. Install it."),
        (Voice(), tuple, "microphone", "○ microphone: none is there. Plug one in."),
        (Voice(input="lapel"), two, "microphone", "○ microphone: 'lapel' is not there."),
        (Voice(on=False), two, "voice", "○ voice: switched off."),
        (Voice(model="/nowhere"), two, "ear", "○ ear: The ear in /nowhere cannot be used"),
        (Voice(engine="vosk", model="/nowhere"), two, "vosk", "○ vosk: model /nowhere"),
    ],
)
def test_what_is_missing_is_told_with_what_to_do(monkeypatch, voice, devices, what, line):
    assert found(monkeypatch, voice, devices)[what].startswith(line)


def test_a_missing_library_is_told(monkeypatch: pytest.MonkeyPatch):
    real = builtins.__import__

    def without(name: str, *args: Any, **kwargs: Any) -> Any:
        if name == "sounddevice":
            raise OSError("PortAudio library not found")
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", without)
    lines = {one.what: one.text for one in inspect(Settings())}
    assert lines["sound"].startswith("○ sound: PortAudio is missing")


# The commands.


@pytest.fixture(autouse=True)
def home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))


def test_say_prints_every_saying_with_its_examples(english: Grammar):
    printed = CliRunner().invoke(cli, ["say"]).output
    for saying in english.sayings:
        assert saying.what in printed
        for example in saying.examples:
            assert f"    {example}\n" in printed


def test_say_in_another_language():
    printed = CliRunner().invoke(cli, ["say", "--language", "ko"])
    assert printed.exit_code == 0
    assert not printed.output.isascii()


def test_voice_says_what_to_do(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(inspection, "devices", none)
    printed = CliRunner().invoke(cli, ["voice"])
    assert printed.exit_code == 0
    assert "Something is missing: the keypad does everything meanwhile." in printed.output
    monkeypatch.setattr(inspection, "devices", two)
    assert "Everything is there." in CliRunner().invoke(cli, ["voice"]).output


class Ear:
    """Hears what it is told to hear."""

    def __init__(self, ready: Any, *found: Uttered | None) -> None:
        self._ready = ready
        self._found = list(found)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def ready(self, _: float) -> Any:
        return self._ready

    def next(self, _: float) -> Uttered | None:
        return self._found.pop(0)


def test_try_shows_how_each_phrase_was_heard(monkeypatch, english):
    asked = phrases(english, 2)
    ear = Ear(listening.Listened("ear", "desk"), heard(english, asked[0]), None)
    monkeypatch.setattr(listening, "listening", lambda _: ear)
    printed = CliRunner().invoke(cli, ["voice", "try", "--phrases", "2"])
    assert printed.exit_code == 0, printed.output
    assert "Listening with ear on desk." in printed.output
    assert f"Say: {asked[1]}\n  ○ nothing was heard" in printed.output
    assert "1 of 2 taken at once" in printed.output


def test_try_without_a_microphone(monkeypatch):
    ear = Ear(listening.NotReady("There is no microphone."))
    monkeypatch.setattr(listening, "listening", lambda _: ear)
    printed = CliRunner().invoke(cli, ["voice", "try"])
    assert printed.exit_code == 1
    assert "There is no microphone." in printed.output
