"""Fit the corner rule to simulated benches, and say how far off ``mechanics/corner.py`` is.

    python tests/benchmarks/fit_corner.py [BENCHES]

Benches 1000 and on (400 by default), each in six states of tension, half of them eased, and most
with one roller ahead of its opposite. The part of the rule that goes by the rod gap is left as it
is. Read corners are two opposite ones, in both directions, with the scatter of a gauge, before
easing or after. The peak is that of the simulated sheet, which nobody at a bench can see.
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

from benchterm.mechanics.corner import EASED_RATIO, USUAL_SIZE_MM, Corners, log_peak_factor

FIRST = 1000
GAUGE_SD = 0.4
AT_S = 60.0
TERMS = ("constant", "ln size", "ratio", "relief", "lead")


@dataclass
class Seen:
    """One state of one bench."""

    corners: Corners
    log_factor: float

    @property
    def inside(self) -> bool:
        """Whether rods stop short of the corner."""
        return self.corners.rod_gap_mm > 8


def main(benches: int) -> None:
    """Simulate, fit and print."""
    seen = [s for number in range(FIRST, FIRST + benches) for s in states(number)]
    for name, inside in (("rods in", False), ("rods inside", True)):
        some = [s for s in seen if s.inside is inside]
        best = fitted(some)
        print(f"{name}: " + ", ".join(f"{n} {c:.2f}" for n, c in zip(TERMS, best, strict=True)))
        for eased in (False, True):
            part = [s for s in some if (s.corners.relief > 0) is eased]
            read = np.array([s.log_factor - log_peak_factor(s.corners) for s in part])
            unread = np.array([s.log_factor - log_peak_factor(without(s.corners)) for s in part])
            print(
                f"  {'eased' if eased else 'not eased':10} n {len(part):4}: the rule is off by "
                f"{read.mean():+.2f}, sd {read.std():.2f} with corners read; "
                f"{unread.mean():+.2f}, sd {unread.std():.2f} without"
            )


def fitted(seen: list[Seen]) -> np.ndarray:
    """The terms beyond that of the rod gap, as they fit best."""
    gap = np.array([log_peak_factor(Corners(s.corners.rod_gap_mm, ratio=1.0)) for s in seen])
    size = np.array([math.log(s.corners.size_mm / USUAL_SIZE_MM) for s in seen])
    relief, lead, ratio = (
        np.array([getattr(s.corners, name) for s in seen]) for name in ("relief", "lead", "ratio")
    )
    y = np.array([s.log_factor for s in seen])

    def off(terms: np.ndarray) -> np.ndarray:
        left = np.maximum(1 - terms[3] * relief + terms[4] * lead, 0.05)
        return gap + terms[0] + terms[1] * size + terms[2] * (ratio - 1) + np.log(left) - y

    return least_squares(off, [0.0, 0.4, 1.0, 0.7, 0.1]).x


def states(number: int) -> list[Seen]:
    """A bench pulled to six pairs of tensions."""
    bench = Bench(draw(number), number)
    rng = np.random.default_rng([number, 9])
    size = math.sqrt(math.prod(bench.is_.span_mm))
    made = []
    for i in range(6):
        bench.eased = {}
        pulled(bench, rng.uniform(0.4, 1.05, 2))
        taken_up = sum(taut[-1][1] for taut in bench.taut) / 4
        relief = rng.uniform(0.1, 0.65) if i % 2 else 0.0
        eased = {c: relief * taken_up * rng.uniform(0.85, 1.1) for c in CORNER_NAMES}
        centre = {axis: bench.true(5, axis, AT_S) for axis in ("along", "across")}
        taken = 0.0
        if rng.random() < 0.5:
            bench.eased, taken = eased, EASED_RATIO * relief
        ratio = taken + max(
            (bench.true(c, axis, AT_S) + rng.normal(0, GAUGE_SD)) / t
            for axis, t in centre.items()
            for c in (1, 9)
        )
        bench.eased = eased
        lead = rng.uniform(0, 0.35) if i > 1 else 0.0
        first, second = rng.permutation(((4, 6), (2, 8))[rng.integers(2)])
        bench.wound[first] += lead * taken_up / 2
        bench.wound[second] -= lead * taken_up / 2
        corners = Corners(bench.is_.gap_said_mm, size, relief, lead, ratio)
        made.append(Seen(corners, math.log(bench.peak(AT_S) / max(centre.values()))))
    return made


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


def without(corners: Corners) -> Corners:
    """The same with no corner read."""
    return replace(corners, ratio=None)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
