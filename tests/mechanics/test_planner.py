"""The planner: what it asks for, and what it never asks for. Simulated, never real mesh."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchterm.mechanics.estimator import estimate
from benchterm.mechanics.history import Eased, Gauged, Place, Spot, Turn
from benchterm.mechanics.planner import LOOK_AHEAD_S, Goal, plan
from benchterm.mechanics.planner_corners import Strength
from benchterm.mechanics.pull import Rig

RIG = Rig(1.4, (640.0, 840.0), (1000.0, 1000.0))
"""A click gives about 2.0 N/cm along and 1.6 across."""
SIDES = (
    (Spot(0, Place.SIDE, 8), Spot(0, Place.SIDE, 2)),
    (Spot(1, Place.SIDE, 4), Spot(1, Place.SIDE, 6)),
)
STRONG = Strength(30.0, 104.0, 0.08)


def goal(target=22.0, slop=1.5, most=6, ahead=(0, 0)):
    return Goal((target,) * 2, (slop,) * 2, (target,) * 2, 0.1, most, SIDES, ahead)


def at(along, across, *, clicks=8):
    """A sheet that came to these tensions in two passes, all four sides read."""
    records, at_s = [], 0.0
    for share in (0.5, 1.0):
        for d in (0, 1):
            for roller in (0, 1):
                at_s += 10
                records.append(Turn(at_s, d, roller, clicks))
        for d, tension in ((0, along), (1, across)):
            for side in SIDES[d]:
                at_s += 10
                records.append(Gauged(at_s, side, share * tension))
    return records


def total(found, d):
    return sum(m.clicks for m in found.moves if m.direction == d)


def test_what_lacks_is_made_up_in_whole_clicks():
    found = plan(estimate(RIG, at(12, 12)), goal())
    for d in (0, 1):
        assert total(found, d) >= 4
        # After two passes a click is not known well: it stops where ending too high is unlikely.
        assert 16 < found.expected[d].mean < 22.5


def test_at_the_target_nothing_is_moved():
    assert plan(estimate(RIG, at(22, 22)), goal()).moves == ()


def test_too_much_is_let_back():
    found = plan(estimate(RIG, at(26, 22)), goal())
    assert total(found, 0) < 0
    assert total(found, 1) >= 0


def test_a_little_too_much_is_left_alone():
    # Seven tenths of how near is near enough; one reading more does not turn the advice round.
    near = at(22.8, 22.8)
    for records in (near, [*near, Gauged(300, SIDES[0][0], 23.5)]):
        assert plan(estimate(RIG, records), goal()).moves == ()


def test_after_a_reading_of_slack_mesh_the_next_pass_is_small():
    slack = [*(Turn(10, d, r, 4) for d in (0, 1) for r in (0, 1)), Gauged(30, SIDES[0][0], 0.5)]
    found = plan(estimate(RIG, slack), goal(most=20))
    assert found.expected[0].mean <= 0.5 + 0.35 * 22 + RIG.click_mm * 1000 / RIG.length_mm(0)


@pytest.mark.parametrize("ahead", [(0, 0), (1, -1), (3, 0), (0, -4)])
def test_opposite_rollers_end_even(ahead):
    found = plan(estimate(RIG, at(13, 14)), goal(ahead=ahead))
    for d in (0, 1):
        for_each = [
            sum(m.clicks for m in found.moves if (m.direction, m.roller) == (d, r)) for r in (0, 1)
        ]
        assert abs(ahead[d] + for_each[0] - for_each[1]) <= max(1, abs(ahead[d]) - 2)
        assert min(for_each) >= 0


def test_the_roller_behind_goes_first():
    found = plan(estimate(RIG, at(13, 13)), goal(ahead=(2, 0)))
    first = next(m for m in found.moves if m.direction == 0)
    assert first.roller == 1


def test_a_pass_that_was_begun_is_finished_before_anything_else():
    begun = [*at(13, 13), Turn(200, 0, 0, 3)]
    found = plan(estimate(RIG, begun), goal(ahead=(3, 0)))
    assert (found.moves[0].direction, found.moves[0].roller) == (0, 1)
    assert found.moves[0].clicks in (2, 3, 4)


def test_no_roller_is_turned_further_than_allowed_in_one_go():
    found = plan(estimate(RIG, at(4, 4)), goal(most=2))
    assert max(abs(m.clicks) for m in found.moves) <= 2


@pytest.mark.parametrize("tension", [3, 6, 10, 14])
def test_no_pass_gains_more_than_half_the_target(tension):
    found = plan(estimate(RIG, at(tension, tension)), goal(most=20))
    for d in (0, 1):
        gain = found.expected[d].mean - found.now[d].mean
        assert gain <= 11 + RIG.click_mm * 1000 / RIG.length_mm(d)


def test_clicks_made_unread_count_against_that_half():
    read = at(6, 6)
    blind = [*read, *[Turn(200 + r, d, r, 3) for d in (0, 1) for r in (0, 1)]]
    for d in (0, 1):
        first = total(plan(estimate(RIG, read), goal(most=20)), d)
        assert total(plan(estimate(RIG, blind), goal(most=20)), d) <= first - 5


def test_the_first_clicks_stay_far_below_the_target():
    found = plan(estimate(RIG, []), goal(most=20))
    for d in (0, 1):
        assert total(found, d) > 0
        assert found.expected[d].mean < 0.4 * 22
        assert found.over_chance[d] <= 0.1


@pytest.mark.parametrize("slop", [1.0, 2.0, 4.0])
def test_ending_too_high_is_unlikely(slop):
    for tension in (5, 12, 18, 20):
        found = plan(estimate(RIG, at(tension, tension)), goal(slop=slop, most=20))
        for d in (0, 1):
            if total(found, d) > 0:
                assert found.over_chance[d] <= 0.1 + 0.02


def test_what_is_foretold_is_what_the_estimate_says_once_it_is_done():
    records = at(12, 13)
    found = plan(estimate(RIG, records), goal())
    done = [*records, *[Turn(100.0, m.direction, m.roller, m.clicks) for m in found.moves]]
    after = estimate(RIG, done)
    for d in (0, 1):
        beliefs = after.tensions(SIDES[d], 100.0 + LOOK_AHEAD_S)
        mean = sum(b.mean for b in beliefs) / 2
        assert found.expected[d].mean == pytest.approx(mean, abs=0.5)


# Corners.


def test_without_the_rod_gap_nothing_is_said_of_corners():
    found = plan(estimate(RIG, at(12, 12)), goal())
    assert found.tear_chance is None
    assert found.ease_mm == 0


def test_rods_inside_need_no_relief():
    found = plan(estimate(RIG, at(12, 12)), goal(), STRONG)
    assert found.ease_mm == 0
    assert found.tear_chance < 0.01


def corners_read(records, over_centre):
    """Two opposite corners read in both directions, so far over the last readings."""
    last = {r.spot.direction: r.value_n_cm for r in records if isinstance(r, Gauged)}
    at_s = max(r.at_s for r in records)
    read = [
        Gauged(at_s + 10 + 5 * i, Spot(d, Place.CORNER, c), over_centre * last[d])
        for i, (d, c) in enumerate((d, c) for d in (0, 1) for c in (7, 3))
    ]
    return [*records, *read]


def test_before_easing_two_opposite_corners_are_read():
    weak, seen = Strength(3.0, 100.0, 0.08), at(14, 14)
    first = plan(estimate(RIG, seen), goal(), weak)
    assert first.read_corners == (0, 1)
    assert (first.moves, first.ease_mm) == ((), 0)
    firm = plan(estimate(RIG, corners_read(seen, 1.3)), goal(), weak)
    assert firm.read_corners == ()
    assert firm.ease_mm > 1
    even = plan(estimate(RIG, corners_read(seen, 0.8)), goal(), weak)
    assert even.ease_mm == 0
    assert even.moves


def test_a_direction_that_is_slack_has_no_corners_to_read():
    found = plan(estimate(RIG, at(16, 1)), goal(), Strength(3.0, 60.0, 0.08))
    assert found.read_corners == (0,)


def test_easing_asked_for_stands_until_it_is_done():
    weak, seen = Strength(3.0, 84.0, 0.08), corners_read(at(14, 14), 1.15)
    first = plan(estimate(RIG, seen), goal(), weak)
    again = plan(estimate(RIG, [*seen, Gauged(300, SIDES[0][0], 14.5)]), goal(), weak)
    assert min(first.ease_mm, again.ease_mm) >= 1
    assert (first.moves, again.moves) == ((), ())
    eased = [Eased(310 + c, c, math.ceil(max(first.ease_mm, again.ease_mm))) for c in (7, 9, 1, 3)]
    assert plan(estimate(RIG, [*seen, *eased]), goal(), weak).ease_mm == 0
    early = plan(estimate(RIG, at(6, 6)), goal(), weak)
    assert early.ease_mm == 0
    assert early.moves


def test_clicks_made_against_the_warning_do_not_take_it_back():
    weak, seen = Strength(3.0, 70.0, 0.08), corners_read(at(15, 15), 1.15)
    for done, ahead in (
        ([], 0),
        ([Turn(200, 0, 0, 1)], 1),
        ([Turn(200, 0, r, 1) for r in (0, 1)], 0),
    ):
        found = plan(estimate(RIG, [*seen, *done]), goal(ahead=(ahead, 0)), weak)
        assert found.ease_mm > 1
        assert found.moves == ()


@pytest.mark.parametrize("breaking", [80.0, 90.0, 104.0])
def test_a_pass_once_begun_is_not_broken_off_to_ease(breaking):
    strength, done, passes = Strength(6.0, breaking, 0.08), corners_read(at(9, 9), 1.0), 0
    while (found := plan(estimate(RIG, done), goal(), strength)).moves and passes < 6:
        passes += 1
        ahead = [0, 0]
        for move in found.moves:
            done = [*done, Turn(done[-1].at_s + 5, move.direction, move.roller, move.clicks)]
            ahead[move.direction] += move.clicks * (1 - 2 * move.roller)
            midway = plan(estimate(RIG, done), goal(ahead=tuple(ahead)), strength)
            # Not for want of a reading: only where the chance has crept up to the limit.
            assert midway.ease_mm == 0 or midway.tear_chance < 1.2 * midway.tear_limit
        for d in (0, 1):
            done = [*done, Gauged(done[-1].at_s + 10, SIDES[d][0], found.expected[d].mean)]
    assert passes >= 1


def test_the_chance_is_the_corner_rules_own():
    # Computed here from the rule fitted on simulated benches: gap 3 mm, corners unread, nothing
    # eased, the longer span of 640 and 840 mm: ln F = 0.92 + 0.62 ln(840 / 700) + 0.15 x 1.4, sd
    # 0.19 and 0.10; at the target, since that is likelier than at the next click.
    found = plan(estimate(RIG, at(14, 14)), goal(), Strength(3.0, 84.0, 0.99))
    peak = 0.92 + 0.62 * math.log(840 / 700) + 0.15 * 1.4
    margin = (peak + math.log(22 / (0.88 * 84))) / math.hypot(0.19, 0.10)
    chance = 0.5 * (1 + math.erf(margin / math.sqrt(2)))
    assert found.tear_chance == pytest.approx(chance)


def test_a_corner_that_may_tear_is_eased_first_and_then_the_work_goes_on():
    weak = Strength(3.0, 84.0, 0.08)
    records = corners_read(at(15, 15), 1.15)
    due = plan(estimate(RIG, records), goal(), weak)
    assert due.ease_mm > 1
    assert due.moves == ()
    assert due.tear_chance > due.tear_limit
    eased = [*records, *[Eased(200.0, c, due.ease_mm) for c in (1, 3, 7, 9)]]
    after = plan(estimate(RIG, eased), goal(), weak)
    assert after.ease_mm == 0
    assert after.moves


def test_nothing_is_eased_while_the_mesh_is_slack_or_unread():
    weak = Strength(0.0, 40.0, 0.08)
    assert plan(estimate(RIG, []), goal(), weak).ease_mm == 0
    assert plan(estimate(RIG, at(15, 15)[:4]), goal(), weak).ease_mm == 0


def test_where_easing_helps_no_more_it_looks_once_more_and_stops_short():
    hopeless, eased = Strength(0.0, 12.0, 0.08), [Eased(100.0, c, 60.0) for c in (1, 3, 7, 9)]
    records = [*corners_read(at(15, 15), 1.2), *eased]
    look = plan(estimate(RIG, records), goal(target=30), hopeless)
    assert look.read_corners == (0, 1)
    assert not look.held_back
    found = plan(estimate(RIG, corners_read(records, 0.9)), goal(target=30), hopeless)
    assert found.held_back
    assert max((m.clicks for m in found.moves), default=0) <= 1


# Anything at all.


@given(
    st.lists(
        st.one_of(
            st.builds(
                Turn, st.floats(0, 1e4), st.integers(0, 1), st.integers(0, 1), st.integers(-20, 20)
            ),
            st.builds(
                Gauged,
                st.floats(0, 1e4),
                st.sampled_from([*SIDES[0], *SIDES[1]]),
                st.floats(0, 80),
            ),
        ),
        max_size=20,
    ),
    st.floats(0.5, 60),
    st.integers(1, 20),
    st.tuples(st.integers(-30, 30), st.integers(-30, 30)),
)
@settings(max_examples=50)
def test_plans_are_whole_bounded_and_finite(records, target, most, ahead):
    found = plan(estimate(RIG, records), goal(target, 1.0, most, ahead), STRONG)
    assert len(found.moves) <= 4
    for move in found.moves:
        assert isinstance(move.clicks, int)
        assert 0 < abs(move.clicks) <= most
    for belief in (*found.now, *found.expected):
        assert 0 <= belief.mean < 1e4
        assert 0 < belief.sd < 1e4
    assert all(0 <= chance <= 1 for chance in (*found.over_chance, found.tear_chance))
    assert np.isfinite(found.ease_mm)


def test_a_plan_takes_no_longer_than_a_glance():
    # The figure aimed at is 50 ms with its estimate on an idle machine; five times that here.
    now = estimate(RIG, at(12, 12))
    plan(now, goal(), STRONG)
    began = time.perf_counter()
    for _ in range(5):
        plan(now, goal(), STRONG)
    assert (time.perf_counter() - began) / 5 < 0.25
