"""What ``benchterm air`` and ``benchterm products`` print."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from datetime import date
from functools import partial
from typing import Any

from benchterm.core.air_budget import waiting
from benchterm.core.cautions import CAVEAT
from benchterm.core.practice import Practice
from benchterm.errors import BenchError
from benchterm.locations import products_folder
from benchterm.mechanics.air import vapour_density
from benchterm.safety.briefing import brief
from benchterm.safety.plot import plot
from benchterm.safety.products import Ingredient, Product, all_names, find_product
from benchterm.safety.room import Assessment, InTheAir, Use
from benchterm.safety.substances import library

_AFTER_H = 2.0
"""How long the plot goes on after the work."""
_LOW = 5
"""Rows of the plot of one vapour."""


def figures(found: Assessment) -> dict[str, Any]:
    """All figures as plain values; what has no end is ``null``."""
    plain = asdict(found)
    for one, vapour in zip(plain["vapours"], found.vapours, strict=True):
        one["peak_ppm"] = vapour.peak_ppm
        for limit in one["limits"]:
            limit["kind"] = limit["kind"].value
    plain["caveat"] = CAVEAT
    finite: dict[str, Any] = _finite(plain)
    return finite


def _finite(value: Any) -> Any:
    match value:
        case dict():
            return {key: _finite(each) for key, each in value.items()}
        case list() | tuple():
            return [_finite(each) for each in value]
        case float():
            return round(value, 6) if math.isfinite(value) else None
        case _:
            return value


def products_named(names: Sequence[str], today: date) -> list[Product]:
    """The products to work the air out for.

    Raises:
        BenchError: none is named, one cannot be read, or one is not glued with at all.
    """
    if not names:
        raise BenchError(
            "No product is named.",
            works=f"Those that are there: {', '.join(all_names())}.",
            todo=f"Name yours with --product; its file stands in {products_folder()}.",
        )
    found = [find_product(name, today) for name in names]
    for product in found:
        for substance, _ in product.known():
            if substance.blocked:
                raise BenchError(
                    f"{product.name} holds {substance.name}: {substance.blocked}.",
                    todo="It is not worked out here, nor glued with at the bench: use another.",
                )
    return found


def report(
    found: Assessment,
    products: Sequence[Product],
    practice: Practice,
    defaults: Sequence[str],
    today: date,
    *,
    width: int,
    ascii_only: bool,
) -> Iterator[str]:
    """The whole answer, line by line; ``defaults`` names what the person did not say."""
    room, use = found.room, found.use
    yield CAVEAT
    yield ""
    yield f"Products: {', '.join(product.name for product in products)}"
    changes = room.flow_m3_h / room.volume_m3
    yield (
        f"Room {room.volume_m3:g} m3, fresh air {room.flow_m3_h:g} m3/h ({changes:.2g} changes "
        f"an hour), mixing {room.mixing:g}, pocket {room.pocket_m3:g} m3; "
        f"{use.screens_h:g} screens an hour for {use.hours:g} h."
    )
    if defaults:
        yield f"Taken as default, not told by you: {', '.join(defaults)}."
    for product in products:
        age = product.sheet_age_years(today)
        if age > practice.sheet_years:
            yield f"Safety data sheet of {product.name} is {age:.0f} years old: get a new one."
    yield from _shares(products)
    if found.not_counted:
        yield f"Not counted, no limit known here: {', '.join(found.not_counted)}."
    if room.flow_m3_h == 0:
        yield "NO VENTILATION: what gets into the air stays there."
    yield ""
    for vapour in found.vapours:
        yield from _of_vapour(vapour, use)
    yield ""
    yield from _verdict(found, practice)
    yield ""
    until_h = use.hours + _AFTER_H
    for vapour in found.vapours:
        yield from _level(found, vapour, until_h, width, ascii_only=ascii_only)
    yield "Sum of concentration over limit, hours from the start; the line is at 1:"
    yield from plot(found.index_at, until_h, 1.0, width=width, ascii_only=ascii_only)


def _shares(products: Sequence[Product]) -> Iterator[str]:
    """What is taken to get into the air, and who says so."""
    shares = {
        substance.name: substance.evaporates.value
        for product in products
        for substance, part in product.known()
        if part.evaporates is None
    }
    if shares:
        told = ", ".join(f"{name} {100 * share:g} %" for name, share in shares.items())
        yield f"Share taken to evaporate, a default where no product file tells: {told}."
    for product in products:
        told = ", ".join(
            f"{substance.name} {100 * part.evaporates:g} %"
            for substance, part in product.known()
            if part.evaporates is not None
        )
        if told:
            dated = f"{product.name}, data sheet of {product.sheet_date}"
            yield f"Share taken to evaporate, by the file of {dated}: {told}."


def _level(
    found: Assessment, vapour: InTheAir, until_h: float, width: int, *, ascii_only: bool
) -> Iterator[str]:
    limit = vapour.shift_limit_ppm
    yield f"{vapour.name}, ppm; the line is at the strictest limit of a shift, {_ppm(limit)}:"
    level = partial(found.ppm_at, vapour)
    yield from plot(level, until_h, limit, width=width, height=_LOW, ascii_only=ascii_only)
    yield ""


def _of_vapour(vapour: InTheAir, use: Use) -> Iterator[str]:
    yield (
        f"{vapour.name} ({vapour.times_air:.1f} times as heavy as air): "
        f"{_ppm(vapour.screen_ppm)} from one screen, {_ppm(vapour.end_ppm)} after "
        f"{use.hours:g} h, steady {_ppm(vapour.steady_ppm)}, mean of the shift "
        f"{_ppm(vapour.shift_ppm)}"
    )
    for limit in vapour.limits:
        if limit.over_h > 0:
            told = (
                f"OVER after {waiting(limit.reached_after_h)} under it, for "
                f"{waiting(limit.over_h)} in all"
            )
        else:
            told = "not reached"
        yield f"    {limit.of:24} {_ppm(limit.ppm):>12}  {told}"


def _verdict(found: Assessment, practice: Practice) -> Iterator[str]:
    yield (
        f"Mixture index (1 is the limit): {found.index:.2f} at the end, "
        f"{_number(found.steady_index)} steady, {found.shift_index:.2f} mean of the shift."
    )
    over = "  OVER" if found.pocket_lel_pct > practice.lel_share_pct else ""
    yield (
        f"Lower explosive limit: room {found.room_lel_pct:.1f} %, by the bench just after a screen "
        f"{found.pocket_lel_pct:.1f} %, wanted at most {practice.lel_share_pct:g} %.{over}"
    )
    slow = f", one in {waiting(1 / found.screens_h)}" if 0 < found.screens_h < 1 else ""
    yield f"Screens an hour that this air can take: {_number(found.screens_h)}{slow}."
    if found.wait_h > 0:
        yield f"Wait after the work until the index is down to 1: {waiting(found.wait_h)}."
    yield (
        f"Fresh air for this use: {found.flow_needed_m3_h:.0f} m3/h, "
        f"with perfect mixing {found.flow_needed_m3_h / found.room.mixing:.0f} m3/h."
    )


def described(
    name: str, product: Product, practice: Practice, today: date, *, whole: bool
) -> Iterator[str]:
    """A product file in a line; as a whole, with what it asks for."""
    yield f"{name}: {product.name}, {product.kind.value}, sheet of {product.sheet_date}"
    if whole:
        briefing = brief([product], practice, today)
        for reason in briefing.closed:
            yield f"    BLOCKED: {reason}"
        for cas, part in product.ingredients:
            yield from _ingredient(cas, part)
        for caution in briefing.cautions:
            yield f"    {caution.text}"


def _ingredient(cas: str, part: Ingredient) -> Iterator[str]:
    """What is known of an ingredient, each value with where it comes from."""
    substance = library().substances.get(cas)
    if substance is None:
        yield f"    {part.name} {cas}, {100 * part.fraction:g} %: not in the library"
        return
    yield f"    {substance.name} {cas}, {100 * part.fraction:g} %"
    for code in substance.hazards.codes:
        yield f"        {code} {library().statements[code]}"
    if substance.hazards.codes:
        yield f"        hazard statements: {_whence(substance.hazards.source)}"
    for limit in substance.limits:
        told = f"{limit.agency} {limit.kind.value} {limit.value:g} {limit.unit}"
        yield f"        {told} ({_whence(limit.source)})"
    for lel in substance.lel:
        yield f"        lower explosive limit {lel.value:g} {lel.unit} ({_whence(lel.source)})"
    flash = substance.flash_point
    if flash is not None:
        yield f"        flash point {flash.value:g} {flash.unit} ({_whence(flash.source)})"
    heavy = vapour_density(substance.molar_mass.value)
    yield f"        vapour {heavy:.1f} times as heavy as air (by molar mass)"


def _whence(key: str) -> str:
    source = library().sources[key]
    return source.text if source.year is None else f"{source.text}, {source.year}"


def _ppm(value: float) -> str:
    return f"{_number(value)} ppm" if math.isfinite(value) else "without end"


def _number(value: float) -> str:
    if not math.isfinite(value):
        return "no end"
    return f"{value:.0f}" if value >= _WHOLE else f"{value:.3g}"


_WHOLE = 1000
