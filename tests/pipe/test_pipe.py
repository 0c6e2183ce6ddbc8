"""The headless bench spoken to in lines, on a clock that the test winds."""

from __future__ import annotations

import io
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.config import Rules, Settings
from benchterm.core.bench import NotSaved
from benchterm.core.events import Event
from benchterm.core.facts import Facts, Target
from benchterm.errors import BenchError, JournalBusy, JournalDamaged
from benchterm.locations import grammar_file, schemas_folder
from benchterm.phrases.grammar import Grammar
from benchterm.pipe import LINE_LENGTH, Pipe, PipeClock, open_desk, run
from benchterm.records.codec import _CLASS_OF
from benchterm.records.journal import Journal, read_all

GRAMMAR = Grammar.load(grammar_file("en"))
SCHEMA = json.loads((schemas_folder() / "pipe.schema.json").read_text(encoding="utf-8"))
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


class Clock:
    """A clock one winds."""

    def __init__(self) -> None:
        self.seconds = 1000.0

    def utc(self) -> datetime:
        return datetime(2026, 3, 2, 8, 30, tzinfo=UTC) + timedelta(seconds=self.seconds)

    def monotonic(self) -> float:
        return self.seconds


class Bench:
    """A pipe in this process; every line that it says is checked against the schema."""

    def __init__(
        self, file: Path | None = None, clock: Clock | None = None, settings: Settings | None = None
    ) -> None:
        self.clock = clock or Clock()
        pipes = PipeClock(self.clock)
        self.desk = open_desk(file, Facts("A-101"), settings or Settings(), pipes)
        self.pipe = Pipe(self.desk, pipes, GRAMMAR)
        self.first = checked(self.pipe.opening())

    def say(self, line: str | bytes) -> dict[str, Any]:
        said = self.pipe.answer(line if isinstance(line, bytes) else line.encode())
        assert said is not None
        return checked(said)

    def say_all(self, *lines: str) -> dict[str, Any]:
        return [self.say(line) for line in lines][-1]


def checked(said: object) -> dict[str, Any]:
    plain = json.loads(json.dumps(said, allow_nan=False))
    VALIDATOR.validate(plain)
    return plain


TENSIONING = "go to first tensioning because it was done before"


def test_the_schema_is_one():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_the_schema_names_every_event_there_is():
    assert set(SCHEMA["$defs"]["event"]["properties"]["type"]["enum"]) == set(_CLASS_OF)


def test_everything_in_the_schema_that_is_an_object_is_closed_but_for_events():
    def closed(part: object, name: str) -> None:
        if isinstance(part, dict):
            if part.get("type") == "object" and name != "event":
                assert part.get("additionalProperties") is False, name
                assert set(part["required"]) <= set(part["properties"]), name
            for key, inner in part.items():
                closed(inner, key)
        elif isinstance(part, list):
            for inner in part:
                closed(inner, name)

    closed(SCHEMA, "")


def test_the_schema_refuses_what_is_no_answer():
    said = Bench().say("next")
    for spoilt in ({**said, "refused": "x"}, {**said, "more": 1}, {**said, "state": {}}):
        assert not VALIDATOR.is_valid(spoilt)


def test_the_first_line_says_which_session_is_open():
    bench = Bench()
    assert bench.first["session"].startswith("20260302-")
    assert (bench.first["resumed"], bench.first["at"], bench.first["journal"]) == (False, 0, None)
    assert bench.first["state"]["stage_name"] == "prepare frame and stretcher"


def test_a_reading_is_taken_and_shown():
    bench = Bench()
    said = bench.say_all(TENSIONING, "far 12.5")
    assert said["heard"] == "far 12.5"
    assert said["taken"] == [
        {"seq": 3, "type": "reading_taken", "station": 8, "axis": "along", "value_n_cm": 12.5}
    ]
    assert said["state"]["stations"]["8"] == {
        "name": "far",
        "along_n_cm": 12.5,
        "across_n_cm": None,
        "net_clicks": 0,
    }


def test_clicks_and_the_reading_they_gave_are_one_entry():
    bench = Bench()
    said = bench.say_all(TENSIONING, "left three clicks twelve point five")
    assert [event["type"] for event in said["taken"]] == ["roller_turned", "reading_taken"]
    assert said["state"]["stations"]["4"]["net_clicks"] == 3
    assert bench.say("undo")["state"]["stations"]["4"]["net_clicks"] == 0


@pytest.mark.parametrize(
    ("phrase", "why"),
    [
        ("far 225", "Was it 22.5?"),
        ("far -3", "negative"),
        ("far nan", "nan"),
        ("far 300 clicks", "beyond reason"),
        ("far relieved", "corner"),
        ("upper 22.5", "No station is called"),
        ("far far far", "not"),
        ("22.5", "At which station?"),
        ("no", "No question is open"),
    ],
)
def test_what_cannot_be_is_refused_and_changes_nothing(phrase: str, why: str):
    bench = Bench()
    before = bench.say(TENSIONING)
    said = bench.say(phrase)
    assert why in said["refused"]
    assert said["state"] == before["state"]


def test_a_reading_out_of_line_is_asked_back():
    bench = Bench()
    said = bench.say_all(TENSIONING, "far 12", "far 50")
    assert said["state"]["question"]["about"] == "reading"
    assert said["state"]["question"]["choices"] == ["yes", "no"]
    assert said["state"]["stations"]["8"]["along_n_cm"] == 12
    assert bench.say("yes")["state"]["stations"]["8"]["along_n_cm"] == 50


@pytest.mark.parametrize("choice", ["choice 2", "2", "choice two"])
def test_what_would_be_passed_over_wants_a_reason(choice: str):
    bench = Bench()
    question = bench.say("next")["state"]["question"]
    assert question["about"] == "reason"
    assert len(question["passed_over"]) == 3
    assert question["choices"][1].startswith("2 ")
    (entered,) = bench.say(choice)["taken"]
    assert entered["reason"] == question["choices"][1].removeprefix("2 ")


def test_a_tick_takes_a_line_off_the_open_checks():
    bench = Bench()
    first, *others = bench.first["state"]["open_checks"]
    assert first["number"] == 1
    assert bench.say("done")["state"]["open_checks"] == others


def test_the_balance_the_spread_and_the_advice_are_told():
    bench = Bench()
    said = bench.say_all(TENSIONING, "far 12.0", "near 9.5", "left 11.0", "centre 10.7")
    assert said["state"]["balance"]["far-near"] == {
        "apart_n_cm": 2.5,
        "clicks_apart": 0,
        "fresh": True,
    }
    # 12.0, 9.5, 10.7: mean 32.2 / 3, range 2.5.
    assert said["state"]["spread"]["along"]["mean_n_cm"] == 10.7333
    assert said["state"]["spread"]["along"]["range_n_cm"] == 2.5
    assert said["state"]["spread"]["across"]["stations"] == 1
    uneven = next(one for one in said["advice"] if one["code"] == "sides-uneven")
    assert "2.5" in uneven["why"]
    assert uneven["rests_on"] == [3, 4]


def test_a_rule_that_is_switched_off_is_silent():
    bench = Bench(settings=Settings(rules=Rules(off=("sides-uneven",))))
    said = bench.say_all(TENSIONING, "far 12.0", "near 9.5", "left 11.0", "centre 10.7")
    assert "sides-uneven" not in [one["code"] for one in said["advice"]]


def test_questions_are_answered_and_change_nothing():
    bench = Bench()
    bench.say_all(TENSIONING, "done", "done", "far 12.0", "near 9.5", "left 2 clicks")
    assert bench.say("how far apart")["answer"] == (
        "far less near: +2.5, clicks level; left less right: left and right not read, +2 clicks"
    )
    assert bench.say("time left")["answer"] == "no timer is running"
    assert bench.say("what's next")["answer"].startswith(bench.say("repeat")["advice"][0]["do"])
    assert bench.say("repeat")["answer"] == "last taken: left 2 clicks"
    assert bench.desk.bench.state.last_seq == 7


def test_a_timer_runs_in_session_time():
    bench = Bench()
    started = bench.say("@100 timer ten minutes")
    assert started["state"]["timer"] == {"stage": 1, "minutes": 10, "left_s": 600}
    left = bench.say("@160.5 time left")
    assert left["answer"] == "prepare frame and stretcher: 9:00 left"
    assert left["state"]["timer"]["left_s"] == 539.5
    assert bench.say("@701")["state"]["timer"]["left_s"] == 0
    assert bench.say("time left")["answer"].endswith("the wait of 10 min is over")


def test_without_a_time_session_time_is_real_time():
    bench = Bench()
    bench.clock.seconds += 7.25
    assert bench.say("mark")["at"] == 7.25


def test_a_time_sets_session_time_which_then_stands_still():
    bench = Bench()
    assert bench.say("@60 mark")["at"] == 60
    bench.clock.seconds += 5
    assert bench.say("mark")["at"] == 60
    assert bench.say("@61.5 mark")["at"] == 61.5


def test_a_time_alone_takes_nothing():
    assert Bench().say("@60")["taken"] == []


@pytest.mark.parametrize("when", ["@59.9", "@-1", "@nan", "@inf", "@1e9", "@", "@x", "@1:00"])
def test_a_time_that_is_over_or_is_none_is_refused_with_its_phrase(when: str):
    bench = Bench()
    bench.say("@60 mark")
    said = bench.say(f"{when} mark")
    assert "refused" in said
    assert (said["at"], said["state"]["marks"]) == (60, 1)


def test_real_time_that_has_been_shown_is_never_gone_back_behind():
    bench = Bench()
    bench.clock.seconds += 30
    bench.say("mark")
    assert "never runs backwards" in bench.say("@29 mark")["refused"]
    assert bench.say("@30 mark")["at"] == 30


@pytest.mark.parametrize("line", ["", "\n", "   \n", "# far 22.5\n", "  # note\r\n"])
def test_blank_lines_and_comments_are_passed_over(line: str):
    assert Bench().pipe.answer(line.encode()) is None


def test_a_line_that_is_no_text_is_refused():
    assert "UTF-8" in Bench().say(b"far \xff\xfe\n")["refused"]


def test_words_of_any_language_are_kept_word_for_word(tmp_path: Path):
    bench = Bench(tmp_path / "s.jsonl")
    bench.say("note 왼쪽 롤러 \u2028 \x00 né\n")
    assert read_all(tmp_path / "s.jsonl").events[-1].heard == "note 왼쪽 롤러 \u2028 \x00 né"


def through(lines: bytes, bench: Bench | None = None) -> list[dict[str, Any]]:
    """What comes out when these lines go in."""
    bench = bench or Bench()
    out = io.BytesIO()
    run(bench.pipe, io.BytesIO(lines), out)
    return [checked(json.loads(line)) for line in out.getvalue().splitlines()]


def test_every_line_is_answered_by_one_line():
    said = through(b"# a session\n\nmark\r\nfar 3\nmark")
    assert [line.get("heard") for line in said] == [None, "mark", "far 3", "mark"]


@pytest.mark.parametrize("length", [LINE_LENGTH, LINE_LENGTH + 1, LINE_LENGTH * 2 + 1, 99_999])
@pytest.mark.parametrize("ending", [b"\n", b""])
def test_a_line_that_is_too_long_is_refused_once_and_the_next_one_taken(length: int, ending: bytes):
    too_long = b"note " + b"x" * (length - 5) + ending
    said = through(b"mark\n" + too_long + (b"mark\n" if ending else b""))
    refused = [line for line in said[1:] if "refused" in line]
    is_too_long = len(too_long) > LINE_LENGTH
    assert len(refused) == is_too_long
    assert said[-1]["state"]["marks"] == (2 if ending else 1)


@given(st.lists(st.binary(max_size=30) | st.text(max_size=30).map(str.encode), max_size=5))
def test_whatever_comes_in_is_answered(lines: list[bytes]):
    through(b"\n".join(lines))


def test_an_unfinished_session_is_taken_up_again(tmp_path: Path):
    file, clock = tmp_path / "s.jsonl", Clock()
    bench = Bench(file, clock)
    bench.say_all("@50 mark", "@60 mark")
    bench.desk.close()
    again = Bench(file, clock)
    assert again.first["resumed"]
    assert again.first["session"] == bench.first["session"]
    assert again.first["at"] == 60
    assert again.say("@61 mark")["state"]["marks"] == 3


def test_the_time_away_counts(tmp_path: Path):
    file, clock = tmp_path / "s.jsonl", Clock()
    bench = Bench(file, clock)
    clock.seconds += 10
    bench.say("mark")
    bench.desk.close()
    clock.seconds += 100
    assert Bench(file, clock).first["at"] == 110


@pytest.mark.parametrize("phrases", [["close the session"], ["go to done because told to", "next"]])
def test_a_closed_session_is_not_written_on(phrases: list[str], tmp_path: Path):
    file = tmp_path / "s.jsonl"
    bench = Bench(file)
    assert bench.say_all(*phrases)["state"]["closed"]
    assert "closed" in bench.say("next")["refused"]
    bench.desk.close()
    before = file.read_bytes()
    with pytest.raises(BenchError, match="is closed") as caught:
        Bench(file)
    assert caught.value.works
    assert caught.value.todo
    assert file.read_bytes() == before


@pytest.mark.parametrize("left", [b"", b'{"v":1,"seq":1,"en'])
def test_a_session_stopped_before_its_first_line_is_begun_anew(left: bytes, tmp_path: Path):
    file = tmp_path / "s.jsonl"
    file.write_bytes(left)
    bench = Bench(file)
    assert not bench.first["resumed"]
    bench.say("mark")
    kinds = [type(event.what).__name__ for event in read_all(file).events]
    assert kinds == ["SessionOpened", *(["JournalRepaired"] if left else []), "MarkMade"]


def test_a_session_that_another_program_writes_is_left_alone(tmp_path: Path):
    bench = Bench(tmp_path / "s.jsonl")
    bench.say("mark")
    with pytest.raises(JournalBusy):
        Bench(tmp_path / "s.jsonl")


def test_a_damaged_session_is_left_alone(tmp_path: Path):
    file = tmp_path / "s.jsonl"
    bench = Bench(file)
    bench.say("mark")
    bench.desk.close()
    file.write_bytes(file.read_bytes().replace(b'"at":0.0', b'"at":9.0', 1))
    with pytest.raises(JournalDamaged, match="line 1"):
        Bench(file)


def test_what_is_not_on_the_disk_is_not_taken(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    bench = Bench(tmp_path / "s.jsonl")

    def full(_: Journal, __: list[Event]) -> None:
        raise NotSaved("The disk is full.")

    with monkeypatch.context() as patch:
        patch.setattr(Journal, "record", full)
        said = bench.say("mark")
    assert said["unsaved"] == "The disk is full."
    assert said["state"]["marks"] == 0
    assert bench.say("mark")["state"]["marks"] == 1


def test_the_answer_comes_after_the_entry_is_on_the_disk(tmp_path: Path):
    file = tmp_path / "s.jsonl"
    bench = Bench(file)
    on_disk: list[int] = []

    class Out(io.BytesIO):
        def write(self, line: bytes, /) -> int:  # type: ignore[override]
            on_disk.append(file.read_bytes().count(b"\n"))
            return super().write(line)

    run(bench.pipe, io.BytesIO(b"mark\nmark\n"), Out())
    assert on_disk == [1, 2, 3]


def test_the_target_is_told_and_can_be_changed():
    bench = Bench()
    assert bench.say("target 24 along")["state"]["target"] == {
        "along_n_cm": 24,
        "across_n_cm": Target().across_n_cm,
        "tolerance_n_cm": Target().tolerance_n_cm,
    }
