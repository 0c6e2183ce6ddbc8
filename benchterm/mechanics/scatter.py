"""What a reading has in it besides the model: gauge, place, and clicks that are not all alike.

All of it is linear and normal: a reading is the model plus ``loads @ effects`` plus the gauge's own
noise. Effects are, in this order: gauge zero, what easing takes from the whole sheet, one a slot
(place against the centre), one a step of each direction (take-up beyond or short of the nominal,
mm).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from benchterm.mechanics.corner import EASED_RATIO, MOST_EASED, USUAL_RATIO
from benchterm.mechanics.history import DIRECTIONS, Array, History, Place, Slot, Spot, When
from benchterm.mechanics.priors import (
    CORNERS_SD,
    EASED_PULL_SD,
    EASED_SD,
    OFFSET_SD,
    ZERO_SD_N_CM,
)
from benchterm.mechanics.pull import (
    LN_TOE,
    Pull,
    Rig,
    between,
    eased_strain,
    pull,
    slopes,
    taut_mm,
    tension_n_cm,
)


@dataclass(frozen=True, eq=False)
class Looks:
    """Spots to look at and when."""

    when: When
    spots: tuple[Spot, ...]
    slots: tuple[Slot, ...]

    @cached_property
    def directions(self) -> Array:
        """The direction of each."""
        return np.array([s.direction for s in self.spots], dtype=np.int64)

    @cached_property
    def corners(self) -> Array:
        """Which of them are at corners, by number."""
        return np.flatnonzero([s.place is Place.CORNER for s in self.spots])


def taken(history: History) -> Looks:
    """The readings as looks."""
    return Looks(history.when, history.spots, history.slots)


def upcoming(history: History, spots: Sequence[Spot], at_s: float) -> Looks:
    """Looks at some spots with no further clicks, at or after the last record."""
    now = history.after(at_s)
    n = len(spots)
    return Looks(
        When(*(np.repeat(each, n, axis=0) for each in (now.at_s, now.done, now.eased_mm))),
        tuple(spots),
        tuple(history.slot(s) for s in spots),
    )


def modelled(rig: Rig, theta: Array, history: History, looks: Looks) -> Array:
    """Tension by the model at each look, N/cm: one row a parameter set."""
    return modelled_then(theta, pull(rig, theta, history.steps, looks.when), looks)


def modelled_then(theta: Array, then: Pull, looks: Looks) -> Array:
    """The same from the state of the pull at the looks."""
    tension = tension_n_cm(theta, then.strain)
    shown: Array = tension[:, np.arange(len(looks.spots)), looks.directions]
    if len(looks.corners):
        taut = taut_mm(theta, then.raw_mm[:, looks.corners])
        shown[:, looks.corners] *= corner_ratio(taut, looks.when.eased_mm[looks.corners])
    return shown


def corner_ratio(taut: Array, eased_mm: Array) -> Array:
    """Likely corner over centre, from the take-up that pulls (last axis: directions), mm."""
    taken_up = np.maximum(taut.sum(axis=-1) / 4, 1.0)
    ratio: Array = USUAL_RATIO - EASED_RATIO * np.minimum(eased_mm / taken_up, MOST_EASED)
    return ratio


BEFORE_SLOTS = 2
"""Effects before those of places."""
Effect = Place | Spot | Slot
"""What an effect of places belongs to: all corners, a spot, a spot at a corner since it was eased.
"""


def _effects(slot: Slot) -> tuple[Effect, ...]:
    """The effects which readings in a slot share: none at the centre."""
    spot, eased_mm = slot
    if spot.place is Place.CENTRE:
        return ()
    if spot.place is not Place.CORNER:
        return (spot,)
    return (Place.CORNER, spot, slot) if eased_mm else (Place.CORNER, spot)


def _effect_sd(effect: Effect) -> float:
    if isinstance(effect, Place):
        return CORNERS_SD
    return OFFSET_SD[effect.place] if isinstance(effect, Spot) else EASED_SD


@dataclass(frozen=True, slots=True, eq=False)
class Slots:
    """The effects of places among the readings, numbered."""

    number: dict[Effect, int]
    sd: Array
    """Of each, as a share of the tension."""

    @classmethod
    def of(cls, looks: Looks) -> Slots:
        """The effects of some looks."""
        effects = dict.fromkeys(e for slot in looks.slots for e in _effects(slot))
        sd = [_effect_sd(e) for e in effects]
        return cls({e: i for i, e in enumerate(effects)}, np.array(sd, dtype=float))

    def at(self, looks: Looks) -> Array:
        """Which of the effects each look shares: 1, else 0; one row a look."""
        shared = np.zeros((len(looks.slots), len(self.number)))
        for i, slot in enumerate(looks.slots):
            for effect in _effects(slot):
                if effect in self.number:
                    shared[i, self.number[effect]] = 1.0
        return shared


def loads(rig: Rig, theta: Array, then: Pull, looks: Looks, places: Array) -> Array:
    """What one unit of each effect adds to each look, N/cm, at the first of the parameter sets.

    ``then`` is the pull at the looks, ``places`` what ``Slots.at`` says of them.
    """
    one, strain = theta[:1], then.strain[:1]
    n, rows = len(looks.spots), np.arange(len(looks.spots))
    columns = looks.directions
    tension = tension_n_cm(one, strain)[0, rows, columns]
    own, crossed = slopes(one, strain)
    eased = looks.when.eased_mm[:, None] * eased_strain(rig)
    given = own[0, rows, columns] * eased[rows, columns]
    given += crossed[0, rows, columns] * eased[rows, 1 - columns]
    parts = [np.ones((n, 1)), -given[:, None], places * tension[:, None]]
    for d in DIRECTIONS:
        felt = np.where(np.equal(columns, d), own[0, rows, columns], crossed[0, rows, columns])
        past = between(-60.0, then.raw_mm[0, :, d] / np.exp(one[0, LN_TOE]), 60.0)
        pulls = 1 / (1 + np.exp(-past))
        parts.append((felt * pulls / rig.length_mm(d))[:, None] * then.left[d][0])
    return np.concatenate(parts, axis=1)


def variances(rig: Rig, history: History, slots: Slots, scatter: float) -> Array:
    """Variance of each effect when one click's take-up scatters by this share."""
    steps = [(scatter * rig.click_mm) ** 2 * history.steps[d].number for d in DIRECTIONS]
    return np.concatenate([[ZERO_SD_N_CM**2, EASED_PULL_SD**2], slots.sd**2, *steps])


def unseen_variance(looks: Looks, slots: Slots, tension: Array) -> Array:
    """Variance of places that have not been read, at the tensions there."""
    unseen = [
        sum(_effect_sd(e) ** 2 for e in _effects(slot) if e not in slots.number)
        for slot in looks.slots
    ]
    variance: Array = np.array(unseen, dtype=float) * tension**2
    return variance
