"""What a session is opened with, from TOML and from the command line, checked as a whole."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

from benchterm.core.facts import Facts, Mesh
from benchterm.core.practice import Practice
from benchterm.core.units import CountUnit, threads_per_cm
from benchterm.mechanics.mesh import opening_um
from benchterm.tables import Document, Problems, Written, fill, read_document, shown

TEXT_LENGTH = 80
"""The longest name of a screen, a person or a gauge."""

_RANGES: tuple[tuple[str, float, float, str, str], ...] = (
    ("frame.width_mm", 100, 5000, "mm", "no frame is stretched outside that"),
    ("frame.depth_mm", 100, 5000, "mm", "no frame is stretched outside that"),
    ("frame.tube_mm", 5, 200, "mm", "no frame is made of such tube"),
    ("frame.tube_height_mm", 5, 200, "mm", "no frame is made of such tube"),
    ("frame.wall_mm", 0.5, 100, "mm", "no frame is made of such tube"),
    ("mesh.thread_um", 10, 1000, "µm", "no printing mesh is woven of such thread"),
    ("mesh.ceiling_n_cm", 1, 200, "N/cm", "no mesh has such a highest working tension"),
    ("stretcher.roller_mm", 5, 300, "mm", "no roller is that size"),
    ("stretcher.teeth", 3, 360, "teeth", "no ratchet has that many"),
    ("stretcher.span_beyond_frame_mm", 0, 2000, "mm", "the rollers lie outside the frame, near it"),
    ("stretcher.rod_gap_mm", 0, 1000, "mm", "it is a gap at the end of a rod"),
    ("target.along_n_cm", 1, 80, "N/cm", "no printing mesh is stretched to that"),
    ("target.across_n_cm", 1, 80, "N/cm", "no printing mesh is stretched to that"),
    ("target.tolerance_n_cm", 0.1, 20, "N/cm", "no gauge can tell less, no job bears more"),
)
"""Bounds of what can be, not of what is good: common practice, no source."""


def read_count(value: object) -> float:
    """Threads per centimetre from ``"77/cm"`` or ``"195/in"``.

    Raises:
        ValueError: it has no unit, or is no count of a printing mesh (4 to 250 threads/cm).
    """
    text = str(value).strip()
    number_text, slash, unit_text = text.partition("/")
    number = None if isinstance(value, bool | list) else _number(number_text)
    if number is None:
        raise ValueError(f'{shown(value)} is no count. Write it as "77/cm" or "195/in".')
    if not slash:
        per_inch = threads_per_cm(number, CountUnit.PER_INCH)
        raise ValueError(
            f'{number:g} has no unit. Write "{number:g}/cm" or "{number:g}/in": in the second '
            f"case it is {per_inch:.3g}/cm, another mesh altogether."
        )
    unit = {"cm": CountUnit.PER_CM, "in": CountUnit.PER_INCH}.get(unit_text.strip().lower())
    if unit is None:
        raise ValueError(f'{unit_text.strip()!r} is no unit of a count: write "/cm" or "/in".')
    threads_cm = threads_per_cm(number, unit)
    if not 4 <= threads_cm <= 250:
        raise ValueError(
            f"{text} is {threads_cm:.3g} threads/cm, outside 4 to 250: no printing mesh is."
        )
    return threads_cm


def written_count(threads_cm: float) -> str:
    """A count as ``read_count`` reads it, to the last digit."""
    return f"{threads_cm!r}/cm"


WRITTEN: Mapping[tuple[type, str], Written] = {
    (Mesh, "threads_cm"): Written("count", read_count, written_count),
}
"""How facts are written where that is not their own name and type."""


def facts_from(
    values: Mapping[str, Any], where: str = "set-up", base: Facts | None = None
) -> Facts:
    """The facts of a mapping as TOML gives it, on top of ``base``.

    Raises:
        SettingsError: every problem at once.
    """
    return _settled([Document(where, values)], base or Facts(), Practice(), Problems())


def set_up(
    base: Facts,
    practice: Practice,
    file: Path | None = None,
    options: Mapping[str, Any] | None = None,
) -> Facts:
    """The facts of a session: the shop's, then the file's, then the command line's.

    ``options`` maps dotted keys to values; ``None`` is no value.

    Raises:
        SettingsError: every problem of file and options at once.
    """
    problems = Problems()
    documents = [read_document(file, problems)] if file else []
    documents += [
        Document("command line", _nested(key, value))
        for key, value in (options or {}).items()
        if value is not None
    ]
    return _settled(documents, base, practice, problems)


def option(text: str) -> tuple[str, Any]:
    """A dotted key and its value from ``KEY=VALUE``, the value as in TOML or else plain text.

    Raises:
        ValueError: there is no ``=``.
    """
    key, equals, value = text.partition("=")
    if not equals or not key.strip():
        raise ValueError(f"{text!r} is not KEY=VALUE, as in frame.width_mm=580.")
    try:
        return key.strip(), tomllib.loads(f"value = {value}")["value"]
    except (tomllib.TOMLDecodeError, KeyError):
        return key.strip(), value.strip()


def facts_problems(
    facts: Facts, practice: Practice, under: str = ""
) -> Iterator[tuple[tuple[str, ...], str]]:
    """What cannot be so, each with the keys it concerns, the figure and the reason."""
    for key, value in _flat(facts, under):
        if isinstance(value, str) and (len(value) > TEXT_LENGTH or not value.isprintable()):
            yield (key,), f"must be one printable line of at most {TEXT_LENGTH} characters."
    if not facts.screen_id.strip():
        yield (f"{under}screen_id",), "is empty: the record needs a name for the screen."
    sound = True
    for key, low, high, unit, why in _RANGES:
        value = _value(facts, key)
        if value is not None and not low <= value <= high:
            sound = False
            yield (under + key,), f"{value:g} {unit} is outside {low:g} to {high:g}: {why}."
    if sound:
        yield from _contradictions(facts, practice, under)


def facts_to_toml(facts: Facts, under: str = "") -> str:
    """The facts as a set-up file, which read back gives the same facts.

    ``under`` names the table that they are to stand in, as ``session`` in a settings file.
    """
    return "\n".join(_toml(facts, under)) + "\n"


def _settled(
    documents: Iterable[Document], base: Facts, practice: Practice, problems: Problems
) -> Facts:
    facts = base
    for document in documents:
        facts = fill(facts, document, problems, WRITTEN)
    for keys, message in facts_problems(facts, practice):
        problems.add(keys, message)
    problems.check(
        "This set-up cannot be used:",
        works="Nothing has been begun or written.",
        todo="Mend the lines named and start again.",
    )
    return facts


def _contradictions(
    facts: Facts, practice: Practice, under: str
) -> Iterator[tuple[tuple[str, ...], str]]:
    frame, mesh, target = facts.frame, facts.mesh, facts.target
    for side, inner in (("width_mm", frame.inner_width_mm), ("depth_mm", frame.inner_depth_mm)):
        if inner <= 0:
            keys = (f"{under}frame.{side}", f"{under}frame.tube_mm")
            outer = getattr(frame, side)
            yield keys, f"{outer:g} mm with tubes of {frame.tube_mm:g} mm leaves no opening."
    for tube in ("tube_mm", "tube_height_mm"):
        if 2 * frame.wall_mm > getattr(frame, tube):
            keys = (f"{under}frame.wall_mm", f"{under}frame.{tube}")
            yield (
                keys,
                f"walls of {frame.wall_mm:g} mm do not fit a tube of {getattr(frame, tube):g} mm.",
            )
    try:
        opening_um(mesh.threads_cm, mesh.thread_um)
    except ValueError as error:
        yield (f"{under}mesh.thread_um", f"{under}mesh.count"), f"{error}."
    for axis, wanted in (("along_n_cm", target.along_n_cm), ("across_n_cm", target.across_n_cm)):
        keys = (f"{under}target.{axis}", f"{under}mesh.ceiling_n_cm")
        if mesh.ceiling_n_cm is not None and wanted > mesh.ceiling_n_cm:
            yield (
                keys,
                f"{wanted:g} N/cm is above the maker's highest working tension, "
                f"{mesh.ceiling_n_cm:g} N/cm.",
            )
        elif wanted > practice.reading_max_n_cm:
            yield (
                keys,
                f"{wanted:g} N/cm is above the highest reading taken, "
                f"practice.reading_max_n_cm = {practice.reading_max_n_cm:g}.",
            )
        if target.tolerance_n_cm >= wanted:
            yield (
                (f"{under}target.tolerance_n_cm", f"{under}target.{axis}"),
                f"{target.tolerance_n_cm:g} N/cm either way of {wanted:g} would pass slack mesh.",
            )


def _number(text: str) -> float | None:
    try:
        number = float(text)
    except ValueError:
        return None
    return number if math.isfinite(number) else None


def _nested(dotted: str, value: Any) -> dict[str, Any]:
    key, _, rest = dotted.partition(".")
    return {key: _nested(rest, value) if rest else value}


def _value(facts: Facts, key: str) -> Any:
    value: Any = facts
    for name in key.split("."):
        value = getattr(value, name)
    return value


def _flat(table: Any, under: str) -> Iterator[tuple[str, Any]]:
    for f in fields(table):
        value = getattr(table, f.name)
        if is_dataclass(value):
            yield from _flat(value, f"{under}{f.name}.")
        else:
            yield f"{under}{f.name}", value


def _toml(table: Any, under: str) -> Iterator[str]:
    if under:
        yield f"[{under}]"
    tables = []
    for f in fields(table):
        value = getattr(table, f.name)
        if is_dataclass(value):
            tables.append((f.name, value))
        elif way := WRITTEN.get((type(table), f.name)):
            yield f"{way.key} = {shown(way.write(value))}"
        elif value is not None:
            yield f"{f.name} = {shown(value)}"
    for name, inner in tables:
        yield ""
        yield from _toml(inner, f"{under}.{name}" if under else name)
