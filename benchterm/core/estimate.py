"""The session's steps as records for the estimator, and what it makes of them.

Everything here is a pure function of the state; the last few results are kept, because the same
state is asked about many times. The estimator needs numpy, which takes a while to load, so it is
loaded when there is first something to work out and not when the program starts.
"""

# ruff: noqa: PLC0415 - see above

from __future__ import annotations

from collections.abc import Callable
from functools import cache, lru_cache, wraps
from operator import attrgetter
from threading import Lock
from typing import TYPE_CHECKING, TypeVar

from benchterm.core import cloth
from benchterm.core.expect import Expectation, expected
from benchterm.core.stages import Stage
from benchterm.core.state import Reading, Relief, State, Step, Turned
from benchterm.core.stations import ROLLERS_OF, Axis, Pair, Station
from benchterm.mechanics.takeup import promised_accuracy_n_cm

if TYPE_CHECKING:
    from benchterm.mechanics.estimator import Estimate
    from benchterm.mechanics.history import Record, Spot
    from benchterm.mechanics.planner import Goal, Plan
    from benchterm.mechanics.planner_corners import Strength

AXES = (Axis.ALONG, Axis.ACROSS)
"""In the order of the estimator's directions."""
_FIRST_SLOP = 0.2
"""How far off its aim first tensioning may end, as a share of the target."""
_FIRST_WORTH = 0.8
_FINAL_WORTH = 0.4
"""Error that a move has to take away, as a share of how near is near enough."""
_WORTH_N_CM2 = 0.12
"""The same as a square, at least."""
_KEPT = 16
"""Results kept."""


def estimated(state: State) -> Estimate | None:
    """What clicks and readings amount to.

    ``None`` off the stretcher, and until there is a reading with clicks before it: without clicks
    called nothing can be learned of them.
    """
    if not Stage.SLACK <= state.stage <= Stage.CURE or not _is_begun(state.trail):
        return None
    return _estimate(_rig_facts(state), state.facts.along_pair, state.trail)


def expectation(state: State, station: Station, axis: Axis, now_s: float) -> Expectation:
    """What a gauge laid at a station on an axis is likely to show now.

    By the estimate once the axis has been read, before that by ``expect.expected``.
    """
    simple = expected(state, station, axis)
    now = estimated(state) if simple.rests_on is not None else None
    if now is None:
        return simple
    belief = now.reading(spot(state.facts.along_pair, station, axis), now_s)
    return Expectation(belief.mean, belief.sd, simple.rests_on)


def planned(state: State) -> Plan | None:
    """The next move towards this stage's aim; ``None`` outside the tensioning stages."""
    if not Stage.FIRST_TENSION <= state.stage <= Stage.FINAL_TENSION:
        return None
    now = estimated(state)
    return None if now is None else _plan(now, _goal(state, now), _strength(state))


def pass_clicks(state: State) -> int:
    """Clicks on one roller before its opposite is turned."""
    most = cloth.scaled_clicks(state, state.practice.clicks_in_a_row)
    return min(most, int(state.practice.clicks_max))


@cache
def spot(along_pair: Pair, station: Station, axis: Axis) -> Spot:
    """The estimator's name for a station read on an axis."""
    from benchterm.mechanics.history import Place, Spot

    direction = AXES.index(axis)
    if station.is_corner:
        place = Place.CORNER
    elif station.pair is None:
        place = Place.CENTRE
    else:
        pulls = Axis.ALONG if station.pair is along_pair else Axis.ACROSS
        place = Place.SIDE if pulls is axis else Place.FLANK
    return Spot(direction, place, int(station))


def records(along_pair: Pair, trail: tuple[Step, ...]) -> list[Record]:
    """The steps in the order in which they were done.

    A reading that was asked back stands in the trail where it was kept; its number puts it before
    the clicks made while the question was open. Readings off the stretcher are left out.
    """
    from benchterm.mechanics.history import Eased, Gauged, Turn

    rollers = {
        station: (0 if pair is along_pair else 1, number)
        for pair, sides in ROLLERS_OF.items()
        for number, station in enumerate(sides)
    }
    done: list[Record] = []
    for step in sorted(trail, key=attrgetter("seq")):
        match step:
            case Turned(station=station) if station in rollers:
                done.append(Turn(step.at_s, *rollers[station], step.clicks))
            case Reading() if step.stage <= Stage.CURE:
                where = spot(along_pair, step.station, step.axis)
                done.append(Gauged(step.at_s, where, step.value_n_cm))
            case Relief():
                done.append(Eased(step.at_s, int(step.station), step.mm))
    return done


def _is_begun(trail: tuple[Step, ...]) -> bool:
    turned = next((i for i, step in enumerate(trail) if isinstance(step, Turned)), len(trail))
    return any(isinstance(step, Reading) for step in trail[turned:])


_RigFacts = tuple[float, float, float, float]


def _rig_facts(state: State) -> _RigFacts:
    facts = state.facts
    along, across = (facts.free_span_mm(facts.pair_of(axis)) for axis in AXES)
    return cloth.click_mm(state), along, across, cloth.stiffness_n_cm(state)


Result = TypeVar("Result")


def _kept(work: Callable[..., Result]) -> Callable[..., Result]:
    """Keep the last few results; whoever asks for one that is being worked out waits for it."""
    remembered, lock = lru_cache(maxsize=_KEPT)(work), Lock()

    @wraps(work)
    def once(*given: object) -> Result:
        with lock:
            return remembered(*given)

    return once


@_kept
def _estimate(rig_facts: _RigFacts, along_pair: Pair, trail: tuple[Step, ...]) -> Estimate:
    from benchterm.mechanics.estimator import estimate
    from benchterm.mechanics.pull import Rig

    click_mm, along, across, stiffness = rig_facts
    rig = Rig(click_mm, (along, across), (stiffness, stiffness))
    return estimate(rig, records(along_pair, trail))


@_kept
def _plan(now: Estimate, goal: Goal, strength: Strength | None) -> Plan:
    from benchterm.mechanics.planner import plan

    return plan(now, goal, strength)


def _goal(state: State, now: Estimate) -> Goal:
    from benchterm.mechanics.planner import Goal

    facts = state.facts
    aim, slop, sides, ahead = [], [], [], []
    worth = _FIRST_WORTH if state.stage is Stage.FIRST_TENSION else _FINAL_WORTH
    for axis in AXES:
        rollers = ROLLERS_OF[facts.pair_of(axis)]
        first, second = (spot(facts.along_pair, s, axis) for s in rollers)
        sides.append((first, second))
        ahead.append(state.net_clicks(rollers[0]) - state.net_clicks(rollers[1]))
        target = facts.target.of(axis)
        if state.stage is Stage.FIRST_TENSION:
            share = state.practice.first_share * target
            aim.append(min(max(share, now.tension(first).mean), target))
            slop.append(_FIRST_SLOP * target)
        else:
            aim.append(target)
            slop.append(promise_n_cm(state, now, axis))
    return Goal(
        aim_n_cm=(aim[0], aim[1]),
        slop_n_cm=(slop[0], slop[1]),
        target_n_cm=(facts.target.along_n_cm, facts.target.across_n_cm),
        worth_n_cm2=max(_WORTH_N_CM2, (worth * min(slop)) ** 2),
        most_clicks=pass_clicks(state),
        sides=(sides[0], sides[1]),
        ahead=(ahead[0], ahead[1]),
    )


def promise_n_cm(state: State, now: Estimate, axis: Axis) -> float:
    """How near to its target whole clicks can be promised to bring an axis."""
    promised = promised_accuracy_n_cm(now.step(AXES.index(axis)).mean)
    return max(promised, state.facts.target.tolerance_n_cm)


def _strength(state: State) -> Strength | None:
    from benchterm.mechanics.planner_corners import Strength

    gap = state.facts.stretcher.rod_gap_mm
    if gap is None:
        return None
    return Strength(gap, cloth.breaking_n_cm(state), state.practice.tear_chance)
