"""How much vapour a room holds, how it builds up and how it clears.

The room is one well-stirred box, V dC/dt = G - Q'C with Q' = Q / K (dilution ventilation, from a
university's formula sheet). The mixing factor K is 1 for perfect mixing and up to 10 for very poor
(CDC 1994); on a steady concentration it is a rule of thumb. Concentrations are ppm by volume,
vapour litres or litres an hour, rooms m3, flows m3/h, times hours. No flow means no ventilation:
what goes in stays in, and a wait for it to clear has no end (``math.inf``).
"""

from __future__ import annotations

import math
from collections.abc import Iterable

MOLAR_LITRES = 24.45
"""One mole of any vapour at 25 C and one atmosphere, litres."""
AIR_G_MOL = 28.9647
"""Molar mass of dry air."""
SHIFT_H = 8.0
"""Hours over which a time-weighted average is taken (29 CFR 1915.1000(d))."""


def mg_m3(ppm: float, molar_mass: float) -> float:
    """A concentration in mg/m3, ppm x MW / 24.45 at 25 C."""
    return ppm * molar_mass / MOLAR_LITRES


def ppm_of(mg_m3: float, molar_mass: float) -> float:
    """A concentration in ppm, mg/m3 x 24.45 / MW at 25 C."""
    return mg_m3 * MOLAR_LITRES / molar_mass


def vapour_litres(grams: float, molar_mass: float) -> float:
    """What a liquid comes to as vapour, 24.45 g / MW at 25 C, litres."""
    return MOLAR_LITRES * grams / molar_mass


def vapour_density(molar_mass: float) -> float:
    """How heavy a vapour is against air, MW / 28.9647; above 1 it runs low and collects."""
    return molar_mass / AIR_G_MOL


def ppm_in(volume_m3: float, litres: float) -> float:
    """Vapour spread evenly through a volume, ppm; no more than all of it."""
    return min(1e6, 1000 * litres / volume_m3)


def clearing_per_h(flow_m3_h: float, volume_m3: float, mixing: float) -> float:
    """Effective air changes an hour, Q / (K V)."""
    return flow_m3_h / (mixing * volume_m3)


def steady_ppm(litres_h: float, flow_m3_h: float, mixing: float) -> float:
    """Where the concentration ends up, G K / Q, ppm; endless if vapour meets no flow."""
    if litres_h == 0:
        return 0.0
    return 1000 * litres_h * mixing / flow_m3_h if flow_m3_h > 0 else math.inf


def ppm_after(
    hours: float,
    litres_h: float,
    flow_m3_h: float,
    volume_m3: float,
    mixing: float,
    start_ppm: float = 0.0,
) -> float:
    """Concentration after a time of steady use, C0 exp(-nt) + (G/V)(1 - exp(-nt))/n, ppm."""
    changes = clearing_per_h(flow_m3_h, volume_m3, mixing) * hours
    rise = 1000 * litres_h / volume_m3 * hours
    return start_ppm * math.exp(-changes) + rise * _mean_of_decay(changes)


def dose_ppm_h(
    hours: float,
    litres_h: float,
    flow_m3_h: float,
    volume_m3: float,
    mixing: float,
    start_ppm: float = 0.0,
) -> float:
    """Concentration added up over a time of steady use, the integral of ``ppm_after``, ppm h."""
    changes = clearing_per_h(flow_m3_h, volume_m3, mixing) * hours
    rise = 1000 * litres_h / volume_m3 * hours
    return hours * (start_ppm * _mean_of_decay(changes) + rise * _mean_of_rise(changes))


def hours_to_reach(
    ppm: float, litres_h: float, flow_m3_h: float, volume_m3: float, mixing: float
) -> float:
    """Time of steady use from clean air until a concentration is reached; endless if never."""
    if ppm <= 0:
        return 0.0
    if litres_h == 0:
        return math.inf
    per_h = 1000 * litres_h / volume_m3
    share = ppm * clearing_per_h(flow_m3_h, volume_m3, mixing) / per_h
    if share >= 1:
        return math.inf
    straight = ppm / per_h
    return straight if share == 0 else straight * -math.log1p(-share) / share


def hours_to_fall(
    from_ppm: float, to_ppm: float, flow_m3_h: float, volume_m3: float, mixing: float
) -> float:
    """Wait with no more use, (K V / Q) ln(C0 / C), hours; endless without flow, or down to 0."""
    if from_ppm <= to_ppm:
        return 0.0
    changes = clearing_per_h(flow_m3_h, volume_m3, mixing)
    if changes == 0 or to_ppm <= 0:
        return math.inf
    return math.log(from_ppm / to_ppm) / changes


def flow_needed_m3_h(litres_h: float, ppm: float, mixing: float) -> float:
    """Flow that keeps steady use at a concentration, K G / C, m3/h."""
    return 1000 * mixing * litres_h / ppm


def mixture_index(parts: Iterable[tuple[float, float]]) -> float:
    """Sum of concentration over limit, both in one unit; above 1 the mixture is over its limit.

    For vapours that act on the same part of the body, which is taken for granted unless known
    otherwise (29 CFR 1910.1000(d)(2)).
    """
    return math.fsum(ppm / limit for ppm, limit in parts)


def lel_of_mixture_pct(parts: Iterable[tuple[float, float]]) -> float:
    """Lower explosive limit of vapours together, 1 / sum(y / L), % by volume (Le Chatelier).

    ``parts`` holds the amount of each vapour, in any one unit, and its own limit in %.
    """
    listed = list(parts)
    whole = math.fsum(amount for amount, _ in listed)
    return whole / math.fsum(amount / lel for amount, lel in listed)


def of_lel_pct(parts: Iterable[tuple[float, float]]) -> float:
    """How near vapours come to burning, % of their lower explosive limit (Le Chatelier).

    ``parts`` holds the concentration of each in ppm and its own limit in % by volume.
    """
    return math.fsum(ppm / (100 * lel) for ppm, lel in parts)


def time_weighted(spells: Iterable[tuple[float, float]], over_h: float = SHIFT_H) -> float:
    """Time-weighted average, sum(C T) / 8; each spell is a concentration and its hours."""
    return math.fsum(ppm * hours for ppm, hours in spells) / over_h


def _mean_of_decay(x: float) -> float:
    """(1 - exp(-x)) / x, which is 1 where nothing decays."""
    return -math.expm1(-x) / x if x else 1.0


def _mean_of_rise(x: float) -> float:
    """(x - 1 + exp(-x)) / x^2, which is 1/2 where nothing clears."""
    if x < 1e-4:  # The difference of near equals keeps no digits down here; two terms are enough.
        return 0.5 - x / 6
    return (1 - _mean_of_decay(x)) / x
