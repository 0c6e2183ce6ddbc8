"""Fit the corner rule to simulated benches, and say how far off ``mechanics/corner.py`` is.

    python tests/benchmarks/fit_corner.py [FIRST] [BENCHES]

Benches 1000 to 1599 unless told otherwise, each in eight states of tension, half of them eased, and
most with one roller ahead of its opposite. Read corners are two opposite ones, in both directions,
with the scatter of a gauge, before easing or after. The peak is that of the simulated sheet, which
nobody at a bench can see; the higher of both directions is what is fitted.
"""

# ruff: noqa: T201 - finds its modules first, then prints its figures

from __future__ import annotations

import math
import sys
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from scipy.optimize import least_squares
from simulated.bench import CORNER_NAMES, Bench, draw

from benchterm.mechanics.corner import EASED_RATIO, USUAL_SPAN_MM, Corners, log_peak_factor

FIRST, BENCHES = 1000, 600
GAUGE_SD = 0.4
AT_S = 60.0
GAPS_MM = (0, 3, 6, 10, 20, 30, 50)
RATIO_GAPS_MM = (0, 30, 50)
GAP, USUAL, IN, INSIDE = slice(7), slice(7, 10), slice(10, 14), slice(14, 18)
"""Where the terms stand: peak and usual ratio by gap; span, ratio, relief and lead, twice."""


@dataclass
class Seen:
    """One state of one bench: along x, along y."""

    corners: tuple[Corners, Corners]
    tension_n_cm: tuple[float, float]
    log_peak: float
    """Of the higher one of the two."""


def main(first: int, benches: int) -> None:
    """Simulate, fit and print."""
    seen = [s for number in range(first, first + benches) for s in states(number)]
    terms = fitted(seen)
    print("gap    ", _row(GAPS_MM, terms[GAP]))
    print("ratio  ", _row(RATIO_GAPS_MM, terms[USUAL]))
    for name, part in (("rods in", IN), ("inside", INSIDE)):
        print(f"{name:8}", _row(("span", "ratio", "relief", "lead"), terms[part]))
    for name, inside in (("rods in", False), ("inside", True)):
        for eased in (False, True):
            some = [
                s
                for s in seen
                if (s.corners[0].rod_gap_mm > 8, s.corners[0].relief > 0) == (inside, eased)
            ]
            read = np.array([s.log_peak - ruled(s, read=True) for s in some])
            unread = np.array([s.log_peak - ruled(s, read=False) for s in some])
            print(
                f"{name:8}{'eased' if eased else 'not eased':10} n {len(some):4}: the rule is off "
                f"by {read.mean():+.2f}, sd {read.std():.2f} with corners read; "
                f"{unread.mean():+.2f}, sd {unread.std():.2f} without"
            )


def ruled(seen: Seen, *, read: bool) -> float:
    """The peak by the rule as it is."""
    known = [c if read else replace(c, ratio=None) for c in seen.corners]
    return max(
        log_peak_factor(c) + math.log(t) for c, t in zip(known, seen.tension_n_cm, strict=True)
    )


def fitted(seen: list[Seen]) -> np.ndarray:
    """The terms as they fit best, corners read or not; the latter count a quarter."""
    values = [
        np.array([[getattr(c, name) for c in s.corners] for s in seen])
        for name in ("rod_gap_mm", "span_mm", "relief", "lead", "ratio")
    ]
    tension = np.log([s.tension_n_cm for s in seen])
    peak = np.array([s.log_peak for s in seen])
    gap, span, relief, lead, read = values

    def off(terms: np.ndarray, ratio: np.ndarray) -> np.ndarray:
        power, weight, less, more = np.where(
            gap[..., None] > 8, terms[INSIDE], terms[IN]
        ).transpose(2, 0, 1)
        left = np.log(np.maximum(1 - less * relief + more * lead, 0.15))
        factor = np.interp(gap, GAPS_MM, terms[GAP]) + power * np.log(span / USUAL_SPAN_MM)
        return (factor + weight * (ratio - 1) + left + tension).max(axis=1) - peak

    def both(terms: np.ndarray) -> np.ndarray:
        usual = np.interp(gap, RATIO_GAPS_MM, terms[USUAL])
        return np.concatenate([off(terms, read), 0.5 * off(terms, usual)])

    start = [1.1, 1, 0.7, 0.6, 0.5, 0.5, 0.5, 1.1, 1.1, 1, *(0.5, 1, 0.8, 0.2) * 2]
    return least_squares(both, start).x


def states(number: int) -> list[Seen]:
    """A bench pulled to eight pairs of tensions."""
    bench = Bench(draw(number), number)
    rng = np.random.default_rng([number, 19])
    return [_state(bench, rng, eased=bool(i % 2), led=i > 1) for i in range(8)]


def _state(bench: Bench, rng: np.random.Generator, *, eased: bool, led: bool) -> Seen:
    bench.eased = {}
    pulled(bench, rng.uniform(0.35, 1.05, 2))
    taken_up = [taut[-1][1] / 2 for taut in bench.taut]
    mean = sum(taken_up) / 2
    mm = rng.uniform(0.1, 0.65) * mean if eased else 0.0
    given = {c: mm * rng.uniform(0.85, 1.1) for c in CORNER_NAMES}
    axes = sorted(("along", "across"), key=bench.along)
    centre = [bench.true(5, axis, AT_S) for axis in axes]
    is_read_eased = rng.random() < 0.5
    bench.eased = given if is_read_eased else {}
    ratio = is_read_eased * EASED_RATIO * mm / mean + max(
        (bench.true(c, axis, AT_S) + rng.normal(0, GAUGE_SD)) / t
        for axis, t in zip(axes, centre, strict=True)
        for c in (3, 7)
    )
    bench.eased = given
    lead, pair = led * rng.uniform(0, 0.35) * mean, int(rng.integers(2))
    ahead, behind = rng.permutation(((4, 6), (2, 8))[pair])
    bench.wound[ahead] += lead / 2
    bench.wound[behind] -= lead / 2
    first, second = (
        Corners(
            bench.is_.gap_said_mm,
            bench.is_.span_mm[d],
            mm / taken_up[d],
            lead / taken_up[d] if d == pair else 0.0,
            ratio,
        )
        for d in (0, 1)
    )
    return Seen((first, second), (centre[0], centre[1]), math.log(bench.peak(AT_S)))


def pulled(bench: Bench, shares: np.ndarray) -> None:
    """Turn the rollers so that both directions come near these shares of the target."""
    d = bench.is_
    across = d.nu * math.sqrt(math.prod(bench.stiffness))
    stiffness = np.array([[bench.stiffness[0], across], [across, bench.stiffness[1]]])
    strains = np.linalg.solve(stiffness, shares * d.target_n_cm)
    for pair, rollers in enumerate(((4, 6), (2, 8))):
        length = d.span_mm[pair] + 2 * d.wrapped_mm
        for roller in rollers:
            bench.wound[roller] = (strains[pair] * length + d.slack_mm[pair]) / 2
        taken_up = sum(bench.wound[r] for r in rollers) - d.slack_mm[pair]
        bench.taut[pair] = [(0.0, 0.0), (0.0, taken_up)]


def _row(names: tuple, values: np.ndarray) -> str:
    return "  ".join(f"{name} {value:.2f}" for name, value in zip(names, values, strict=True))


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:]), *(FIRST, BENCHES)[len(sys.argv) - 1 :])
