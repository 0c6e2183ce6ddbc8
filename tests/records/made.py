"""Events for the tests: a few by hand, any by hypothesis, built from the fields they have."""

from __future__ import annotations

import types
from dataclasses import is_dataclass
from enum import Enum
from typing import Any, Union, get_args, get_origin, get_type_hints

from hypothesis import strategies as st

from benchterm.core.events import (
    Event,
    Happening,
    ReadingTaken,
    RollerTurned,
    SessionOpened,
    Source,
)
from benchterm.core.stations import Axis, Station

UTC = "2026-03-02T09:15:02.417Z"


def event(seq: int, what: Happening, entry: int | None = None, heard: str = "") -> Event:
    return Event(seq, entry or seq, 10.0 * seq, UTC, Source.KEYPAD, what, heard)


def short_session() -> list[tuple[Event, ...]]:
    """Five entries, the fourth with two events."""
    return [
        (event(1, SessionOpened("20260302-091502-417-door", "door", "0.1.0")),),
        (event(2, RollerTurned(Station.FAR, 3), heard="8 + 3"),),
        (event(3, ReadingTaken(Station.FAR, Axis.ALONG, 22.5), heard="far “22.5” é"),),
        (
            event(4, RollerTurned(Station.NEAR, 2), heard="2 + 2 * 21"),
            event(5, ReadingTaken(Station.NEAR, Axis.ALONG, 21.0), 4, heard="2 + 2 * 21"),
        ),
        (event(6, ReadingTaken(Station.CENTRE, Axis.ACROSS, 20.0)),),
    ]


def events(kind: type[Happening]) -> st.SearchStrategy[Event]:
    """Any event of one kind."""
    hints = {**get_type_hints(Event), "what": kind}
    return st.builds(Event, **{name: values(one) for name, one in hints.items()})


def values(hint: Any) -> st.SearchStrategy[Any]:
    """Any value that a field of this type may have and that can be written down."""
    if get_origin(hint) in (Union, types.UnionType):
        return st.one_of([values(one) for one in get_args(hint)])
    if get_origin(hint) is tuple:
        return st.lists(values(get_args(hint)[0]), max_size=3).map(tuple)
    if is_dataclass(hint):
        hints = get_type_hints(hint)
        return st.builds(hint, **{name: values(one) for name, one in hints.items()})
    if issubclass(hint, Enum):
        return st.sampled_from(hint)
    return {
        float: st.floats(allow_nan=False, allow_infinity=False),
        int: st.integers(-(2**63), 2**63 - 1),
        str: st.text(max_size=30),
        bool: st.booleans(),
        type(None): st.none(),
    }[hint]
