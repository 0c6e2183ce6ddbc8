"""What is known of ingredients, by CAS number, each value with its source.

The library is package data, ``data/substances.toml``, checked as a whole when it is loaded. It
fills gaps; the safety data sheet of the very product comes before it.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Iterable, Mapping
from enum import Enum
from functools import cache
from pathlib import Path

import msgspec

from benchterm.mechanics import air

LIBRARY = Path(__file__).parent / "data" / "substances.toml"
PPM, MG_M3 = "ppm", "mg/m3"
EXCURSION = 3.0
"""Times the limit over a shift, as a short-term limit where there is none (ACGIH, from memory)."""
FLAMMABLE_C = 93.0
"""Liquids up to this flash point count as ones that can burn (UN GHS category 4)."""


class Group(Enum):
    """A family with dangers of its own."""

    CYANOACRYLATE = "cyanoacrylate"
    ISOCYANATE = "isocyanate"


class Kind(Enum):
    """How a limit is meant."""

    TWA = "TWA"
    """Mean over a shift."""
    STEL = "STEL"
    """Mean over 15 minutes."""
    CEILING = "C"
    """Never above."""
    IDLH = "IDLH"
    """Danger to life; out at once."""


class _Table(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A table of the library: a key that is not known here is an error."""


class Source(_Table, frozen=True):
    """Where a value was read."""

    text: str
    year: int | None = None
    """Of the text; ``None``: not known."""
    from_memory: bool = False
    """True: to be confirmed."""


class Value(_Table, frozen=True):
    """A number with its unit and the key of its source."""

    value: float
    unit: str
    source: str


class Limit(_Table, frozen=True):
    """How much of a vapour an agency lets a person breathe."""

    agency: str
    kind: Kind
    value: float
    unit: str
    source: str


class Hazards(_Table, frozen=True):
    """Codes of hazard statements."""

    codes: tuple[str, ...]
    source: str


class Cancer(_Table, frozen=True):
    """What an agency says of a substance and cancer."""

    group: str
    source: str


class Substance(_Table, frozen=True):
    """An ingredient."""

    name: str
    molar_mass: Value
    evaporates: Value
    """Share of what is used that is taken to get into the air."""
    hazards: Hazards
    group: Group | None = None
    flash_point: Value | None = None
    lel: tuple[Value, ...] = ()
    """Lower explosive limits, one a source."""
    limits: tuple[Limit, ...] = ()
    cancer: Cancer | None = None
    blocked: str = ""
    """Why a product with it is not used at all."""

    def in_ppm(self, limit: Limit) -> float:
        """A limit in ppm."""
        if limit.unit == MG_M3:
            return air.ppm_of(limit.value, self.molar_mass.value)
        return limit.value

    def strictest(self, *kinds: Kind) -> Limit | None:
        """The lowest limit of these kinds."""
        return min((x for x in self.limits if x.kind in kinds), key=self.in_ppm, default=None)

    @property
    def lel_pct(self) -> float | None:
        """The lowest of its lower explosive limits, % by volume."""
        return min((x.value for x in self.lel), default=None)

    @property
    def burns(self) -> bool:
        """Whether its vapour can catch fire at the bench or near a heater."""
        flash = self.flash_point
        return bool(self.lel) or (flash is not None and flash.value <= FLAMMABLE_C)


class Library(_Table, frozen=True):
    """All that is known."""

    sources: dict[str, Source]
    statements: dict[str, str]
    """Hazard statements by code."""
    substances: dict[str, Substance]
    """By CAS number."""


class BadLibrary(ValueError):
    """The library is not what it should be.

    Example scenarios: it was edited by hand; the installation is damaged.
    """


@cache
def library() -> Library:
    """The library that comes with the program.

    Raises:
        BadLibrary: it cannot be used.
    """
    try:
        return load(tomllib.loads(LIBRARY.read_text(encoding="utf-8")))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadLibrary(f"{LIBRARY.name}: {error}") from error


def load(values: Mapping[str, object]) -> Library:
    """A library from its tables.

    Raises:
        BadLibrary: with every problem, each with its key.
    """
    try:
        made = msgspec.convert(values, Library)
    except msgspec.ValidationError as error:
        raise BadLibrary(f"{LIBRARY.name}: {error}") from error
    problems = [problem for cas in made.substances for problem in _problems(made, cas)]
    if problems:
        raise BadLibrary(f"{LIBRARY.name}: {'; '.join(problems)}")
    return made


def cas_problem(cas: str) -> str:
    """Why a text is no CAS number; empty: it is one.

    The last digit is the sum of the others, each times its place counted from the right, modulo
    10 (Chemical Abstracts Service).
    """
    if not re.fullmatch(r"[1-9]\d{1,6}-\d\d-\d", cas):
        return "is no CAS number: those look like 67-64-1"
    digits = [int(d) for d in cas if d != "-"]
    check = sum(place * d for place, d in enumerate(reversed(digits[:-1]), start=1)) % 10
    if check != digits[-1]:
        return f"is no CAS number: its last digit would be {check}, so one digit is wrong"
    return ""


def _problems(made: Library, cas: str) -> Iterable[str]:
    substance = made.substances[cas]
    if wrong := cas_problem(cas):
        yield f"substances.{cas}: {wrong}"
    for key, value in _values(substance):
        where = f"substances.{cas}.{key}"
        unit, low, high = _RANGES[key]
        if value.unit != unit:
            yield f"{where}: the unit is {unit}, not {value.unit}"
        if not low <= value.value <= high:
            yield f"{where}: {value.value:g} is outside {low:g} to {high:g}"
    yield from _limit_problems(substance, cas)
    for code in substance.hazards.codes:
        if code not in made.statements:
            yield f"substances.{cas}.hazards: no statement {code}"
    for source in _sources(substance):
        if source not in made.sources:
            yield f"substances.{cas}: no source {source}"


def _limit_problems(substance: Substance, cas: str) -> Iterable[str]:
    for limit in substance.limits:
        where = f"substances.{cas}.limits.{limit.agency} {limit.kind.value}"
        if limit.unit not in (PPM, MG_M3):
            yield f"{where}: the unit is {PPM} or {MG_M3}, not {limit.unit}"
        if not 0 < limit.value < math.inf:
            yield f"{where}: {limit.value:g} is no limit"


def _values(substance: Substance) -> Iterable[tuple[str, Value]]:
    yield "molar_mass", substance.molar_mass
    yield "evaporates", substance.evaporates
    if substance.flash_point is not None:
        yield "flash_point", substance.flash_point
    for lel in substance.lel:
        yield "lel", lel


def _sources(substance: Substance) -> Iterable[str]:
    yield from (value.source for _, value in _values(substance))
    yield from (limit.source for limit in substance.limits)
    yield substance.hazards.source
    if substance.cancer is not None:
        yield substance.cancer.source


_RANGES = {
    "molar_mass": ("g/mol", 2, 2000),
    "evaporates": ("of mass", 0, 1),
    "flash_point": ("C", -150, 400),
    "lel": ("% by volume", 0.05, 100),
}
