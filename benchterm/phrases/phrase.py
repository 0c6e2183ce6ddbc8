"""One parser from text, said or typed, to an intent; what it cannot take it explains."""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches

from benchterm.core.stations import Station
from benchterm.phrases.grammar import FIGURE, REST, Grammar, Parsed, is_figure, key
from benchterm.phrases.meanings import Meant, Nonsense, fill, mean

_GLUED = re.compile(r"([+-]?[0-9]+(?:[.,][0-9]+)?)([a-z][a-z/]*)", re.IGNORECASE)
"""A figure with its unit stuck to it, as in ``22.5N/cm``."""
_SHOWN = 6
"""How many words of what was expected are listed."""


@dataclass(frozen=True, slots=True)
class Misheard:
    """Text that is no phrase."""

    heard: str
    why: str
    """One line: what is wrong, and what would be understood."""


def parse(text: str, grammar: Grammar, pending_station: Station | None = None) -> Meant | Misheard:
    """Take text for a phrase; numbers in words or in figures, with a point or a comma.

    Args:
        text: what was said or typed.
        grammar: the language it is in.
        pending_station: where the next number or click is expected if no place is named.
    """
    words = _words(text)
    if not words:
        return Misheard(text, "Nothing to take: the line is empty.")
    parsed = grammar.parse(words)
    if not parsed.meanings:
        return Misheard(text, _explain(words, parsed, grammar))
    found: dict[Meant, None] = {}
    nonsense = ""
    for tags in parsed.meanings:
        try:
            found[mean(fill(tags), pending_station)] = None
        except Nonsense as e:
            nonsense = str(e)
    if not found:
        return Misheard(text, nonsense)
    if len(found) > 1:
        return Misheard(text, f"'{_short(' '.join(words))}' can mean more than one thing.")
    return next(iter(found))


def _words(text: str) -> list[str]:
    words: list[str] = []
    for word in text.split():
        glued = _GLUED.fullmatch(word)
        words += glued.groups() if glued else [word]
    return [word for word in words if key(word)]


def _explain(words: list[str], parsed: Parsed, grammar: Grammar) -> str:
    said = _short(" ".join(words[: parsed.reached]))
    if parsed.reached == len(words):
        return f"'{said}' wants more: {_expected(parsed, grammar)}."
    word = key(words[parsed.reached])
    if parsed.reached == 0:
        return _no_beginning(word, words[1:], parsed, grammar)
    near = get_close_matches(word, parsed.expected, n=1, cutoff=0.6)
    if near:
        return f"'{_short(word)}' after '{said}' is not understood; did you mean '{near[0]}'?"
    if not parsed.expected:
        return f"'{said}' is understood, '{_short(word)}' after it is not: nothing more can follow."
    wanted = _expected(parsed, grammar)
    return f"'{_short(word)}' after '{said}' is not understood; expected {wanted}."


def _no_beginning(word: str, others: list[str], parsed: Parsed, grammar: Grammar) -> str:
    if any(is_figure(other) or key(other) in grammar.number_words for other in others):
        names = grammar.station_names
        near = get_close_matches(word, names, n=1, cutoff=0.6)
        hint = f"did you mean '{near[0]}'?" if near else f"The stations: {', '.join(names)}."
        return f"No station is called '{_short(word)}'{'; ' if near else '. '}{hint}"
    near = get_close_matches(word, parsed.expected, n=1, cutoff=0.6)
    example = next((one for saying in grammar.sayings for one in saying.examples), "")
    hint = f"; did you mean '{near[0]}'?" if near else f". Try '{example}'." if example else "."
    return f"No phrase begins with '{_short(word)}'{hint}"


def _expected(parsed: Parsed, grammar: Grammar) -> str:
    """What could have come, numbers first and as one."""
    words = list(parsed.expected)
    kinds: list[str] = []
    if FIGURE in words:
        kinds.append("a number")
        words = [word for word in words if word not in grammar.number_words]
    if REST in words:
        kinds.append("your own words")
    words = [f"'{word}'" for word in words if word not in (FIGURE, REST)]
    shown = kinds + words[:_SHOWN] + (["other words"] if len(words) > _SHOWN else [])
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} or {shown[-1]}"


def _short(text: str) -> str:
    text = "".join(c if c.isprintable() else "?" for c in text)
    return text if len(text) <= 40 else f"{text[:39]}…"
