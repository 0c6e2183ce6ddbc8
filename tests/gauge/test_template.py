"""The pattern language: what it reads, what it refuses, and that no line can make it slow."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.gauge.template import BadPattern, DecimalMark, Found, Template


@pytest.mark.parametrize(
    ("pattern", "line", "found"),
    [
        ("{value}", "22.5", Found(22.5)),
        ("{value}", "  +022.50  ", Found(22.5)),
        ("{value}", "- 0,3", Found(-0.3)),
        ("{value}", ".5", Found(0.5)),
        ("{value} {unit}", "22.5N/cm", Found(22.5, "N/cm")),
        ("{value} {unit}", "22.5   lbf/in", Found(22.5, "lbf/in")),
        ("T={value};", "t= 22;", Found(22)),
        ("{skip},{value},{unit}", "CH1,22.5,mm", Found(22.5, "mm")),
        ("{value},{unit}", "22,N", Found(22, "N")),
    ],
)
def test_lines_that_fit(pattern, line, found):
    assert Template(pattern).read(line) == found


@pytest.mark.parametrize(
    ("pattern", "line"),
    [
        ("{value}", ""),
        ("{value}", "----"),
        ("{value}", "22.5 N/cm"),
        ("{value}", "1.2.3"),
        ("{value}", "nan"),
        ("{value}", "1e3"),
        ("{value}", "٢٢"),
        ("{value} {unit}", "22.5"),
        ("T={value}", "22.5"),
    ],
)
def test_lines_that_do_not(pattern, line):
    assert Template(pattern).read(line) is None


def test_comma_and_point():
    assert Template("{value}", DecimalMark.COMMA).read("22,5").value == 22.5
    assert Template("{value}", DecimalMark.COMMA).read("22.5") is None
    assert Template("{value}", DecimalMark.POINT).read("22,5") is None
    assert Template("{value}", DecimalMark.EITHER).read("22,5").value == 22.5


def test_words_for_stability_and_battery():
    read = Template("{stability} {value} {battery}", DecimalMark.POINT, ("ST", "S"), ("LB",)).read
    assert read("ST 22.5 LB") == Found(22.5, "", "ST", "LB")
    assert read("s 22.5") == Found(22.5, "", "s", "")
    assert read("22.5") == Found(22.5)
    assert read("XX 22.5") is None


@pytest.mark.parametrize(
    ("pattern", "why"),
    [
        ("{vlaue}", r"Did you mean \{value\}"),
        ("22.5", r"no \{value\}"),
        ("{value} {value}", "twice"),
        ("{value", "other half"),
        ("{value}\x02", "printable"),
        ("{value} µ", "printable"),
    ],
)
def test_patterns_that_cannot_be_used(pattern, why):
    with pytest.raises(BadPattern, match=why):
        Template(pattern)


@given(st.text(max_size=60), st.text(max_size=60))
def test_no_pattern_and_no_line_raises_anything_else(pattern, line):
    try:
        template = Template(pattern)
    except BadPattern:
        return
    template.read(line)


@given(st.floats(-999, 999).map(lambda x: round(x, 3)))
def test_every_number_comes_back(number):
    assert Template("{value} {unit}").read(f"{number:+.3f} N/cm").value == number


def longest_of(template: Template, line: str) -> float:
    began = time.perf_counter()
    for _ in range(20):
        template.read(line)
    return time.perf_counter() - began


@pytest.mark.parametrize("junk", ["9", " ", "a", "9 ", ",", "+", "9.", "ST"])
def test_time_grows_with_length_and_no_faster(junk):
    # A matcher that tries again from every place would take 10 000 times as long for 100 times
    # the length; this one takes about 100 times. The bound lies between, far from both.
    words = ["S" * n for n in range(1, 20)]
    template = Template("{skip} {stability} {skip},{value}{unit} {skip}x", stability_words=words)
    short = min(longest_of(template, junk * 500) for _ in range(5))
    long = min(longest_of(template, junk * 50_000) for _ in range(3))
    assert long < 1000 * short
