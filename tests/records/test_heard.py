"""What was heard is in the journal, and changes neither the session nor its clock."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from benchterm.core.events import Heard, Source
from benchterm.core.facts import Facts
from benchterm.core.intents import Close, Mark
from benchterm.core.practice import Practice
from benchterm.desk import Desk
from benchterm.records.journal import read_all

TALK = Heard("left three clicks", "reject", 0.2, "not clear enough")


class Clock:
    """Stands still until it is moved."""

    def __init__(self) -> None:
        self.s = 0.0

    def utc(self) -> datetime:
        return datetime(2026, 3, 2, 9, 0, tzinfo=UTC) + timedelta(seconds=self.s)

    def monotonic(self) -> float:
        return self.s


def test_it_is_kept_with_its_words_and_counts_for_nothing(tmp_path: Path):
    desk = Desk.begin(Facts(), Practice(), "s", "bench", tmp_path / "s.jsonl", Clock())
    before = desk.bench.state
    desk.note_heard(TALK)
    desk.close()
    kept = read_all(tmp_path / "s.jsonl").events[-1]
    assert (kept.what, kept.source, kept.heard) == (TALK, Source.VOICE, "left three clicks")
    assert (desk.bench.state.trail, desk.bench.state.at_s) == (before.trail, before.at_s)


def test_a_resumed_session_goes_on_by_the_clock_after_talk(tmp_path: Path):
    clock = Clock()
    desk = Desk.begin(Facts(), Practice(), "s", "bench", tmp_path / "s.jsonl", clock)
    clock.s = 100
    desk.note_heard(TALK)
    desk.close()
    clock.s = 250
    resumed = Desk.resume(tmp_path / "s.jsonl", clock)
    assert resumed.now().at_s == 250
    resumed.close()


def test_nothing_is_written_after_the_end(tmp_path: Path):
    desk = Desk.begin(Facts(), Practice(), "s", "bench", tmp_path / "s.jsonl", Clock())
    desk.take(Mark(), Source.KEYPAD, ".")
    desk.take(Close("tried out"), Source.KEYPAD, "0..")
    seq = desk.bench.state.last_seq
    desk.note_heard(TALK)
    desk.close()
    assert read_all(tmp_path / "s.jsonl").events[-1].seq == seq
