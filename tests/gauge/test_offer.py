"""A settled value and a station find each other, whichever comes first, and only once."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.core.intents import Read
from benchterm.core.stations import Axis, Station
from benchterm.gauge.listener import LinkState, Moved, Settled, Showing, Stands
from benchterm.gauge.offer import (
    Offer,
    Place,
    Taken,
    cancel,
    give_back,
    hear,
    name,
    pass_time,
    told,
)
from benchterm.gauge.profile import load_profile
from benchterm.gauge.reading import Reader

FAR = Place(Station.FAR)
NEAR = Place(Station.NEAR)


def settled(number):
    return Settled(Reader(load_profile("number")).read(f"{number}".encode()))


class Table:
    """An offer with its clock."""

    def __init__(self, stream=True):
        self.offer = Offer()
        self.stream = stream
        self.now_s = 0.0

    def name(self, place):
        self.offer, taken = name(self.offer, place, self.now_s)
        return taken

    def hear(self, news):
        self.offer, taken = hear(self.offer, news, self.now_s, stream=self.stream)
        return taken

    def wait(self, seconds):
        self.now_s += seconds
        self.offer = pass_time(self.offer, self.now_s)
        return self


def test_station_first():
    table = Table()
    assert table.name(FAR) is None
    assert told(table.offer) == "far: waiting for the gauge"
    assert table.hear(settled(22.5)) == Taken(Read(Station.FAR, 22.5), settled(22.5).reading)
    assert told(table.offer) == ""


def test_value_first():
    table = Table()
    assert table.hear(settled(22.5)) is None
    assert told(table.offer) == "gauge 22.5: at which station?"
    assert table.name(Place(Station.CENTRE, Axis.ACROSS)) == Taken(
        Read(Station.CENTRE, 22.5, Axis.ACROSS), settled(22.5).reading
    )


def test_a_value_is_used_once():
    table = Table()
    table.hear(settled(22.5))
    assert table.name(FAR)
    assert table.name(FAR) is None
    assert table.hear(settled(23.0)).read == Read(Station.FAR, 23.0)


def test_mesh_that_relaxes_under_the_gauge_brings_no_value_to_the_next_station():
    table = Table()
    table.name(FAR)
    table.hear(settled(22.5))
    table.name(NEAR)
    assert table.hear(Moved(lifted=False)) is None
    assert table.hear(settled(22.2)) is None
    assert told(table.offer) == "near: lift the gauge off far first"
    table.hear(Moved(lifted=True))
    assert told(table.offer) == "near: waiting for the gauge"
    assert table.hear(settled(21.0)).read == Read(Station.NEAR, 21.0)


def test_the_same_holds_for_a_value_that_is_offered():
    table = Table()
    table.name(FAR)
    table.hear(settled(22.5))
    table.hear(Moved(lifted=False))
    table.hear(settled(22.2))
    assert table.name(NEAR) is None
    table.hear(Moved(lifted=True))
    assert table.hear(settled(21.0)).read == Read(Station.NEAR, 21.0)


def test_clicked_with_the_gauge_left_where_it_lies_its_next_value_is_for_the_same_station():
    table = Table()
    table.name(FAR)
    table.hear(settled(22.5))
    table.hear(Moved(lifted=False))
    table.hear(settled(24.5))
    assert table.name(FAR).read == Read(Station.FAR, 24.5)


def test_a_button_is_pressed_on_purpose_wherever_the_gauge_lies():
    table = Table(stream=False)
    table.name(FAR)
    table.hear(settled(22.5))
    table.name(NEAR)
    assert table.hear(settled(21.0)).read == Read(Station.NEAR, 21.0)


def test_the_station_named_last_is_meant():
    table = Table()
    table.name(FAR)
    table.name(NEAR)
    assert table.hear(settled(22.5)).read.station is Station.NEAR
    assert table.hear(settled(23.0)) is None


def test_a_newer_value_takes_the_place_of_an_older_one():
    table = Table()
    table.hear(settled(22.5))
    table.hear(settled(23.0))
    assert table.name(FAR).read.value_n_cm == 23.0


def test_a_value_that_has_moved_on_is_not_for_the_next_station():
    table = Table()
    table.hear(settled(22.5))
    table.hear(Moved(lifted=False))
    assert table.name(FAR) is None


def test_lifted_off_its_value_can_be_spoken_for_a_little_longer():
    table = Table()
    table.hear(settled(22.5))
    table.wait(300)
    table.hear(Moved(lifted=True))
    assert table.wait(9).name(FAR).read.value_n_cm == 22.5
    table.hear(settled(22.5))
    table.hear(Moved(lifted=True))
    assert table.wait(11).name(FAR) is None


def test_set_down_elsewhere_the_old_value_is_gone():
    table = Table()
    table.hear(settled(22.5))
    table.hear(Moved(lifted=True))
    table.hear(Moved(lifted=False))
    assert table.name(NEAR) is None


def test_a_buttons_value_grows_old():
    table = Table(stream=False)
    table.hear(settled(22.5))
    assert table.wait(29).name(FAR)
    table.hear(settled(22.5))
    assert table.wait(31).name(FAR) is None


def test_a_station_named_long_ago_is_no_longer_meant():
    table = Table()
    table.name(FAR)
    assert table.wait(61).hear(settled(22.5)) is None


def test_moving_and_lifting_do_not_make_a_waiting_station_forget():
    table = Table()
    table.name(FAR)
    for news in (Moved(lifted=True), Moved(lifted=False), Stands(LinkState.SILENT)):
        table.hear(news)
    assert table.hear(settled(22.5))


def test_a_waiting_station_can_be_taken_back():
    table = Table()
    table.name(FAR)
    table.offer = cancel(table.offer)
    assert table.hear(settled(22.5)) is None
    table.offer = cancel(table.offer)
    assert table.name(NEAR)


def test_a_value_that_was_not_saved_is_offered_again():
    table = Table()
    table.hear(settled(22.5))
    taken = table.name(FAR)
    table.offer = give_back(table.offer, taken, table.now_s)
    assert table.name(FAR) == taken
    table.hear(settled(23.0))
    table.offer = give_back(table.offer, taken, table.now_s)
    assert table.name(FAR).read.value_n_cm == 23.0


def test_a_passing_value_is_nothing_here():
    table = Table()
    table.name(FAR)
    assert table.hear(Showing(settled(22.5).reading)) is None


@pytest.mark.parametrize("stream", [True, False])
@given(
    st.lists(
        st.sampled_from([FAR, NEAR, Moved(lifted=True), Moved(lifted=False), 5.0, 40.0])
        | st.integers(1, 500).map(lambda n: settled(n / 10))
    )
)
def test_whatever_happens_no_value_is_taken_twice(stream, happenings):
    table = Table(stream)
    heard, taken = 0, []
    for one in happenings:
        match one:
            case Place():
                taken.append(table.name(one))
            case float():
                table.wait(one)
            case _:
                heard += isinstance(one, Settled)
                taken.append(table.hear(one))
        assert table.offer.place is None or table.offer.reading is None
    assert sum(t is not None for t in taken) <= heard
