"""The nine places, numbered like the numeric keypad and seen from where the operator stands."""

from __future__ import annotations

import pytest

from benchterm.core.facts import Facts, Frame, Stretcher, Target
from benchterm.core.stations import CORNERS, ROLLERS, ROLLERS_OF, Axis, Pair, Station

KEYPAD = """
far left,  far,    far right
left,      centre, right
near left, near,   near right
"""


def test_the_map_is_the_keypad():
    rows = [[name.strip() for name in row.split(",")] for row in KEYPAD.split("\n") if row]
    numbers = ((7, 8, 9), (4, 5, 6), (1, 2, 3))
    assert [[Station(n).label for n in row] for row in numbers] == rows
    assert [[Station(n).column for n in row] for row in numbers] == [[-1, 0, 1]] * 3
    assert [[Station(n).row for n in row] for row in numbers] == [[1] * 3, [0] * 3, [-1] * 3]


def test_sides_corners_and_the_centre_make_nine():
    assert sorted((*ROLLERS, *CORNERS, Station.CENTRE)) == list(Station)
    assert [s for s in Station if s.is_roller] == sorted(ROLLERS) == [2, 4, 6, 8]
    assert [s for s in Station if s.is_corner] == sorted(CORNERS) == [1, 3, 7, 9]


@pytest.mark.parametrize("station", Station)
def test_opposite_is_through_the_centre_and_back(station):
    assert station.opposite.opposite is station
    assert (station.opposite.column, station.opposite.row) == (-station.column, -station.row)


@pytest.mark.parametrize("station", Station)
def test_a_pair_is_two_opposite_rollers(station):
    if station.is_roller:
        assert set(ROLLERS_OF[station.pair]) == {station, station.opposite}
        assert station.pair is station.opposite.pair
    else:
        assert station.pair is None


@pytest.mark.parametrize("either", [*Pair, *Axis])
def test_the_other_one(either):
    assert either.other is not either
    assert either.other.other is either


@pytest.mark.parametrize(
    ("corner", "sides"),
    [
        (Station.FAR_LEFT, (Station.FAR, Station.LEFT)),
        (Station.FAR_RIGHT, (Station.FAR, Station.RIGHT)),
        (Station.NEAR_LEFT, (Station.NEAR, Station.LEFT)),
        (Station.NEAR_RIGHT, (Station.NEAR, Station.RIGHT)),
    ],
)
def test_two_sides_meet_at_a_corner(corner, sides):
    assert corner.neighbours == sides


@pytest.mark.parametrize("station", [*ROLLERS, Station.CENTRE])
def test_only_a_corner_has_two_neighbours(station):
    with pytest.raises(ValueError, match=f"^{station.label} is not a corner$"):
        _ = station.neighbours


# The facts that hang on stations.


@pytest.mark.parametrize("along", Pair)
def test_axes_and_pairs_belong_together(along):
    facts = Facts(along_pair=along)
    assert facts.pair_of(Axis.ALONG) is along
    assert facts.pair_of(Axis.ACROSS) is along.other
    for axis in Axis:
        assert facts.axis_of(facts.pair_of(axis)) is axis
    for station in Station:
        pulled = Axis.ALONG if station.pair is None else facts.axis_of(station.pair)
        assert facts.usual_axis(station) is pulled


def test_sizes_are_as_the_operator_sees_them():
    facts = Facts(
        frame=Frame(width_mm=580, depth_mm=840, tube_mm=40),
        stretcher=Stretcher(span_beyond_frame_mm=120),
    )
    assert (facts.frame.inner_width_mm, facts.frame.inner_depth_mm) == (500, 760)
    assert facts.free_span_mm(Pair.FAR_NEAR) == 840 + 120
    assert facts.free_span_mm(Pair.LEFT_RIGHT) == 580 + 120


def test_each_axis_has_its_target():
    target = Target(along_n_cm=24, across_n_cm=22)
    assert (target.of(Axis.ALONG), target.of(Axis.ACROSS)) == (24, 22)
