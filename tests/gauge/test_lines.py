"""Bytes to lines: cut, bounded, and nothing in them that could steer a terminal."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.gauge.lines import Splitter, clean, garbled_share, unwritten, written

ESCAPES = [
    unwritten(line)
    for line in Path(__file__)
    .with_name("escape-sequences.txt")
    .read_text(encoding="ascii")
    .splitlines()
    if not line.startswith("#")
]


@pytest.mark.parametrize(
    ("data", "ends_with", "lines"),
    [
        (b"1\n2\r3\r\n4", "", [b"1", b"2", b"3"]),
        (b"\n\r\n\r\r\n", "", []),
        (b"1\r2\n3\r", "\r", [b"1", b"2\n3"]),
        (b"\x021\x03\x022\x03", "\x03", [b"\x021", b"\x022"]),
    ],
)
def test_lines_are_cut_at_their_ends(data, ends_with, lines):
    assert Splitter(ends_with, 20).feed(data) == lines


@given(
    st.lists(st.binary(max_size=30).map(lambda b: b.replace(b"\r", b"").replace(b"\n", b""))),
    st.sampled_from([b"\r", b"\n", b"\r\n"]),
    st.lists(st.integers(1, 7), min_size=1),
)
def test_how_the_bytes_come_in_makes_no_difference(lines, end, sizes):
    data = b"".join(line + end for line in lines)
    splitter = Splitter("", 40)
    got = []
    at = 0
    while at < len(data):
        size = sizes[at % len(sizes)]
        got += splitter.feed(data[at : at + size])
        at += size
    assert got == [line for line in lines if line]


def test_a_megabyte_without_a_line_end_takes_no_room():
    splitter = Splitter("", 120)
    pieces = []
    for _ in range(256):
        pieces += splitter.feed(b"7" * 4096)
        assert len(splitter.partial) <= 120
    assert all(len(piece) == 121 for piece in pieces)
    assert splitter.feed(b"777\n22.5\n") == [b"22.5"]


def test_the_end_of_a_line_that_was_too_long_is_no_line():
    splitter = Splitter("", 10)
    assert splitter.feed(b"x" * 15 + b"\n22.5\n") == [b"x" * 11, b"22.5"]
    assert splitter.feed(b"x" * 10 + b"\n") == [b"x" * 10]


def test_a_forgotten_beginning_is_no_part_of_the_next_line():
    splitter = Splitter("", 10)
    splitter.feed(b"2")
    splitter.drop()
    assert splitter.feed(b"2.5\n") == [b"2.5"]


@pytest.mark.parametrize("escape", ESCAPES)
def test_no_escape_sequence_is_left(escape):
    text = clean(b"ST " + escape + b" 22.5")
    assert text.isprintable()
    assert text.isascii()
    assert text.startswith("ST ")
    assert unwritten(written(escape)) == escape


def test_the_file_holds_every_kind_of_them():
    assert len(ESCAPES) > 80
    introducers = {byte for escape in ESCAPES for byte in escape}
    assert introducers >= {0x00, 0x07, 0x08, 0x0E, 0x1B, 0x7F, 0x90, 0x9B, 0x9D}


@pytest.mark.parametrize("escape", [b"\x1b[2J", b"\x1b[31;1m", b"\x1b]0;title\x07", b"\x1bc"])
def test_what_stands_between_escape_sequences_stays(escape):
    assert clean(escape + b"22.5" + escape).strip() == "22.5"


def test_a_byte_lost_inside_a_number_leaves_no_other_number():
    assert clean(b"2\x002.5") == "2 2.5"
    assert clean(b"2\xff2.5") == "2?2.5"


@given(st.binary(max_size=300))
def test_whatever_comes_can_be_shown_and_kept(line):
    assert clean(line).isprintable()
    text = written(line)
    assert text.isprintable()
    assert text.isascii()
    assert unwritten(text) == line


def test_a_plain_line_is_written_as_it_is():
    assert written(b"ST,+22.5 N/cm") == "ST,+22.5 N/cm"
    assert written(b"\x1b[2J\\") == r"\x1b[2J\\"


def test_garbled_bytes_are_told_from_plain_ones():
    assert garbled_share(b"ST,+22.5 N/cm\r\n") == 0
    assert garbled_share(b"\xf8\x00\x86\xe6") == 1
    assert garbled_share(b"") == 0
