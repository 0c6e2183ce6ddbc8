"""A gauge described in TOML: its port, its lines, how it sends, when its value stands still.

Profiles that come with the program lie in ``profiles``; a shop's own in the folder which
``benchterm settings --locate`` names. A file there replaces one of the same name here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property
from pathlib import Path

from benchterm.core.units import TensionUnit, to_n_per_cm
from benchterm.gauge.curve import Curve, curve_problem
from benchterm.gauge.template import BadPattern, DecimalMark, Template
from benchterm.locations import gauge_profiles_folder, own_gauge_profiles_folder
from benchterm.tables import Document, Problems, fill, read_document, shown


class GaugeUnit(Enum):
    """What a gauge's number means."""

    N_PER_CM = "N/cm"
    KGF_PER_CM = "kgf/cm"
    LBF_PER_INCH = "lbf/in"
    MM = "mm"
    """Deflection under the probe; a curve says which tension that is."""


class Parity(Enum):
    """The port's check bit."""

    NONE = "none"
    EVEN = "even"
    ODD = "odd"


class Sends(Enum):
    """When a gauge sends."""

    STREAM = "stream"
    """All the time."""
    REQUEST = "request"
    """When asked."""
    BUTTON = "button"
    """When the person at the bench presses the gauge's own button."""


@dataclass(frozen=True, slots=True)
class Port:
    """Settings of the serial port."""

    baud: int = 9600
    bits: int = 8
    parity: Parity = Parity.NONE
    stop_bits: int = 1

    def __str__(self) -> str:
        return f"{self.baud} {self.bits}{self.parity.value[0].upper()}{self.stop_bits}"


@dataclass(frozen=True, slots=True)
class Line:
    """What one line looks like and means."""

    pattern: str = "{value}"
    ends_with: str = ""
    """The characters a line ends with; empty: carriage return, line feed or both."""
    longest: int = 120
    """Bytes; a longer line is none."""
    decimal: DecimalMark = DecimalMark.EITHER
    unit: GaugeUnit = GaugeUnit.N_PER_CM
    """Of a line that names none."""
    units: dict[str, str] = field(default_factory=dict)
    """Further spellings of units, as this gauge writes them."""
    stable: tuple[str, ...] = ()
    """Words for a value that stands still, by the gauge's own judgement."""
    moving: tuple[str, ...] = ()
    battery_low: tuple[str, ...] = ()
    battery_good: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sending:
    """When the gauge sends, and what it is asked with."""

    how: Sends = Sends.STREAM
    request: str = ""
    """Sent to ask for a value."""
    every_s: float = 0.5
    """Asked so often."""
    silent_after_s: float = 5.0
    """Without a line for so long a gauge that should send is said to be silent."""


@dataclass(frozen=True, slots=True)
class Settle:
    """When a streamed or asked value stands still."""

    resolution: float = 0.1
    """Smallest step of the gauge, in its own unit: a spread of one step is standing still."""
    for_s: float = 0.8
    """For so long."""
    lifted_below_n_cm: float = 1.0
    """Under this, or outside its curve, the gauge is off the mesh and nothing is offered."""


@dataclass(frozen=True)
class Profile:
    """A gauge as its lines describe it."""

    what: str = ""
    """In a few words, for a list."""
    port: Port = field(default_factory=Port)
    line: Line = field(default_factory=Line)
    sends: Sending = field(default_factory=Sending)
    settle: Settle = field(default_factory=Settle)
    curve: Curve = field(default_factory=Curve)

    @cached_property
    def template(self) -> Template:
        """The pattern made ready.

        Raises:
            BadPattern: it cannot be used.
        """
        line = self.line
        return Template(
            line.pattern,
            line.decimal,
            (*line.stable, *line.moving),
            (*line.battery_low, *line.battery_good),
        )

    @cached_property
    def spellings(self) -> dict[str, GaugeUnit]:
        """Every spelling of a unit in small letters, with what it means."""
        own = {word.lower(): GaugeUnit(unit) for word, unit in self.line.units.items()}
        return _SPELLINGS | own

    def n_cm(self, number: float, unit: GaugeUnit) -> float | None:
        """The tension that a number means, N/cm; ``None`` outside the curve."""
        tension = TENSIONS.get(unit)
        return self.curve.n_cm_at(number) if tension is None else to_n_per_cm(number, tension)


TENSIONS: dict[GaugeUnit, TensionUnit] = {
    unit: TensionUnit(unit.value) for unit in GaugeUnit if unit is not GaugeUnit.MM
}
"""Units that are tensions themselves."""
_SPELLINGS = {
    "n/cm": GaugeUnit.N_PER_CM,
    "ncm": GaugeUnit.N_PER_CM,
    "kgf/cm": GaugeUnit.KGF_PER_CM,
    "kg/cm": GaugeUnit.KGF_PER_CM,
    "kp/cm": GaugeUnit.KGF_PER_CM,
    "lbf/in": GaugeUnit.LBF_PER_INCH,
    "lb/in": GaugeUnit.LBF_PER_INCH,
    "pli": GaugeUnit.LBF_PER_INCH,
    "mm": GaugeUnit.MM,
}
"""Usual spellings; common practice, no source."""


def profile_files() -> dict[str, Path]:
    """Every profile there is by its name, a shop's own before those that come with the program."""
    folders = (gauge_profiles_folder(), own_gauge_profiles_folder())
    return {path.stem: path for folder in folders for path in sorted(folder.glob("*.toml"))}


def load_profile(name: str) -> Profile:
    """The profile of a name, or of a file if the name ends in ``.toml``.

    Raises:
        SettingsError: every problem at once.
    """
    files = profile_files()
    problems = Problems()
    if name.endswith(".toml"):
        return profile_from(read_document(Path(name), problems), problems)
    if name not in files:
        problems.came_from("gauge.profile", Document("settings", {}))
        known = ", ".join(files)
        problems.add("gauge.profile", f"no profile is called {shown(name)}: {known}.", name, files)
        _check(problems)
    return profile_from(read_document(files[name], problems), problems)


def profile_from(document: Document, problems: Problems) -> Profile:
    """The profile in a document.

    Raises:
        SettingsError: every problem at once, with those found before.
    """
    profile = fill(Profile(), document, problems, {})
    for key, message, word in _problems(profile):
        problems.add(key, message, word, [unit.value for unit in GaugeUnit])
    _check(problems)
    return profile


def _check(problems: Problems) -> None:
    problems.check(
        "This gauge profile cannot be used:",
        works="The bench works by keypad without a gauge.",
        todo="Mend the lines named and start again.",
    )


_RANGES: tuple[tuple[str, str, float, float], ...] = (
    ("port", "baud", 50, 4_000_000),
    ("port", "bits", 7, 8),
    ("port", "stop_bits", 1, 2),
    ("line", "longest", 8, 1000),
    ("sends", "every_s", 0.05, 60),
    ("sends", "silent_after_s", 0.5, 600),
    ("settle", "resolution", 1e-4, 10),
    ("settle", "for_s", 0.1, 30),
    ("settle", "lifted_below_n_cm", 0, 100),
)


def _problems(profile: Profile) -> Iterator[tuple[str, str, str]]:
    for table, key, low, high in _RANGES:
        value = getattr(getattr(profile, table), key)
        if not low <= value <= high:
            yield f"{table}.{key}", f"{value:g} is outside {low:g} to {high:g}.", ""
    yield from _line_problems(profile)
    sends = profile.sends
    if not sends.request.isascii() or len(sends.request) > 100:
        yield "sends.request", "must be up to 100 ASCII characters.", ""
    if sends.how is Sends.REQUEST and not sends.request:
        yield "sends.request", "is empty: a gauge that answers has to be asked something.", ""
    units = (profile.line.unit.value, *profile.line.units.values())
    problem = curve_problem(profile.curve, wanted=GaugeUnit.MM.value in units)
    if problem:
        yield "curve", problem, ""


def _line_problems(profile: Profile) -> Iterator[tuple[str, str, str]]:
    line = profile.line
    try:
        profile.template.read("")
    except BadPattern as error:
        yield "line.pattern", str(error), ""
    for spelling, unit in line.units.items():
        if unit not in (known.value for known in GaugeUnit):
            yield f"line.units.{spelling}", f"{shown(unit)} is no unit of a gauge.", unit
    yield from _word_problems(line, "stability", "stable", "moving")
    yield from _word_problems(line, "battery", "battery_low", "battery_good")
    if not line.ends_with.isascii() or len(line.ends_with) > 4:
        yield "line.ends_with", "must be up to 4 ASCII characters.", ""


def _word_problems(
    line: Line, name: str, first: str, second: str
) -> Iterator[tuple[str, str, str]]:
    words = [word.lower() for key in (first, second) for word in getattr(line, key)]
    if len(set(words)) != len(words):
        yield f"line.{first}", f"and line.{second} have a word in common.", ""
    if any(not re.fullmatch(r"[!-~]{1,20}", word) for word in words):
        yield f"line.{first}", "words must be 1 to 20 ASCII characters without blanks.", ""
    if f"{{{name}}}" in line.pattern and not words:
        yield f"line.{first}", f"is needed: the pattern has {{{name}}}, but no words for it.", ""
    if words and f"{{{name}}}" not in line.pattern:
        yield f"line.{first}", f"is of no use: the pattern has no {{{name}}}.", ""
