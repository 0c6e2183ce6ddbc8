"""What may tear at the corners: the corner rule for an estimate and for what rollers are apart."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from benchterm.mechanics import corner
from benchterm.mechanics.estimator import Estimate
from benchterm.mechanics.history import DIRECTIONS, Array, Place, Spot

_TAUT_N_CM = 5.0
"""Below it at the centre a reading at a corner says little of what the corner will hold."""
_TAUT_EASED_N_CM = 3.5
"""What a corner holds at least, eased as it may be, when the centre holds that."""
_ENOUGH = 2
"""Corners to read in a direction; simulated: four tell hardly more than two."""


@dataclass(frozen=True, slots=True)
class Strength:
    """What is known about the corners."""

    rod_gap_mm: float
    breaking_n_cm: float
    chance: float
    """Highest chance of a tear to run."""


@dataclass(frozen=True)
class Risk:
    """The corners of one estimate. ``taut``: mm taken up, a row a parameter set."""

    now: Estimate
    taut_now: Array
    strength: Strength

    @property
    def is_read(self) -> bool:
        """Whether enough corners have been read, under tension, wherever there is some."""
        return bool(self._read) and not self.unread

    @property
    def unread(self) -> tuple[int, ...]:
        """Taut directions in which no two corners have been read since they were taut."""
        return self._short_of(self._read)

    @property
    def unread_since_eased(self) -> tuple[int, ...]:
        """The same, and since they were eased."""
        seen = self.now.history
        fresh = {s for s, slot in zip(seen.spots, seen.slots, strict=True) if slot == seen.slot(s)}
        return self._short_of([s for s in self._read if s in fresh])

    @property
    def eased_mm(self) -> float:
        """Mesh let back in so far, mean over four corners."""
        return self.now.history.eased_all_mm

    def chance(
        self, taut: Array, tension_n_cm: Array, leads_mm: tuple[float, float] = (0.0, 0.0)
    ) -> float:
        """Chance of a tear in the direction where it is higher, with so much taken up.

        ``taut`` and ``tension_n_cm``: a row a parameter set, a column a direction; ``leads_mm``: by
        how much one roller of each is ahead of its opposite.
        """
        known = self.corners(taut, leads_mm)
        likely = np.maximum(np.quantile(tension_n_cm, (0.1, 0.3, 0.5, 0.7, 0.9), axis=0), 0.01)
        return max(
            sum(corner.tear_chance(known[d], t, self.strength.breaking_n_cm) for t in likely[:, d])
            / len(likely)
            for d in DIRECTIONS
        )

    def chance_at(self, taut: Array, target_n_cm: Array) -> float:
        """The same at one tension a direction."""
        return self.chance(taut, target_n_cm[None])

    def relief_mm(self, taut: Array, target_n_cm: Array) -> float:
        """Mesh to let back in at each corner, in all, to come to the targets with this taken up."""
        known, breaking = self.corners(taut), self.strength.breaking_n_cm
        return max(
            corner.relief_share(known[d], target_n_cm[d], breaking) * _a_roller_mm(taut[:, d])
            for d in DIRECTIONS
        )

    def corners(
        self, taut: Array, leads_mm: tuple[float, float] = (0.0, 0.0)
    ) -> tuple[corner.Corners, ...]:
        """What the corner rule looks at in each direction."""
        ratio = self._over_centre if self.is_read else None
        return tuple(
            corner.Corners(
                self.strength.rod_gap_mm,
                self.now.rig.span_mm[d],
                self.eased_mm / _a_roller_mm(taut[:, d]),
                leads_mm[d] / _a_roller_mm(taut[:, d]),
                ratio,
            )
            for d in DIRECTIONS
        )

    def _short_of(self, read: list[Spot]) -> tuple[int, ...]:
        centre = self.now.tensions([Spot(d, Place.CENTRE) for d in DIRECTIONS])
        taut = [d for d in DIRECTIONS if centre[d].mean >= _TAUT_N_CM]
        return tuple(d for d in taut if sum(s.direction == d for s in read) < _ENOUGH)

    @cached_property
    def _read(self) -> list[Spot]:
        """Corners read under tension."""
        seen = zip(self.now.history.spots, self.now.modelled_n_cm, strict=True)
        return list({s: 0 for s, t in seen if s.place is Place.CORNER and t >= _TAUT_EASED_N_CM})

    @cached_property
    def _over_centre(self) -> float:
        """Highest tension at a corner over the centre, what easing took added."""
        at = self.now.tensions([*self._read, *(Spot(d, Place.CENTRE) for d in DIRECTIONS)])
        centre = at[len(self._read) :]
        relief = self.eased_mm / _a_roller_mm(self.taut_now)
        return corner.EASED_RATIO * min(relief, corner.MOST_EASED) + max(
            t.mean / max(centre[spot.direction].mean, 1.0)
            for spot, t in zip(self._read, at, strict=False)
        )


def _a_roller_mm(taut: Array) -> float:
    """Mean take-up of a roller of one direction or, by columns, of both; at least 1."""
    return max(float(taut.mean()) / 2, 1.0)
