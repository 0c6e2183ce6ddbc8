"""How a bench came out, judged by what nobody at it could see."""

from __future__ import annotations

from dataclasses import dataclass, field

from simulated.bench import CORNER_NAMES, Bench
from simulated.worker import Work

from benchterm.core.estimate import spot
from benchterm.core.stations import Axis, Pair, Station
from benchterm.mechanics.estimator import estimate
from benchterm.mechanics.history import Eased, Gauged, Record, Turn
from benchterm.mechanics.mesh import stiffness_n_cm
from benchterm.mechanics.pull import Rig


@dataclass
class Result:
    """One bench."""

    number: int
    torn: bool
    settled: bool
    within: bool
    within_one: bool
    balanced: bool
    moves: int
    readings: int
    corner_readings: int
    over_promise: bool
    over_one: bool
    eased: bool
    slack_corner: bool
    was_fine: bool
    """Without any relief the peak would stay under 80 % of strength."""
    step_n_cm: float
    """The coarser direction's."""
    inside: bool
    off_over_promise: float
    asked_back: int
    bench: Bench = field(repr=False)


@dataclass
class Step:
    """A reading foretold."""

    number: int
    off: float
    covered: bool
    line_off: float
    """The same for a line through the last two readings of its direction, over the clicks."""


def judged(bench: Bench, work: Work) -> Result:
    """The result, by a gauge without noise but of the same calibration."""
    d = bench.is_
    off, promises = [], []
    for station in (2, 4, 6, 8):
        axis = pull_axis(bench, station)
        promise = max(1.0, bench.step_n_cm[station in (2, 8)] / 2 + 0.5)
        off.append(abs(bench.true(station, axis, work.at_s) - d.target_n_cm))
        promises.append(promise)
    clicks = bench.clicks
    balanced = abs(clicks[2] - clicks[8]) <= 1 and abs(clicks[4] - clicks[6]) <= 1
    whole = not bench.torn and balanced
    return Result(
        bench.seed,
        bench.torn,
        work.settled,
        whole and all(o <= p for o, p in zip(off, promises, strict=True)),
        whole and max(off) <= 1.0,
        balanced,
        bench.turns,
        bench.readings - bench.corner_readings,
        bench.corner_readings,
        work.over > max(promises),
        work.over > 1.0,
        bool(bench.eased),
        _slack_corner(bench, work.at_s),
        _was_fine(bench, work.at_s),
        max(bench.step_n_cm),
        d.gap_mm > 10,
        max(o / p for o, p in zip(off, promises, strict=True)),
        work.asked_back,
        bench,
    )


def pull_axis(bench: Bench, station: int) -> str:
    """The axis in which a side's own roller pulls."""
    return "along" if (station in (2, 8)) == bench.is_.along_is_y else "across"


def records(bench: Bench) -> list[Record]:
    """What was done at a bench, as the estimator takes it."""
    pair = Pair.FAR_NEAR if bench.is_.along_is_y else Pair.LEFT_RIGHT
    done: list[Record] = []
    for at_s, what, station, *rest in bench.log:
        if what == "turn":
            direction = 0 if pull_axis(bench, station) == "along" else 1
            done.append(Turn(at_s, direction, int(station in (2, 6)), rest[0]))
        elif what == "read":
            where = spot(pair, Station(station), Axis(rest[0]))
            done.append(Gauged(at_s, where, rest[1]))
        else:
            done.append(Eased(at_s, station, rest[0]))
    return done


def rig(bench: Bench) -> Rig:
    """What is known of the bench before the first click."""
    d = bench.is_
    nominal = stiffness_n_cm(*d.mesh, 7.4)
    x, y = d.span_mm
    spans = (y, x) if d.along_is_y else (x, y)
    return Rig(bench.click_mm, spans, (nominal, nominal))


def one_step(result: Result) -> list[Step]:
    """Each reading against what was expected of it before it was taken; corners left out."""
    done = records(result.bench)
    known = rig(result.bench)
    steps = []
    number = 0
    clicks = [0, 0]
    seen: tuple[list, list] = ([], [])
    for i, record in enumerate(done):
        if isinstance(record, Turn):
            clicks[record.direction] += record.clicks
        if not isinstance(record, Gauged):
            continue
        number += 1
        if record.spot.name in CORNER_NAMES:
            continue
        d = record.spot.direction
        line = _line(seen[d], clicks[d])
        seen[d].append((clicks[d], record.value_n_cm))
        if number < 5:
            continue
        likely = estimate(known, done[:i]).reading(record.spot, record.at_s)
        off = record.value_n_cm - likely.mean
        covered = abs(off) <= 1.6449 * likely.sd
        steps.append(Step(number, off, covered, record.value_n_cm - line))
    return steps


def suspected(result: Result) -> bool:
    """Whether lost clicks were suspected after any of the readings."""
    done, known = records(result.bench), rig(result.bench)
    slips = (
        estimate(known, done[: i + 1]).fit.slipping
        for i, record in enumerate(done)
        if isinstance(record, Gauged)
    )
    return any(slip is not None and slip.is_suspected for slip in slips)


def _line(seen: list[tuple[int, float]], clicks: int) -> float:
    if not seen:
        return 0.0
    (at, value) = seen[-1]
    before = next(((n, v) for n, v in reversed(seen[:-1]) if n != at), None)
    slope = (value - before[1]) / (at - before[0]) if before else 0.0
    return value + slope * (clicks - at)


def _slack_corner(bench: Bench, at_s: float) -> bool:
    """Whether easing alone took more than 0.15 of the tension at a corner over the centre."""
    if not bench.eased:
        return False
    kept = dict(bench.eased)
    drops = []
    for axis in ("along", "across"):
        centre = bench.true(5, axis, at_s)
        with_it = [bench.true(c, axis, at_s) / centre for c in CORNER_NAMES]
        bench.eased = {}
        without = [bench.true(c, axis, at_s) / bench.true(5, axis, at_s) for c in CORNER_NAMES]
        bench.eased = kept
        drops += [b - a for a, b in zip(with_it, without, strict=True)]
    return max(drops) > 0.15


def _was_fine(bench: Bench, at_s: float) -> bool:
    kept, bench.eased = dict(bench.eased), {}
    peak = bench.peak(at_s)
    bench.eased = kept
    return not bench.torn and peak < 0.8 * bench.bears_n_cm
