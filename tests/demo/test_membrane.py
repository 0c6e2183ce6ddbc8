from __future__ import annotations

import pytest
from demo.membrane import Membrane

from benchterm.core.facts import Facts
from benchterm.core.stations import CORNERS, ROLLERS, Axis, Pair, Station


@pytest.fixture
def membrane() -> Membrane:
    return Membrane(Facts(), 1, {Pair.FAR_NEAR: 12.0, Pair.LEFT_RIGHT: 12.0})


def pull(membrane: Membrane, clicks: int, rollers: tuple[Station, ...] = ROLLERS) -> None:
    for roller in rollers:
        membrane.turn(roller, clicks, 0.0)


def test_slack_mesh_has_next_to_no_tension(membrane):
    pull(membrane, 1)
    assert membrane.tension(Station.CENTRE, Axis.ALONG, 0.0) < 2


def test_each_click_of_taut_mesh_adds_one_step(membrane):
    pull(membrane, 4)
    before = membrane.tension(Station.CENTRE, Axis.ALONG, 0.0)
    membrane.turn(Station.FAR, 1, 0.0)
    after = membrane.tension(Station.CENTRE, Axis.ALONG, 0.0)
    assert after - before == pytest.approx(membrane.step_n_cm(Pair.FAR_NEAR), rel=0.01)


def test_pulling_one_way_pulls_some_of_the_other_along(membrane):
    pull(membrane, 4)
    before = membrane.tension(Station.CENTRE, Axis.ACROSS, 0.0)
    pull(membrane, 1, (Station.FAR, Station.NEAR))
    assert membrane.tension(Station.CENTRE, Axis.ACROSS, 0.0) > before + 1


def test_tension_is_lost_with_time_ever_more_slowly(membrane):
    pull(membrane, 4)
    at = [membrane.tension(Station.CENTRE, Axis.ALONG, t) for t in (0, 900, 1800, 86400)]
    assert at == sorted(at, reverse=True)
    assert at[0] - at[1] > at[1] - at[2]
    assert at[3] == pytest.approx(0.88 * at[0])


def test_a_side_that_got_more_clicks_reads_higher(membrane):
    pull(membrane, 4)
    membrane.turn(Station.FAR, 2, 0.0)
    far, near = (membrane.tension(s, Axis.ALONG, 0.0) for s in (Station.FAR, Station.NEAR))
    assert far > near + 1


def test_corners_run_ahead_until_they_are_eased(membrane):
    pull(membrane, 5)
    centre = membrane.tension(Station.CENTRE, Axis.ALONG, 0.0)
    for corner in CORNERS:
        assert membrane.tension(corner, Axis.ALONG, 0.0) == pytest.approx(1.1 * centre)
        membrane.relieve(corner, 6.0)
        assert membrane.tension(corner, Axis.ALONG, 0.0) < 0.95 * centre


def test_the_gauge_shows_halves_the_same_each_time():
    facts, slack = Facts(), {Pair.FAR_NEAR: 0.0, Pair.LEFT_RIGHT: 0.0}
    shown = []
    for _ in range(2):
        membrane = Membrane(facts, 7, slack)
        pull(membrane, 2)
        shown.append([membrane.read(side, Axis.ALONG, 0.0) for side in ROLLERS])
    assert shown[0] == shown[1]
    assert all(2 * value == int(2 * value) for value in shown[0])
