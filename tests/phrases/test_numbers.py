"""Spoken numbers over the whole range, against num2words."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from num2words import num2words

from benchterm.errors import BenchError
from benchterm.phrases import jsgf
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import Bare
from benchterm.phrases.numbers import NumberWords
from benchterm.phrases.phrase import Misheard, parse

DIGITS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
TENTHS = [Decimal(n) / 10 for n in range(1000)]


@pytest.fixture(scope="module")
def said(english: Grammar) -> NumberWords:
    return NumberWords(english)


def outside(number: Decimal) -> str:
    """The words of num2words: ``twenty two point five``."""
    return str(num2words(number)).replace("-", " ")


def spoken_forms(value: Decimal) -> set[str]:
    """Every way in which a number of 0.0 to 99.9 is said at the bench."""
    whole, tenth = divmod(int(value * 10), 10)
    tens, units = divmod(whole, 10)
    starts = {outside(Decimal(whole))}
    if tens:
        starts.add(f"{DIGITS[tens]} {DIGITS[units]}")
    forms = {f"{start} {point} {DIGITS[tenth]}" for start in starts for point in POINTS}
    if tenth == 0:
        forms |= starts
    if tenth == 5:
        forms |= {f"{start} and a half" for start in starts}
    if tens:
        forms.add(f"{DIGITS[tens]} {DIGITS[units]} {DIGITS[tenth]}")
    forms |= {form.replace("nine ", "niner ") for form in forms}
    return forms | {oh for form in forms if (oh := with_oh(form))}


POINTS = ("point", "decimal")


def with_oh(form: str) -> str:
    """Zero as oh; alone, oh is no number but a sigh."""
    return form.replace("zero", "oh") if " " in form and not form.startswith("zero and") else ""


def test_every_number_in_every_spoken_form_is_itself(english: Grammar) -> None:
    for value in TENTHS:
        for form in spoken_forms(value):
            assert parse(form, english) == Bare(float(value)), form


def test_the_words_of_a_number_say_only_that_number(english: Grammar) -> None:
    for value in TENTHS:
        for form in spoken_forms(value):
            assert len(english.parse(form.split()).meanings) == 1, form


@pytest.mark.parametrize(
    ("words", "value"),
    [
        ("twenty two point five", 22.5),
        ("two two point five", 22.5),
        ("two two five", 22.5),
        ("twenty two and a half", 22.5),
        ("two four five", 24.5),
        ("two oh five", 20.5),
        ("two zero", 20.0),
        ("oh point five", 0.5),
        ("niner niner decimal niner", 99.9),
        ("fifteen", 15.0),
        ("fifty", 50.0),
        ("one five", 15.0),
        ("22,5", 22.5),
        (".5", 0.5),
        ("22.", 22.0),
    ],
)
def test_a_number_is_heard(english: Grammar, words: str, value: float) -> None:
    assert parse(words, english) == Bare(value)


@pytest.mark.parametrize(
    "words",
    [
        "oh",
        "point five",
        "two two two two",
        "twenty twelve",
        "twenty zero",
        "zero five",
        "fifteen five",
        "two hundred",
        "two hundred and twenty five",
        "twenty two point",
        "twenty two point five five",
        "a half",
    ],
)
def test_what_is_no_number_of_the_bench_is_refused(english: Grammar, words: str) -> None:
    assert isinstance(parse(words, english), Misheard)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (22.5, "two two point five"),
        (22.0, "two two"),
        (15.0, "one five, fifteen"),
        (50.0, "five zero, fifty"),
        (15.5, "one five point five"),
        (12.0, "one two"),
        (0.0, "zero"),
        (7.0, "seven"),
        (99.9, "nine nine point nine"),
        (22.04, "two two"),
    ],
)
def test_a_tension_is_read_back_digit_by_digit(said: NumberWords, value: float, words: str) -> None:
    assert said.reading(value) == words


def test_what_is_read_back_means_what_was_heard(said: NumberWords, english: Grammar) -> None:
    for value in TENTHS:
        digits, _, plain = said.reading(float(value)).partition(", ")
        assert parse(digits, english) == Bare(float(value))
        if plain:
            assert plain == outside(Decimal(int(value)))


def test_counts_are_said_as_num2words_says_them(said: NumberWords) -> None:
    assert [said.count(n) for n in range(100)] == [outside(Decimal(n)) for n in range(100)]


@pytest.mark.parametrize("value", [-0.1, 99.96, 100.0, 225.0])
def test_a_number_without_words_is_an_error(said: NumberWords, value: float) -> None:
    with pytest.raises(ValueError, match="no words"):
        said.reading(value)


def test_a_grammar_without_a_digit_says_so(english_file: Path) -> None:
    text = english_file.read_text(encoding="utf-8").replace("six {6} |", "")
    assert "six {6}" not in text
    with pytest.raises(BenchError, match="no word for 6 in its rule <digit>"):
        NumberWords(Grammar(jsgf.parse(text)))
