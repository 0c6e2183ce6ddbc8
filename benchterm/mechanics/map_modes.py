"""How tension lies over a mesh held as is known: a mean and a few modes for ``tension_map``.

The mean is a polynomial of what is known of the hold, the modes are of what it leaves open. Both
are fitted to simulated meshes by ``tests/benchmarks/make_modes.py``; never checked on real mesh.
By ``tests/benchmarks/bench_map.py`` on 200 simulated ones that they had not seen, read at centre
and corners, the map was off by 0.51 N/cm (root mean square); as much on those of another simulator.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations_with_replacement
from pathlib import Path

import numpy as np

from benchterm.mechanics.tension_map import RODS_MM, Array, Modes

FILE = Path(__file__).parent / "map_modes.npz"
DEGREE = 3
"""Of the polynomial."""
SPAN_MM = (450.0, 1200.0)
INSET_MM = (0.0, 110.0)
EASED = (0.0, 1.0)
"""What was simulated; beyond it the nearer end is taken."""


@dataclass(frozen=True, slots=True)
class Hold:
    """What is known of how a mesh is held."""

    gap_mm: float
    """From the ends of the rods to the corner."""
    span_mm: tuple[float, float]
    """Mesh between far and near rollers, and between left and right ones."""
    inset_mm: float
    """From the rollers to the frame's opening."""
    eased: float | None = None
    """Mesh let back in at each corner over the mean take-up of a roller; ``None``: none was."""
    gap_sd_mm: float = 0.0
    """How far the gap may be off, standard deviation."""

    @property
    def rods(self) -> str:
        """Which of ``RODS_MM`` the gap falls in; one beyond the last counts as the last."""
        fits = (name for name, (_, most) in RODS_MM.items() if self.gap_mm < most)
        return next(fits, list(RODS_MM)[-1])

    @property
    def is_like_simulated(self) -> bool:
        """Whether meshes held like this were simulated."""
        return bool((np.abs(_scaled(self, self.rods)) <= 1).all())


def modes(hold: Hold) -> Modes:
    """The modes that go with a hold."""
    rods = hold.rods
    kept = _load(rods, eased=hold.eased is not None)

    def mean(gap_mm: float) -> Array:
        at: Array = np.tensordot(terms(replace(hold, gap_mm=gap_mm), rods), kept["mean"], axes=1)
        return at

    own = kept["modes"]
    if hold.gap_sd_mm:
        gap_mm = np.clip(hold.gap_mm, *RODS_MM[rods])
        low, high = np.clip([gap_mm - hold.gap_sd_mm, gap_mm + hold.gap_sd_mm], *RODS_MM[rods])
        a_mm = (mean(high) - mean(low)) / (high - low)
        own = np.concatenate([own, hold.gap_sd_mm * a_mm[None]])
    return Modes(mean(hold.gap_mm), own, kept["rest"])


def terms(hold: Hold, rods: str) -> Array:
    """Terms of the polynomial of what is known."""
    at = np.clip(_scaled(hold, rods), -1, 1)
    products = (
        at[list(chosen)].prod()
        for degree in range(DEGREE + 1)
        for chosen in combinations_with_replacement(range(len(at)), degree)
    )
    return np.array(list(products))


def name(rods: str, part: str, *, eased: bool) -> str:
    """What a part is called in the file: ``mean`` (a field a term), ``modes`` or ``rest``."""
    return f"{rods}_{'eased' if eased else 'uneased'}_{part}"


def _scaled(hold: Hold, rods: str) -> Array:
    """What is known, each from -1 to 1 where it was simulated."""
    known = [*((span, SPAN_MM) for span in hold.span_mm), (hold.inset_mm, INSET_MM)]
    known.append((hold.gap_mm, RODS_MM[rods]))
    if hold.eased is not None:
        known.append((hold.eased, EASED))
    return np.array([(2 * value - low - high) / (high - low) for value, (low, high) in known])


@cache
def _load(rods: str, *, eased: bool) -> dict[str, Array]:
    with np.load(FILE) as kept:
        return {
            part: kept[name(rods, part, eased=eased)].astype(float)
            for part in ("mean", "modes", "rest")
        }
