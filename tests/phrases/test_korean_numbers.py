"""Korean numbers over the whole range, against num2words, which writes them in one word."""

from __future__ import annotations

from decimal import Decimal

import pytest
from num2words import num2words
from phrases.conftest import ENGLISH

from benchterm.core.intents import Turn
from benchterm.core.stations import Station
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import Bare
from benchterm.phrases.numbers import NumberWords
from benchterm.phrases.phrase import parse


@pytest.fixture(scope="module")
def korean() -> Grammar:
    return Grammar.load(ENGLISH.with_name("ko.jsgf"))


def parted(text: str, grammar: Grammar) -> str:
    """Text without blanks cut into the grammar's words, the longest first."""
    words = sorted(grammar.words, key=len, reverse=True)
    rest, found = text.replace(" ", ""), []
    while rest:
        word = next(word for word in words if rest.startswith(word))
        found.append(word)
        rest = rest.removeprefix(word)
    return " ".join(found)


def test_every_number_of_num2words_is_understood(korean: Grammar) -> None:
    for tenths in range(1000):
        value = Decimal(tenths) / 10
        outside = num2words(value if tenths % 10 else int(value), lang="ko")
        assert parse(parted(outside, korean), korean) == Bare(float(value)), outside


def test_counts_are_said_as_num2words_says_them(korean: Grammar) -> None:
    said = NumberWords(korean)
    for number in range(100):
        assert said.count(number).replace(" ", "") == num2words(number, lang="ko"), number


def test_clicks_are_counted_with_the_other_set_of_numbers(korean: Grammar) -> None:
    """num2words has it for ordinals only, and there one has a word of its own."""
    for number in range(2, 11):
        native = num2words(number, lang="ko", to="ordinal").removesuffix(" 번째")
        assert parse(f"왼쪽 {native} 칸", korean) == Turn(Station.LEFT, number)
    assert num2words(1, lang="ko", to="ordinal") == "첫 번째"
    assert parse("왼쪽 한 칸", korean) == Turn(Station.LEFT, 1)
