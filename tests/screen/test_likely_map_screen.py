"""The likely map on the screen, by a key at the bench."""

from __future__ import annotations

from screen.rig import Rig, bench, desk
from textual.widgets import Static

from benchterm.core.events import Source
from benchterm.core.intents import Read
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Station
from benchterm.screen.bench_screen import BenchScreen
from benchterm.screen.likely_map_screen import LikelyMapScreen


async def shown(at: Rig) -> str:
    """The sheet, once it is worked out."""
    await at.app.workers.wait_for_complete()
    await at.pilot.pause()
    return str(at.screen.query_one("#sheet", Static).content)


async def test_nothing_read_is_told():
    async with bench(desk(stage=Stage.FIRST_TENSION)) as at:
        await at.pilot.press("f4")
        assert isinstance(at.screen, LikelyMapScreen)
        assert "no map of this mesh yet" in await shown(at)
        await at.pilot.press("enter")
        assert isinstance(at.screen, BenchScreen)


async def test_readings_make_a_map():
    async with bench(desk(stage=Stage.SETTLE)) as at:
        await at.enter("5 22", "5 / 22", "1 23", "3 23", "7 23", "9 23")
        await at.pilot.press("f4")
        text = await shown(at)
        assert "ALONG N/cm" in text
        assert "ACROSS" in text


async def test_it_follows_what_is_read_meanwhile():
    seated = desk(stage=Stage.SETTLE)
    async with bench(seated) as at:
        await at.enter("5 22", "1 23", "9 23")
        await at.pilot.press("f4")
        assert "ACROSS: not read" in await shown(at)
        seated.take(Read(Station.CENTRE, 22.0, Axis.ACROSS), Source.GAUGE)
        at.screen.look()
        assert "ACROSS N/cm" in await shown(at)


async def test_both_axes_at_once_or_every_column():
    async with bench(desk(stage=Stage.SETTLE), size=(80, 24)) as at:
        await at.enter("5 22", "5 / 22", "1 23", "3 23", "7 23", "9 23")
        await at.pilot.press("f4")
        assert "every second column" in await shown(at)
        await at.pilot.press("5")
        assert "every second column" not in await shown(at)
        await at.pilot.press("5")
        assert "every second column" in await shown(at)
