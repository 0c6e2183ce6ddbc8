"""TOML tables into dataclasses, with every problem found before any is reported."""

from __future__ import annotations

import difflib
import json
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, get_type_hints

import msgspec

from benchterm.errors import SettingsError

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

D = TypeVar("D", bound="DataclassInstance")


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong in a file or on the command line."""

    where: str
    """The file, or what the value came from."""
    key: str
    """Dotted, as in ``session.mesh.count``; empty: the whole file."""
    message: str
    line: int | None = None
    """Line in the file, if it can be known."""
    nearest: str = ""
    """The known spelling that comes closest."""

    def __str__(self) -> str:
        line = f", line {self.line}" if self.line is not None else ""
        key = f"{self.key}: " if self.key else ""
        nearest = f" Did you mean {self.nearest!r}?" if self.nearest else ""
        return f"{self.where}{line}: {key}{self.message}{nearest}"


@dataclass(frozen=True, slots=True)
class Document:
    """Values as they were written, with where each stands."""

    where: str
    values: Mapping[str, Any]
    lines: Mapping[str, int] = field(default_factory=dict)
    """Line of each dotted key."""

    def line_of(self, key: str) -> int | None:
        """The line of a dotted key, or of the closest table it stands in."""
        while key:
            if key in self.lines:
                return self.lines[key]
            key = key.rpartition(".")[0]
        return None


class Problems:
    """Collects every problem, so that a person mends a file once and not once for each."""

    def __init__(self) -> None:
        self.found: list[Problem] = []
        self._origins: dict[str, Document] = {}

    def came_from(self, key: str, document: Document) -> None:
        """Remember which document gave a key its value; the latest counts."""
        self._origins[key] = document

    def add(
        self, keys: str | tuple[str, ...], message: str, word: str = "", known: Iterable[str] = ()
    ) -> None:
        """Add a problem of one key, or of several of which the first that was written is named.

        ``word`` is what was written where one of ``known`` would have been right.
        """
        names = (keys,) if isinstance(keys, str) else keys
        key = next((name for name in names if name in self._origins), names[0])
        origin = self._origin(key)
        nearest = difflib.get_close_matches(word, list(known), n=1, cutoff=0.6) if word else []
        self.found.append(
            Problem(origin.where, key, message, origin.line_of(key), "".join(nearest))
        )

    def check(self, what: str, *, works: str = "", todo: str = "") -> None:
        """Raise what was found, if anything was.

        Raises:
            SettingsError: with one line for each problem.
        """
        if self.found:
            lines = "".join(f"\n  {problem}" for problem in self.found)
            raise SettingsError(f"{what}{lines}\n", works=works, todo=todo)

    def _origin(self, key: str) -> Document:
        """Where a key or the closest table it stands in was written."""
        while key:
            if key in self._origins:
                return self._origins[key]
            key = key.rpartition(".")[0]
        return Document("defaults", {})


@dataclass(frozen=True, slots=True)
class Written:
    """How a field is written in a file, where that is not its own name and type."""

    key: str
    read: Callable[[Any], Any]
    """The field's value from the written one; raises ``ValueError`` with the reason."""
    write: Callable[[Any], Any]
    """The other way round."""


def read_document(path: Path, problems: Problems) -> Document:
    """The values of a TOML file; none, and a problem, if it cannot be read."""
    where = str(path)
    empty = Document(where, {})
    try:
        text = path.read_text(encoding="utf-8")
        return Document(where, tomllib.loads(text), _lines(text))
    except FileNotFoundError:
        message, line = "there is no such file.", None
    except UnicodeDecodeError:
        message, line = "is not text in UTF-8.", None
    except OSError as error:
        message, line = f"cannot be read: {error.strerror}.", None
    except tomllib.TOMLDecodeError as error:
        at_line = re.search(r"\(at line (\d+)", str(error))
        message, line = f"is not TOML: {error}.", int(at_line[1]) if at_line else None
    problems.found.append(Problem(empty.where, "", message, line))
    return empty


def fill(
    base: D,
    document: Document,
    problems: Problems,
    written: Mapping[tuple[type, str], Written],
    values: Mapping[str, Any] | None = None,
    under: str = "",
) -> D:
    """``base`` with a document's values put in; what cannot be used is a problem and is left out.

    ``written`` names the fields that are written otherwise, by dataclass and field name. Given
    ``values``, only those are put in: they stand in the document under the key ``under``.
    """
    hints = get_type_hints(type(base))
    ways = {f.name: written.get((type(base), f.name)) for f in fields(base)}
    names = {way.key if way else name: name for name, way in ways.items()}
    changes: dict[str, Any] = {}
    for key, value in (document.values if values is None else values).items():
        dotted = f"{under}{key}"
        problems.came_from(dotted, document)
        if key not in names:
            problems.add(dotted, f"no such key; known here: {', '.join(names)}.", key, names)
            continue
        name = names[key]
        present, way = getattr(base, name), ways[name]
        if is_dataclass(present) and not isinstance(present, type) and isinstance(value, dict):
            changes[name] = fill(present, document, problems, written, value, f"{dotted}.")
        elif is_dataclass(present):
            problems.add(dotted, f"must be a table, [{dotted}], not {shown(value)}.")
        else:
            try:
                changes[name] = way.read(value) if way else _converted(value, hints[name])
            except ValueError as error:
                problems.add(dotted, str(error), str(value), _choices(hints[name]))
    return replace(base, **changes)


def shown(value: object) -> str:
    """A value as it would be written in TOML."""
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            # TOML's short escapes and \uXXXX are JSON's, but for DEL, which JSON leaves as it is.
            return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
        case list() | tuple():
            return f"[{', '.join(shown(each) for each in value)}]"
        case dict():
            return f"{{{', '.join(f'{key} = {shown(each)}' for key, each in value.items())}}}"
        case Enum():
            return shown(value.value)
        case _:
            return str(value)


def _converted(value: object, hint: Any) -> Any:
    try:
        return msgspec.convert(value, hint)
    except msgspec.ValidationError:
        choices = _choices(hint)
        wanted = "one of " + ", ".join(choices) if choices else _WANTED[hint]
        raise ValueError(f"must be {wanted}, not {shown(value)}.") from None


def _choices(hint: Any) -> tuple[str, ...]:
    if isinstance(hint, type) and issubclass(hint, Enum):
        return tuple(str(each.value) for each in hint)
    return ()


_WANTED: dict[Any, str] = {
    float: "a number",
    float | None: "a number",
    int: "a whole number",
    str: "text in quotes",
    bool: "true or false",
    tuple[str, ...]: "a list of texts in quotes",
    tuple[float, ...]: "a list of numbers",
    dict[str, str]: "a table of texts in quotes",
}

_HEADER = re.compile(r"\s*\[\s*([\w.\s-]+?)\s*\]\s*(#.*)?$")
_KEY = re.compile(r"\s*([\w-]+(?:\s*\.\s*[\w-]+)*)\s*=")


def _lines(text: str) -> dict[str, int]:
    """Where each key stands. Keys in quotes are not found: their table's line does for them."""
    lines: dict[str, int] = {}
    table = ""
    for number, line in enumerate(text.splitlines(), 1):
        if header := _HEADER.match(line):
            table = header[1].replace(" ", "")
            lines.setdefault(table, number)
        elif key := _KEY.match(line):
            name = key[1].replace(" ", "")
            lines.setdefault(f"{table}.{name}" if table else name, number)
    return lines
