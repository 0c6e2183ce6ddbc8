"""A person of the invented shop at the bench: does a thing to the mesh, then says what was done.

Whatever is said goes through the phrases and the desk that the pipe and the keypad use.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from random import Random

from demo.membrane import Membrane

from benchterm.core.events import Event, GaugeChosen, Source
from benchterm.core.facts import Calibration, Facts
from benchterm.core.gates import open_checks, wait_min
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.core.stations import CORNERS, ROLLERS, ROLLERS_OF, Axis, Pair, Station
from benchterm.desk import Desk
from benchterm.locations import grammars_folder
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import Bare
from benchterm.phrases.phrase import Misheard, parse

BENCH = "by-the-window"
PRACTICE = Practice(room_m3=120, room_air_m3_h=720, room_mixing=3, pocket_m3=2)
"""The shop's own room: a hall with a fan in the wall; the rest as usual."""
GAUGES = {
    "gauge 1": Calibration(
        utc="2026-02-16T07:50:00.000Z",
        operator="Ada",
        references_n_cm=(10.0, 15.0, 20.0, 25.0, 30.0, 35.0),
        readings_n_cm=(10.0, 15.5, 20.5, 25.5, 30.0, 35.5),
        step_n_cm=0.5,
        reference_u_n_cm=0.1,
        slope=1.0057142857142858,
        intercept=0.20476190476190226,
    )
}
"""Its calibrations; gauge 2 has none."""
GRAMMAR = Grammar.load(grammars_folder() / "en.jsgf")


@dataclass
class Hand:
    """A clock that moves when it is told to."""

    begun: datetime
    s: float = 0.0

    def utc(self) -> datetime:
        return self.begun + timedelta(seconds=self.s)

    def monotonic(self) -> float:
        return self.s


class Worker:
    """One operator, one mesh, one session, written to a journal."""

    def __init__(self, path: Path, begun: datetime, facts: Facts, membrane: Membrane) -> None:
        self.path = path
        self.clock = Hand(begun)
        self.membrane = membrane
        self._facts = facts
        self._pauses = Random(membrane.seed + 1)
        self.desk = Desk.begin(facts, PRACTICE, path.stem, BENCH, path, self.clock)
        self.desk.use_gauge(GaugeChosen(facts.gauge, False, GAUGES.get(facts.gauge)))

    @property
    def state(self) -> State:
        return self.desk.bench.state

    def say(self, phrase: str, pause_s: tuple[float, float] = (6, 14)) -> tuple[Event, ...]:
        """After a pause, say something that the bench takes."""
        self.wait(self._pauses.uniform(*pause_s))
        intent = parse(phrase, GRAMMAR)
        assert not isinstance(intent, Bare | Misheard), f"{phrase}: {intent}"
        taken = self.desk.take(intent, Source.KEYPAD, phrase)
        assert isinstance(taken, tuple), f"{phrase}: {taken}"
        return taken

    def wait(self, seconds: float) -> None:
        """Let time go by."""
        self.clock.s = round(self.clock.s + seconds, 1)

    def tick_and_go_on(self) -> None:
        """Every open line of the check-list, then the next stage and its cautions."""
        while open_checks(self.state):
            self.say("yes", (5, 25))
        self.say("next", (3, 8))
        self._acknowledge()

    def _acknowledge(self) -> None:
        while any(check.caution for check in open_checks(self.state)):
            self.say("yes", (6, 15))

    def turn(self, roller: Station, clicks: int = 1) -> None:
        """Turn a roller and say so."""
        self.membrane.turn(roller, clicks, self.clock.s)
        self.say(f"{roller.label} {_clicks(clicks)}")

    def turn_and_read(self, roller: Station, clicks: int = 1) -> None:
        """Turn a roller, lay the gauge at its side, and say both in one breath."""
        self.membrane.turn(roller, clicks, self.clock.s)
        axis = self._facts.usual_axis(roller)
        value = self.membrane.read(roller, axis, self.clock.s + 10)
        self.say(f"{roller.label} {_clicks(clicks)} {value:.1f}", (14, 28))

    def read(self, *stations: Station, axis: Axis | None = None) -> None:
        """Lay the gauge at stations, say what it shows, and stand by it if asked back."""
        for station in stations:
            named = axis or self._facts.usual_axis(station)
            value = self.membrane.read(station, named, self.clock.s + 10)
            self.say(f"{station.label} {f'{axis.value} ' if axis else ''}{value:.1f}", (9, 16))
            if self.state.held is not None:
                self.say("yes")

    def ease(self, corner: Station, mm: float | None = None) -> None:
        """Let mesh back in at a corner and say so."""
        self.membrane.relieve(corner, self.state.practice.relief_mm if mm is None else mm)
        self.say(f"{corner.label} relieved" + ("" if mm is None else f" {mm:g} mm"), (40, 70))

    def lose_power_during(self, phrase: str, away_s: float) -> None:
        """Only the first bytes of an entry reach the disk; later the session is taken up again."""
        whole = self.path.stat().st_size
        self.say(phrase)
        self.desk.close()
        os.truncate(self.path, whole + 40)
        self.wait(away_s)
        self.desk = Desk.resume(self.path, self.clock)
        self._acknowledge()

    def get_to_slack(self) -> None:
        """Everything before the first click."""
        for _ in (Stage.PREPARE, Stage.ROLLERS, Stage.CUT_MESH, Stage.LOCK_IN):
            self.wait(self._pauses.uniform(40, 160))
            self.tick_and_go_on()

    def take_out_slack(self, clicks: int, rounds: int) -> None:
        """Equal clicks on all four rollers, round by round."""
        for _ in range(rounds):
            for roller in ROLLERS:
                self.turn(roller, clicks)

    def tension_to(self, along_n_cm: float, across_n_cm: float) -> None:
        """The pair further behind first; opposite rollers by turns, two clicks or one."""
        level = {Axis.ALONG: along_n_cm, Axis.ACROSS: across_n_cm}
        while True:
            lacks = {p: level[self._facts.axis_of(p)] - self._last_reading(p) for p in Pair}
            pair = max(lacks, key=lambda p: (self._behind(p) > 1, lacks[p]))
            clicks = lacks[pair] / self.membrane.step_n_cm(pair)
            if clicks < 0.6:
                return
            number = self._behind(pair) or min(2, int(clicks / 2))
            self.turn_and_read(self._lagging(pair), max(1, number))

    def finish_at(self, along_n_cm: float, across_n_cm: float) -> None:
        """Tension, read all four sides, mend what is over the target; the centre last."""
        self.read(*ROLLERS)
        self.tension_to(along_n_cm, across_n_cm)
        self.read(*ROLLERS)
        for pair in Pair:
            target = self._facts.target
            over = self._last_reading(pair) - target.of(self._facts.axis_of(pair))
            if over > max(target.tolerance_n_cm, self.membrane.step_n_cm(pair) / 2):
                self.turn_and_read(self._lagging(pair).opposite, -1)
                self.read(*ROLLERS)
        for axis in Axis:
            self.read(Station.CENTRE, axis=axis)

    def settle(self, minutes: float) -> None:
        """Time the wait, sit it out, read again and go on."""
        self.say("timer", (3, 6))
        self.wait(60 * minutes)
        for axis in (*Axis, *Axis):
            self.read(Station.CENTRE, axis=axis)
        self.tick_and_go_on()

    def glue_and_cut_out(self) -> None:
        """From the adhesive to the frame on the table."""
        self.tick_and_go_on()
        self.say("timer", (3, 6))
        self.wait(60 * wait_min(self.state))
        self.tick_and_go_on()
        self.tick_and_go_on()
        self.membrane.off_stretcher = True
        self.tick_and_go_on()

    def read_again_and_close(self) -> None:
        """Off the stretcher: centre both ways, the sides and two corners; then done."""
        self.wait(120)
        for axis in Axis:
            self.read(Station.CENTRE, axis=axis)
        self.read(*ROLLERS, CORNERS[0], CORNERS[3])
        self.tick_and_go_on()
        self.say("next", (3, 6))

    def _last_reading(self, pair: Pair) -> float:
        """The last reading at either side of a pair, N/cm; 0 before the first."""
        axis = self._facts.axis_of(pair)
        read = [r for side in ROLLERS_OF[pair] if (r := self.state.reading(side, axis))]
        return max(read, key=lambda r: r.seq).value_n_cm if read else 0.0

    def _lagging(self, pair: Pair) -> Station:
        first, second = ROLLERS_OF[pair]
        return second if self.state.net_clicks(second) < self.state.net_clicks(first) else first

    def _behind(self, pair: Pair) -> int:
        """Clicks by which the lagging roller of a pair lags."""
        first, second = ROLLERS_OF[pair]
        return abs(self.state.net_clicks(first) - self.state.net_clicks(second))


def _clicks(clicks: int) -> str:
    number = abs(clicks)
    return f"{number} click{'s' if number > 1 else ''}{' back' if clicks < 0 else ''}"
