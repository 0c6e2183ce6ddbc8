"""What a reading has in it besides the model: gauge, place, and clicks that are not all alike.

All of it is linear and normal: a reading is the model plus ``loads @ effects`` plus the gauge's own
noise. Effects are, in this order: gauge zero, one a slot (place against the centre), one a step of
each direction (take-up beyond or short of the nominal, mm).
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np

from benchterm.mechanics.history import DIRECTIONS, Array, History, Place, Spot, When
from benchterm.mechanics.priors import OFFSET_SD, ZERO_SD_N_CM
from benchterm.mechanics.pull import LN_TOE, Rig, kept, pull, slopes, taut_mm, tension_n_cm

CORNER_RATIO = 1.1
"""Corner over centre before any relief; simulated."""
CORNER_EASED = 0.46
"""Drop of that ratio for relief as large as the mean take-up of a roller; simulated."""
_MOST_EASED = 0.75


@dataclass(frozen=True, slots=True, eq=False)
class Looks:
    """Spots to look at and when."""

    when: When
    spots: tuple[Spot, ...]
    slots: tuple[Hashable, ...]
    eased_mm: Array

    @property
    def directions(self) -> list[int]:
        """The direction of each."""
        return [s.direction for s in self.spots]


def taken(history: History) -> Looks:
    """The readings as looks."""
    return Looks(history.when, history.spots, history.slots, history.eased_mm)


def upcoming(history: History, spots: Sequence[Spot], at_s: float) -> Looks:
    """Looks at some spots with no further clicks, at or after the last record."""
    now = history.after(at_s)
    n = len(spots)
    return Looks(
        When(np.repeat(now.at_s, n), np.repeat(now.done, n, axis=0)),
        tuple(spots),
        tuple(history.slot(s) for s in spots),
        np.full(n, sum(history.eased.values()) / 4),
    )


def modelled(rig: Rig, theta: Array, history: History, looks: Looks) -> Array:
    """Tension by the model at each look, N/cm: one row a parameter set."""
    then = pull(rig, theta, history.steps, looks.when)
    tension = tension_n_cm(theta, then.strain)
    shown: Array = tension[:, np.arange(len(looks.spots)), looks.directions]
    for i, spot in enumerate(looks.spots):
        if spot.place is Place.CORNER:
            shown[:, i] *= corner_ratio(taut_mm(theta, then.raw_mm[:, i]), looks.eased_mm[i])
    return shown


def corner_ratio(taut: Array, eased_mm: float) -> Array:
    """Likely corner over centre, from the take-up that pulls (last axis: directions), mm."""
    taken_up = np.maximum(taut.sum(axis=-1) / 4, 1.0)
    ratio: Array = CORNER_RATIO - CORNER_EASED * np.minimum(eased_mm / taken_up, _MOST_EASED)
    return ratio


@dataclass(frozen=True, slots=True, eq=False)
class Slots:
    """The slots among the readings, numbered."""

    number: dict[Hashable, int]
    sd: Array
    """Of each, as a share of the tension."""

    @classmethod
    def of(cls, looks: Looks) -> Slots:
        """The slots of some looks."""
        number: dict[Hashable, int] = {}
        sd = []
        for spot, slot in zip(looks.spots, looks.slots, strict=True):
            if spot.place is not Place.CENTRE and slot not in number:
                number[slot] = len(number)
                sd.append(OFFSET_SD[spot.place])
        return cls(number, np.array(sd, dtype=float))


def loads(rig: Rig, theta: Array, history: History, looks: Looks, slots: Slots) -> Array:
    """What one unit of each effect adds to each look at one parameter set, N/cm."""
    one = theta[None]
    then = pull(rig, one, history.steps, looks.when)
    n, rows = len(looks.spots), np.arange(len(looks.spots))
    columns = looks.directions
    tension = tension_n_cm(one, then.strain)[0, rows, columns]
    place = np.zeros((n, len(slots.number)))
    for i, slot in enumerate(looks.slots):
        if slot in slots.number:
            place[i, slots.number[slot]] = tension[i]
    own, crossed = slopes(one, then.strain)
    parts = [np.ones((n, 1)), place]
    for d in DIRECTIONS:
        felt = np.where(np.equal(columns, d), own[0, rows, columns], crossed[0, rows, columns])
        past = np.clip(then.raw_mm[0, :, d] / np.exp(theta[LN_TOE]), -60.0, 60.0)
        pulls = 1 / (1 + np.exp(-past))
        at_s = history.steps[d].at_s
        left = kept(one, looks.when.at_s[:, None] - at_s[None])[0]
        is_done = np.arange(len(at_s))[None] < looks.when.done[:, d, None]
        parts.append((felt * pulls / rig.length_mm(d))[:, None] * left * is_done)
    return np.concatenate(parts, axis=1)


def variances(rig: Rig, history: History, slots: Slots, scatter: float) -> Array:
    """Variance of each effect when one click's take-up scatters by this share."""
    steps = [
        (scatter * rig.click_mm) ** 2 * np.abs(history.steps[d].own).sum(axis=1) for d in DIRECTIONS
    ]
    return np.concatenate([[ZERO_SD_N_CM**2], slots.sd**2, *steps])


def unseen_variance(looks: Looks, slots: Slots, tension: Array) -> Array:
    """Variance of places that have not been read, at the tensions there."""
    sd = [
        0.0 if slot in slots.number else OFFSET_SD[spot.place]
        for spot, slot in zip(looks.spots, looks.slots, strict=True)
    ]
    return (np.array(sd) * tension) ** 2
