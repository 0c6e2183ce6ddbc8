"""The gauge at the screen: station first or value first, trouble told, keypad always in charge."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from gauge.test_calibrated import calibration
from screen.rig import GRAMMAR, Rig, desk, rig, shop

from benchterm.core.events import GaugeChosen, ReadingTaken, Source
from benchterm.core.facts import Facts
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Station
from benchterm.errors import SettingsError
from benchterm.gauge import link as link_module
from benchterm.gauge.attached import Attached
from benchterm.gauge.calibrated import History, keep
from benchterm.gauge.lines import unwritten
from benchterm.gauge.profile import Line, Profile, Sending, Sends, Settle
from benchterm.gauge.pseudo import PtyGauge
from benchterm.screen.bench_screen import BenchScreen
from benchterm.screen.feed import LiveFeed

LONGEST_S = 20.0
BUTTON = Profile(line=Line(pattern="{value} {unit}"), sends=Sending(how=Sends.BUTTON))
STREAM = Profile(settle=Settle(resolution=0.1, for_s=0.1))


@pytest.fixture
def gauge(tmp_path):
    gauge = PtyGauge(tmp_path / "gauge")
    gauge.plug()
    yield gauge
    gauge.unplug()


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    monkeypatch.setattr(link_module, "FIRST_WAIT_S", 0.002)
    monkeypatch.setattr(link_module, "LONGEST_WAIT_S", 0.02)


@asynccontextmanager
async def wired(gauge: PtyGauge, profile: Profile = BUTTON) -> AsyncIterator[Rig]:
    attached = Attached(gauge.path, profile, History())
    feed = LiveFeed(desk(stage=Stage.FIRST_TENSION), attached)
    async with rig(lambda: BenchScreen(feed, GRAMMAR)) as opened:
        await until(opened, lambda: attached.ready)
        yield opened


async def until(opened: Rig, true) -> None:
    deadline = time.monotonic() + LONGEST_S
    while not true():
        assert time.monotonic() < deadline, opened.shown()
        await asyncio.sleep(0.005)
        await opened.pilot.pause()


def readings(opened: Rig) -> list[tuple[Station, Axis, float, Source, str]]:
    return [
        (e.what.station, e.what.axis, e.what.value_n_cm, e.source, e.heard)
        for e in opened.state.window.recent
        if isinstance(e.what, ReadingTaken)
    ]


async def test_station_first_then_the_gauge(gauge):
    async with wired(gauge) as opened:
        await opened.keys("8")
        assert "far: the gauge's next value" in opened.pane("entry")
        await opened.enter("")
        assert opened.screen.typed == ""
        assert "far: waiting for the gauge" in opened.pane("entry")
        gauge.send(b"9.5 N/cm\r\n")
        await until(opened, lambda: readings(opened))
        assert readings(opened) == [
            (Station.FAR, Axis.ALONG, 9.5, Source.GAUGE, "9.5 N/cm"),
        ]
        assert "far 9.5" in opened.pane("message")
        assert "gauge" in opened.pane("entries")
        assert "gauge 9.5" in opened.pane("links")


async def test_the_gauge_first_then_the_station(gauge):
    async with wired(gauge) as opened:
        gauge.send(b"9.5 N/cm\r\n")
        await until(opened, lambda: "at which station?" in opened.pane("entry"))
        assert readings(opened) == []
        await opened.keys("4/")
        assert "left along: 9.5 from the gauge" in opened.pane("entry")
        await opened.enter("")
        assert readings(opened)[0][:3] == (Station.LEFT, Axis.ALONG, 9.5)


async def test_words_name_a_place_too(gauge):
    async with wired(gauge) as opened:
        await opened.enter("centre across")
        gauge.send(b"9.5 N/cm\r\n")
        await until(opened, lambda: readings(opened))
        assert readings(opened)[0][:2] == (Station.CENTRE, Axis.ACROSS)


async def test_a_value_leaves_what_is_being_typed_alone(gauge):
    async with wired(gauge) as opened:
        await opened.enter("8")
        await opened.keys("2 +")
        gauge.send(b"9.5 N/cm\r\n")
        await until(opened, lambda: readings(opened))
        assert opened.screen.typed == "2 +"
        await opened.enter("2")
        assert opened.state.clicks[Station.NEAR] == 2


async def test_a_value_out_of_line_is_asked_back(gauge):
    async with wired(gauge) as opened:
        await opened.enter("8 9.5", "8")
        gauge.send(b"50 N/cm\r\n")
        await until(opened, lambda: opened.state.held)
        assert "Keep it?" in opened.shown()
        await opened.enter("/")
        assert len(readings(opened)) == 1


async def test_escape_with_nothing_typed_no_longer_waits(gauge):
    async with wired(gauge) as opened:
        await opened.enter("8")
        await opened.pilot.press("escape")
        await opened.pilot.pause()
        assert "waiting for the gauge" not in opened.pane("entry")
        gauge.send(b"9.5 N/cm\r\n")
        await until(opened, lambda: "at which station?" in opened.pane("entry"))


async def test_a_value_keyed_by_hand_ends_the_waiting(gauge):
    async with wired(gauge) as opened:
        await opened.enter("8", "8 9.5")
        gauge.send(b"9.6 N/cm\r\n")
        await until(opened, lambda: "at which station?" in opened.pane("entry"))
        assert [value for _, _, value, _, _ in readings(opened)] == [9.5]


async def test_only_a_streamed_value_that_stands_still_is_taken(gauge):
    async with wired(gauge, STREAM) as opened:
        await opened.enter("8")
        for tenths in range(0, 95, 5):
            gauge.send(b"%.1f\r\n" % (tenths / 10))
            await opened.pilot.pause()
        assert readings(opened) == []

        def sent_and_read():
            gauge.send(b"9.5\r\n")
            return readings(opened)

        await until(opened, sent_and_read)
        assert [value for _, _, value, _, _ in readings(opened)] == [9.5]


async def test_unplugged_the_keypad_goes_on_and_it_comes_back(gauge):
    async with wired(gauge) as opened:
        gauge.unplug()
        await until(opened, lambda: "not plugged in" in opened.pane("links"))
        assert "The keypad does everything." in " ".join(opened.pane("message").split())
        assert "■ GAUGE not plugged in" in opened.pane("links")
        await opened.enter("8")
        assert "far needs a value" in opened.pane("message")
        await opened.enter("", "8 9.5")
        assert opened.state.reading(Station.FAR)
        gauge.plug()
        await until(opened, lambda: "connected" in opened.pane("links"))


async def test_nothing_a_gauge_sends_can_steer_the_terminal(gauge):
    async with wired(gauge) as opened:
        file = Path(__file__).parents[1] / "gauge" / "escape-sequences.txt"
        for escape in file.read_text(encoding="ascii").splitlines():
            gauge.send(unwritten(escape) + b"7.5 N/cm\r\n")
        gauge.send(bytes(range(256)) * 4 + b"\r\n")
        gauge.send(b"\x1b[2J9.5 N/cm\r\n")
        await until(opened, lambda: "9.5: at which station?" in opened.pane("entry"))
        await opened.enter("8")
        assert readings(opened)[0][4] == r"\x1b[2J9.5 N/cm"
        shown = opened.shown()
        assert all(char.isprintable() or char == "\n" for char in shown)


async def test_without_a_gauge_a_station_alone_is_refused_as_before():
    async with rig(lambda: BenchScreen(LiveFeed(desk(stage=Stage.FIRST_TENSION)), None)) as opened:
        await opened.enter("8")
        assert "far needs a value" in opened.pane("message")


def test_the_record_says_which_gauge_and_how_it_is_corrected(tmp_path):
    at = desk()
    here = shop(tmp_path, attach=lambda: Attached("usb:1a2b:3c4d:A5", BUTTON, History()))
    attached, opening = here.attach_to(at)
    assert attached
    assert opening
    assert "not been calibrated" in opening.text
    (kept,) = [e for e in at.bench.state.window.recent if isinstance(e.what, GaugeChosen)]
    assert kept.source is Source.BENCH
    assert kept.what == GaugeChosen("usb:1a2b:3c4d:A5", wired=True)


def test_the_record_says_how_a_gauge_without_a_wire_was_calibrated(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    keep(calibration(gauge="gauge 1"))
    at = desk(facts=Facts(gauge="gauge 1"))
    assert shop(tmp_path).attach_to(at) == (None, None)
    assert at.bench.state.by_eye == GaugeChosen("gauge 1", False, calibration().kept)


def test_a_profile_that_is_wrong_does_not_keep_the_bench_from_opening(tmp_path):
    def broken():
        raise SettingsError("This gauge profile cannot be used: gauge.toml, line 2")

    attached, opening = shop(tmp_path, attach=broken).attach_to(desk())
    assert attached is None
    assert opening
    assert "line 2" in opening.text
