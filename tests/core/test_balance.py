"""The figures of evenness, against published tables, a numerical library, and their own laws."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from worked import at

from benchterm.core.balance import balance, spread
from benchterm.core.facts import Facts
from benchterm.core.intents import Read, Relieve
from benchterm.core.stages import Stage
from benchterm.core.state import Reading, State, Turned
from benchterm.core.stations import Axis, Pair, Station

FIVE = dict(
    zip(
        (
            Station.CENTRE,
            Station.FAR_LEFT,
            Station.FAR_RIGHT,
            Station.NEAR_LEFT,
            Station.NEAR_RIGHT,
        ),
        (25.5, 24.0, 24.5, 24.0, 25.0),
        strict=True,
    )
)
NINE = dict(zip(Station, (24.5, 25.0, 24.0, 25.5, 26.0, 25.0, 25.0, 25.5, 23.5), strict=True))

tensions = st.floats(min_value=0.5, max_value=60)
maps = st.dictionaries(st.sampled_from(list(Station)), tensions, min_size=1)
slopes = st.floats(min_value=-5, max_value=5)


# Computed here from the formulas: mean, largest less smallest, sample standard deviation, s / mean,
# least-squares plane over columns and rows, t s / sqrt(n).


def test_five_readings():
    five = spread(FIVE)
    assert five.n == 5
    assert five.mean == pytest.approx(24.6)
    assert five.range == pytest.approx(1.5)
    assert five.s == pytest.approx(0.651920, abs=5e-7)
    assert five.cv_pct == pytest.approx(2.650082, abs=5e-7)
    assert five.mean_half_width == pytest.approx(0.809, abs=5e-4)


def test_nine_readings():
    nine = spread(NINE)
    assert nine.n == 9
    assert nine.mean == pytest.approx(24.888889, abs=5e-7)
    assert nine.range == pytest.approx(2.5)
    assert nine.s == pytest.approx(0.781736, abs=5e-7)
    assert nine.cv_pct == pytest.approx(3.140903, abs=5e-7)
    assert nine.tilt_columns == pytest.approx(-0.416667, abs=5e-7)
    assert nine.tilt_rows == pytest.approx(0.083333, abs=5e-7)
    assert nine.mean_half_width == pytest.approx(0.601, abs=5e-4)


@pytest.mark.parametrize("n", range(2, 10))
def test_half_width_uses_students_t(n):
    values = {station: 20.0 + station for station in list(Station)[:n]}
    s = stats.tstd(list(values.values()))
    low, high = stats.t.interval(0.95, n - 1, scale=s / math.sqrt(n))
    assert spread(values).mean_half_width == pytest.approx((high - low) / 2, rel=1e-6)


@pytest.mark.parametrize(("n", "factor"), [(3, 2.4841), (5, 1.2417), (9, 0.7687)])
def test_half_width_in_standard_deviations(n: int, factor: float):
    """t / sqrt(n) of 95 %, computed from Student's t."""
    got = spread({station: 20.0 + station for station in list(Station)[:n]})
    assert got.mean_half_width / got.s == pytest.approx(factor, abs=5e-5)


@given(values=maps)
def test_spread_agrees_with_numpy(values):
    got, numbers = spread(values), list(values.values())
    assert got.mean == pytest.approx(np.mean(numbers))
    assert got.range == pytest.approx(np.ptp(numbers))
    if len(numbers) > 1:
        assert got.s == pytest.approx(np.std(numbers, ddof=1), abs=1e-9)


@given(values=maps)
def test_tilt_agrees_with_numpy_and_is_left_out_where_undetermined(values):
    design = np.array([(1, station.column, station.row) for station in values])
    answer, _, rank, _ = np.linalg.lstsq(design, np.array(list(values.values())), rcond=None)
    got = spread(values)
    if rank < 3:
        assert (got.tilt_columns, got.tilt_rows) == (None, None)
    else:
        assert got.tilt_columns == pytest.approx(answer[1], abs=1e-9)
        assert got.tilt_rows == pytest.approx(answer[2], abs=1e-9)


@given(values=maps, shift=st.floats(min_value=-20, max_value=20))
def test_a_shift_moves_the_mean_alone(values, shift):
    before = spread(values)
    after = spread({station: value + shift for station, value in values.items()})
    assert after.mean == pytest.approx(before.mean + shift, abs=1e-9)
    assert after.range == pytest.approx(before.range, abs=1e-9)
    for name in ("s", "tilt_columns", "tilt_rows", "mean_half_width"):
        was = getattr(before, name)
        assert getattr(after, name) == (was if was is None else pytest.approx(was, abs=1e-9))


@given(level=tensions, columns=slopes, rows=slopes)
def test_the_tilt_of_a_plane_is_recovered(level, columns, rows):
    plane = {at: level + columns * at.column + rows * at.row for at in Station}
    got = spread(plane)
    assert got.tilt_columns == pytest.approx(columns, abs=1e-9)
    assert got.tilt_rows == pytest.approx(rows, abs=1e-9)


def test_one_reading_has_a_mean_and_no_more():
    one = spread({Station.CENTRE: 22.0})
    assert (one.n, one.mean, one.range) == (1, 22.0, 0.0)
    assert (one.s, one.cv_pct, one.tilt_columns, one.tilt_rows) == (None, None, None, None)
    assert one.mean_half_width is None


def test_slack_mesh_has_no_coefficient_of_variation():
    slack = spread({Station.FAR: 0.0, Station.NEAR: 0.0})
    assert slack.s == 0
    assert slack.cv_pct is None


def test_nothing_read_has_no_spread():
    assert spread({}) is None


class Job:
    """A state put together step by step, as the bench would."""

    def __init__(self, facts: Facts | None = None) -> None:
        self.state = State(facts=facts or Facts(), stage=Stage.FINAL_TENSION)

    def read(self, station: Station, axis: Axis, value: float) -> Job:
        state = self.state
        seq = state.last_seq + 1
        clicks = state.pair_clicks(state.facts.pair_of(axis))
        reading = Reading(seq, 0.0, station, axis, value, clicks, state.stage)
        readings = list(state.readings(axis))
        readings[station] = reading
        self.state = replace(
            state,
            last_seq=seq,
            trail=(*state.trail, reading),
            **{axis.value: tuple(readings)},
        )
        return self

    def turn(self, station: Station, count: int) -> Job:
        state = self.state
        seq = state.last_seq + 1
        clicks = list(state.clicks)
        clicks[station] += count
        self.state = replace(
            state,
            last_seq=seq,
            clicks=tuple(clicks),
            trail=(*state.trail, Turned(seq, 0.0, station, count)),
        )
        return self


def test_a_new_screen_has_nothing_to_compare():
    got = balance(State())
    assert got.far_near.apart_n_cm is None
    assert got.far_near.clicks_apart == 0
    assert not got.far_near.fresh
    assert got.along is None
    assert got.along_less_across_n_cm is None


def test_opposite_sides_by_tension():
    job = Job().read(Station.LEFT, Axis.ACROSS, 24.0).read(Station.RIGHT, Axis.ACROSS, 21.5)
    sides = balance(job.state).left_right
    assert (sides.first, sides.second) == (Station.LEFT, Station.RIGHT)
    assert (sides.first_n_cm, sides.second_n_cm) == (24.0, 21.5)
    assert sides.apart_n_cm == 2.5
    assert sides.fresh


def test_a_side_counts_in_the_direction_its_roller_pulls():
    job = Job().read(Station.LEFT, Axis.ALONG, 24.0).read(Station.RIGHT, Axis.ACROSS, 21.5)
    sides = balance(job.state).left_right
    assert (sides.first_n_cm, sides.second_n_cm) == (None, 21.5)
    assert sides.apart_n_cm is None


def test_a_roll_laid_from_left_to_right_swaps_the_axes():
    facts = Facts(along_pair=Pair.LEFT_RIGHT)
    job = Job(facts).read(Station.LEFT, Axis.ALONG, 24.0).read(Station.RIGHT, Axis.ALONG, 23.0)
    assert balance(job.state).left_right.apart_n_cm == 1.0


def test_opposite_rollers_by_clicks_since_tension_began():
    job = Job().turn(Station.FAR, 9).turn(Station.NEAR, 5)
    job.state = replace(job.state, slack_clicks=job.state.clicks)
    job.turn(Station.FAR, 2).turn(Station.NEAR, 3)
    sides = balance(job.state).far_near
    assert (sides.first_clicks, sides.second_clicks) == (2, 3)
    assert sides.clicks_apart == -1


@pytest.mark.parametrize(
    ("turns", "fresh"),
    [
        ([], True),
        ([(Station.LEFT, 2)], True),
        ([(Station.FAR, 1)], False),
        ([(Station.NEAR, -1)], False),
        # One on at one side and one back at the other: the sum is none, yet both have changed.
        ([(Station.FAR, 1), (Station.NEAR, -1)], False),
    ],
)
def test_readings_are_fresh_until_a_roller_of_the_pair_turns(turns, fresh):
    job = Job().read(Station.FAR, Axis.ALONG, 22.0).read(Station.NEAR, Axis.ALONG, 22.5)
    for station, count in turns:
        job.turn(station, count)
    assert balance(job.state).far_near.fresh is fresh


def test_reading_one_side_again_does_not_freshen_the_other():
    job = Job().read(Station.FAR, Axis.ALONG, 22.0).read(Station.NEAR, Axis.ALONG, 22.5)
    job.turn(Station.FAR, 1).read(Station.FAR, Axis.ALONG, 23.0)
    assert not balance(job.state).far_near.fresh
    job.read(Station.NEAR, Axis.ALONG, 23.2)
    assert balance(job.state).far_near.fresh


def test_a_reading_that_the_trail_has_forgotten_is_not_fresh():
    job = Job().read(Station.FAR, Axis.ALONG, 22.0).read(Station.NEAR, Axis.ALONG, 22.5)
    assert not balance(replace(job.state, trail=job.state.trail[1:])).far_near.fresh


def test_along_against_across():
    job = Job().read(Station.FAR, Axis.ALONG, 22.0).read(Station.NEAR, Axis.ALONG, 23.0)
    assert balance(job.state).along_less_across_n_cm is None
    job.read(Station.CENTRE, Axis.ACROSS, 20.0)
    got = balance(job.state)
    assert got.along_less_across_n_cm == pytest.approx(2.5)
    assert (got.along.n, got.across.n) == (2, 1)


def test_what_was_read_before_the_last_clicks_does_not_pass_for_unevenness():
    job = Job().read(Station.FAR, Axis.ALONG, 11.5).read(Station.CENTRE, Axis.ACROSS, 12.0)
    job.turn(Station.NEAR, 4).read(Station.NEAR, Axis.ALONG, 22.0)
    got = balance(job.state)
    assert (got.along.n, got.along.mean, got.along.range) == (1, 22.0, 0.0)
    assert got.across.n == 1  # Nothing that pulls across has turned.
    assert balance(job.turn(Station.FAR, 1).state).along is None


def test_figures_by_name():
    got = balance(Job().read(Station.CENTRE, Axis.ACROSS, 20.0).state)
    assert got.pair(Pair.FAR_NEAR) is got.far_near
    assert got.pair(Pair.LEFT_RIGHT) is got.left_right
    assert got.spread(Axis.ACROSS) is got.across
    assert got.spread(Axis.ALONG) is None


def test_a_corner_eased_since_it_was_read_counts_no_longer():
    read = (Read(Station.FAR, 20), Read(Station.FAR_LEFT, 25), Read(Station.NEAR_RIGHT, 21))
    before = at(Stage.FINAL_TENSION, *read).state
    after = at(Stage.FINAL_TENSION, *read, Relieve(Station.FAR_LEFT, 6)).state
    assert (balance(before).along.n, balance(before).along.range) == (3, 5)
    assert (balance(after).along.n, balance(after).along.range) == (2, 1)
