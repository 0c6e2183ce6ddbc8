"""Bytes and moments in, news out: settling, silence, garbage, wrong speed, random bytes."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from benchterm.gauge.curve import Curve
from benchterm.gauge.lines import unwritten, written
from benchterm.gauge.listener import (
    BatteryLow,
    LinkState,
    Listener,
    Moved,
    Settled,
    Showing,
    Stands,
    Unread,
)
from benchterm.gauge.profile import GaugeUnit, Line, Profile, Sending, Sends, Settle, load_profile

STREAM = Profile(settle=Settle(resolution=0.1, for_s=0.5, lifted_below_n_cm=1.0))


class Wire:
    """A listener with a clock that moves 0.1 s a line."""

    def __init__(self, profile=STREAM):
        self.listener = Listener(profile)
        self.at_s = 0.0
        self.news = [*self.listener.opened(0.0), *self.listener.hear(b"half a line\r\n", 0.0)]

    def send(self, *numbers, step_s=0.1):
        fresh = []
        for number in numbers:
            self.at_s += step_s
            fresh += self.listener.hear(f"{number}\r\n".encode(), self.at_s)
        self.news += fresh
        return fresh

    def data(self, data, step_s=0.1):
        self.at_s += step_s
        fresh = list(self.listener.hear(data, self.at_s))
        self.news += fresh
        return fresh

    def wait(self, seconds):
        self.at_s += seconds
        fresh = list(self.listener.pass_time(self.at_s))
        self.news += fresh
        return fresh


def settled(news):
    return [one.reading.number for one in news if isinstance(one, Settled)]


def test_a_value_that_stands_still_is_offered_once():
    assert settled(Wire().send(*[22.5] * 30)) == [22.5]


def test_the_last_digit_may_flicker():
    assert settled(Wire().send(*[22.5, 22.6] * 10)) == [22.6]


def test_a_passing_value_is_never_offered():
    rising = [n / 10 for n in range(20, 225)]
    assert settled(Wire().send(*rising)) == []
    assert settled(Wire().send(*[20.0, 20.1, 20.2] * 20)) == []


def test_it_takes_the_set_time_and_no_less():
    wire = Wire()
    assert settled(wire.send(*[22.5] * 4, step_s=0.15)) == []
    assert settled(wire.send(22.5, step_s=0.15)) == [22.5]


def test_two_lines_far_apart_prove_nothing():
    wire = Wire()
    assert settled(wire.send(22.5, 22.5, 22.5, step_s=2.0)) == []


def test_a_value_that_moves_on_is_withdrawn_and_the_next_one_offered():
    wire = Wire()
    wire.send(*[22.5] * 10)
    news = wire.send(*[24.0] * 10)
    assert Moved(lifted=False) in news
    assert settled(news) == [24.0]


def test_a_slow_creep_is_offered_anew_only_when_it_has_left_the_value():
    wire = Wire()
    wire.send(*[22.5] * 10)
    assert settled(wire.send(*[22.4] * 30)) == []
    assert settled(wire.send(*[22.2] * 30)) == [22.2]


def test_lifted_and_set_down_on_the_same_tension_is_a_new_value():
    wire = Wire()
    wire.send(*[22.5] * 10)
    news = wire.send(0.0, 0.0)
    assert [one for one in news if isinstance(one, Moved)] == [Moved(lifted=True)]
    news = wire.send(*[22.5] * 10)
    assert Moved(lifted=False) in news
    assert settled(news) == [22.5]


def test_the_gauge_lying_on_the_table_offers_nothing():
    assert settled(Wire().send(*[0.0] * 100)) == []


def test_the_gauges_own_word_for_moving_is_believed():
    wire = Wire(load_profile("request"))
    assert settled(wire.send(*["US,22.5 N"] * 30)) == []
    assert settled(wire.send(*["ST,22.5 N"] * 30)) == [22.5]
    assert Moved(lifted=False) in wire.send("US,22.5 N")


def test_a_dial_in_mm_off_the_mesh_is_beyond_its_curve():
    mm = Profile(
        line=Line(unit=GaugeUnit.MM),
        settle=Settle(resolution=0.01, for_s=0.5),
        curve=Curve((1.0, 2.0, 4.0), (40.0, 20.0, 10.0)),
    )
    wire = Wire(mm)
    assert settled(wire.send(*[9.99] * 30)) == []
    assert settled(wire.send(*[2.0] * 10)) == [2.0]
    assert Moved(lifted=True) in wire.send(9.99)
    assert wire.listener.state is LinkState.READING
    assert settled(wire.send(*[2.0] * 10)) == [2.0]


def test_a_change_of_unit_starts_over():
    wire = Wire(load_profile("request"))
    assert settled(wire.send(*["ST,22.5 N", "ST,22.5 lbf/in"] * 20)) == []


def test_a_stream_is_cut_into_at_any_place_so_its_first_line_is_no_line():
    listener = Listener(STREAM)
    list(listener.opened(0.0))
    news = list(listener.hear(b"2.5\r\n22.5\r\n", 0.1))
    assert [n.reading.number for n in news if isinstance(n, Showing)] == [22.5]


def test_half_a_line_and_the_rest_after_a_pause_are_not_one():
    wire = Wire()
    wire.data(b"2")
    news = wire.data(b"22.5\r\n", step_s=3.0)
    assert [n.reading.number for n in news if isinstance(n, Showing)] == [22.5]


def test_a_line_in_two_halves_is_one():
    wire = Wire()
    wire.data(b"22")
    news = wire.data(b".5\r\n")
    assert [n.reading.number for n in news if isinstance(n, Showing)] == [22.5]


BUTTON = Profile(sends=Sending(how=Sends.BUTTON))


def test_a_button_offers_every_line_and_may_be_silent():
    wire = Wire(BUTTON)
    assert settled(wire.send(22.5, 22.5, 23.0)) == [22.5, 22.5, 23.0]
    assert wire.wait(3600) == []


def test_a_stream_that_falls_silent_is_said_to_be_so_once():
    wire = Wire()
    wire.send(*[22.5] * 3)
    assert wire.wait(6) == [Moved(lifted=True), Stands(LinkState.SILENT)]
    assert wire.wait(6) == []
    assert Stands(LinkState.READING) in wire.send(22.5)


def test_after_silence_a_value_has_to_stand_still_anew():
    wire = Wire()
    wire.send(*[22.5] * 4)
    wire.wait(6)
    assert settled(wire.send(22.5, 22.5)) == []


def test_a_lost_link_lets_the_last_value_be_spoken_for():
    wire = Wire()
    wire.send(*[22.5] * 10)
    assert list(wire.listener.closed(LinkState.ABSENT)) == [
        Moved(lifted=True),
        Stands(LinkState.ABSENT),
    ]
    assert list(wire.listener.closed(LinkState.ABSENT)) == []


def test_low_battery_is_told_once():
    line = Line(pattern="{value} {battery}", battery_low=("LB",))
    news = Wire(Profile(line=line)).send("22.5 LB", "22.5 LB", "22.5")
    assert news.count(BatteryLow()) == 1


def test_a_wrong_speed_is_noticed():
    # A frame of 9600 baud heard at another speed comes as bytes with wrong bits: any values.
    chance = random.Random(1)
    wire = Wire()
    for _ in range(60):
        wire.data(bytes(chance.choices(range(256), k=12)))
    assert wire.listener.state is LinkState.GARBLED


def test_a_wrong_speed_without_any_line_end_is_noticed():
    wire = Wire()
    for _ in range(120):
        wire.data(b"\xf8\x86\x00\xfe\x80\xe6" * 2)
    assert wire.listener.state is LinkState.GARBLED


def test_a_wrong_profile_is_told_from_a_wrong_speed():
    wire = Wire()
    wire.send(*["CH1 22.5 N/cm"] * 10)
    assert wire.listener.state is LinkState.UNFIT
    wire.send(*[22.5] * 20)
    assert wire.listener.state is LinkState.READING


def test_a_garbled_line_now_and_then_is_no_wrong_speed():
    wire = Wire()
    wire.send(*([22.5] * 4 + ["?!"]) * 20)
    assert Stands(LinkState.UNFIT) not in wire.news
    assert Stands(LinkState.GARBLED) not in wire.news


def texts(news):
    return [
        n.line.raw if isinstance(n, Unread) else n.reading.raw
        for n in news
        if isinstance(n, Unread | Showing | Settled)
    ]


@pytest.mark.parametrize("name", ["number", "number-unit", "request"])
def test_a_million_random_bytes(name):
    chance = random.Random(name)
    wire = Wire(load_profile(name))
    lines = 0
    for _ in range(250):
        for text in texts(wire.data(chance.randbytes(4000))):
            lines += 1
            assert text.isascii()
            assert text.isprintable()
    assert lines > 1000


def test_every_escape_sequence_there_is():
    file = Path(__file__).with_name("escape-sequences.txt")
    escapes = [unwritten(e) for e in file.read_text(encoding="ascii").splitlines()]
    wire = Wire()
    for escape in escapes:
        wire.data(escape + b"22.5" + escape + b"\r\n")
    assert len(texts(wire.news)) >= len(escapes)
    for text in texts(wire.news):
        assert text.isascii()
        assert text.isprintable()


def test_a_megabyte_without_a_line_end_says_so_and_goes_on():
    wire = Wire()
    for _ in range(256):
        wire.data(b"7" * 4096)
    assert wire.listener.state is LinkState.UNFIT or wire.listener.state is LinkState.GARBLED
    assert settled(wire.send("", *[22.5] * 30)) == [22.5]


def test_the_raw_line_of_what_is_offered_is_kept_word_for_word():
    wire = Wire(BUTTON)
    news = wire.data(b"\x0222,50\x03\r\n")
    offered = [n.reading for n in news if isinstance(n, Settled)]
    assert [r.raw for r in offered] == [written(b"\x0222,50\x03")]
