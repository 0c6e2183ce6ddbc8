"""Short words for what stands on a screen or a sheet: events, axes, ages, deviations."""

from __future__ import annotations

from benchterm.core.events import (
    CheckTicked,
    CornerRelieved,
    Event,
    GaugeChosen,
    Happening,
    HeldReadingDropped,
    HeldReadingKept,
    JournalRepaired,
    MarkMade,
    NoteMade,
    ProductsChosen,
    ReadingHeld,
    ReadingTaken,
    ReasonAsked,
    ReasonWithheld,
    RollerTurned,
    SessionClosed,
    SessionOpened,
    SessionResumed,
    StageEntered,
    TargetChanged,
    TimerStarted,
    TimerStopped,
)
from benchterm.core.facts import Facts
from benchterm.core.state import Reading, State
from benchterm.core.stations import Axis, Pair

ARROWS = {Pair.FAR_NEAR: "↕", Pair.LEFT_RIGHT: "↔"}
"""How the gauge lies, as the operator sees it."""


def arrow(facts: Facts, axis: Axis) -> str:
    """The direction of an axis on the screen."""
    return ARROWS[facts.pair_of(axis)]


def age(seconds: float) -> str:
    """``12s``, ``5m``, ``3h``: at most three characters up to 99 hours."""
    if seconds < 60:
        return f"{max(0, int(seconds))}s"
    if seconds < 3600:
        return f"{int(seconds // 60)}m"
    return f"{min(99, int(seconds // 3600))}h"


def clock(seconds: float) -> str:
    """Session time as ``h:mm:ss``."""
    whole = max(0, int(seconds))
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def clicks(number: int) -> str:
    """``1 click``, ``-2 clicks``."""
    return f"{number} click" if abs(number) == 1 else f"{number} clicks"


def is_stale(state: State, reading: Reading, now_s: float) -> bool:
    """Whether a reading is too old, by clicks or by time, for the shop's table."""
    old_s = now_s - reading.at_s
    return (
        abs(state.clicks_since(reading)) >= state.practice.stale_clicks
        or old_s > 60 * state.practice.stale_min
    )


def against_target(state: State, axis: Axis, value_n_cm: float) -> str:
    """``=`` within the tolerance, ``<`` under it, ``>`` over it."""
    target = state.facts.target
    off = value_n_cm - target.of(axis)
    if abs(off) <= target.tolerance_n_cm:
        return "="
    return "<" if off < 0 else ">"


def entry_words(events: tuple[Event, ...], state: State) -> str:
    """One entry in a few words: ``far +3, 22.5 ↕``."""
    said: list[str] = []
    place = ""
    for event in events:
        words = happening_words(event.what, state)
        here = getattr(event.what, "station", None)
        if here is not None:
            words = words.removeprefix(f"{place} ")
            place = here.label
        if words:
            said.append(words)
    return ", ".join(said)


def happening_words(what: Happening, state: State) -> str:  # noqa: C901, PLR0912
    """What happened in a few words; empty for an undo, which is shown on what it undid."""
    facts = state.facts
    match what:
        case ReadingTaken(station, axis, value):
            return f"{station.label} {value:.1f} {arrow(facts, axis)}"
        case ReadingHeld(station, axis, value):
            return f"{station.label} {value:.1f} {arrow(facts, axis)} asked back"
        case HeldReadingKept(reading):
            return f"{_held_words(reading, state)} kept"
        case HeldReadingDropped(reading):
            return f"{_held_words(reading, state)} dropped"
        case RollerTurned(station, number):
            return f"{station.label} {number:+d}"
        case CornerRelieved(station, mm, measured):
            return f"{station.label} relief {mm:g} mm" + ("" if measured else " (usual)")
        case CheckTicked(_, _, text):
            return f"✓ {text}"
        case StageEntered(stage, _, reason):
            return f"▸ {stage.label}" + (f": {reason}" if reason else "")
        case ReasonAsked(to):
            return f"? reason to go on to {to.label}"
        case ReasonWithheld():
            return "stayed"
        case TimerStarted(_, minutes):
            return f"timer {minutes:g} min"
        case TimerStopped():
            return "timer stopped"
        case NoteMade(text):
            return f"note: {text}"
        case MarkMade(number):
            return f"mark {number}"
        case TargetChanged(axis, value):
            return f"target {value:g} {axis.value}"
        case SessionOpened():
            return "session opened"
        case ProductsChosen(_, briefing):
            return f"glue: {' and '.join(briefing.products) or 'none named'}"
        case GaugeChosen(gauge, _, calibration):
            known = (
                "not calibrated" if calibration is None else f"calibrated {calibration.utc[:10]}"
            )
            return f"read by {gauge or 'a gauge not named'}, {known}"
        case SessionResumed(_, away_s):
            return f"resumed after {age(away_s)}"
        case JournalRepaired(moved):
            return f"journal mended, {moved} bytes set aside"
        case SessionClosed(finished):
            return "session finished" if finished else "session given up"
        case _:
            return ""


def _held_words(reading: int, state: State) -> str:
    """The reading that was asked back, as long as it is among the recent entries."""
    for event in state.window.recent:
        if event.seq == reading and isinstance(event.what, ReadingHeld):
            held = event.what
            return f"{held.station.label} {held.value_n_cm:.1f} {arrow(state.facts, held.axis)}"
    return "reading"
