"""A shop's products: one TOML file each, as the safety data sheet has it.

::

    name = "Thick bond"            # as on the tin
    kind = "adhesive"              # or "activator", "hardener"
    sheet_date = 2025-11-03        # of the safety data sheet
    open_min = 3                   # how long it stays workable, minutes
    cure_min = 20
    grams = 15                     # on one screen
    cautions = ["Shake before use."]

    [ingredients.67-64-1]          # CAS number
    fraction = 0.6                 # by mass, the upper end of what the sheet gives
    name = "acetone"               # needed only where the library does not know the number
    evaporates = 1.0               # share that gets into the air, if the sheet tells
    limit = "200 ppm"              # over a shift, if the sheet has one; "480 mg/m3" will do too

A file that cannot be read in every line is no product at all: the gate before the adhesive stays
closed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import Enum
from pathlib import Path

from benchterm.errors import SettingsError
from benchterm.locations import demo_products_folder, products_folder
from benchterm.mechanics import air
from benchterm.safety.substances import MG_M3, PPM, Substance, cas_problem, library
from benchterm.tables import Document, Problems, Written, fill, read_document, shown

TEXT_LENGTH = 100
"""Longest caution of a shop's own: it has to be read across a bench."""
NAME_LENGTH = 40
_ROUNDING = 1e-9
_DAYS_A_YEAR = 365.25


class ProductKind(Enum):
    """What a product is for."""

    ADHESIVE = "adhesive"
    ACTIVATOR = "activator"
    HARDENER = "hardener"


@dataclass(frozen=True, slots=True)
class SheetLimit:
    """A limit over a shift as a data sheet has it."""

    value: float
    unit: str

    def in_ppm(self, molar_mass: float) -> float:
        """The same in ppm."""
        return air.ppm_of(self.value, molar_mass) if self.unit == MG_M3 else self.value


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One line of section 3 of a data sheet."""

    fraction: float = math.nan
    """Share by mass, 0 to 1, the upper end."""
    name: str = ""
    evaporates: float | None = None
    """Share that gets into the air; ``None``: as the library has it."""
    limit: SheetLimit | None = None


@dataclass(frozen=True, slots=True)
class Product:
    """A tin, a bottle or a spray."""

    name: str = ""
    kind: ProductKind = ProductKind.ADHESIVE
    sheet_date: date = date.min
    open_min: float | None = None
    cure_min: float | None = None
    grams: float | None = None
    """Used on one screen; ``None``: as the shop's table has it."""
    cautions: tuple[str, ...] = ()
    ingredients: tuple[tuple[str, Ingredient], ...] = ()
    """By CAS number."""

    def known(self) -> list[tuple[Substance, Ingredient]]:
        """The ingredients that the library knows."""
        substances = library().substances
        return [(substances[cas], part) for cas, part in self.ingredients if cas in substances]

    def unknown(self) -> list[str]:
        """Names of the others."""
        return [part.name for cas, part in self.ingredients if cas not in library().substances]

    def sheet_age_years(self, today: date) -> float:
        """How old its data sheet is."""
        return (today - self.sheet_date).days / _DAYS_A_YEAR


def all_names() -> list[str]:
    """Names of every product file, the shop's own first."""
    own = _names(products_folder())
    return own + [name for name in _names(demo_products_folder()) if name not in own]


def find_product(name: str, today: date) -> Product:
    """The product of a name: from the shop's own files, or else one of the invented ones.

    Raises:
        SettingsError: there is no such file, or every problem in it at once.
    """
    if not re.fullmatch(r"[\w-]{1,60}", name):
        raise SettingsError(f"{shown(name)} is no name of a product file.")
    own, demo = products_folder() / f"{name}.toml", demo_products_folder() / f"{name}.toml"
    return load_product(demo if demo.exists() and not own.exists() else own, today)


def load_product(path: Path, today: date) -> Product:
    """The product in a file.

    Raises:
        SettingsError: every problem at once, each with file and key.
    """
    problems = Problems()
    product = product_from(read_document(path, problems), problems, today)
    _check(problems, path.stem)
    return product


def product_from(document: Document, problems: Problems, today: date) -> Product:
    """The product in a document; what is wrong with it is added to ``problems``."""
    if problems.found:
        return Product()
    values = dict(document.values)
    parts = values.pop("ingredients", {})
    product = fill(Product(), document, problems, _WRITTEN, values)
    for key in ("name", "kind", "sheet_date"):
        if key not in values:
            problems.came_from(key, document)
            problems.add(key, "is missing.")
    _check_product(product, values, problems, today)
    problems.came_from("ingredients", document)
    if not isinstance(parts, dict) or not parts:
        problems.add("ingredients", "is missing: one table for each, [ingredients.67-64-1].")
        return product
    return replace(product, ingredients=_ingredients(parts, document, problems))


def read_limit(value: object) -> SheetLimit:
    """A limit from ``"200 ppm"`` or ``"480 mg/m3"``.

    Raises:
        ValueError: it has no unit or another one, or is no number above 0.
    """
    found = re.fullmatch(r"\s*(\S+)\s+(\S+)\s*", value) if isinstance(value, str) else None
    if found is None:
        raise ValueError(f'{shown(value)} is no limit: write it as "200 {PPM}" or "480 {MG_M3}".')
    number, unit = found.groups()
    if unit not in (PPM, MG_M3):
        raise ValueError(f"{shown(unit)} is no unit of a limit: write {PPM} or {MG_M3}.")
    try:
        amount = float(number)
    except ValueError:
        amount = math.nan
    if not 0 < amount < math.inf:
        raise ValueError(f"{shown(number)} is no number above 0.")
    return SheetLimit(amount, unit)


def _names(folder: Path) -> list[str]:
    return sorted(path.stem for path in folder.glob("*.toml"))


def _read_kind(value: object) -> ProductKind:
    try:
        return ProductKind(value)
    except ValueError:
        kinds = ", ".join(kind.value for kind in ProductKind)
        raise ValueError(f"must be one of {kinds}, not {shown(value)}.") from None


def _read_date(value: object) -> date:
    if type(value) is date:
        return value
    try:
        return date.fromisoformat(str(value))
    except ValueError:
        raise ValueError(f"{shown(value)} is no date: write it as 2025-11-03.") from None


_WRITTEN: Mapping[tuple[type, str], Written] = {
    (Product, "kind"): Written("kind", _read_kind, lambda kind: kind.value),
    (Product, "sheet_date"): Written("sheet_date", _read_date, str),
    (Ingredient, "limit"): Written("limit", read_limit, lambda x: f"{x.value!r} {x.unit}"),
}


def _check_product(
    product: Product, values: Mapping[str, object], problems: Problems, today: date
) -> None:
    if "name" in values and not _is_line(product.name, NAME_LENGTH):
        problems.add("name", f"must be one printable line of 1 to {NAME_LENGTH} characters.")
    if product.sheet_date > today:
        problems.add("sheet_date", f"{product.sheet_date} has not come yet.")
    for key, value, most in (
        ("open_min", product.open_min, 600),
        ("cure_min", product.cure_min, 2880),
        ("grams", product.grams, 1000),
    ):
        if value is not None and not 0 < value <= most:
            problems.add(key, f"{value:g} is outside 0 to {most}.")
    for caution in product.cautions:
        if not _is_line(caution, TEXT_LENGTH):
            problems.add("cautions", f"each must be a line of 1 to {TEXT_LENGTH} characters.")
        elif re.search(r"\bsafe(r|st|ly)?\b", caution, re.IGNORECASE):
            problems.add("cautions", f"{shown(caution)} promises too much: say what to do.")


def _ingredients(
    parts: Mapping[str, object], document: Document, problems: Problems
) -> tuple[tuple[str, Ingredient], ...]:
    made = []
    for cas, values in parts.items():
        key = f"ingredients.{cas}"
        problems.came_from(key, document)
        if not isinstance(values, dict):
            problems.add(key, f"must be a table, [{key}], not {shown(values)}.")
            continue
        part = fill(Ingredient(), document, problems, _WRITTEN, values, f"{key}.")
        _check_ingredient(cas, part, problems)
        made.append((cas, part))
    whole = math.fsum(part.fraction for _, part in made if 0 < part.fraction <= 1)
    if whole > 1 + _ROUNDING:
        problems.add("ingredients", f"the fractions add up to {whole:g}, which is more than 1.")
    return tuple(made)


def _check_ingredient(cas: str, part: Ingredient, problems: Problems) -> None:
    key = f"ingredients.{cas}"
    known = library().substances
    if wrong := cas_problem(cas):
        problems.add(key, f"{wrong}.")
    elif cas not in known and not _is_line(part.name, NAME_LENGTH):
        problems.add(key, "nothing is known here of this CAS number. If it is right, add its name.")
    if not 0 < part.fraction <= 1:
        problems.add(f"{key}.fraction", "must be above 0 and at most 1, by mass.")
    if part.evaporates is not None and not 0 <= part.evaporates <= 1:
        problems.add(f"{key}.evaporates", f"{part.evaporates:g} is outside 0 to 1.")


def _is_line(text: str, most: int) -> bool:
    return bool(text.strip()) and text.isprintable() and len(text) <= most


def _check(problems: Problems, name: str) -> None:
    problems.check(
        f"The product {name} cannot be used:",
        works="Work up to the adhesive goes on; the gate before it stays closed.",
        todo="Mend the lines named by its safety data sheet, or choose another product.",
    )
