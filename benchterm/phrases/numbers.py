"""Spoken numbers, with the words of the grammar in use: what they say, and how to say them.

Tensions are read back digit by digit, so that fifteen and fifty cannot be taken for each other.
"""

from __future__ import annotations

from decimal import Decimal

from benchterm.errors import BenchError
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import amount

LIMIT = 100
"""Numbers from here on have no words: no gauge at the bench shows them."""


class NumberWords:
    """Numbers in the words of one grammar's rules ``<digit>``, ``<whole>`` and ``<point>``.

    Raises:
        BenchError: the grammar has no word for one of them.
    """

    def __init__(self, grammar: Grammar) -> None:
        self._digits = _first_words(grammar, "digit", 10)
        self._wholes = _first_words(grammar, "whole", LIMIT)
        self._point = " ".join(next(grammar.sentences("point"))[0])

    def count(self, number: int) -> str:
        """A count as one says it: ``twelve``.

        Raises:
            ValueError: it is below 0, or 100 and more.
        """
        if not 0 <= number < LIMIT:
            raise ValueError(f"no words for {number}")
        return self._wholes[number]

    def reading(self, value: float) -> str:
        """A tension, N/cm, to a tenth: ``two two point five``, ``one five, fifteen``.

        Raises:
            ValueError: it is below 0, or 100 and more.
        """
        tenths = int(round(Decimal(repr(value)), 1) * 10)
        if not 0 <= tenths < LIMIT * 10:
            raise ValueError(f"no words for {value}")
        whole, tenth = divmod(tenths, 10)
        digits = " ".join(self._digits[int(digit)] for digit in str(whole))
        if tenth:
            return f"{digits} {self._point} {self._digits[tenth]}"
        mistakable = 13 <= whole <= 19 or (whole >= 20 and whole % 10 == 0)
        return f"{digits}, {self._wholes[whole]}" if mistakable else digits


def _first_words(grammar: Grammar, rule: str, below: int) -> dict[int, str]:
    """The words that come first in the file for each number of a rule."""
    found: dict[int, str] = {}
    for words, tags in grammar.sentences(rule):
        parts = [part for tag in tags if (part := amount(tag)) is not None]
        found.setdefault(int(sum(parts)), " ".join(words))
    missing = [number for number in range(below) if number not in found]
    if missing:
        raise BenchError(
            f"The grammar '{grammar.name}' has no word for {missing[0]} in its rule <{rule}>.",
            works="Without it numbers are shown but not spoken.",
            todo="Add it to the grammar file.",
        )
    return found
