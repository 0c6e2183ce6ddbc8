"""A journal as a timeline in JSON: every event with the figures and the advice after it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import msgspec

from benchterm.core.events import Event
from benchterm.core.fold import fold
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.desk import view
from benchterm.figures import VERSION, advice_shown, event_shown, figures


def timeline(
    events: Iterable[Event],
    *,
    every: int | None = 1,
    stage: Stage | None = None,
    rules_off: frozenset[str] = frozenset(),
) -> Iterator[bytes]:
    """One line of JSON for each event: of every so many, and always of the last.

    ``every`` of ``None``: of the last only. Given a stage, only the events that leave the bench
    in it are counted.
    """
    encoder = msgspec.json.Encoder()
    state = State()
    waiting: tuple[Event, State] | None = None
    counted = 0
    for event in events:
        state = fold(state, event)
        if stage is not None and state.stage is not stage:
            continue
        counted += 1
        waiting = (event, state)
        if every and counted % every == 0:
            yield encoder.encode(moment(*waiting, rules_off)) + b"\n"
            waiting = None
    if waiting is not None:
        yield encoder.encode(moment(*waiting, rules_off)) + b"\n"


def moment(event: Event, state: State, rules_off: frozenset[str]) -> dict[str, object]:
    """An event and how the bench stands after it."""
    now = view(state, event.at_s, rules_off)
    return {
        "v": VERSION,
        "at": round(event.at_s, 3),
        "utc": event.utc,
        "source": event.source.value,
        "heard": event.heard,
        "event": event_shown(event),
        "state": figures(now),
        "advice": advice_shown(now.advice),
    }
