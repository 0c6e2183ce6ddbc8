"""The golden timelines: what each demo session amounts to, event by event, one line each.

Renew them when the figures or the advice are meant to change, and read the difference. From the top
of the repository::

    PYTHONPATH=.:tests python -m golden.renew
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from benchterm.core.balance import Spread
from benchterm.core.events import Event
from benchterm.core.fold import fold
from benchterm.core.state import State
from benchterm.core.stations import CORNERS, ROLLERS, Axis
from benchterm.desk import View, view
from benchterm.locations import demo_sessions_folder
from benchterm.records.codec import type_name
from benchterm.records.journal import read

FOLDER = Path(__file__).parent
HEAD = (
    "seq at event | stage | far near left right: N/cm, clicks | corners eased, mm"
    " | mean s: along, across | all advice\n"
)


def timeline(events: Iterable[Event]) -> Iterator[str]:
    """A line for each event: the figures after it and the codes of all advice."""
    state = State()
    for event in events:
        state = fold(state, event)
        yield line(event, view(state, event.at_s))


def line(event: Event, now: View) -> str:
    """An event with the figures and the advice after it."""
    state = now.state
    sides = [
        f"{'-' if (r := state.reading(side)) is None else f'{r.value_n_cm:g}'}"
        f",{state.net_clicks(side)}"
        for side in ROLLERS
    ]
    eased = [f"{state.relief_mm[corner]:g}" for corner in CORNERS]
    spreads = [_spread(now.balance.spread(axis)) for axis in Axis]
    parts = (
        f"{event.seq} {event.at_s:g} {type_name(event.what)}",
        f"{state.stage:d}",
        " ".join(sides),
        " ".join(eased),
        ", ".join(spreads),
        " ".join(f"{one.code}:{one.severity.value}" for one in now.advice),
    )
    return " | ".join(parts).rstrip() + "\n"


def _spread(spread: Spread | None) -> str:
    if spread is None:
        return "-"
    return f"{spread.mean:.2f} {'-' if spread.s is None else f'{spread.s:.2f}'}"


def renew() -> None:
    """Write the timeline of every demo session."""
    for journal in sorted(demo_sessions_folder().glob("*.jsonl")):
        text = HEAD + "".join(timeline(read(journal)))
        (FOLDER / f"{journal.stem}.txt").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    renew()
    sys.stdout.write(f"timelines written to {FOLDER}\n")
