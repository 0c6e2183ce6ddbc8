"""What the benchmarks share: a long session, percentiles, a table. No benchmark is a test."""

from __future__ import annotations

import gc
import os
import platform
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from itertools import count
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from benchterm.core.events import (
    Event,
    Happening,
    ReadingTaken,
    RollerTurned,
    SessionOpened,
    Source,
    StageEntered,
    Undone,
)
from benchterm.core.facts import Facts
from benchterm.core.stages import Stage
from benchterm.core.stations import ROLLERS

Row = tuple[str, str, str]
"""What was measured, the figure, the aim."""


def long_session(length: int) -> Iterator[Event]:
    """Final tensioning without end: clicks with their reading, one undo in 50 entries."""
    facts = Facts()
    seq = count(1)

    def entry(at_s: float, *whats: Happening) -> Iterator[Event]:
        first = next(seq)
        for number, what in enumerate(whats):
            yield Event(
                first if number == 0 else next(seq),
                first,
                at_s,
                "2026-03-02T09:00:00.000Z",
                Source.KEYPAD,
                what,
                "far 1 click 22.5",
            )

    def entries() -> Iterator[Event]:
        yield from entry(0.0, SessionOpened("long", "bench", "0", facts))
        yield from entry(1.0, StageEntered(Stage.FINAL_TENSION, ("all",), "a benchmark"))
        last = 0
        for number in count(1):
            side = ROLLERS[number % 4]
            if number % 50 == 0:
                yield from entry(10.0 * number, Undone(last))
                continue
            turned = RollerTurned(side, 1 if number // 4 % 2 else -1)
            value = 20.0 + number % 5 / 2
            read = ReadingTaken(side, facts.usual_axis(side), value)
            events = tuple(entry(10.0 * number, turned, read))
            last = events[0].entry
            yield from events

    for event, _ in zip(entries(), range(length), strict=False):
        yield event


def cpu_and_wall(work: Callable[[], object]) -> tuple[float, float]:
    """Seconds of processor and of wall clock, the best of three by processor."""
    found = []
    for _ in range(3):
        gc.collect()
        cpu, wall = time.process_time(), time.perf_counter()
        work()
        found.append((time.process_time() - cpu, time.perf_counter() - wall))
    return min(found)


def percentile(values: Sequence[float], share: float) -> float:
    """The value which this share of the values does not exceed."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def print_table(title: str, rows: Sequence[Row]) -> None:
    """Print figures beside their aims, with the load of the machine: it swells every wall time."""
    machine = (
        f"Python {platform.python_version()}, {platform.system()} {platform.machine()}, "
        f"{os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}"
    )
    lines = [f"{title} ({machine})"]
    wide = max(len(row[0]) for row in rows)
    lines += [f"  {what:{wide}}  {figure:>24}  {aim}".rstrip() for what, figure, aim in rows]
    sys.stdout.write("\n".join(lines) + "\n")
