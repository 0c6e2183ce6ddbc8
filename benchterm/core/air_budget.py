"""The air of a session: what its glue has put into the room, from the adhesive stage on. Pure.

Each visit to the adhesive stage counts as one screen glued, all of whose vapour is in the room at
once: more than any real moment, so that nothing is missed. It then clears as the shop's table says
of the room. An estimate; only a measurement tells what is breathed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from benchterm.core.cautions import Vapour
from benchterm.core.practice import Practice
from benchterm.core.state import State
from benchterm.mechanics import air


@dataclass(frozen=True, slots=True)
class AirBudget:
    """How the air stands at one moment."""

    index: float
    """Sum of concentration over limit, all vapours; above 1 is over the limit of a shift."""
    day_share: float
    """Part of what a shift may bring that this session has used up since it began to glue."""
    pocket_lel_pct: float
    """Just after gluing, in the pocket of air by the bench, % of the lower explosive limit."""
    wait_h: float
    """Until the index is down to 1; endless if nothing clears."""
    worst: Vapour
    """The vapour nearest to its limit."""
    line: str
    """All that in a line."""


def air_budget(state: State, now_s: float) -> AirBudget | None:
    """The air at a session time; ``None``: nothing glued yet, or no product says what is in it."""
    vapours = [v for v in state.briefing.vapours if v.litres > 0]
    if not state.glued or not vapours:
        return None
    practice = state.practice
    room = practice.room_air_m3_h, practice.room_m3, practice.room_mixing
    one_screen = air.mixture_index((_in_room(v, practice.room_m3), v.limit_ppm) for v in vapours)
    spent_h = [max(0.0, now_s - glued.at_s) / 3600 for glued in state.glued]
    index = math.fsum(air.ppm_after(h, 0.0, *room, one_screen) for h in spent_h)
    dose_h = math.fsum(air.dose_ppm_h(h, 0.0, *room, one_screen) for h in spent_h)
    pocket = air.of_lel_pct(
        (air.ppm_in(practice.pocket_m3, v.litres), v.lel_pct) for v in vapours if v.lel_pct
    )
    worst = max(vapours, key=lambda v: v.litres / v.limit_ppm)
    return AirBudget(
        index,
        dose_h / air.SHIFT_H,
        pocket,
        air.hours_to_fall(index, 1.0, *room),
        worst,
        _line(index, dose_h / air.SHIFT_H, pocket, worst, _is_default_room(practice)),
    )


def waiting(hours: float) -> str:
    """A wait in plain words."""
    if math.isinf(hours):
        return "no end without fresh air"
    minutes = math.ceil(60 * hours)
    return f"{minutes} min" if minutes < 120 else f"{hours:.1f} h"


def _in_room(vapour: Vapour, volume_m3: float) -> float:
    return air.ppm_in(volume_m3, vapour.litres)


def _is_default_room(practice: Practice) -> bool:
    usual = Practice()
    names = ("room_m3", "room_air_m3_h", "room_mixing")
    return all(getattr(practice, name) == getattr(usual, name) for name in names)


def _line(index: float, day_share: float, pocket: float, worst: Vapour, default_room: bool) -> str:
    room = "; the room's own figures are not set" if default_room else ""
    return (
        f"air about {100 * index:.0f} % of the limit, mostly {worst.name}; "
        f"{100 * day_share:.0f} % of a day's allowance used; "
        f"by the bench up to {pocket:.0f} % LEL{room}"
    )
