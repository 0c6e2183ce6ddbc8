"""Uncertainty of a mean of readings by a calibrated gauge."""

from __future__ import annotations

import math

import pytest
from gauge.test_calibrated import calibration as kept
from worked import at, moment, numbered, say

from benchterm.core.events import (
    GaugeChosen,
    ReadingHeld,
    ReadingTaken,
    SessionOpened,
    Source,
    StageEntered,
)
from benchterm.core.facts import Calibration
from benchterm.core.fold import fold_all
from benchterm.core.intents import Answer, Read, Undo
from benchterm.core.stages import Stage
from benchterm.core.stations import ROLLERS, Axis, Station
from benchterm.core.trust import Trusted, mean_uncertainty, trusted_mean

FAR, NEAR, *_ = ROLLERS
GAUGE = "gauge 1"


def calibration(**changes):
    return kept(**changes).kept


CORRECTED = 24.41557
"""Reading 24.8 by the line; by hand s / b sqrt(1 + 1/n + (y - ybar)^2 / (b^2 Sxx)) = 0.178174."""


def parts(combined):
    return {part.name: part.u for part in combined.components}


def test_one_reading_has_the_uncertainty_of_a_corrected_reading():
    found = parts(mean_uncertainty([CORRECTED], calibration(), same_place=True))
    assert math.hypot(found["line"], found["repeatability"]) == pytest.approx(0.178174, abs=1e-6)
    # JCGM 100, F.2.2.1: a step of 0.1 is 0.1 / sqrt(12).
    assert found["resolution"] == pytest.approx(0.028868, abs=1e-6)


def test_averaging_shrinks_repeatability_and_nothing_else():
    one = mean_uncertainty([CORRECTED], calibration(reference_u_n_cm=0.2), same_place=False)
    four = mean_uncertainty([CORRECTED] * 4, calibration(reference_u_n_cm=0.2), same_place=False)
    before, after = parts(one), parts(four)
    assert after.pop("repeatability") == pytest.approx(before.pop("repeatability") / 2)
    assert after == pytest.approx(before)
    assert before["references"] == 0.2


def test_scatter_between_places_is_the_mesh_and_not_the_gauge():
    sheet = [21.0, 23.0, 25.0, 27.0]
    here = parts(mean_uncertainty(sheet, calibration(), same_place=False))
    there = parts(mean_uncertainty(sheet, calibration(), same_place=True))
    assert here["repeatability"] == pytest.approx(0.164462 / 1.000571 / 2, abs=1e-6)
    # Sample standard deviation of 21, 23, 25, 27 is sqrt(20 / 3), over sqrt(4).
    assert there["repeatability"] == pytest.approx(math.sqrt(20 / 3) / 2)


def test_where_nothing_is_known_nothing_is_said():
    assert mean_uncertainty([22.0], None, same_place=True) is None
    assert mean_uncertainty([], calibration(), same_place=True) is None
    broken = calibration(references_n_cm=(1.0,), readings_n_cm=(1.0,))
    assert mean_uncertainty([22.0], broken, same_place=True) is None


THERMOMETER = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010,
               26.511]  # fmt: skip
CORRECTION = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161,
              -0.160]  # fmt: skip


def test_the_part_of_the_line_is_that_of_the_guides_own_example():
    """JCGM 100:2008, H.3, calibration of a thermometer (table H.6 from memory; its results come out
    of it): at a reading of 30 the correction is -0.1494 with a standard uncertainty of 0.0041."""
    true = tuple(t + b for t, b in zip(THERMOMETER, CORRECTION, strict=True))
    line = Calibration("", "", true, tuple(THERMOMETER), 0.001, 0.0, 1.0, 0.0)
    found = parts(mean_uncertainty([30 - 0.1494], line, same_place=True))
    assert found["line"] == pytest.approx(0.0041, abs=5e-5)


# Means of what was read at a bench.


def bench(*chosen):
    """A bench at final tensioning with these gauges."""
    made = at(Stage.FINAL_TENSION)
    for one in chosen:
        made.note([one], moment(1), Source.BENCH)
    return made


def eye(**changes):
    return GaugeChosen(GAUGE, wired=False, calibration=calibration(**changes))


def wire(**changes):
    return GaugeChosen("usb:1", wired=True, calibration=calibration(**changes))


def current(made, axis=Axis.ALONG):
    return [r for r in made.state.readings(axis) if r is not None]


def read(made, station, value, source=Source.KEYPAD):
    made.take(Read(station, value), moment(made.state.at_s + 1), source)


def test_what_was_read_by_eye_is_corrected_and_has_the_uncertainty_of_its_mean():
    made = bench(eye())
    for station, value in ((FAR, 24.6), (NEAR, 25.0), (Station.CENTRE, 24.8)):
        read(made, station, value)
    found = trusted_mean(current(made))
    assert found.mean_n_cm == pytest.approx(CORRECTED, abs=5e-5)
    alone = mean_uncertainty([CORRECTED] * 3, calibration(), same_place=False)
    assert found.expanded_n_cm == pytest.approx(2 * alone.u)
    assert found.expanded_n_cm == pytest.approx(found.k * found.u_n_cm)
    assert math.hypot(*(part.u_n_cm for part in found.parts)) == pytest.approx(found.u_n_cm)
    assert found.calibrated_utc == calibration().utc


def test_what_came_by_wire_was_corrected_on_the_way():
    made = bench(wire())
    read(made, FAR, CORRECTED, Source.GAUGE)
    assert trusted_mean(current(made)).mean_n_cm == pytest.approx(CORRECTED)


def test_without_a_calibration_there_is_no_uncertainty_and_it_is_said_why():
    for made in (bench(), bench(GaugeChosen(GAUGE, wired=False)), bench(wire())):
        read(made, FAR, 22)  # Keyed in: the calibration of the wire is not of that.
        assert trusted_mean(current(made)) == "no calibration is on record"
    read(made, NEAR, 22, Source.GAUGE)
    assert trusted_mean(current(made)) == "no calibration is on record for 1 of 2"


def test_two_calibrations_are_not_mixed():
    made = bench(eye())
    read(made, FAR, 22)
    made.note([eye(days_ago=0)], moment(9), Source.BENCH)
    read(made, NEAR, 22)
    assert trusted_mean(current(made)) == "they were read under different calibrations"
    read(made, FAR, 22)
    assert isinstance(trusted_mean(current(made)), Trusted)


def test_nothing_is_said_beyond_the_points():
    made = bench(eye())
    read(made, FAR, 36)
    say(made, Answer(yes=True))
    assert trusted_mean(current(made)) == "the gauge was calibrated from 10.4 to 35.3 only"


def test_nor_where_the_points_give_no_line():
    made = bench(eye(references_n_cm=(20.0, 20.0, 20.0), readings_n_cm=(10.0, 20.0, 30.0)))
    read(made, FAR, 22)
    assert trusted_mean(current(made)) == "no line goes through the points of the calibration"


def test_a_reading_that_was_asked_back_keeps_its_gauge():
    held = ReadingHeld(FAR, Axis.ALONG, 30, 22, 1)
    made = bench(wire())
    made.note([held], moment(5), Source.GAUGE)
    say(made, Answer(yes=True))
    assert current(made)[0].gauge == wire()


def test_an_undo_leaves_the_gauge_alone():
    made = bench(eye())
    read(made, FAR, 22)
    say(made, Undo())
    assert made.state.by_eye == eye()


def test_a_journal_without_gauges_is_read_as_before():
    happened = [SessionOpened("s", "b", "0"), StageEntered(Stage.FINAL_TENSION)]
    state = fold_all(numbered([[what] for what in (*happened, ReadingTaken(FAR, Axis.ALONG, 22))]))
    assert trusted_mean([state.along[FAR]]) == "no calibration is on record"
