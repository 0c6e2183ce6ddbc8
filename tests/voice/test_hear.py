"""``benchterm hear``: recorded sound, manifests, and what is none of these."""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import click
import numpy as np
import pytest
import soundfile
from click.testing import CliRunner, Result
from voice.standins import clear

from benchterm.core.stages import Stage
from benchterm.core.stations import Station
from benchterm.errors import BenchError
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import Slots
from benchterm.voice.accept import Decision, Verdict
from benchterm.voice.commands import hear
from benchterm.voice.hear import Listened, Utterance, meaning_shown
from benchterm.voice.listener import Heard
from benchterm.voice.tally import Outcome, outcome, table
from benchterm.voice.truth import ManifestError, Recording, read_manifest
from benchterm.voice.understand import Pending, Understanding


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(hear, [str(a) for a in arguments])


def told(*arguments: str | Path) -> BenchError:
    result = run(*arguments)
    assert isinstance(result.exception, BenchError), result.output
    return result.exception


def json_lines(result: Result) -> list[dict]:
    assert result.exit_code == 0, result.output
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_one_line_tells_everything(say: Callable[..., Path]):
    path = say("far left twenty two point five")
    (line,) = json_lines(run(path, "--expect", "22", "--json"))
    assert line["file"] == str(path)
    assert line["utterance"] == 1
    assert line["words"] == "far left twenty two point five"
    assert line["meaning"] == {"do": "read", "station": "far left", "value_n_cm": 22.5}
    assert line["decision"] == "sure"
    assert 0.8 <= line["confidence"] <= 1
    assert {"score", "free_score", "margin", "log_prior"} <= line["scores"].keys()
    times = line["times"]
    assert 0.8 < times["begin_s"] < times["end_s"] < times["closed_s"]
    assert times["latency_s"] > times["closed_s"] - times["end_s"] - 0.01


def test_a_surprising_value_is_asked_back(say):
    path = say("far left twenty two point five")
    (line,) = json_lines(run(path, "--expect", "12", "--json"))
    assert (line["decision"], line["why"]) == ("ask", "a surprising value")


def test_an_answer_counts_only_while_a_question_is_open(say):
    path = say("yes")
    (line,) = json_lines(run(path, "--json"))
    assert line["decision"] == "reject"
    (line,) = json_lines(run(path, "--pending", "question", "--json"))
    assert line["meaning"] == {"do": "yes"}
    assert line["decision"] != "reject"


@pytest.mark.parametrize("station", ["far_left", "7"])
def test_a_number_counts_only_while_a_place_is_pending(say, station):
    path = say("twenty two point five")
    (line,) = json_lines(run(path, "--json"))
    assert line["decision"] == "reject"
    (line,) = json_lines(run(path, "--pending", station, "--json"))
    assert line["decision"] == "sure"


def test_silence_says_so(tmp_path):
    path = tmp_path / "silence.wav"
    soundfile.write(path, np.zeros(16_000), 16_000)
    (line,) = json_lines(run(path, "--json"))
    assert line == {
        "v": 1,
        "file": str(path),
        "utterance": 0,
        "words": "",
        "meaning": None,
        "decision": "reject",
        "why": "nobody spoke",
    }


def test_a_manifest_ends_with_a_table(say, tmp_path):
    path = say("left three clicks")
    entries = [
        {"file": path.name, "meaning": "left 3 clicks", "voice": "someone", "snr_db": None},
        {"file": path.name, "meaning": None},
    ]
    manifest = tmp_path / "manifest.jsonl"
    manifest.write_text("".join(json.dumps(e) + "\n" for e in entries))
    for named in (manifest, tmp_path):
        result = run(named)
        assert result.exit_code == 0, result.output
        assert "sure: left three clicks" in result.stdout
        assert "someone                1     100.0     100.0" in result.stdout
        assert "false accepts: 1" in result.stdout
        assert "real-time factor" in result.stdout


def test_a_folder_of_recordings_is_heard_by_name(tmp_path):
    for name in ("b.wav", "a.flac"):
        soundfile.write(tmp_path / name, np.zeros(8_000), 16_000)
    (tmp_path / "notes.txt").write_text("not a recording")
    lines = json_lines(run(tmp_path, "--json"))
    assert [Path(line["file"]).name for line in lines] == ["a.flac", "b.wav"]


def test_a_broken_recording_disturbs_no_other(tmp_path):
    (tmp_path / "a.wav").write_bytes(b"not a recording")
    soundfile.write(tmp_path / "b.wav", np.zeros(8_000), 16_000)
    result = run(tmp_path, "--json")
    assert result.exit_code == 6
    assert "a.wav cannot be heard" in result.stderr
    assert json.loads(result.stdout)["why"] == "nobody spoke"


def test_a_folder_without_recordings_is_told(tmp_path):
    assert "no recording" in told(tmp_path).what


def test_a_language_that_is_not_there_is_told(tmp_path):
    path = tmp_path / "silence.wav"
    soundfile.write(path, np.zeros(1_000), 16_000)
    assert "xx.jsgf" in told(path, "--language", "xx").what


def test_what_cannot_be_pending_is_told(tmp_path):
    result = run(tmp_path, "--pending", "north")
    assert result.exit_code == click.UsageError.exit_code
    assert "no station, nor 'question' or 'gauge'" in result.output


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("not json", "line 1"),
        ("[]", "line 1"),
        ('{"meaning": null}', "'file' is missing"),
        ('{"file": "a.wav", "meaning": "far far"}', "no phrase"),
        ('{"file": "a.wav", "meaning": {"kind": "song"}}', "station"),
        ('{"file": "a.wav", "meaning": {"kind": "relieved", "station": "north"}}', "NORTH"),
        ('{"file": "a.wav", "expected": "many"}', "many"),
    ],
)
def test_a_manifest_that_cannot_be_used_is_told(tmp_path, line, said):
    path = tmp_path / "manifest.jsonl"
    path.write_text(line + "\n")
    error = told(path)
    assert isinstance(error, ManifestError)
    assert said in error.what


@pytest.mark.parametrize(
    ("meaning", "slots"),
    [
        (None, None),
        ("undo that", Slots(do="undo")),
        (
            {"kind": "reading", "station": "far_left", "value": 22.5},
            Slots(do="read", station=Station.FAR_LEFT, value=Decimal("22.5")),
        ),
        (
            {"kind": "clicks", "station": "near", "clicks": -2},
            Slots(do="turn", station=Station.NEAR, clicks=Decimal(2), back=True),
        ),
        ({"kind": "relieved", "station": None}, Slots(do="relieve")),
        ({"kind": "control", "do": "confirm"}, Slots(do="yes")),
        ({"kind": "control", "do": "clamped"}, Slots(do="go", stage=Stage.SLACK)),
        ({"kind": "control", "do": "undo"}, Slots(do="undo")),
    ],
)
def test_meanings_of_a_manifest(tmp_path, english: Grammar, meaning, slots):
    path = tmp_path / "manifest.jsonl"
    path.write_text(json.dumps({"file": "a.wav", "meaning": meaning}))
    (recording,) = read_manifest(path, Understanding(english))
    assert recording.known
    assert recording.meaning == slots


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        ("near one click back", {"do": "turn", "station": "near", "clicks": -1}),
        (
            "left three clicks twenty two point five",
            {"do": "turn", "station": "left", "clicks": 3, "value_n_cm": 22.5},
        ),
        (
            "centre along twenty four",
            {"do": "read", "station": "centre", "axis": "along", "value_n_cm": 24.0},
        ),
        ("all clamped", {"do": "go", "stage": Stage.SLACK.label}),
        ("timer ten minutes", {"do": "start-timer", "minutes": 10.0}),
        ("what's next", {"do": "ask", "topic": "next"}),
        ("undo two back", {"do": "undo", "number": 2.0}),
    ],
)
def test_meanings_as_they_are_shown(english: Grammar, words, shown):
    (slots,) = Understanding(english).slots(tuple(words.split()))
    assert meaning_shown(slots) == shown


def made(english: Grammar, truth: str | None, *heard: tuple[str, Decision, bool]) -> Listened:
    """A recording that says the truth, and what was heard of it: words, decision, goes on."""
    understanding = Understanding(english)
    utterances = []
    for words, decision, goes_on in heard:
        recognition = clear(words)
        utterances.append(
            Utterance(
                Heard(
                    recognition=recognition,
                    ranked=understanding.rank(recognition, Pending()),
                    figures=None,
                    confidence=0.5,
                    verdict=Verdict(decision, None, ""),
                    begin_s=0.5,
                    end_s=1.0,
                    closed_s=1.4,
                    decode_s=0.1,
                    speech_db=-20.0,
                    noise_db=-60.0,
                    goes_on=goes_on,
                ),
                1.5,
            )
        )
    meaning = understanding.slots(tuple(truth.split()))[0] if truth else None
    return Listened(Recording(Path("a.wav"), True, meaning), tuple(utterances), 60.0, 6.0)


SURE, ASK, REJECT = Decision.SURE, Decision.ASK, Decision.REJECT


@pytest.mark.parametrize(
    ("heard", "expected"),
    [
        ([("far two", SURE, False)], Outcome.TAKEN),
        ([("far three", SURE, False)], Outcome.WRONG),
        ([("far two", ASK, False)], Outcome.ASKED),
        ([("far three", ASK, False)], Outcome.ASKED_WRONG),
        ([("far two", REJECT, False)], Outcome.REJECTED),
        ([], Outcome.REJECTED),
        ([("far two", SURE, False), ("two", SURE, False)], Outcome.WRONG),
        ([("far three", ASK, False), ("far two", SURE, False)], Outcome.TAKEN),
        ([("far three", ASK, False), ("far two", ASK, True)], Outcome.ASKED),
        ([("far two", ASK, False), ("far three", ASK, True)], Outcome.ASKED_WRONG),
    ],
)
def test_what_becomes_of_a_phrase(english, heard, expected):
    assert outcome(made(english, "far two", *heard)) is expected


def test_false_accepts_are_counted_by_the_hour(english):
    rows = list(table([made(english, None, ("far two", SURE, False), ("yes", ASK, False))]))
    assert "false accepts: 1 in 1.0 minutes (60.0 an hour), with a station 1" in rows
    assert "false questions: 1 in 1.0 minutes (60.0 an hour), with a station 0" in rows
    assert "real-time factor 0.100" in rows
