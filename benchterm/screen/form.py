"""The facts of a session as a form that one hand on the keypad can fill in. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

from benchterm.core.facts import Facts, Locking, StretcherKind
from benchterm.core.practice import Practice
from benchterm.core.stations import Pair
from benchterm.core.units import CountUnit
from benchterm.setup import facts_problems, read_count

BEGIN, BACK, EMPTY, LIST = "+", "-", "/", "*"
"""Keys that are no value: done with the form, one field back, leave the field empty, show a list.
"""


@dataclass(frozen=True, slots=True)
class Field:
    """One line of the form."""

    key: str
    """As in a set-up file."""
    label: str
    unit: str = ""
    choices: tuple[tuple[str, Any], ...] = ()
    """Words and values to choose from by number; empty: something is typed."""
    text: bool = False
    optional: bool = False
    whole: bool = False
    """Only whole numbers."""
    names: bool = False
    """Names of product files, chosen on a screen of their own."""


_MATERIALS = (("aluminium", "aluminium"), ("steel", "steel"), ("wood", "wood"))
_CLOTHS = (("polyester", "polyester"), ("polyamide", "polyamide"), ("steel", "steel"))

FIELDS = (
    Field("screen_id", "screen", text=True),
    Field("operator", "operator", text=True, optional=True),
    Field("gauge", "gauge", text=True, optional=True),
    Field("products", "glue, activator, hardener", optional=True, names=True),
    Field("mesh.count", "mesh count", "threads"),
    Field(
        "mesh.unit",
        "count is per",
        choices=(("cm", CountUnit.PER_CM), ("inch", CountUnit.PER_INCH)),
    ),
    Field("mesh.thread_um", "thread", "µm"),
    Field("mesh.material", "mesh of", choices=_CLOTHS),
    Field("mesh.ceiling_n_cm", "maker's highest tension", "N/cm", optional=True),
    Field("target.along_n_cm", "target along", "N/cm"),
    Field("target.across_n_cm", "target across", "N/cm"),
    Field("target.tolerance_n_cm", "tolerance, either way", "N/cm"),
    Field(
        "along_pair",
        "the roll's length runs",
        choices=(("far to near", Pair.FAR_NEAR), ("left to right", Pair.LEFT_RIGHT)),
    ),
    Field("frame.width_mm", "frame, left to right", "mm"),
    Field("frame.depth_mm", "frame, near to far", "mm"),
    Field("frame.material", "frame of", choices=_MATERIALS),
    Field("frame.tube_mm", "tube, width", "mm"),
    Field("frame.tube_height_mm", "tube, height", "mm"),
    Field("frame.wall_mm", "tube, wall", "mm"),
    Field("stretcher.roller_mm", "roller diameter", "mm"),
    Field("stretcher.teeth", "ratchet", "teeth", whole=True),
    Field(
        "stretcher.kind",
        "stretcher's corners",
        choices=(("adjustable", StretcherKind.ADJUSTABLE), ("welded", StretcherKind.FIXED)),
    ),
    Field(
        "stretcher.locking",
        "mesh locked by",
        choices=(("one tapered rod", Locking.TAPERED_ROD), ("two round rods", Locking.TWO_RODS)),
    ),
    Field("stretcher.span_beyond_frame_mm", "mesh span beyond the frame", "mm"),
    Field("stretcher.rod_gap_mm", "rod end to mesh corner", "mm", optional=True),
)


class Form:
    """Values of all fields, the field the hand is at, and what is wrong with the last attempt."""

    def __init__(self, facts: Facts, practice: Practice) -> None:
        self._facts = facts
        self.practice = practice
        self.values: dict[str, Any] = dict(_flat(facts))
        self.values["mesh.count"] = facts.mesh.threads_cm
        self.values["mesh.unit"] = CountUnit.PER_CM
        self.at = 0
        self.problems: dict[str, str] = {}

    @property
    def field(self) -> Field:
        """The field the hand is at."""
        return FIELDS[self.at]

    def shown(self, field: Field) -> str:
        """A field's value in words."""
        value = self.values[field.key]
        if field.names:
            return ", ".join(value) or "none named"
        if field.choices:
            words = [word for word, of in field.choices if of == value]
            return words[0] if words else ("not chosen" if value is None else str(value))
        if value is None or value == "":
            return "none"
        if field.text:
            return str(value)
        return f"{value:.6g} {field.unit}"

    def read(self, typed: str) -> Any:
        """The value that typed text stands for at the present field.

        Raises:
            ValueError: it stands for none; the message says why.
        """
        field, text = self.field, typed.strip()
        if text == EMPTY and field.optional:
            return () if field.names else "" if field.text else None
        if field.names:
            raise ValueError(f"{LIST} shows the shop's product files; {EMPTY} for none.")
        if field.choices:
            number = int(text) if text.isdigit() else 0
            if not 1 <= number <= len(field.choices):
                raise ValueError(f"Choose {numbered(field)}.")
            return field.choices[number - 1][1]
        if field.text:
            if not any(char.isalnum() for char in text):
                raise ValueError(f"{text!r} is no name: letters or digits, please.")
            return text
        number_text = text.replace(",", ".")
        try:
            value = float(number_text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise ValueError(f"{text!r} is no number.")
        if field.whole and not value.is_integer():
            raise ValueError(f"{text} {field.unit}: a whole number, please.")
        return int(value) if field.whole else value

    def take(self, typed: str) -> str:
        """Enter a value and go on to the next field; why not, if it cannot be."""
        field = self.field
        text = typed.strip()
        if text == BACK:
            self.at = max(0, self.at - 1)
            return ""
        if text:
            try:
                self._enter(field, text)
            except ValueError as error:
                return str(error)
        elif self.values[field.key] is None and field.key == "mesh.unit":
            return "Threads per cm or per inch? Choose 1 or 2: nothing is guessed here."
        self.problems.pop(field.key, None)
        self.at = min(len(FIELDS), self.at + 1)
        return ""

    def _enter(self, field: Field, text: str) -> None:
        if field.key == "mesh.count" and "/" in text:
            self.values["mesh.count"] = read_count(text)
            self.values["mesh.unit"] = CountUnit.PER_CM
            return
        value = self.read(text)
        if field.key == "mesh.count" and value != self.values["mesh.count"]:
            self.values["mesh.unit"] = None
        self.values[field.key] = value

    def finish(self) -> Facts | None:
        """The facts, if they can be so; else ``None``, and ``problems`` says what cannot."""
        self.problems = {}
        facts = self._facts_so_far()
        if facts is not None:
            for keys, message in facts_problems(facts, self.practice):
                self.problems.setdefault(keys[0], message)
        if not self.problems:
            return facts
        wrong = [i for i, field in enumerate(FIELDS) if field.key in self.problems]
        self.at = wrong[0] if wrong else 0
        return None

    def _facts_so_far(self) -> Facts | None:
        unit = self.values["mesh.unit"]
        if unit is None:
            self.problems["mesh.unit"] = "Threads per cm or per inch? Choose 1 or 2."
            return None
        try:
            threads_cm = read_count(f"{self.values['mesh.count']!r}{unit.value}")
        except ValueError as error:
            self.problems["mesh.count"] = str(error)
            return None
        filled: Facts = _filled(self._facts, {**self.values, "mesh.threads_cm": threads_cm})
        return filled


def numbered(field: Field) -> str:
    """The choices of a field: ``1 cm, 2 inch``."""
    return ", ".join(f"{i} {word}" for i, (word, _) in enumerate(field.choices, 1))


def _flat(table: Any, under: str = "") -> list[tuple[str, Any]]:
    found: list[tuple[str, Any]] = []
    for f in fields(table):
        value = getattr(table, f.name)
        inner = _flat(value, f"{under}{f.name}.") if is_dataclass(value) else []
        found += inner or [(f"{under}{f.name}", value)]
    return found


def _filled(table: Any, values: Mapping[str, Any], under: str = "") -> Any:
    changed = {}
    for f in fields(table):
        value = getattr(table, f.name)
        if is_dataclass(value):
            changed[f.name] = _filled(value, values, f"{under}{f.name}.")
        else:
            changed[f.name] = values[f"{under}{f.name}"]
    return replace(table, **changed)
