"""What a reading is likely to be, and what the cloth gives for a click."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import facts, intents
from worked import at, say

from benchterm.core.cloth import (
    breaking_n_cm,
    ceiling_n_cm,
    click_mm,
    nominal_step_n_cm,
    stiffness_n_cm,
)
from benchterm.core.expect import Expectation, expected, step_n_cm
from benchterm.core.facts import Facts, Mesh, Target
from benchterm.core.intents import Answer, Go, Read, Relieve, Turn, Undo
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Pair, Station

ALONG, ACROSS = Axis.ALONG, Axis.ACROSS
FAR, NEAR, LEFT, CENTRE, FAR_LEFT = (
    Station.FAR,
    Station.NEAR,
    Station.LEFT,
    Station.CENTRE,
    Station.FAR_LEFT,
)
FINAL = Stage.FINAL_TENSION
STEP = nominal_step_n_cm(at().state, Pair.FAR_NEAR)


def after(*done, **kwargs):
    """The state after these intents in final tensioning, every question answered with yes."""
    bench = at(FINAL, **kwargs)
    for intent in done:
        assert isinstance(say(bench, intent), list)
        if bench.state.held:
            say(bench, Answer(yes=True))
    return bench.state


def rising(per_click, clicks=1, times=4):
    """Readings at far which rise by so much a click."""
    done = [Read(FAR, 10)]
    for i in range(1, times + 1):
        done += [Turn(FAR, clicks), Read(FAR, 10 + per_click * clicks * i)]
    return done


# The cloth.


def test_what_one_click_does():
    # Computed here: pi D / teeth = 4.189 mm; E A = n pi d^2 / 4 E; one click adds
    # E A / (1 - 0.2^2) x 4.189 / (span + 2 x 30 mm).
    state = at().state
    assert click_mm(state) == pytest.approx(math.pi * 32 / 24) == pytest.approx(4.18879, abs=5e-6)
    assert stiffness_n_cm(state) == pytest.approx(77 * math.pi / 4 * 0.055**2 * 7400)
    along = stiffness_n_cm(state) / 0.96 * click_mm(state)
    assert nominal_step_n_cm(state, Pair.FAR_NEAR) == pytest.approx(along / (840 + 120 + 60))
    assert nominal_step_n_cm(state, Pair.LEFT_RIGHT) == pytest.approx(along / (580 + 120 + 60))


def test_what_the_threads_bear():
    state = at(facts=Facts(mesh=Mesh(54, 64))).state
    # Simulated bench: a 54-64 mesh parts at about 104 N/cm and is 1290 N/cm stiff.
    assert breaking_n_cm(state) == pytest.approx(104, abs=0.5)
    assert stiffness_n_cm(state) == pytest.approx(1290, abs=5)


def test_the_ceiling_is_worked_out_for_polyester():
    # Computed from share x tenacity x dtex x n / 100: 0.25, 4.3 cN/dtex, 77-48 give 20.67 N/cm.
    practice = Practice(ceiling_share=0.25)
    state = at(facts=Facts(mesh=Mesh(77, 48)), practice=practice).state
    assert ceiling_n_cm(state) == pytest.approx(20.67, abs=0.005)


def test_the_makers_ceiling_wins():
    assert ceiling_n_cm(at(facts=Facts(mesh=Mesh(ceiling_n_cm=27))).state) == 27


def test_of_another_material_the_ceiling_is_not_known():
    assert ceiling_n_cm(at(facts=Facts(mesh=Mesh(material="steel"))).state) is None


# Nothing read yet.


def test_before_the_first_reading_anything_on_the_way_to_the_target_is_likely():
    state = after(facts=Facts(target=Target(24, 18)))
    along, across = expected(state, FAR, ALONG), expected(state, LEFT, ACROSS)
    assert (along.value_n_cm, across.value_n_cm) == (12, 9)
    assert (along.rests_on, across.rests_on) == (None, None)
    for value in (0, 12, 24, 24 + 24 / 4):
        assert not along.is_far_from(value, 4)
    assert along.is_far_from(50, 4)


# From the last reading.


def test_without_clicks_the_same_again():
    state = after(Read(FAR, 20))
    likely = expected(state, FAR, ALONG)
    assert (likely.value_n_cm, likely.rests_on) == (20, state.reading(FAR).seq)
    assert not likely.is_far_from(24, 4)
    assert likely.is_far_from(24.1, 4)


@pytest.mark.parametrize("roller", [FAR, NEAR])
@pytest.mark.parametrize("clicks", [1, 2, -1])
def test_each_click_of_either_roller_of_the_pair_adds_a_step(roller, clicks):
    likely = expected(after(Read(FAR, 20), Turn(roller, clicks)), FAR, ALONG)
    assert likely.value_n_cm == pytest.approx(20 + clicks * STEP)


def test_clicks_on_the_other_axis_add_nothing():
    assert expected(after(Read(FAR, 20), Turn(LEFT, 2)), FAR, ALONG).value_n_cm == 20


def test_mesh_never_pushes():
    assert expected(after(Read(FAR, 6), Turn(FAR, -3)), FAR, ALONG).value_n_cm == 0


def test_more_clicks_make_it_less_sure():
    spreads = [expected(after(Read(FAR, 20), Turn(FAR, n)), FAR, ALONG).sd_n_cm for n in (1, 2, 3)]
    assert spreads == sorted(spreads)
    assert spreads[0] > expected(after(Read(FAR, 20)), FAR, ALONG).sd_n_cm


def test_elsewhere_on_the_axis_is_less_sure():
    state = after(Read(FAR, 19), Read(NEAR, 20))
    here, elsewhere = expected(state, NEAR, ALONG), expected(state, CENTRE, ALONG)
    assert elsewhere.value_n_cm == 20
    assert elsewhere.rests_on == state.reading(NEAR).seq
    assert elsewhere.sd_n_cm > here.sd_n_cm


def test_a_corner_that_was_eased_is_less_sure():
    read = Read(FAR_LEFT, 20)
    eased = expected(after(read, Relieve(FAR_LEFT)), FAR_LEFT, ALONG)
    assert eased.value_n_cm == 20
    assert eased.sd_n_cm > expected(after(read), FAR_LEFT, ALONG).sd_n_cm


def test_slack_may_swallow_any_part_of_the_clicks():
    taut = expected(after(Read(FAR, 12), Turn(FAR, 2)), FAR, ALONG)  # The target is 22.
    slack = expected(after(Read(FAR, 4), Turn(FAR, 2)), FAR, ALONG)
    assert slack.value_n_cm == pytest.approx(4 + STEP)
    assert slack.sd_n_cm > taut.sd_n_cm
    assert not slack.is_far_from(4, 4)
    assert not slack.is_far_from(4 + 2 * STEP, 4)


def test_off_the_stretcher_less_is_expected_than_was_read_on_it():
    bench = at(FINAL)
    for intent in (Read(FAR, 22), Go(Stage.RELEASE, "a test"), Turn(FAR, -6), Turn(NEAR, -6)):
        assert isinstance(say(bench, intent), list)
    assert isinstance(say(bench, Go(Stage.READ_AGAIN, "a test")), list)
    assert bench.state.reading(FAR) is None
    assert expected(bench.state, CENTRE, ALONG).value_n_cm == pytest.approx(0.9 * 22)


# Learning from this screen's clicks.


def test_until_taught_a_click_gives_what_was_worked_out():
    assert step_n_cm(after(), ALONG) == STEP
    assert step_n_cm(after(Read(FAR, 10)), ALONG) == STEP


@pytest.mark.parametrize("per_click", [3.0, 4.0, 8.0])
def test_clicks_teach_the_step(per_click):
    assert step_n_cm(after(*rising(per_click)), ALONG) == pytest.approx(per_click)
    assert step_n_cm(after(*rising(per_click)), ACROSS) == pytest.approx(
        nominal_step_n_cm(at().state, Pair.LEFT_RIGHT)
    )


def test_one_bad_reading_hardly_teaches():
    taught = rising(4.0, times=6)
    bad = (*taught[:6], Read(FAR, 35), *taught[6:])
    assert step_n_cm(after(*bad), ALONG) == pytest.approx(4.0, abs=1.5)


def test_slack_teaches_nothing():
    assert step_n_cm(after(Read(FAR, 1), Turn(FAR, 4), Read(FAR, 4)), ALONG) == STEP


def test_readings_without_clicks_teach_nothing():
    assert step_n_cm(after(*[Read(FAR, v) for v in (20, 19, 18, 17)]), ALONG) == STEP


def test_what_is_undone_teaches_nothing():
    bench = at(FINAL, *rising(4.0, times=1))
    assert step_n_cm(bench.state, ALONG) == pytest.approx((STEP + 4) / 2)
    say(bench, Undo())
    assert step_n_cm(bench.state, ALONG) == STEP


@given(facts, st.sampled_from(Stage), st.lists(intents, max_size=30))
def test_a_step_is_always_within_reason_and_an_expectation_finite(facts, stage, asked):
    bench = at(stage, facts=facts)
    for intent in asked:
        say(bench, intent)
    state = bench.state
    for axis in Axis:
        nominal = nominal_step_n_cm(state, state.facts.pair_of(axis))
        step = step_n_cm(state, axis)
        assert nominal / 5 <= step <= nominal * 3 or step == pytest.approx(nominal / 5)
        for station in Station:
            likely = expected(state, station, axis)
            assert 0 <= likely.value_n_cm < math.inf
            assert 0 < likely.sd_n_cm < math.inf
            assert likely.rests_on is None or likely.rests_on <= state.last_seq


# Out of line.


@pytest.mark.parametrize(
    ("sd", "at_least", "far"),
    [(1.0, 4.0, 4.1), (2.0, 4.0, 5.1), (0.1, 0.5, 0.6)],
)
def test_out_of_line_is_far_in_both_measures(sd, at_least, far):
    likely = Expectation(20, sd)
    for sign in (1, -1):
        assert likely.is_far_from(20 + sign * far, at_least)
        assert not likely.is_far_from(20 + sign * (far - 0.2), at_least)
