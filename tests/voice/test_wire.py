"""Lines between the bench and its voice processes."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Station
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import Slots, fill
from benchterm.voice.wire import Began, FromEar, Level, Lines, Problem, Uttered, encode, says

AMOUNTS = st.none() | st.decimals(0, 99, places=1)
SLOTS = st.builds(
    Slots,
    do=st.sampled_from(["read", "turn", "go"]),
    station=st.none() | st.sampled_from(Station),
    axis=st.none() | st.sampled_from(Axis),
    stage=st.none() | st.sampled_from(Stage),
    text=st.text(max_size=5),
    back=st.booleans(),
    value=AMOUNTS,
    clicks=AMOUNTS,
)


def uttered(slots: Slots | None, words: str = "") -> Uttered:
    return Uttered(
        words=words,
        says=None if slots is None else says(slots),
        decision="sure",
        why="",
        confidence=1,
        scores={},
        others=(),
        goes_on=False,
        begin_s=0,
        end_s=1,
        closed_s=1,
        decode_s=0,
        behind_s=0,
        speech_db=0,
        noise_db=0,
    )


@given(SLOTS)
def test_what_was_said_arrives_as_it_was_meant(slots: Slots):
    (line,) = Lines(FromEar).feed(encode(uttered(slots)))
    assert line.slots == slots


def test_every_example_of_the_grammar_arrives(english: Grammar):
    for saying in english.sayings:
        for example in saying.examples:
            for tags in english.parse(example.split()).meanings:
                (line,) = Lines(FromEar).feed(encode(uttered(fill(tags), example)))
                assert line.slots == fill(tags)


def test_values_are_exact():
    (line,) = Lines(FromEar).feed(encode(uttered(Slots("read", Station.FAR, value=Decimal("0.1")))))
    assert line.slots.value == Decimal("0.1")


@pytest.mark.parametrize("cut", range(1, 60, 7))
def test_lines_may_arrive_in_pieces(cut: int):
    data = encode(Level(-20, -50, 3)) + encode(Began()) + encode(Problem("lost", "gone"))
    lines = Lines(FromEar)
    found = [*lines.feed(data[:cut]), *lines.feed(data[cut:])]
    assert found == [Level(-20, -50, 3), Began(), Problem("lost", "gone")]


def test_what_a_library_prints_in_between_is_passed_over():
    data = b"ALSA says something\n" + encode(Began()) + b'{"is":"Unknown"}\n\xff\n{"is":"Level"}\n'
    assert list(Lines(FromEar).feed(data)) == [Began()]
