"""Help lists every key, and keys can be given other meanings."""

from __future__ import annotations

from pathlib import Path

import pytest
from rich.console import Console
from screen.rig import GRAMMAR, Rig, bench, desk, rig, shop
from textual.binding import Binding
from textual.widgets import Static

from benchterm.core.stages import Stage
from benchterm.core.stations import Station
from benchterm.phrases.keypad import KEYPAD_HELP
from benchterm.screen.app import BenchApp
from benchterm.screen.bench_screen import BenchScreen
from benchterm.screen.glue_screen import GlueScreen
from benchterm.screen.help import HelpScreen
from benchterm.screen.keying import TypingScreen
from benchterm.screen.likely_map_screen import LikelyMapScreen
from benchterm.screen.plan_screen import PlanScreen
from benchterm.screen.replay import ReplayScreen
from benchterm.screen.start import StartScreen


def listed(at: Rig) -> str:
    """All that the help screen lists, scrolled to or not."""
    console = Console(width=200)
    with console.capture() as capture:
        for static in at.screen.query("VerticalScroll Static").results(Static):
            console.print(static.content)
    return capture.get()


async def test_help_lists_every_binding_and_every_entry():
    async with bench(desk()) as at:
        await at.pilot.press("f1")
        assert isinstance(at.screen, HelpScreen)
        shown = listed(at)
        ours = (BenchApp, BenchScreen, TypingScreen, HelpScreen)
        for binding in (binding for one in ours for binding in one.BINDINGS):
            assert isinstance(binding, Binding)
            assert binding.id in shown
            assert all(key in shown for key in binding.key.split(","))
        for keys, meaning in KEYPAD_HELP:
            assert keys in shown
            assert meaning in shown
        for saying in GRAMMAR.sayings:
            assert saying.what in shown
            assert all(example in shown for example in saying.examples)


async def test_help_scrolls_and_goes_back():
    async with bench(desk()) as at:
        await at.pilot.press("f1", "3")
        await at.pilot.pause()
        scroll = at.screen.query_one("VerticalScroll")
        assert scroll.scroll_offset.y > 0
        await at.pilot.press("enter")
        assert isinstance(at.screen, BenchScreen)
        await at.pilot.press("f1", "f1")
        assert isinstance(at.screen, BenchScreen)


async def test_help_can_be_reached_by_keypad_alone():
    async with bench(desk()) as at:
        for keys in ("00", "0 0"):
            await at.enter(keys)
            assert isinstance(at.screen, HelpScreen)
            await at.enter("")
            assert isinstance(at.screen, BenchScreen)
            assert at.screen.typed == ""


@pytest.mark.parametrize(
    ("keys", "page"), [("003", PlanScreen), ("0 0 4", LikelyMapScreen), ("006", GlueScreen)]
)
async def test_pages_with_a_function_key_can_be_reached_by_keypad_too(keys: str, page: type):
    async with bench(desk()) as at:
        before = at.state
        await at.enter(keys)
        assert isinstance(at.screen, page)
        await at.pilot.press("escape")
        assert (at.state, at.screen.typed) == (before, "")


async def test_the_head_of_the_list_of_keys_is_whole():
    async with bench(desk()) as at:
        await at.pilot.press("f1")
        assert "id in the settings, [keys]" in listed(at)


async def test_help_shows_the_name_of_a_key():
    async with bench(desk()) as at:
        await at.pilot.press("f1", "f9")
        assert "received: f9" in str(at.screen.query_one("#key", Static).content)
        await at.pilot.press("plus")
        assert "received: plus" in str(at.screen.query_one("#key", Static).content)


async def test_every_screen_has_help(tmp_path: Path):
    async with rig(lambda: StartScreen(shop(tmp_path))) as at:
        await at.pilot.press("f1")
        assert "entry.take" in listed(at)
        await at.enter("", "+")
        await at.pilot.press("f1")
        assert "entry.take" in listed(at)


def test_every_binding_has_an_id_and_no_two_are_alike():
    for owner in (BenchApp, TypingScreen, HelpScreen, ReplayScreen):
        bindings = [b for b in owner.BINDINGS if isinstance(b, Binding)]
        ids = [b.id for b in bindings]
        assert all(ids)
        assert len(set(ids)) == len(ids)
        keys = [key for b in bindings for key in b.key.split(",")]
        assert len(set(keys)) == len(keys)
        assert "ctrl+b" not in keys  # tmux keeps it for itself


async def test_keys_can_be_given_other_meanings():
    keys = {"app.help": "f5", "type.plus": "p", "entry.take": "space"}
    async with bench(desk(stage=Stage.FIRST_TENSION), keys=keys) as at:
        await at.pilot.press("8", "p", "3", "space")
        assert at.state.clicks[Station.FAR] == 3
        await at.pilot.press("f1")
        assert isinstance(at.screen, BenchScreen)
        await at.pilot.press("f5")
        assert isinstance(at.screen, HelpScreen)
        assert "f5" in listed(at)


async def test_ctrl_c_does_not_end_a_job():
    async with bench(desk()) as at:
        await at.pilot.press("ctrl+c")
        assert at.app.is_running
        assert any("Ctrl+Q" in note.message for note in at.app._notifications)
