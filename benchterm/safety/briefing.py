"""What the glue of a session asks for: its own cautions, its times, what it adds to the air."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date

from benchterm.core.cautions import ADHESIVE, Briefing, Caution, Danger, Vapour
from benchterm.core.practice import Practice
from benchterm.errors import SettingsError
from benchterm.mechanics import air
from benchterm.safety.products import Ingredient, Product, ProductKind, find_product
from benchterm.safety.substances import Group, Kind, Limit, Substance, library

_FIRST = "They, local codes, the fire code and licensed professionals come before this list."
_ALLERGENS = {"H317", "H334"}
_POISONS = {"H301", "H311", "H331", "H351", "H361d", "H373"}


def briefing_for(names: Sequence[str], practice: Practice, today: date) -> Briefing:
    """What the products of these files ask for. Never raises: what cannot be read closes the gate.

    With no names at all every general caution is asked and nothing is known of the air.
    """
    if not names:
        return Briefing()
    products, closed = [], []
    for name in names:
        try:
            products.append(find_product(name, today))
        except SettingsError as error:
            closed.append(" ".join(error.what.split()))
    return brief(products, practice, today, closed)


def brief(
    products: Sequence[Product], practice: Practice, today: date, unread: Sequence[str] = ()
) -> Briefing:
    """What these products ask for; ``unread`` says why others could not be read."""
    blocked = tuple(
        f"{product.name} holds {part.name}: {part.blocked}. It is not glued with."
        for product in products
        for part, _ in product.known()
        if part.blocked
    )
    doubtful = bool(unread) or any(product.unknown() for product in products)
    return Briefing(
        products=tuple(product.name for product in products),
        sheet_dates=tuple(product.sheet_date.isoformat() for product in products),
        cautions=tuple(_cautions(products, practice, today, doubtful)),
        closed=(*unread, *blocked),
        open_min=min((p.open_min for p in products if p.open_min is not None), default=None),
        cure_min=max((p.cure_min for p in products if p.cure_min is not None), default=None),
        vapours=vapours_of(products, practice),
    )


def grams_of(product: Product, practice: Practice) -> float:
    """How much of a product goes on one screen, by its file or else by the shop's table."""
    usual = {
        ProductKind.ADHESIVE: practice.adhesive_g,
        ProductKind.ACTIVATOR: practice.activator_g,
        ProductKind.HARDENER: practice.hardener_g,
    }
    return usual[product.kind] if product.grams is None else product.grams


def released_litres(substance: Substance, part: Ingredient, grams: float) -> float:
    """Vapour of an ingredient of so many grams of product."""
    share = substance.evaporates.value if part.evaporates is None else part.evaporates
    return air.vapour_litres(grams * part.fraction * share, substance.molar_mass.value)


def vapours_of(products: Iterable[Product], practice: Practice) -> tuple[Vapour, ...]:
    """What the ingredients with a limit over a shift add to the air, each counted once."""
    found: dict[str, Vapour] = {}
    for product in products:
        for substance, part in product.known():
            vapour = _vapour(substance, part, grams_of(product, practice))
            if vapour is None:
                continue
            same = found.get(vapour.name)
            if same is not None:
                strict = min(same, vapour, key=lambda v: v.limit_ppm)
                vapour = replace(strict, litres=same.litres + vapour.litres)
            found[vapour.name] = vapour
    return tuple(found.values())


def no_limit_known(products: Iterable[Product]) -> tuple[str, ...]:
    """Ingredients which the air is not worked out for: unknown here, or without any limit."""
    names = []
    for product in products:
        names += product.unknown()
        names += [s.name for s, part in product.known() if _vapour(s, part, 1) is None]
    return tuple(dict.fromkeys(names))


def limit_of(substance: Substance, part: Ingredient) -> tuple[float, str] | None:
    """The strictest limit over a shift, ppm, and whose it is; the product's own sheet counts.

    With a ceiling only, or one that is lower, the ceiling.
    """
    listed = substance.strictest(Kind.TWA, Kind.STEL, Kind.CEILING)
    own = None if part.limit is None else part.limit.in_ppm(substance.molar_mass.value)
    if own is not None and (listed is None or own <= substance.in_ppm(listed)):
        return own, "data sheet"
    if listed is None:
        return None
    return substance.in_ppm(listed), sourced(listed)


def sourced(limit: Limit) -> str:
    """Whose limit it is, of which kind and year."""
    source = library().sources[limit.source]
    year = f" {source.year}" if source.year is not None else ""
    memory = ", from memory" if source.from_memory else ""
    return f"{limit.agency} {limit.kind.value}{'' if memory else year}{memory}"


def dangers(products: Iterable[Product]) -> set[Danger]:
    """What these products bring with them."""
    found = {Danger.ANY}
    for product in products:
        for substance, _ in product.known():
            codes = set(substance.hazards.codes)
            if substance.group is Group.CYANOACRYLATE:
                found.add(Danger.CYANOACRYLATE)
            if substance.group is Group.ISOCYANATE:
                found.add(Danger.ISOCYANATE)
            if substance.burns:
                found.add(Danger.FIRE)
            if codes & _ALLERGENS:
                found.add(Danger.ALLERGY)
            if codes & _POISONS:
                found.add(Danger.POISON)
    return found


def _cautions(
    products: Sequence[Product], practice: Practice, today: date, doubtful: bool
) -> Iterable[Caution]:
    asked = set(Danger) if doubtful else dangers(products)
    names = " and ".join(product.name for product in products)
    for name, danger, text in ADHESIVE:
        if danger not in asked:
            continue
        if name == "sheets" and products:
            yield Caution(name, f"Safety data sheets read: {names}.")
            yield Caution("first", _FIRST)
            yield from _notices(products, practice, today)
        else:
            yield Caution(name, text)


def _notices(products: Sequence[Product], practice: Practice, today: date) -> Iterable[Caution]:
    """What is to be known of a product before anything else of it."""
    for number, product in enumerate(products, start=1):
        age = product.sheet_age_years(today)
        if age > practice.sheet_years:
            yield Caution(
                f"old-{number}",
                f"Safety data sheet of {product.name} is {age:.0f} years old: get the present one.",
            )
        for line, name in enumerate(product.unknown(), start=1):
            yield Caution(
                f"unknown-{number}-{line}",
                f"{product.name} holds {name}: unknown here, go by its safety data sheet alone.",
            )
        for line, text in enumerate(product.cautions, start=1):
            yield Caution(f"own-{number}-{line}", text)


def _vapour(substance: Substance, part: Ingredient, grams: float) -> Vapour | None:
    limit = limit_of(substance, part)
    if limit is None:
        return None
    litres = released_litres(substance, part, grams)
    return Vapour(substance.name, litres, *limit, substance.lel_pct)
