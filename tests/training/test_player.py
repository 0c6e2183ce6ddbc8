from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.core.bench import Bench, InMemory, Moment
from benchterm.core.events import Event, SessionOpened, Source
from benchterm.core.fold import fold_all
from benchterm.core.intents import Go, Intent, Note, Read, Redo, StartTimer, Turn, Undo
from benchterm.core.stages import Stage
from benchterm.core.stations import ROLLERS, Station
from benchterm.desk import view
from benchterm.training.player import SPEEDS, Player

DAY = datetime(2026, 3, 2, 9, tzinfo=UTC)


def session(*asked: tuple[float, Intent]) -> tuple[Event, ...]:
    """The events of a session in which this was asked at these times."""
    kept = InMemory()
    bench = Bench(kept)
    bench.note([SessionOpened("s", "bench", "0")], Moment(0, DAY), Source.BENCH)
    for at_s, intent in asked:
        bench.take(intent, Moment(at_s, DAY + timedelta(seconds=at_s)), Source.KEYPAD)
    return tuple(kept.events)


SHORT = session(
    (10, Go(Stage.SLACK, "a test")),
    (20, Turn(Station.FAR, 3)),
    (30, Turn(Station.NEAR, 3)),
    (1000, Go(Stage.SETTLE, "a test")),
    (1001, StartTimer(15)),
    (2000, Go(Stage.SLACK)),
    (2010, Undo()),
)

intents = st.one_of(
    st.builds(Turn, st.sampled_from(ROLLERS), st.integers(-3, 5)),
    st.builds(Read, st.sampled_from(Station), st.floats(0, 40).map(lambda v: round(v, 1))),
    st.builds(Go, st.sampled_from(Stage), st.just("a test")),
    st.builds(Undo, st.integers(1, 5)),
    st.just(Redo()),
    st.just(Note("a remark")),
)


@st.composite
def sessions(draw: st.DrawFn) -> tuple[Event, ...]:
    asked = draw(st.lists(st.tuples(st.floats(0, 200), intents), max_size=150))
    at_s = 0.0
    timed = []
    for pause_s, intent in asked:
        at_s += pause_s
        timed.append((at_s, intent))
    return session(*timed)


moves = st.one_of(
    st.tuples(st.just("advance"), st.floats(0, 500)),
    st.tuples(st.just("jump"), st.sampled_from(Stage)),
    st.sampled_from(["step", "back", "pause", "faster", "slower"]).map(lambda move: (move,)),
)


def play(player: Player, moves: list[tuple]) -> None:
    for name, *with_what in moves:
        getattr(player, name)(*with_what)


@given(sessions(), st.lists(moves, max_size=30), st.sampled_from([None, 0.5, 4.0]))
def test_at_any_moment_the_state_is_that_of_the_events_so_far(events, moves, longest_wait_s):
    player = Player(events, longest_wait_s=longest_wait_s)
    play(player, moves)
    assert player.events_so_far() == events[: player.place]
    assert player.state == fold_all(player.events_so_far())
    assert player.now_s >= player.events_so_far()[-1].at_s
    assert player.finished or player.now_s <= events[player.place].at_s


@given(sessions(), st.lists(moves, max_size=30))
def test_however_it_is_played_it_ends_as_the_session_ended(events, moves):
    player = Player(events)
    play(player, moves)
    player.paused = False
    player.advance(1e9)
    assert player.finished
    assert player.state == fold_all(events)
    assert player.now_s == player.ends_s


@given(sessions(), st.lists(moves, max_size=10))
def test_a_step_and_a_step_back_lead_to_the_same_place(events, moves):
    player = Player(events)
    play(player, moves)
    place, state, at_the_end = player.place, player.state, player.finished
    player.step()
    if not at_the_end:
        player.back()
    assert (player.place, player.state) == (place, state)


@given(sessions(), st.lists(st.floats(0, 50), max_size=40))
def test_small_pieces_of_time_add_up(events, pieces):
    in_pieces, at_once = Player(events), Player(events)
    for piece in pieces:
        in_pieces.advance(piece)
    at_once.advance(sum(pieces))
    assert in_pieces.now_s == pytest.approx(at_once.now_s)


def test_it_begins_with_the_session_opened():
    player = Player(SHORT)
    assert player.events_so_far() == SHORT[:1]
    assert player.view() == view(fold_all(SHORT[:1]), 0.0)


def test_at_1x_time_is_true():
    player = Player(SHORT)
    player.advance(25)
    assert player.now_s == 25
    assert player.state.clicks[Station.FAR] == 3
    assert player.state.clicks[Station.NEAR] == 0
    assert player.view().now_s == 25


def test_faster_and_slower_move_along_the_list_of_speeds():
    player = Player(SHORT)
    player.faster()
    assert player.speed == 2
    player.advance(10)
    assert player.now_s == 20
    for _ in range(20):
        player.slower()
    assert player.speed == SPEEDS[0]
    for _ in range(20):
        player.faster()
    assert player.speed == SPEEDS[-1]


def test_a_speed_of_ones_own_goes_to_the_next_in_the_list():
    player = Player(SHORT, speed=100)
    player.faster()
    assert player.speed == 100
    player.slower()
    assert player.speed == SPEEDS[-1]


def test_paused_nothing_moves_until_it_goes_on():
    player = Player(SHORT)
    player.pause()
    player.advance(1000)
    assert (player.now_s, player.place) == (0, 1)
    player.pause()
    player.advance(10)
    assert player.now_s == 10


def test_a_step_shows_the_next_event_at_its_time_and_stands_still():
    player = Player(SHORT)
    player.step()
    assert (player.place, player.now_s, player.paused) == (2, 10, True)


def test_stepping_stops_at_both_ends():
    player = Player(SHORT)
    player.back()
    assert player.place == 1
    for _ in range(2 * player.length):
        player.step()
    assert player.place == player.length


def test_a_long_wait_is_over_in_the_longest_wait():
    player = Player(SHORT, longest_wait_s=5)
    player.advance(15)
    assert player.now_s == pytest.approx(30)
    player.advance(2.5)
    assert player.now_s == pytest.approx(515)
    player.advance(2.5)
    assert player.state.stage is Stage.SETTLE


def test_a_longest_wait_slows_nothing_down():
    player = Player(SHORT, speed=64, longest_wait_s=60)
    player.advance(1)
    assert player.now_s == pytest.approx(64)


def test_jumping_goes_through_every_entry_of_a_stage():
    player = Player(SHORT)
    assert player.jump(Stage.SLACK)
    assert player.now_s == 10
    assert player.jump(Stage.SLACK)
    assert player.now_s == 2000
    assert player.jump(Stage.SLACK)
    assert player.now_s == 10
    assert player.jump(Stage.PREPARE)
    assert player.place == 1


def test_a_jump_to_a_stage_that_never_was_moves_nothing():
    player = Player(SHORT)
    player.advance(15)
    assert not player.jump(Stage.CURE)
    assert player.now_s == 15


@pytest.mark.parametrize("given", [{"speed": 0}, {"speed": -1}, {"longest_wait_s": 0}])
def test_speeds_that_lead_nowhere_are_refused(given):
    with pytest.raises(ValueError, match="above 0"):
        Player(SHORT, **given)


def test_no_events_is_nothing_to_play():
    with pytest.raises(ValueError, match="nothing to play"):
        Player(())


def test_rules_that_the_shop_has_off_are_off():
    run = session(
        (1, Go(Stage.SLACK, "a test")), *((2 + n, Turn(Station.FAR, 2)) for n in range(5))
    )
    loud, quiet = Player(run), Player(run, rules_off=frozenset({"click-run"}))
    loud.advance(60)
    quiet.advance(60)
    codes = [advice.code for advice in loud.view().advice]
    assert "click-run" in codes
    codes.remove("click-run")
    assert [advice.code for advice in quiet.view().advice] == codes


def test_a_clock_that_stands_still_between_events_does_not_hold_it_up():
    crowd = tuple(replace(event, at_s=0.0) for event in SHORT)
    player = Player(crowd, longest_wait_s=3)
    player.advance(0.001)
    assert player.finished
