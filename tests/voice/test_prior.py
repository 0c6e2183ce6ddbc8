"""What the bench expects, as the ear is told and as it weighs in."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from benchterm.core.bench import Bench, InMemory, Moment
from benchterm.core.events import Source
from benchterm.core.expect import expected, step_n_cm
from benchterm.core.intents import Go, Intent, Read, Turn
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Station
from benchterm.phrases.meanings import Slots
from benchterm.voice.expectations import places
from benchterm.voice.prior import likely, pending
from benchterm.voice.wire import Lines, ToEar, Waits, encode

FAR, CENTRE = Station.FAR, Station.CENTRE
ALONG, ACROSS = Axis.ALONG, Axis.ACROSS


def after(*intents: Intent) -> Bench:
    bench = Bench(InMemory())
    for n, intent in enumerate((Go(Stage.FINAL_TENSION, "done before"), *intents)):
        taken = bench.take(
            intent, Moment(float(n), datetime(2026, 3, 2, 9, tzinfo=UTC)), Source.PIPE
        )
        assert isinstance(taken, tuple), taken
    return bench


def test_the_ear_is_told_what_the_bench_itself_expects():
    state = after(Read(FAR, 19.5), Turn(FAR, 1)).state
    told = places(state)
    assert set(told) == set(Station)
    assert told[FAR].usual is ALONG
    assert told[FAR].along.value == pytest.approx(expected(state, FAR, ALONG).value_n_cm, abs=0.01)
    assert told[CENTRE].across.sd == pytest.approx(
        expected(state, CENTRE, ACROSS).sd_n_cm, abs=0.01
    )


def test_only_the_rollers_that_pull_an_axis_add_to_it():
    state = after(Read(FAR, 19.5)).state
    told = places(state)
    assert told[FAR].along.a_click == step_n_cm(state, ALONG) > 0
    assert told[FAR].across.a_click == 0
    assert told[CENTRE].along.a_click == 0


def test_clicks_and_the_reading_they_gave_in_one_breath():
    """What is likely after the clicks is what the bench would expect once they were taken."""
    waits = Waits(places=places(after(Read(FAR, 19.5)).state))
    found = likely(waits, Slots("turn", FAR, clicks=Decimal(2), value=Decimal("20.5")))
    later = expected(after(Read(FAR, 19.5), Turn(FAR, 2)).state, FAR, ALONG)
    assert found is not None
    assert found.value == pytest.approx(later.value_n_cm, abs=0.02)
    assert found.sd == pytest.approx(later.sd_n_cm, abs=0.02)


@pytest.mark.parametrize(
    ("slots", "known"),
    [
        (Slots("read", FAR, value=Decimal(20)), True),
        (Slots("read", FAR, ACROSS, value=Decimal(20)), True),
        (Slots("read", None, value=Decimal(20)), False),
    ],
)
def test_nothing_is_expected_nowhere(slots: Slots, known: bool):
    waits = Waits(places=places(after(Read(FAR, 19.5)).state))
    assert (likely(waits, slots) is not None) is known
    assert likely(Waits(), slots) is None


def test_a_number_alone_is_weighed_at_the_station_that_is_waited_for():
    waits = Waits(int(FAR), question=True, places=places(after(Read(FAR, 19.5)).state))
    given = pending(waits)
    assert (given.station, given.question) == (FAR, True)
    found = given.likely(Slots("read", value=Decimal(20)))
    assert found is not None
    assert found.value == pytest.approx(19.5)


def test_it_goes_over_the_wire_unchanged():
    waits = Waits(int(FAR), question=True, places=places(after(Read(FAR, 19.5)).state))
    assert list(Lines(ToEar).feed(encode(waits))) == [waits]
    assert len(encode(waits)) < 4096, "a pipe takes that in one piece"
