"""A gauge at a bench, end to end: unplugged and back over and over, nothing lost or twice."""

from __future__ import annotations

import random
import threading
import time

import pytest

from benchterm.core.decide import Refusal
from benchterm.core.events import ReadingTaken, Source
from benchterm.core.facts import Facts
from benchterm.core.intents import Go
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.stations import Station
from benchterm.desk import Desk, Unsaved
from benchterm.gauge import link as link_module
from benchterm.gauge.attached import Attached, Said
from benchterm.gauge.calibrated import Calibration, History
from benchterm.gauge.listener import LinkState
from benchterm.gauge.offer import Place, Taken
from benchterm.gauge.profile import Line, Profile, Sending, Sends, Settle
from benchterm.gauge.pseudo import PtyGauge
from benchterm.records.journal import read_all

LONGEST_S = 20.0
NUMBERED = Profile(line=Line(pattern="#{skip} {value} {unit}"), sends=Sending(how=Sends.BUTTON))
"""A gauge that numbers its lines, so that each can be told from every other."""


class Bench:
    """A desk with a journal, and a gauge attached."""

    def __init__(self, path, gauge, profile=NUMBERED, history=None):
        self.path = path
        self.desk = Desk.begin(Facts(), Practice(), "session", "bench", path)
        self.desk.take(Go(Stage.FIRST_TENSION, "told to"), Source.KEYPAD)
        self.woken = threading.Event()
        self.attached = Attached(gauge.path, profile, history or History())
        self.acknowledged = []
        self.said = []
        self.attached.start(self.woken.set)

    def turn(self, wait_s=0.0):
        """What a screen does when it is woken: fetch, and write down what met its place."""
        self.woken.wait(wait_s)
        self.woken.clear()
        for one in self.attached.fetch(self.desk.now().at_s):
            if isinstance(one, Said):
                self.said.append(one.text)
            else:
                self.take(one)

    def name(self, place):
        taken = self.attached.name(place, self.desk.now().at_s)
        if taken is not None:
            self.take(taken)

    def take(self, taken: Taken):
        done = self.desk.take(taken.read, Source.GAUGE, taken.reading.raw)
        assert not isinstance(done, Unsaved | Refusal), done
        self.acknowledged.append((taken.reading.raw, taken.read.value_n_cm))

    def until(self, true):
        deadline = time.monotonic() + LONGEST_S
        while not true():
            assert time.monotonic() < deadline, self.attached.state
            self.turn(0.05)

    def close(self):
        self.attached.stop()
        self.turn()
        self.desk.close()

    def journalled(self):
        return [
            (event.heard, event.what.value_n_cm)
            for event in read_all(self.path).events
            if isinstance(event.what, ReadingTaken)
        ]


@pytest.fixture
def gauge(tmp_path):
    gauge = PtyGauge(tmp_path / "gauge")
    gauge.plug()
    yield gauge
    gauge.unplug()


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    monkeypatch.setattr(link_module, "FIRST_WAIT_S", 0.002)
    monkeypatch.setattr(link_module, "LONGEST_WAIT_S", 0.01)


def test_unplugged_and_back_200_times_while_readings_are_taken(tmp_path, gauge):
    chance = random.Random(11)
    bench = Bench(tmp_path / "journal.jsonl", gauge)
    sent = 0
    for _ in range(200):
        bench.until(lambda: bench.attached.state.is_open)
        for _ in range(chance.randint(1, 3)):
            bench.name(Place(Station(chance.randint(1, 9))))
            before = len(bench.acknowledged)
            sent += 1
            line = b"#%d %.1f N/cm\r\n" % (sent, 22 + sent % 10 / 10)
            if chance.random() < 0.3:  # Pulled out in the middle of a line, or right behind it.
                gauge.send(line[: chance.randint(1, len(line))])
                bench.turn()
                break
            gauge.send(line)
            bench.until(lambda: len(bench.acknowledged) > before)  # noqa: B023 - called at once
        gauge.unplug()
        bench.until(lambda: not bench.attached.state.is_open)
        gauge.plug()
    bench.close()
    assert len(bench.acknowledged) >= 200
    assert bench.journalled() == bench.acknowledged
    numbers = [raw.split()[0] for raw, _ in bench.acknowledged]
    assert len(set(numbers)) == len(numbers)
    assert any("Waiting for it to return" in text for text in bench.said)


def test_a_stream_is_taken_at_each_station_once_and_only_when_it_stands_still(tmp_path, gauge):
    stream = Profile(line=Line(pattern="#{skip} {value}"), settle=Settle(resolution=0.1, for_s=0.1))
    bench = Bench(tmp_path / "journal.jsonl", gauge, stream)
    bench.until(lambda: bench.attached.state.is_open)
    sent = 0
    for station, tension in ((8, 22.0), (2, 22.4), (4, 21.6), (6, 22.0)):
        bench.name(Place(Station(station)))
        before = len(bench.acknowledged)
        for number in (0.0, 3.0, 9.0, 15.0):
            sent += 1
            gauge.send(b"#%d %.1f\r\n" % (sent, number))
            bench.turn(0.01)
        deadline = time.monotonic() + LONGEST_S
        while len(bench.acknowledged) == before and time.monotonic() < deadline:
            sent += 1
            gauge.send(b"#%d %.1f\r\n" % (sent, tension))
            bench.turn(0.01)
        assert bench.acknowledged[-1][1] == tension
    bench.close()
    assert [value for _, value in bench.journalled()] == [22.0, 22.4, 21.6, 22.0]
    assert bench.journalled() == bench.acknowledged


def test_both_raw_and_corrected_are_kept(tmp_path, gauge):
    calibration = Calibration(
        utc="2026-03-02T09:15:00Z",
        operator="Ada",
        gauge="g",
        references_n_cm=(10.0, 20.0, 30.0),
        readings_n_cm=(10.5, 20.5, 30.5),
        step_n_cm=0.1,
        slope=1.0,
        intercept=0.5,
        s=0.1,
        verdict="bias",
    )
    bench = Bench(tmp_path / "journal.jsonl", gauge, history=History(calibration))
    bench.until(lambda: bench.attached.state.is_open)
    gauge.send(b"#1 22.5 N/cm\r\n")
    bench.until(lambda: bench.attached.waiting)
    assert bench.attached.waiting == "gauge 22.0: at which station?"
    bench.name(Place(Station.FAR))
    bench.close()
    assert bench.journalled() == [("#1 22.5 N/cm", 22.0)]
    chosen = bench.attached.chosen
    assert (chosen.gauge, chosen.wired) == (str(gauge.path), True)
    assert chosen.calibration.corrected(22.5) == 22.0


def test_escape_sequences_from_the_gauge_reach_neither_the_screen_nor_the_record(tmp_path, gauge):
    bench = Bench(tmp_path / "journal.jsonl", gauge)
    bench.until(lambda: bench.attached.state.is_open)
    bench.name(Place(Station.FAR))
    gauge.send(b"\x1b[2J\x1b]0;owned\x07#1 22.5 N/cm\x1b[0m\r\n")
    bench.until(lambda: bench.acknowledged)
    bench.close()
    raw, value = bench.journalled()[0]
    assert value == 22.5
    assert raw == r"\x1b[2J\x1b]0;owned\x07#1 22.5 N/cm\x1b[0m"
    assert b"\x1b" not in (tmp_path / "journal.jsonl").read_bytes()


def test_a_value_that_could_not_be_saved_is_offered_again(tmp_path, gauge):
    bench = Bench(tmp_path / "journal.jsonl", gauge)
    bench.until(lambda: bench.attached.state.is_open)
    gauge.send(b"#1 22.5 N/cm\r\n")
    bench.until(lambda: bench.attached.waiting)
    taken = bench.attached.name(Place(Station.FAR), 0.0)
    bench.attached.give_back(taken, 0.0)
    bench.name(Place(Station.FAR))
    bench.close()
    assert bench.journalled() == [("#1 22.5 N/cm", 22.5)]


def test_trouble_is_told_once_and_its_end_too(tmp_path, gauge):
    bench = Bench(tmp_path / "journal.jsonl", gauge)
    bench.until(lambda: bench.attached.state.is_open)
    assert bench.said == []
    gauge.unplug()
    bench.until(lambda: bench.attached.state is LinkState.ABSENT)
    for _ in range(5):
        bench.turn(0.01)
    gauge.plug()
    bench.until(lambda: bench.attached.state.is_open)
    bench.close()
    assert len(bench.said) == 2
    assert bench.said[0].startswith("Gauge not there")
    assert bench.said[1].startswith("Gauge connected")
