"""``fold``: the state after one more event. Pure, total: it never raises and never forgets.

An undo is worked out by folding again, from the state before the window of recent events, all of
them but what no longer counts. So an undone entry leaves no trace in the figures, of whatever kind
it was.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any

from benchterm.core.checklists import TURNING, caution_prefix
from benchterm.core.events import (
    CheckTicked,
    CornerRelieved,
    Event,
    GaugeChosen,
    Heard,
    HeldReadingDropped,
    HeldReadingKept,
    MarkMade,
    ProductsChosen,
    ReadingHeld,
    ReadingTaken,
    ReasonAsked,
    ReasonWithheld,
    RollerTurned,
    SessionClosed,
    SessionOpened,
    SessionResumed,
    Source,
    StageEntered,
    TargetChanged,
    TimerStarted,
    TimerStopped,
    Undone,
)
from benchterm.core.gates import slips
from benchterm.core.stages import Stage
from benchterm.core.state import (
    GLUED_LENGTH,
    NOTHING_READ,
    TRAIL_LENGTH,
    UNDO_DEPTH,
    Glued,
    Held,
    Reading,
    Relief,
    State,
    Step,
    Timer,
    Turned,
    WayOn,
    Window,
)
from benchterm.core.stations import Axis


def fold(state: State, event: Event) -> State:
    """The state after an event."""
    if isinstance(event.what, Heard):
        # Talk in the shop neither ends a break nor pushes an entry out of reach of an undo.
        return replace(state, last_seq=event.seq)
    window = state.window
    recent = (*window.recent, event)
    if isinstance(event.what, Undone):
        undone = undone_entries(recent)
        now = _fold_all(window, recent, undone)
    else:
        undone = window.undone
        now = _later(state, event, state.at_s, undone)
    base, base_s = window.base, window.base_s
    if len(recent) > UNDO_DEPTH:
        oldest, recent = recent[0], recent[1:]
        base = _later(base or State(), oldest, base_s, undone)
        base_s = oldest.at_s
        undone = frozenset(e.entry for e in recent if e.entry in undone) if undone else undone
    return replace(
        now,
        last_seq=event.seq,
        at_s=event.at_s,
        window=Window(base, recent, undone, base_s),
    )


def fold_all(events: Iterable[Event], state: State | None = None) -> State:
    """The state after all of these events."""
    now = state or State()
    for event in events:
        now = fold(now, event)
    return now


def undone_entries(events: Sequence[Event]) -> frozenset[int]:
    """Entries that do not count: an undo counts unless a later one undoes it."""
    gone: set[int] = set()
    for event in reversed(events):
        if isinstance(event.what, Undone) and event.entry not in gone:
            gone.add(event.what.entry)
    return frozenset(gone)


def _fold_all(window: Window, recent: tuple[Event, ...], undone: frozenset[int]) -> State:
    now, last_s = window.base or State(), window.base_s
    for event in recent:
        now = _later(now, event, last_s, undone)
        last_s = event.at_s
    return now


def _later(state: State, event: Event, last_s: float, undone: frozenset[int]) -> State:
    """After an event, which may not count; the time since the last one always does."""
    now = _after_break(state, event.at_s - last_s)
    take = None if event.entry in undone else _STEPS.get(type(event.what))
    return take(now, event, event.what) if take else now


def rested(state: State, now_s: float) -> State:
    """The state at a session time: after a long break no caution counts as acknowledged."""
    return _after_break(state, now_s - state.at_s)


def _after_break(state: State, quiet_s: float) -> State:
    if quiet_s <= 60 * state.practice.caution_break_min or not state.ticked:
        return state
    return replace(state, ticked=_without_cautions(state.ticked, *Stage))


def _opened(state: State, event: Event, what: SessionOpened) -> State:
    return replace(
        state,
        session=what.session,
        bench=what.bench,
        facts=what.facts,
        practice=what.practice,
        briefing=what.briefing,
        stage_seq=event.seq,
    )


def _products_chosen(state: State, _: Event, what: ProductsChosen) -> State:
    return replace(
        state,
        facts=replace(state.facts, products=what.products),
        briefing=what.briefing,
        ticked=_without_cautions(state.ticked, Stage.ADHESIVE),
    )


def _gauge_chosen(state: State, _: Event, what: GaugeChosen) -> State:
    return replace(state, by_wire=what) if what.wired else replace(state, by_eye=what)


def _gauge(state: State, event: Event) -> GaugeChosen:
    return state.by_wire if event.source is Source.GAUGE else state.by_eye


def _resumed(state: State, _: Event, __: SessionResumed) -> State:
    return replace(state, ticked=_without_cautions(state.ticked, *Stage))


def _reading_taken(state: State, event: Event, what: ReadingTaken) -> State:
    return _with_reading(
        state,
        Reading(
            event.seq,
            event.at_s,
            what.station,
            what.axis,
            what.value_n_cm,
            state.pair_clicks(state.facts.pair_of(what.axis)),
            state.stage,
            _gauge(state, event),
        ),
    )


def _reading_held(state: State, event: Event, what: ReadingHeld) -> State:
    held = Held(
        event.seq,
        event.at_s,
        what.station,
        what.axis,
        what.value_n_cm,
        what.expected_n_cm,
        state.pair_clicks(state.facts.pair_of(what.axis)),
        _gauge(state, event),
    )
    return replace(state, held=held)


def _held_kept(state: State, _: Event, what: HeldReadingKept) -> State:
    held = state.held
    if held is None or held.seq != what.reading:
        return state
    reading = Reading(
        held.seq,
        held.at_s,
        held.station,
        held.axis,
        held.value_n_cm,
        held.pair_clicks,
        state.stage,
        held.gauge,
    )
    return replace(_with_reading(state, reading), held=None)


def _held_dropped(state: State, _: Event, what: HeldReadingDropped) -> State:
    if state.held is None or state.held.seq != what.reading:
        return state
    return replace(state, held=None)


def _with_reading(state: State, reading: Reading) -> State:
    trail = _longer(state.trail, reading)
    if reading.axis is Axis.ALONG:
        return replace(state, along=_put(state.along, reading.station, reading), trail=trail)
    return replace(state, across=_put(state.across, reading.station, reading), trail=trail)


def _turned(state: State, event: Event, what: RollerTurned) -> State:
    clicks = _put(state.clicks, what.station, state.clicks[what.station] + what.clicks)
    same = state.run is not None and state.run[0] is what.station
    run = (what.station, (state.run[1] if same and state.run else 0) + what.clicks)
    turned = Turned(event.seq, event.at_s, what.station, what.clicks)
    return replace(state, clicks=clicks, run=run, trail=_longer(state.trail, turned))


def _relieved(state: State, event: Event, what: CornerRelieved) -> State:
    relief = _put(state.relief_mm, what.station, state.relief_mm[what.station] + what.mm)
    step = Relief(event.seq, event.at_s, what.station, what.mm)
    return replace(state, relief_mm=relief, trail=_longer(state.trail, step))


def _ticked(state: State, _: Event, what: CheckTicked) -> State:
    return replace(state, ticked=state.ticked | {what.check})


def _entered(state: State, event: Event, what: StageEntered) -> State:
    slack_clicks = state.slack_clicks
    if slack_clicks is None and what.stage >= Stage.FIRST_TENSION:
        slack_clicks = state.clicks
    slipped = state.slipped
    if what.stage > state.stage:
        slipped = tuple(dict.fromkeys((*slipped, *slips(state, what.stage, what.passed_over))))
    glued, timer = state.glued, state.timer
    if what.stage is Stage.ADHESIVE:
        glued = (*glued, Glued(event.seq, event.at_s))[-GLUED_LENGTH:]
        if timer is not None and timer.stage is Stage.CURE:
            timer = None  # It timed glue that was put on before.
    ticked = state.ticked
    if what.stage is not TURNING:  # What was said of turning holds for the whole sitting.
        ticked = _without_cautions(ticked, what.stage)
    along, across = state.along, state.across
    if what.stage is Stage.READ_AGAIN:
        along = across = NOTHING_READ  # Cut out and let go, it is another tension.
    return replace(
        state,
        along=along,
        across=across,
        stage=what.stage,
        stage_since_s=event.at_s,
        stage_seq=event.seq,
        slack_clicks=slack_clicks,
        ticked=ticked,
        slipped=slipped,
        glued=glued,
        timer=timer,
        way_on=None,
        run=None,
    )


def _reason_asked(state: State, event: Event, what: ReasonAsked) -> State:
    return replace(state, way_on=WayOn(event.seq, what.to, what.open_items))


def _reason_withheld(state: State, _: Event, what: ReasonWithheld) -> State:
    if state.way_on is None or state.way_on.seq != what.question:
        return state
    return replace(state, way_on=None)


def _timer_started(state: State, event: Event, what: TimerStarted) -> State:
    return replace(state, timer=Timer(event.seq, what.stage, event.at_s, what.minutes))


def _timer_stopped(state: State, _: Event, __: TimerStopped) -> State:
    return replace(state, timer=None)


def _mark_made(state: State, _: Event, what: MarkMade) -> State:
    return replace(state, marks=max(state.marks, what.number))


def _target_changed(state: State, _: Event, what: TargetChanged) -> State:
    target = state.facts.target
    if what.axis is Axis.ALONG:
        target = replace(target, along_n_cm=what.value_n_cm)
    else:
        target = replace(target, across_n_cm=what.value_n_cm)
    return replace(state, facts=replace(state.facts, target=target))


def _closed(state: State, _: Event, what: SessionClosed) -> State:
    return replace(state, closed=True, finished=what.finished)


_STEPS: dict[type, Callable[[State, Event, Any], State]] = {
    SessionOpened: _opened,
    ProductsChosen: _products_chosen,
    GaugeChosen: _gauge_chosen,
    SessionResumed: _resumed,
    ReadingTaken: _reading_taken,
    ReadingHeld: _reading_held,
    HeldReadingKept: _held_kept,
    HeldReadingDropped: _held_dropped,
    RollerTurned: _turned,
    CornerRelieved: _relieved,
    CheckTicked: _ticked,
    StageEntered: _entered,
    ReasonAsked: _reason_asked,
    ReasonWithheld: _reason_withheld,
    TimerStarted: _timer_started,
    TimerStopped: _timer_stopped,
    MarkMade: _mark_made,
    TargetChanged: _target_changed,
    SessionClosed: _closed,
}


def _put(values: tuple[Any, ...], index: int, value: Any) -> tuple[Any, ...]:
    return (*values[:index], value, *values[index + 1 :])


def _longer(trail: tuple[Step, ...], step: Step) -> tuple[Step, ...]:
    longer = (*trail, step)
    return longer if len(longer) <= TRAIL_LENGTH else longer[1:]


def _without_cautions(ticked: frozenset[str], *stages: Stage) -> frozenset[str]:
    prefixes = tuple(caution_prefix(stage) for stage in stages)
    return frozenset(check for check in ticked if not check.startswith(prefixes))
