"""Fold, advice and balance for each event; replay of a journal of 100,000 events without a screen.

Run: ``python tests/benchmarks/bench_core.py``. Processor time is printed first: it says what the
code costs whatever else the machine is doing; wall time in brackets.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from measure import Row, cpu_and_wall, long_session, print_table

from benchterm.core.advise import advise
from benchterm.core.balance import balance
from benchterm.core.events import Event
from benchterm.core.fold import fold, fold_all
from benchterm.core.state import State
from benchterm.locations import demo_sessions_folder
from benchterm.records.codec import encode
from benchterm.records.journal import read, read_all

LENGTH = 100_000


def main() -> None:
    """Measure and print."""
    short = read_all(demo_sessions_folder() / "good.jsonl").events
    long = tuple(long_session(LENGTH))
    rows = [
        _rate(
            "events folded a second, demo session x 50", lambda: _times(50, short), 50 * len(short)
        ),
        _rate("events folded a second, 100,000-event session", lambda: fold_all(long), LENGTH),
        *_each("demo session", _states(short)),
        *_each("after 2,000 events", _states(long[:2000])[-200:]),
    ]
    with tempfile.TemporaryDirectory() as folder:
        journal = Path(folder) / "long.jsonl"
        journal.write_bytes(b"".join(map(encode, long)))
        cpu_s, wall_s = cpu_and_wall(lambda: fold_all(read(journal)))
        size = journal.stat().st_size / 1e6
    rows.append(
        (f"100,000 events ({size:.0f} MB) read, checked, folded", _s(cpu_s, wall_s), "< 6 s")
    )
    print_table("core", rows)


def _times(number: int, events: Sequence[Event]) -> None:
    for _ in range(number):
        fold_all(events)


def _states(events: Sequence[Event]) -> list[State]:
    states = [State()]
    for event in events:
        states.append(fold(states[-1], event))
    return states[1:]


def _rate(what: str, work: Callable[[], object], number: int) -> Row:
    cpu_s, wall_s = cpu_and_wall(work)
    return what, f"{number / cpu_s:,.0f} ({number / wall_s:,.0f})", ">= 20,000"


def _each(what: str, states: Sequence[State]) -> list[Row]:
    rows: list[Row] = []
    works: dict[str, Callable[[State], object]] = {
        "advise": lambda state: advise(state, state.at_s),
        "balance": balance,
    }
    for name, work in works.items():
        cpu_s, wall_s = cpu_and_wall(lambda work=work: [work(s) for s in states])  # type: ignore[misc]
        per = 1e6 / len(states)
        rows.append((f"{name} an event, {what}", f"{cpu_s * per:.0f} us ({wall_s * per:.0f})", ""))
    return rows


def _s(cpu_s: float, wall_s: float) -> str:
    return f"{cpu_s:.2f} s ({wall_s:.2f})"


if __name__ == "__main__":
    main()
