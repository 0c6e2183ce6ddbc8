"""``decide``: what happens when an intent is taken, or why it is not. Pure."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from benchterm.core.cloth import ceiling_n_cm
from benchterm.core.estimate import expectation
from benchterm.core.events import (
    CheckTicked,
    CornerRelieved,
    Event,
    Happening,
    HeldReadingDropped,
    HeldReadingKept,
    MarkMade,
    NoteMade,
    ProductsChosen,
    ReadingHeld,
    ReadingTaken,
    ReasonAsked,
    ReasonWithheld,
    RollerTurned,
    SessionClosed,
    Source,
    StageEntered,
    TargetChanged,
    TimerStarted,
    TimerStopped,
    Undone,
)
from benchterm.core.expect import expected
from benchterm.core.fold import fold, rested
from benchterm.core.gates import (
    open_checks,
    open_items_to,
    reasons,
    shut,
    stage_checks,
    wait_min,
)
from benchterm.core.intents import (
    Aim,
    Answer,
    Ask,
    Choose,
    Close,
    Go,
    GoBack,
    Intent,
    Listen,
    Mark,
    Note,
    Read,
    Redo,
    Relieve,
    StartTimer,
    StopTimer,
    Tick,
    Turn,
    Undo,
)
from benchterm.core.stages import Stage
from benchterm.core.state import State, Turned
from benchterm.core.stations import Axis, Station


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why an intent was not taken; nothing has changed."""

    why: str
    """One clear line for the person at the bench."""


Decision = tuple[Happening, ...] | Refusal


def decide(state: State, intent: Intent, now_s: float) -> Decision:
    """What happens when an intent is taken at a session time, or why it is not.

    An empty tuple: in order, but there is nothing to write down.
    """
    if state.closed and not isinstance(intent, Ask | Listen):
        return Refusal("This session is closed. Begin a new one.")
    return _DECIDERS[type(intent)](rested(state, now_s), intent, now_s)


def undoable(state: State) -> tuple[tuple[Event, ...], ...]:
    """Entries that count and can be undone, the latest first, each with all its events."""
    entries: dict[int, list[Event]] = {}
    for event in state.window.recent:
        if event.entry in state.window.undone or event.source is Source.BENCH:
            continue
        if not isinstance(event.what, Undone | ProductsChosen):
            entries.setdefault(event.entry, []).append(event)
    # The oldest entry may have lost its first event to the far side of the window.
    whole = [tuple(events) for entry, events in entries.items() if events[0].seq == entry]
    return tuple(reversed(whole))


def _read(state: State, intent: Read, now_s: float) -> Decision:
    if not state.stage.takes_readings:
        return Refusal(f"No reading in this stage ({state.stage.label}): the mesh is not pulled.")
    axis = intent.axis or state.facts.usual_axis(intent.station)
    refusal = _bad_tension(state, intent.value_n_cm)
    if refusal:
        return refusal
    dropped = _drop_held(state)
    likely = expected(state, intent.station, axis)
    value = intent.value_n_cm
    most = ceiling_n_cm(state)
    least = state.practice.surprise_n_cm
    if likely.is_far_from(value, least):
        likely = expectation(state, intent.station, axis, now_s)
    over = most is not None and value > most >= likely.value_n_cm
    if over or likely.is_far_from(value, least):
        held = ReadingHeld(
            intent.station, axis, value, round(likely.value_n_cm, 1), round(likely.sd_n_cm, 2)
        )
        return (*dropped, held)
    return (*dropped, ReadingTaken(intent.station, axis, value))


def _turn(state: State, intent: Turn, now_s: float) -> Decision:
    station, clicks = intent.station, intent.clicks
    if not station.is_roller:
        return Refusal(f"{station.label.capitalize()} has no roller to turn.")
    if clicks == 0:
        return Refusal(f"{station.label.capitalize()}: how many clicks?")
    if abs(clicks) > state.practice.clicks_max:
        most = f"{state.practice.clicks_max:g}"
        return Refusal(f"{abs(clicks)} clicks in one entry is beyond reason (limit {most}).")
    if clicks > 0 and not state.stage.takes_tightening:
        return Refusal(f"No tightening in this stage ({state.stage.label}).")
    if clicks < 0 and not state.stage.takes_letting_back:
        return Refusal(f"No letting back in this stage ({state.stage.label}).")
    turned = RollerTurned(station, clicks)
    if intent.then_n_cm is None:
        return (turned,)
    after = _with_clicks(state, station, clicks, now_s)
    read = _read(after, Read(station, intent.then_n_cm, intent.then_axis), now_s)
    return read if isinstance(read, Refusal) else (turned, *read)


def _with_clicks(state: State, station: Station, clicks: int, now_s: float) -> State:
    values = list(state.clicks)
    values[station] += clicks
    turned = Turned(state.last_seq + 1, now_s, station, clicks)
    return replace(state, clicks=tuple(values), trail=(*state.trail, turned))


def _relieve(state: State, intent: Relieve, _: float) -> Decision:
    if not intent.station.is_corner:
        return Refusal(f"{intent.station.label.capitalize()} is no corner: relief is for corners.")
    if not state.stage.takes_relief:
        return Refusal(f"No corner relief in this stage ({state.stage.label}).")
    mm = state.practice.relief_mm if intent.mm is None else intent.mm
    if not (math.isfinite(mm) and 0 < mm <= state.practice.relief_max_mm):
        return Refusal(
            f"{mm:g} mm of relief is beyond reason (more than 0, "
            f"up to {state.practice.relief_max_mm:g})."
        )
    return (CornerRelieved(intent.station, mm, intent.mm is not None),)


def _undo(state: State, intent: Undo, _: float) -> Decision:
    entries = undoable(state)
    if intent.station is not None:
        entries = tuple(e for e in entries if any(_is_at(event, intent.station) for event in e))
    where = f" at {intent.station.label}" if intent.station else ""
    if not 1 <= intent.back <= len(entries):
        have = f"only {len(entries)}" if entries else "no entry"
        return Refusal(f"Nothing to undo that far back{where}: {have} can be undone.")
    return _undone(state, entries[intent.back - 1][0].entry)


def _undone(state: State, entry: int) -> Decision:
    """An undo, unless it would take away what opened a gate that has been gone through."""
    happening = Undone(entry)
    number = state.last_seq + 1
    after = fold(state, Event(number, number, state.at_s, "", Source.BENCH, happening))
    if set(after.slipped) - set(state.slipped):
        return Refusal("That would leave cautions behind unasked: go back to their stage instead.")
    unasked = any(c.caution for c in open_checks(after, Stage.ADHESIVE))
    if unasked and state.stage <= Stage.ADHESIVE < after.stage:
        return Refusal("That would lead past the cautions of the adhesive: say next instead.")
    return (happening,)


def _is_at(event: Event, station: Station) -> bool:
    return getattr(event.what, "station", None) is station


def _redo(state: State, _: Redo, __: float) -> Decision:
    undos = {e.entry: e.what.entry for e in state.window.recent if isinstance(e.what, Undone)}
    for undo, entry in reversed(undos.items()):
        if undo not in state.window.undone and entry not in undos:  # Else it is itself a redo.
            if any(e.seq == entry for e in state.window.recent):
                return _undone(state, undo)
            break
    return Refusal("No undo to take back.")


def _tick(state: State, intent: Tick, _: float) -> Decision:
    listed = stage_checks(state)
    if intent.item is None:
        waiting = open_checks(state)
        if not waiting:
            return Refusal("Every check of this stage is ticked. Say next to go on.")
        check = waiting[0]
    elif 1 <= intent.item <= len(listed):
        check = listed[intent.item - 1]
    else:
        return Refusal(f"This stage has {len(listed)} checks; there is no number {intent.item}.")
    if check.id in state.ticked:
        return Refusal(f"Already ticked: {check.text}")
    cautions = [c for c in open_checks(state) if c.caution]
    if cautions and check is not cautions[0]:
        return Refusal(f"Cautions come first, in order: {cautions[0].text}")
    if check.caution:
        by = state.facts.operator
        return (CheckTicked(state.stage, check.id, check.text, check.version, by),)
    return (CheckTicked(state.stage, check.id, check.text),)


def _answer(state: State, intent: Answer, now_s: float) -> Decision:
    if state.held is not None:
        if intent.yes:
            return (HeldReadingKept(state.held.seq),)
        return (HeldReadingDropped(state.held.seq),)
    if state.way_on is not None:
        if intent.yes:
            return Refusal("A reason is needed: choose its number, or note it in words.")
        return (ReasonWithheld(state.way_on.seq),)
    if intent.yes:
        return _tick(state, Tick(), now_s)
    return Refusal("No question is open.")


def _choose(state: State, intent: Choose, now_s: float) -> Decision:
    if state.way_on is None:
        return _tick(state, Tick(intent.number), now_s)
    listed = reasons(state)
    if not 1 <= intent.number <= len(listed):
        return Refusal(f"Choose a reason from 1 to {len(listed)}.")
    return _go(state, Go(state.way_on.to, listed[intent.number - 1]), now_s)


def _go(state: State, intent: Go, now_s: float) -> Decision:
    to = intent.to or state.stage.next
    if to is state.stage:
        return Refusal(f"This is the stage: {to.label}.")
    if state.held is not None:
        return Refusal("A reading waits for yes or no first.")
    if to is None:
        return (SessionClosed(finished=True),)
    closed = shut(state, to)
    if closed:
        why = closed[0].rstrip(".")
        return Refusal(f"No way on to {to.label}: {why}. Mend that or choose other products.")
    waiting = open_items_to(state, to, now_s)
    reason = intent.reason.strip()
    if waiting and not reason:
        return (ReasonAsked(to, waiting),)
    return (StageEntered(to, waiting, reason if waiting else ""),)


def _go_back(state: State, _: GoBack, now_s: float) -> Decision:
    if state.stage is Stage.PREPARE:
        return Refusal("This is the first stage.")
    return _go(state, Go(Stage(state.stage - 1)), now_s)


def _note(state: State, intent: Note, now_s: float) -> Decision:
    text = intent.text.strip()
    if not text:
        return Refusal("The note is empty.")
    if state.way_on is not None:
        gone = _go(state, Go(state.way_on.to, text), now_s)
        return gone if isinstance(gone, Refusal) else (NoteMade(text), *gone)
    return (NoteMade(text),)


def _mark(state: State, intent: Mark, _: float) -> Decision:
    number = state.marks + 1 if intent.number is None else intent.number
    if not 1 <= number <= 999:
        return Refusal("A mark has a number from 1 to 999.")
    return (MarkMade(number),)


def _start_timer(state: State, intent: StartTimer, _: float) -> Decision:
    minutes = wait_min(state) if intent.minutes is None else intent.minutes
    if not (math.isfinite(minutes) and 0 < minutes <= 2880):
        return Refusal("A wait is more than 0 and at most 2880 minutes (two days).")
    return (TimerStarted(state.stage, minutes),)


def _stop_timer(state: State, _: StopTimer, __: float) -> Decision:
    if state.timer is None:
        return Refusal("No timer is running.")
    return (TimerStopped(state.timer.stage),)


def _aim(state: State, intent: Aim, _: float) -> Decision:
    refusal = _bad_tension(state, intent.value_n_cm)
    if refusal:
        return refusal
    if intent.value_n_cm < 0.1:  # Less than a gauge can show.
        return Refusal("A target of nothing is no target.")
    axes = (intent.axis,) if intent.axis else tuple(Axis)
    return tuple(TargetChanged(axis, intent.value_n_cm) for axis in axes)


def _close(state: State, intent: Close, _: float) -> Decision:
    return (SessionClosed(state.stage is Stage.DONE, intent.reason.strip()),)


def _nothing(_: State, __: Ask | Listen, ___: float) -> Decision:
    return ()


def _bad_tension(state: State, value_n_cm: float) -> Refusal | None:
    most = state.practice.reading_max_n_cm
    if not math.isfinite(value_n_cm):
        return Refusal("That is no number.")
    if value_n_cm < 0:
        return Refusal(f"{value_n_cm:g} is negative: mesh does not push.")
    if value_n_cm > most:
        tenth = value_n_cm / 10
        hint = f" Was it {tenth:.1f}?" if tenth <= most else ""
        return Refusal(f"{value_n_cm:g} N/cm is more than mesh holds (limit {most:g}).{hint}")
    return None


def _drop_held(state: State) -> tuple[Happening, ...]:
    """A new reading settles the question about the old one."""
    return (HeldReadingDropped(state.held.seq),) if state.held is not None else ()


_DECIDERS: dict[type, Callable[[State, Any, float], Decision]] = {
    Read: _read,
    Turn: _turn,
    Relieve: _relieve,
    Undo: _undo,
    Redo: _redo,
    Tick: _tick,
    Answer: _answer,
    Choose: _choose,
    Go: _go,
    GoBack: _go_back,
    Note: _note,
    Mark: _mark,
    StartTimer: _start_timer,
    StopTimer: _stop_timer,
    Aim: _aim,
    Close: _close,
    Ask: _nothing,
    Listen: _nothing,
}
