"""What the mesh of a session will have lost by tomorrow, from its clicks and readings so far."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from benchterm.core.cloth import nominal_step_n_cm
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.state import Reading, State, Turned
from benchterm.core.stations import ROLLERS_OF, Axis, Station
from benchterm.mechanics.settling import DAY_S, Likely, Prior, Seen, Settling, Step
from benchterm.mechanics.takeup import POISSON

TOP_UP_CLICKS = 1
"""Of one roller: the smallest top-up there is."""
_LITTLE_KNOWN = Prior(sd=0.07)
"""So wide that the readings alone speak."""
_EARLY_S = 3600.0


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is to come on one axis, if nothing is turned."""

    tomorrow: Likely
    """24 h after the last click."""
    lost: float
    """Since the last click, up to the last reading."""
    glue_from_s: float | None
    """When a further day costs no more than the tolerance; ``None``: not within a day."""
    topped_up: Likely
    """Tomorrow after one click more of one roller, given when it was last read."""


@dataclass(frozen=True, slots=True)
class Record:
    """What an outlook rests on: of one axis, since tension began."""

    axis: Axis
    steps: tuple[Step, ...]
    seen: tuple[Seen, ...]
    """After the last click of any roller."""
    seqs: tuple[int, ...]
    """Of those readings."""
    click_n_cm: float


def record(state: State, axis: Axis) -> Record:
    """The record of an axis.

    Tension between two readings is shared out over the clicks between them; that of the first
    reading goes to the clicks just before it, at the worked-out step, for earlier ones took slack.
    """
    pair = state.facts.pair_of(axis)
    click = nominal_step_n_cm(state, pair)
    last_turn = last_turn_s(state)
    steps: list[Step] = []
    waiting: list[tuple[float, float]] = []
    read: float | None = None
    seen: list[tuple[int, Seen]] = []
    for step in state.trail:
        if isinstance(step, Turned):
            own = 1.0 if step.station.pair is pair else POISSON
            waiting.append((step.at_s, own * step.clicks))
        elif isinstance(step, Reading) and _is_level(state, step, axis):
            if read is None:
                steps += _first(waiting, step.value_n_cm, click)
            else:
                steps += _between(waiting, step.value_n_cm - read)
            waiting, read = [], step.value_n_cm
            if step.at_s >= last_turn:
                spot = None if step.station is Station.CENTRE else step.station
                seen.append((step.seq, Seen(step.at_s, spot, step.value_n_cm)))
    return Record(
        axis,
        tuple(steps),
        tuple(one for _, one in seen),
        tuple(seq for seq, _ in seen),
        click,
    )


def outlooks(state: State) -> dict[Axis, Outlook]:
    """The outlook of each axis that has been read since the last click of any roller."""
    records = tuple(r for a in Axis if (r := record(state, a)).seen and _pulls(r))
    if not records:
        return {}
    allowed = state.facts.target.tolerance_n_cm
    return dict(_worked_out(records, last_turn_s(state), allowed, _prior(state.practice)))


def _prior(practice: Practice) -> Prior:
    known = Likely(practice.lost_later, practice.lost_later_sd) if practice.lost_later else None
    return Prior(practice.lost_in_a_day, practice.lost_in_a_day_sd, known)


def lost_later(state: State) -> Likely | None:
    """The share of its tension that this mesh lost from a quarter of an hour to a day.

    From readings on the stretcher half a day after the last click and later. ``None``: there is
    none so late, or nothing had been read within the first hour.
    """
    records = [r for a in Axis if (r := record(state, a)).seen and _pulls(r)]
    last_s = last_turn_s(state)
    told = [r for r in records if _is_early(r, last_s) and _is_late(r, last_s)]
    if not told:
        return None
    return Settling(
        {r.axis: r.steps for r in told}, {r.axis: r.seen for r in told}, _LITTLE_KNOWN
    ).later_share


@lru_cache(maxsize=16)
def _worked_out(
    records: tuple[Record, ...], last_turn_s: float, allowed_n_cm: float, prior: Prior
) -> tuple[tuple[Axis, Outlook], ...]:
    """The same for what it rests on alone, so that a second without news costs nothing."""
    settling = Settling(
        {r.axis: r.steps for r in records}, {r.axis: r.seen for r in records}, prior
    )
    tomorrow_s = last_turn_s + DAY_S

    def outlook(of: Record) -> Outlook:
        read_s = of.seen[-1].at_s
        return Outlook(
            settling.tension(of.axis, tomorrow_s),
            settling.lost(of.axis, last_turn_s, read_s).value,
            settling.may_be_glued_s(of.axis, allowed_n_cm, last_turn_s),
            settling.topped_up(of.axis, TOP_UP_CLICKS * of.click_n_cm, read_s, tomorrow_s),
        )

    return tuple((of.axis, outlook(of)) for of in records)


def last_turn_s(state: State) -> float:
    """When a roller was turned last; 0 if never."""
    return max((s.at_s for s in state.trail if isinstance(s, Turned)), default=0.0)


def _is_level(state: State, reading: Reading, axis: Axis) -> bool:
    """Whether a reading tells the level of an axis: at the centre, or where its rollers pull.

    Off the stretcher it tells what the frame has taken, too.
    """
    places = (Station.CENTRE, *ROLLERS_OF[state.facts.pair_of(axis)])
    return reading.axis is axis and reading.station in places and reading.stage <= Stage.CURE


def _pulls(of: Record) -> bool:
    return sum(step.n_cm for step in of.steps) > 0


def _first(
    clicks: list[tuple[float, float]], read_n_cm: float, click_n_cm: float
) -> Iterator[Step]:
    left = read_n_cm
    for at_s, number in reversed(clicks):
        took = min(left, max(number, 0.0) * click_n_cm)
        if took > 0:
            yield Step(at_s, took)
        left -= took


def _between(clicks: list[tuple[float, float]], gained_n_cm: float) -> Iterator[Step]:
    whole = sum(number for _, number in clicks)
    if whole * gained_n_cm > 0:
        yield from (Step(at_s, gained_n_cm * number / whole) for at_s, number in clicks)


def _is_early(of: Record, last_s: float) -> bool:
    return any(one.at_s - last_s <= _EARLY_S for one in of.seen)


def _is_late(of: Record, last_s: float) -> bool:
    return any(one.at_s - last_s >= DAY_S / 2 for one in of.seen)
