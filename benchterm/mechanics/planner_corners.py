"""What the corner rule looks at, from an estimate and what opposite rollers are apart."""

from __future__ import annotations

import numpy as np

from benchterm.mechanics import corner
from benchterm.mechanics.estimator import Estimate
from benchterm.mechanics.history import DIRECTIONS, Array, Place, Spot
from benchterm.mechanics.scatter import corner_ratio


def corners(
    now: Estimate, rod_gap_mm: float, ahead: tuple[int, int], taut: Array
) -> corner.Corners:
    """The corners once ``taut`` mm are taken up; a row a parameter set, a column a direction.

    ``ahead``: clicks by which the first roller of each direction is ahead of the second.
    """
    mean = taut.mean(axis=0)
    taken_up = max(float(mean.sum()) / 4, 1.0)
    lead = np.abs(ahead) * now.rig.click_mm
    largest = float((mean / 2 + lead / 2).max())
    eased = sum(now.history.eased.values()) / 4
    return corner.Corners(
        rod_gap_mm,
        eased / taken_up,
        max(largest / taken_up - 1, 0.0),
        _over_centre(now, mean, eased),
    )


def _over_centre(now: Estimate, taut: Array, eased_mm: float) -> float:
    """Highest tension at a corner over the centre; the usual one where none is read since eased."""
    seen = now.history
    slots = dict(zip(seen.slots, seen.spots, strict=True))
    read = [
        spot
        for slot, spot in slots.items()
        if spot.place is Place.CORNER and slot == seen.slot(spot)
    ]
    if not read:
        return float(corner_ratio(taut, eased_mm))
    at = now.tensions([*read, *(Spot(d, Place.CENTRE) for d in DIRECTIONS)])
    centre = at[len(read) :]
    return max(
        t.mean / max(centre[spot.direction].mean, 1.0) for spot, t in zip(read, at, strict=False)
    )
