"""The same screen fed by a player."""

from __future__ import annotations

from dataclasses import replace

import pytest
from screen.rig import Rig, events, rig
from screen.test_drawing import at_work

from benchterm.core.decide import Refusal
from benchterm.core.events import Event, Source
from benchterm.core.intents import Go, Note
from benchterm.core.stages import Stage
from benchterm.core.stations import Station
from benchterm.screen.app import BenchApp
from benchterm.screen.feed import ReplayFeed
from benchterm.screen.help import HelpScreen
from benchterm.screen.replay import ReplayScreen
from benchterm.training.player import Player


def played() -> tuple[Event, ...]:
    """A session of fourteen events, five seconds apart."""
    at = at_work()
    at.take(Go(Stage.CORNER_RELIEF, "by a test"), Source.KEYPAD)
    return tuple(replace(event, at_s=5.0 * i) for i, event in enumerate(events(at)))


def screen(banner: str = "") -> ReplayScreen:
    player = Player(played())
    player.pause()
    return ReplayScreen(player, banner)


def place(at: Rig) -> int:
    return at.screen.player.place


async def test_keys_step_go_back_and_change_speed():
    async with rig(screen) as at:
        assert "replay paused" in at.pane("links")
        await at.keys("66666")
        assert place(at) == 6
        assert "near 11.0 ↕" in at.pane("entries")
        await at.keys("4")
        assert place(at) == 5
        assert "near 11.0 ↕" not in at.pane("entries")
        await at.keys("5++-")
        assert "running at 2x" in at.pane("links")
        await at.pilot.press("space")
        assert "paused" in at.pane("links")
        await at.pilot.press("right", "left", "left")
        assert place(at) == 4


async def test_the_key_that_undoes_at_the_bench_is_not_told_of_here():
    async with rig(screen) as at:
        await at.keys("666666666")
        assert "undoes" not in at.pane("entries")


async def test_time_goes_on_while_it_runs_and_stands_while_it_does_not():
    async with rig(screen) as at:
        at.screen.advance(60)
        assert place(at) == 1
        at.screen.player.pause()
        at.screen.advance(12)
        assert place(at) == 3
        assert "0:00:12" in at.pane("title")
        at.screen.advance(1000)
        assert "at its end" in at.pane("links")
        assert at.screen.player.state.clicks[Station.FAR] == 3


async def test_a_jump_to_a_stage_by_its_number():
    async with rig(screen) as at:
        await at.keys("*7")
        assert "to corner relief" in at.pane("entry")
        await at.pilot.press("enter")
        await at.pilot.pause()
        assert "7/15 corner relief" in at.pane("title")


@pytest.mark.parametrize(
    ("keys", "why"), [("*12", "never came to cut out"), ("*99", "numbered 1 to 15"), ("*", "1 to")]
)
async def test_a_jump_to_nowhere_is_told(keys: str, why: str):
    async with rig(screen) as at:
        await at.keys(keys)
        await at.pilot.press("enter")
        await at.pilot.pause()
        assert why in at.pane("message")
        assert place(at) == 1
        assert at.bells == 1
        await at.keys("6")
        assert place(at) == 2


async def test_a_jump_can_be_given_up():
    async with rig(screen) as at:
        await at.keys("*1")
        await at.pilot.press("escape")
        await at.keys("6")
        assert place(at) == 2


async def test_the_keys_stand_in_a_line_and_a_banner_says_what_it_is():
    async with rig(lambda: screen("DEMO")) as at:
        for word in ("pause", "step", "back", "faster", "slower", "stage"):
            assert word in at.pane("entry")
        assert "DEMO" in at.pane("message")
        assert "event 1 of 14" in at.pane("message")


async def test_help_lists_the_players_keys():
    async with rig(screen) as at:
        await at.pilot.press("f1")
        assert isinstance(at.screen, HelpScreen)
        assert isinstance(at.app, BenchApp)


def test_a_replay_takes_no_entries():
    feed = ReplayFeed(Player(played()))
    assert isinstance(feed.take(Note("x"), Source.KEYPAD, "note x"), Refusal)
