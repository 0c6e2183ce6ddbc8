"""The real process killed with SIGKILL at random moments while entries come in.

Whatever was answered as taken must be in the journal after the next start, and nothing twice.
"""

from __future__ import annotations

import json
import os
import random
import select
import signal
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from benchterm.core.events import ReadingTaken, SessionResumed
from benchterm.records.journal import read_all

ROOT = Path(__file__).parents[2]
KILLS = 18
"""Of each of the three journals: 54 together."""
LINES = 400
"""Entries given to each process: far more than it can take before it is killed."""


@dataclass
class Killed:
    """What came back from a process before it died."""

    began: bool = False
    """It had printed its first line."""
    taken: list[str] = field(default_factory=list)
    """Readings that were answered as taken, as they were said."""


def enter_until_killed(file: Path, readings: list[str], rng: random.Random) -> Killed:
    """Start the program on a journal, give it readings, kill it at a moment of chance."""
    process = subprocess.Popen(
        [sys.executable, "-m", "benchterm", "pipe", "--session-file", str(file)],
        cwd=ROOT,
        env={**os.environ, "BENCHTERM_HOME": str(file.parent)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert process.stdin
    assert process.stdout
    script = "go to first tensioning because it was done before\n" + "\n".join(readings) + "\n"
    process.stdin.write(script.encode())
    process.stdin.flush()
    if rng.random() < 0.2:
        # While it is starting, or opening the journal.
        time.sleep(rng.uniform(0.05, 0.4))
    else:
        select.select([process.stdout], [], [], 30)
        time.sleep(rng.uniform(0, 0.04))
    process.send_signal(signal.SIGKILL)
    out, _ = process.communicate()
    assert process.returncode == -signal.SIGKILL, "it ended by itself: the test proves nothing"
    answers = [json.loads(line) for line in out.split(b"\n")[:-1]]
    return Killed(
        bool(answers),
        [
            answer["heard"]
            for answer in answers
            if any(event["type"] == "reading_taken" for event in answer.get("taken", ()))
        ],
    )


def readings_in(file: Path) -> list[str]:
    """The readings of a journal, as they were said."""
    events = read_all(file).events
    return [event.heard for event in events if isinstance(event.what, ReadingTaken)]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_reading_that_was_answered_is_lost_or_doubled(seed: int, tmp_path: Path):
    rng = random.Random(seed)
    file = tmp_path / "session.jsonl"
    answered: list[str] = []
    began = 0
    for turn in range(KILLS):
        # Each reading has a value of its own, all near enough together to be taken unasked.
        readings = [f"far {11 + (turn * LINES + n) / 10_000:.4f}" for n in range(LINES)]
        killed = enter_until_killed(file, readings, rng)
        began += killed.began
        answered += killed.taken
        assert killed.taken == readings[: len(killed.taken)]
        kept = readings_in(file) if file.exists() else []
        assert [reading for reading in answered if reading not in kept] == []
        assert len(kept) == len(set(kept))
    end = subprocess.run(
        [sys.executable, "-m", "benchterm", "pipe", "--session-file", str(file)],
        cwd=ROOT,
        env={**os.environ, "BENCHTERM_HOME": str(tmp_path)},
        input=b"far 12.5\n",
        capture_output=True,
        check=True,
    )
    opening, last = map(json.loads, end.stdout.splitlines())
    events = read_all(file).events
    assert opening["resumed"]
    assert last["taken"][0]["seq"] == events[-1].seq == len(events)
    assert set(answered) < set(readings_in(file))
    # It was killed at work, not before it began or after it had ended.
    assert began > KILLS / 2
    assert len(answered) > KILLS
    assert sum(isinstance(event.what, SessionResumed) for event in events) > KILLS / 2
