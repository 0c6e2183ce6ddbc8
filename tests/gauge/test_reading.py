"""Lines to tensions, byte by byte."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.gauge.profile import GaugeUnit, load_profile
from benchterm.gauge.reading import GaugeReading, Reader, Unreadable, Why


def reader(name="request", correct=lambda n_cm: n_cm):
    return Reader(load_profile(name), correct)


@pytest.mark.parametrize(
    ("name", "line", "number", "unit", "n_cm"),
    # kgf/cm and lbf/in by NIST SP 811.
    [
        ("number", b"22.5", 22.5, GaugeUnit.N_PER_CM, 22.5),
        ("number", b" 22,5 ", 22.5, GaugeUnit.N_PER_CM, 22.5),
        ("number-unit", b"+022.50 N/cm", 22.5, GaugeUnit.N_PER_CM, 22.5),
        ("number-unit", b"22.5 N", 22.5, GaugeUnit.N_PER_CM, 22.5),
        ("number-unit", b"2.5kgf/cm", 2.5, GaugeUnit.KGF_PER_CM, 24.516625),
        ("number-unit", b"10 LBF/IN", 10, GaugeUnit.LBF_PER_INCH, 17.51268352),
        ("request", b"ST,+22.5 N/cm", 22.5, GaugeUnit.N_PER_CM, 22.5),
        ("request", b"\x02ST,+22.5 N/cm\x03", 22.5, GaugeUnit.N_PER_CM, 22.5),
        ("request", b"\x1b[1mST,+22.5 N/cm\x1b[0m", 22.5, GaugeUnit.N_PER_CM, 22.5),
    ],
)
def test_lines_that_are_read(name, line, number, unit, n_cm):
    got = reader(name).read(line)
    assert (got.number, got.unit) == (number, unit)
    assert got.raw_n_cm == got.n_cm == pytest.approx(n_cm)
    assert not got.moving


@pytest.mark.parametrize(
    ("name", "line", "why"),
    [
        ("number", b"", Why.NO_FIT),
        ("number", b"OL", Why.NO_FIT),
        ("number", b"22.5 N/cm", Why.NO_FIT),
        ("number", b"2\x002.5", Why.GARBLED),
        ("number", b"\xf8\x00\x86\xe6\x80", Why.GARBLED),
        ("number", b"9" * 121, Why.TOO_LONG),
        ("number", b"\xf8" * 121, Why.GARBLED),
        ("number", b"9" * 100, Why.LARGE),
        ("number-unit", b"22.5 oz", Why.UNIT),
        ("number-unit", b"1.6 mm", Why.CURVE),
    ],
)
def test_lines_that_are_not(name, line, why):
    assert reader(name).read(line).why is why


def test_the_raw_value_is_kept_beside_the_corrected_one():
    got = reader(correct=lambda n_cm: (n_cm - 0.4) / 1.02).read(b"ST,22.5 N/cm")
    assert got.raw == "ST,22.5 N/cm"
    assert got.raw_n_cm == 22.5
    assert got.n_cm == pytest.approx(22.1 / 1.02)


def test_the_gauges_own_word_for_moving():
    assert reader().read(b"US,22.5 N/cm").moving
    assert not reader().read(b"ST,22.5 N/cm").moving


@given(st.binary(max_size=400), st.sampled_from(["number", "number-unit", "request"]))
def test_no_line_raises_or_says_what_cannot_be_printed(line, name):
    got = reader(name).read(line)
    assert isinstance(got, GaugeReading | Unreadable)
    assert got.raw.isprintable()
    assert got.raw.isascii()


def test_numbers_among_random_bytes_are_found_nowhere_but_on_lines_of_their_own():
    chance = random.Random(4)
    line = bytes(chance.choices(range(128, 256), k=5)) + b"22.5"
    assert isinstance(reader("number").read(line), Unreadable)
