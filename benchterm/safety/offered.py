"""The product files that can be chosen from, one line each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from benchterm.errors import SettingsError
from benchterm.safety.products import all_names, find_product


@dataclass(frozen=True, slots=True)
class Offer:
    """One product file."""

    name: str
    """Of the file, as in ``Facts.products``."""
    text: str
    """What it is, and of when its data sheet is; or why it cannot be used."""
    usable: bool


def offered(today: date, chosen: Sequence[str] = ()) -> tuple[Offer, ...]:
    """Every product file of the shop, then the invented ones; and those chosen that are none."""
    names = all_names()
    return tuple(_offer(name, today) for name in [*names, *(n for n in chosen if n not in names)])


def _offer(name: str, today: date) -> Offer:
    try:
        product = find_product(name, today)
    except SettingsError as error:
        first, *more = (line.strip() for line in error.what.splitlines() if line.strip())
        return Offer(name, f"cannot be used: {more[0] if more else first}", usable=False)
    blocked = [part.name for part, _ in product.known() if part.blocked]
    if blocked:
        return Offer(name, f"{product.name}: holds {blocked[0]}, blocked", usable=False)
    sheet = f"data sheet {product.sheet_date.isoformat()}"
    return Offer(name, f"{product.name}, {product.kind.value}, {sheet}", usable=True)
