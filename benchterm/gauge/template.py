"""Patterns of a gauge's lines, in a little language that cannot hang the bench.

A pattern is written as the line looks, with names in braces where something varies::

    {stability},{skip},{value} {unit}

``{value}`` a number, ``{unit}`` a unit, ``{stability}`` and ``{battery}`` one of the words which
the profile lists for them or nothing, ``{skip}`` anything without a blank, comma, colon or
semicolon. A blank stands for any number of blanks, also none. Letters match small or capital.

Every piece takes as much as it can and never gives back, so that a line is read once from left to
right: the time is proportional to its length, whatever the pattern and whatever the line.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from enum import Enum


class DecimalMark(Enum):
    """What parts a number's whole from its fraction."""

    POINT = "point"
    COMMA = "comma"
    EITHER = "either"


_MARKS = {DecimalMark.POINT: r"\.", DecimalMark.COMMA: ",", DecimalMark.EITHER: "[.,]"}
_UNIT = r"[a-z/%^][a-z0-9/%^.*-]*+"
_SKIPPED = r"[^\s,;:]*+"
NAMES = ("value", "unit", "stability", "battery", "skip")

_PIECE = re.compile(r"\{(?P<name>[^{}]*)\}|(?P<blanks>\s+)|(?P<brace>[{}])|(?P<text>[^{}\s]+)")


class BadPattern(ValueError):
    """A pattern that cannot be used; the message says why."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a line holds under each name; empty where the pattern or the line has none."""

    value: float
    unit: str = ""
    stability: str = ""
    battery: str = ""


class Template:
    """A pattern made ready."""

    def __init__(
        self,
        pattern: str,
        mark: DecimalMark = DecimalMark.EITHER,
        stability_words: Iterable[str] = (),
        battery_words: Iterable[str] = (),
    ) -> None:
        """Make a pattern ready.

        Raises:
            BadPattern: it has an unknown name or a name twice, a brace alone, a character that
                cannot be printed, or no ``{value}``.
        """
        ways = {
            "value": _number(mark),
            "unit": _UNIT,
            "stability": _one_of(stability_words),
            "battery": _one_of(battery_words),
        }
        pieces = "".join(_pieces(pattern.strip(), ways))
        if "(?P<value>" not in pieces:
            raise BadPattern("has no {value}, so that nothing could be read.")
        self._match = re.compile(pieces, re.IGNORECASE | re.ASCII).fullmatch

    def read(self, line: str) -> Found | None:
        """What a line without its end holds; ``None`` if it does not fit."""
        match = self._match(line)
        if match is None:
            return None
        words = match.groupdict("")
        number = "".join(words["value"].split()).replace(",", ".")
        return Found(
            float(number),
            words.get("unit", ""),
            words.get("stability", ""),
            words.get("battery", ""),
        )


def _number(mark: DecimalMark) -> str:
    point = _MARKS[mark]
    return rf"[ \t]*+[+-]?+[ \t]*+(?:[0-9]++(?:{point}[0-9]++)?+|{point}[0-9]++)"


def _one_of(words: Iterable[str]) -> str:
    longest_first = sorted(words, key=len, reverse=True)
    return f"(?:{'|'.join(map(re.escape, longest_first))})?+"


def _pieces(pattern: str, ways: dict[str, str]) -> Iterator[str]:
    seen: set[str] = set()
    yield r"\s*+"
    for piece in _PIECE.finditer(pattern):
        name = piece["name"]
        if piece["blanks"]:
            yield r"\s*+"
        elif piece["brace"]:
            raise BadPattern(f"has a {piece['brace']} without its other half.")
        elif name is None:
            text = piece["text"]
            if not (text.isascii() and text.isprintable()):
                raise BadPattern(
                    "holds a character that is not printable ASCII: such characters are taken "
                    "out of a line before it is read, so leave them out here."
                )
            yield re.escape(text)
        elif name == "skip":
            yield _SKIPPED
        elif name not in ways:
            near = get_close_matches(name, NAMES, n=1)
            hint = f" Did you mean {{{near[0]}}}?" if near else ""
            raise BadPattern(f"has {{{name}}}; known are {', '.join(NAMES)}.{hint}")
        elif name in seen:
            raise BadPattern(f"has {{{name}}} twice.")
        else:
            seen.add(name)
            yield f"(?P<{name}>{ways[name]})"
    yield r"\s*+"
