"""What a room makes of a shop's use of glue: concentrations, limits, waits, more air. Pure.

Use is taken as even: so many screens an hour, from clean air. A single screen puts its vapour in at
once; steady level plus one screen is more than any real peak of even use, so that short-term limits
are held against that.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from benchterm.core.practice import Practice
from benchterm.mechanics import air
from benchterm.safety.briefing import grams_of, limit_of, no_limit_known, released_litres, sourced
from benchterm.safety.products import Ingredient, Product
from benchterm.safety.substances import EXCURSION, Kind, Substance

_SHORT = (Kind.STEL, Kind.CEILING)


@dataclass(frozen=True, slots=True)
class Room:
    """The air there is."""

    volume_m3: float
    flow_m3_h: float
    mixing: float
    pocket_m3: float


@dataclass(frozen=True, slots=True)
class Use:
    """The work done in it."""

    screens_h: float
    hours: float


@dataclass(frozen=True, slots=True)
class AgainstLimit:
    """A vapour held against one limit."""

    of: str
    kind: Kind
    ppm: float
    reached_after_h: float
    """Endless: never in this work."""
    over_h: float
    """How long it is above the limit, the work and the clearing afterwards together."""


@dataclass(frozen=True, slots=True)
class InTheAir:
    """One vapour."""

    name: str
    litres_h: float
    screen_ppm: float
    """What one screen adds in the room."""
    end_ppm: float
    """When the work ends."""
    steady_ppm: float
    """Where it would end up."""
    shift_ppm: float
    """Mean over a shift of 8 hours that begins with the work."""
    shift_limit_ppm: float
    short_limit_ppm: float
    limits: tuple[AgainstLimit, ...]
    lel_pct: float | None
    times_air: float
    """How heavy it is against air: above 1 it runs low and collects."""

    @property
    def peak_ppm(self) -> float:
        """At most, in the room, while at work: the end's level and one screen."""
        return self.end_ppm + self.screen_ppm


@dataclass(frozen=True, slots=True)
class Assessment:
    """How it stands."""

    room: Room
    use: Use
    vapours: tuple[InTheAir, ...]
    not_counted: tuple[str, ...]
    """Ingredients of which nothing is known that could be worked out."""
    index: float
    """Sum of concentration over limit when the work ends; above 1 is over."""
    steady_index: float
    shift_index: float
    room_lel_pct: float
    """When the work ends, one screen more."""
    pocket_lel_pct: float
    """In the pocket by the bench, just after a screen."""
    screens_h: float
    """How many an hour the room can take, day in, day out."""
    wait_h: float
    """After the work, until the index is down to 1."""
    flow_needed_m3_h: float
    """For this use, mixing as it is."""

    def ppm_at(self, vapour: InTheAir, hours: float) -> float:
        """One vapour's level at a time since the work began; it goes on clearing afterwards."""
        working = min(hours, self.use.hours)
        room = self.room.flow_m3_h, self.room.volume_m3, self.room.mixing
        level = air.ppm_after(working, vapour.litres_h, *room)
        return air.ppm_after(hours - working, 0.0, *room, level)

    def index_at(self, hours: float) -> float:
        """The index at a time since the work began; it goes on clearing when the work is over."""
        working = min(hours, self.use.hours)
        room = self.room.flow_m3_h, self.room.volume_m3, self.room.mixing
        level = air.mixture_index(
            (air.ppm_after(working, v.litres_h, *room), v.shift_limit_ppm) for v in self.vapours
        )
        return air.ppm_after(hours - working, 0.0, *room, level)


def assess(
    products: Sequence[Product],
    practice: Practice,
    room: Room,
    use: Use,
    grams: Sequence[float] | None = None,
) -> Assessment:
    """What becomes of the air; ``grams`` a screen stand in place of what each product says."""
    grams = grams or [grams_of(product, practice) for product in products]
    merged = _merged(products, grams)
    vapours = tuple(_in_the_air(*one, room, use) for one in merged)
    index = air.mixture_index((v.end_ppm, v.shift_limit_ppm) for v in vapours)
    steady = air.mixture_index((v.steady_ppm, v.shift_limit_ppm) for v in vapours)
    return Assessment(
        room,
        use,
        vapours,
        no_limit_known(products),
        index,
        steady,
        air.mixture_index((v.shift_ppm, v.shift_limit_ppm) for v in vapours),
        air.of_lel_pct((v.peak_ppm, v.lel_pct) for v in vapours if v.lel_pct),
        air.of_lel_pct(
            (air.ppm_in(room.pocket_m3, v.litres_h / use.screens_h), v.lel_pct)
            for v in vapours
            if v.lel_pct
        ),
        _screens_h(vapours, steady, use),
        air.hours_to_fall(index, 1.0, room.flow_m3_h, room.volume_m3, room.mixing),
        math.fsum(
            air.flow_needed_m3_h(v.litres_h, v.shift_limit_ppm, room.mixing) for v in vapours
        ),
    )


def _merged(
    products: Sequence[Product], grams: Sequence[float]
) -> list[tuple[Substance, list[Ingredient], float]]:
    """Each substance with a limit, the parts it comes in, and the litres of one screen."""
    found: dict[str, tuple[Substance, list[Ingredient], float]] = {}
    for product, used_g in zip(products, grams, strict=True):
        for substance, part in product.known():
            litres = released_litres(substance, part, used_g)
            _, parts, before = found.get(substance.name, (substance, [], 0.0))
            found[substance.name] = (substance, [*parts, part], before + litres)
    return [one for one in found.values() if _shift_limit(one[0], one[1]) is not None]


def _in_the_air(
    substance: Substance, parts: Sequence[Ingredient], litres: float, room: Room, use: Use
) -> InTheAir:
    litres_h = litres * use.screens_h
    flows = room.flow_m3_h, room.volume_m3, room.mixing
    end = air.ppm_after(use.hours, litres_h, *flows)
    worked_h = min(use.hours, air.SHIFT_H)
    breathed = air.dose_ppm_h(worked_h, litres_h, *flows) + air.dose_ppm_h(
        air.SHIFT_H - worked_h, 0.0, *flows, air.ppm_after(worked_h, litres_h, *flows)
    )
    shift_limit = _shift_limit(substance, parts) or math.inf
    return InTheAir(
        substance.name,
        litres_h,
        air.ppm_in(room.volume_m3, litres),
        end,
        air.steady_ppm(litres_h, room.flow_m3_h, room.mixing),
        breathed / air.SHIFT_H,
        shift_limit,
        _short_limit(substance, shift_limit),
        tuple(_against(substance, parts, litres_h, end, room, use)),
        substance.lel_pct,
        air.vapour_density(substance.molar_mass.value),
    )


def _shift_limit(substance: Substance, parts: Iterable[Ingredient]) -> float | None:
    found = [limit for part in parts if (limit := limit_of(substance, part)) is not None]
    return min((ppm for ppm, _ in found), default=None)


def _short_limit(substance: Substance, shift_limit_ppm: float) -> float:
    listed = substance.strictest(*_SHORT)
    return EXCURSION * shift_limit_ppm if listed is None else substance.in_ppm(listed)


def _against(
    substance: Substance,
    parts: Iterable[Ingredient],
    litres_h: float,
    end_ppm: float,
    room: Room,
    use: Use,
) -> Iterable[AgainstLimit]:
    found = [(sourced(limit), limit.kind, substance.in_ppm(limit)) for limit in substance.limits]
    found += [
        ("data sheet TWA", Kind.TWA, part.limit.in_ppm(substance.molar_mass.value))
        for part in parts
        if part.limit is not None
    ]
    flows = room.flow_m3_h, room.volume_m3, room.mixing
    for of, kind, ppm in sorted(found, key=lambda one: one[2]):
        on_top = 0.0 if kind is Kind.TWA else air.ppm_in(room.volume_m3, litres_h / use.screens_h)
        after_h = air.hours_to_reach(ppm - on_top, litres_h, *flows)
        if after_h >= use.hours:
            yield AgainstLimit(of, kind, ppm, math.inf, 0.0)
        else:
            falls_h = air.hours_to_fall(end_ppm + on_top, ppm, *flows)
            yield AgainstLimit(of, kind, ppm, after_h, use.hours - after_h + falls_h)


def _screens_h(vapours: Sequence[InTheAir], steady_index: float, use: Use) -> float:
    """The most an hour for which the index settles at 1 and no peak passes a short-term limit."""
    if steady_index == 0:
        return math.inf
    most = use.screens_h / steady_index
    for v in vapours:
        if v.litres_h > 0:
            room_left = max(0.0, v.short_limit_ppm - v.screen_ppm)
            most = min(most, use.screens_h * room_left / v.steady_ppm)
    return most
