"""A bench screen that is spoken to; what the ear and the mouth do is played by the test."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from screen.rig import GRAMMAR, Rig, desk, events, rig

from benchterm.config import Voice
from benchterm.core.events import CheckTicked, Event, Heard, ReadingTaken, RollerTurned, Source
from benchterm.core.gates import open_checks
from benchterm.core.intents import Mark, Read, Turn
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Station
from benchterm.desk import Desk
from benchterm.gauge.attached import Attached
from benchterm.gauge.calibrated import History
from benchterm.gauge.profile import Line, Profile, Sending, Sends
from benchterm.gauge.pseudo import PtyGauge
from benchterm.phrases.meanings import fill
from benchterm.records.journal import read_all
from benchterm.screen.bench_screen import BenchScreen
from benchterm.screen.feed import _MICROPHONE_LIGHTS, Light, LiveFeed, level_bar
from benchterm.voice.microphone import Standing
from benchterm.voice.talk import Talk, noise_words
from benchterm.voice.wire import Level, Problem, Ready, Uttered, Waits, says

FAR = Station.FAR
BUTTON = Profile(line=Line(pattern="{value} {unit}"), sends=Sending(how=Sends.BUTTON))


class Puppet(Talk):
    """A talk without its processes: keeps what it is asked for."""

    def __init__(self, **wanted: Any) -> None:
        super().__init__(Voice(**wanted), GRAMMAR, "en", Path("recordings"))
        self.said: list[tuple[str, str]] = []
        self.hushed = 0
        self.orders: list[Any] = []
        self.stopped = False
        self.mouth.say = lambda tone="", text="", _="en": self.said.append((tone, text))  # type: ignore[method-assign]
        self.microphone._process.send = lambda line: self.orders.append(line) or True  # type: ignore[method-assign]

    def start(self, wake: Any) -> None:
        self._wake = wake
        self.microphone._told(Ready("ear", "default", 16_000))

    def stop(self) -> None:
        self.stopped = True

    def hush(self) -> None:
        self.hushed += 1

    def hear(self, words: str, decision: str = "sure", why: str = "") -> None:
        meanings = GRAMMAR.parse(words.split()).meanings
        told = says(fill(meanings[0])) if meanings else None
        times = dict.fromkeys(("begin_s", "end_s", "closed_s", "decode_s", "behind_s"), 0.0)
        levels = {"speech_db": -20.0, "noise_db": -50.0}
        self.microphone._told(
            Uttered(
                words=words if told else "",
                says=told,
                decision=decision,
                why=why,
                confidence=0.9,
                scores={},
                others=(),
                goes_on=False,
                **times,
                **levels,
            )
        )

    @property
    def waits(self) -> Waits:
        return [order for order in self.orders if isinstance(order, Waits)][-1]


class Spoken:
    """An open bench and its talk."""

    def __init__(self, opened: Rig, talk: Puppet, at: Desk) -> None:
        self.rig = opened
        self.talk = talk
        self.at = at

    async def hear(self, *phrases: str, decision: str = "sure", why: str = "") -> None:
        for words in phrases:
            self.talk.hear(words, decision, why)
            await self.rig.pilot.pause()

    @property
    def message(self) -> str:
        return self.rig.pane("message").strip()

    @property
    def happened(self) -> list[object]:
        return [event.what for event in events(self.at)]


@asynccontextmanager
async def spoken(
    at: Desk | None = None,
    *,
    size: tuple[int, int] = (80, 24),
    attached: Attached | None = None,
    **wanted: Any,
) -> AsyncIterator[Spoken]:
    at = at or desk(stage=Stage.FIRST_TENSION)
    talk = Puppet(**wanted)
    async with rig(lambda: BenchScreen(LiveFeed(at, attached, talk), GRAMMAR), size) as opened:
        await opened.pilot.pause()
        yield Spoken(opened, talk, at)
    assert talk.stopped


async def test_what_is_sure_is_taken_with_its_words_and_read_back():
    async with spoken() as bench:
        await bench.hear("far nine point five", "left three clicks")
        assert bench.happened[-2:] == [
            ReadingTaken(FAR, Axis.ALONG, 9.5),
            RollerTurned(Station.LEFT, 3),
        ]
        last = events(bench.at)[-1]
        assert (last.source, last.heard) == (Source.VOICE, "left three clicks")
        assert bench.talk.said[:2] == [
            ("taken", "far, nine point five"),
            ("taken", "left, three clicks"),
        ]


async def test_everything_heard_is_in_the_journal_with_what_became_of_it(tmp_path: Path):
    at = desk(tmp_path / "s.jsonl", Stage.FIRST_TENSION)
    async with spoken(at) as bench:
        await bench.hear("far nine point five", "far zero clicks")
        await bench.hear("left three clicks", decision="reject", why="not clear enough")
        await bench.hear("near nine", decision="ask", why="not quite clear")
        await bench.hear("no")
    heard = [e.what for e in read_all(tmp_path / "s.jsonl").events if isinstance(e.what, Heard)]
    assert [(h.words, h.decision, h.became) for h in heard] == [
        ("far nine point five", "sure", "taken"),
        ("", "sure", "not taken: not understood"),
        ("left three clicks", "reject", "not taken: not clear enough"),
        ("near nine", "ask", "asked"),
        ("no", "sure", "dropped: near nine"),
    ]


async def test_what_is_being_typed_stays():
    async with spoken() as bench:
        await bench.rig.keys("7 1")
        await bench.hear("far nine point five")
        assert bench.rig.screen.typed == "7 1"
        await bench.hear("far zero point five clicks")
        assert bench.rig.screen.typed == "7 1"


@pytest.mark.parametrize(
    ("way", "taken"), [("yes", True), ("no", False), ("*", True), ("/", False)]
)
async def test_what_is_not_quite_clear_is_answered_by_voice_or_by_hand(way: str, taken: bool):
    async with spoken() as bench:
        await bench.hear("far nine point five", decision="ask", why="not quite clear")
        assert "Yes or no?" in bench.message
        assert bench.talk.said[-1] == ("ask", "far, nine point five?")
        assert bench.talk.waits.question
        if way.isalpha():
            await bench.hear(way)
        else:
            await bench.rig.enter(way)
        assert (ReadingTaken(FAR, Axis.ALONG, 9.5) in bench.happened) is taken
        assert not bench.talk.waits.question


async def test_what_the_bench_itself_asks_back_is_said_and_answered_by_voice():
    async with spoken() as bench:
        await bench.hear("far nine point five", "far thirty nine")
        assert bench.talk.said[-1] == ("ask", "far, three nine? expected nine point five")
        assert (bench.talk.waits.station, bench.talk.waits.question) == (int(FAR), True)
        await bench.hear("yes")
        assert bench.rig.state.held is None
        assert bench.rig.state.reading(FAR).value_n_cm == 39


async def test_after_clicks_a_number_alone_is_their_reading():
    async with spoken() as bench:
        await bench.hear("left three clicks")
        assert bench.talk.waits.station == int(Station.LEFT)
        await bench.hear("nine point five")
        assert bench.happened[-1] == ReadingTaken(Station.LEFT, Axis.ACROSS, 9.5)


async def test_what_is_refused_says_why():
    async with spoken(desk()) as bench:
        await bench.hear("far nine point five")
        assert bench.message.startswith("✗ No reading in this stage")
        tone, text = bench.talk.said[-1]
        assert tone == "refused"
        assert text.startswith("No reading in this stage")


async def test_questions_are_answered_aloud_however_they_were_asked():
    async with spoken() as bench:
        await bench.hear("time left")
        assert bench.talk.said[-1] == ("", "no timer is running")
        await bench.rig.enter("/3")
        assert bench.talk.said[-1] == ("", "no timer is running")


async def test_what_is_keyed_is_not_read_back_and_a_key_breaks_speech_off():
    async with spoken() as bench:
        said, hushed = len(bench.talk.said), bench.talk.hushed
        await bench.rig.enter("8 9.5")
        assert ("taken", "far, nine point five") not in bench.talk.said[said:]
        assert bench.talk.hushed >= hushed + 6


async def test_talk_that_is_not_believed_is_shown_but_pushes_no_warning_aside():
    async with spoken() as bench:
        await bench.hear("left three clicks", decision="reject", why="not clear enough")
        assert bench.message == "· heard 'left three clicks': not clear enough"
        await bench.rig.enter("8 + 99")
        assert bench.message.startswith("✗")
        await bench.hear("left three clicks", decision="reject", why="not clear enough")
        assert bench.message.startswith("✗")


async def test_the_end_of_a_wait_does_not_hide_what_was_asked():
    at = desk(stage=Stage.SETTLE)
    async with spoken(at) as bench:
        await bench.rig.enter("0 10")
        await bench.hear("far nine point five", decision="ask")
        at._clock.s += 600
        bench.rig.screen.beat()
        assert "Yes or no?" in bench.message
        assert "wait over" in bench.rig.pane("title")
        assert ("advice", "The wait is over: settle.") in bench.talk.said
        await bench.hear("yes")
        assert ReadingTaken(FAR, Axis.ALONG, 9.5) in bench.happened


async def test_mute_and_listen_by_voice_and_by_key():
    async with spoken() as bench:
        await bench.hear("mute")
        assert "◐ microphone muted" in bench.rig.pane("links")
        await bench.rig.enter("0*")
        assert "● microphone listening" in bench.rig.pane("links")
        await bench.rig.enter("0/")
        assert "◐ microphone muted" in bench.rig.pane("links")


async def test_the_light_says_how_the_microphone_stands():
    async with spoken(size=(120, 30), keep_recordings=True) as bench:
        bench.talk.microphone._told(Level(-18.0, -25.0))
        await bench.rig.pilot.pause()
        assert "● microphone listening ▆ too noisy RECORDING" in bench.rig.pane("links")
        bench.talk.microphone._told(Problem("no microphone", "There is none.", "Keys.", "Plug in."))
        await bench.rig.pilot.pause()
        assert "○ microphone none  " in bench.rig.pane("links")
        assert bench.message == "! There is none. Keys. Plug in."
        bench.talk.microphone._died(1)
        await bench.rig.pilot.pause()
        assert "■ MICROPHONE stopped" in bench.rig.pane("links")


async def test_the_key_to_talk_opens_the_ear_for_one_phrase():
    async with spoken(push_to_talk=True) as bench:
        bench.rig.screen.repaint()
        assert "◐ microphone waits for its key" in bench.rig.pane("links")
        await bench.rig.pilot.press("f9")
        assert "● microphone listening" in bench.rig.pane("links")
        await bench.hear("left three clicks")
        assert "◐ microphone waits for its key" in bench.rig.pane("links")


async def test_after_the_end_nothing_is_heard():
    async with spoken() as bench:
        await bench.hear("close the session", "yes")
        assert bench.rig.state.closed
        said = len(bench.talk.said)
        await bench.hear("far nine point five")
        assert len(bench.talk.said) == said


async def test_advice_that_needs_an_action_now_is_said_once():
    async with spoken(desk(stage=Stage.FINAL_TENSION)) as bench:
        for intent in (Read(FAR, 21.0), Turn(FAR, 8), Mark()):
            bench.rig.screen.take(intent, Source.KEYPAD, "")
            bench.rig.screen.repaint()
            await bench.rig.advised()
        first = bench.rig.view.advice[0]
        assert first.severity.value in ("stop", "care")
        assert [tone for tone, _ in bench.talk.said].count("advice") == 1
        assert bench.talk.said[-1] == ("advice", first.do)


async def test_each_caution_before_the_glue_is_said_and_acknowledged_by_voice():
    at = desk(stage=Stage.ADHESIVE)
    async with spoken(at) as bench:
        cautions = [check.text for check in open_checks(at.bench.state) if check.caution]
        for text in cautions:
            await bench.rig.advised()
            assert ("advice", text) in bench.talk.said
            assert text not in [t.what.text for t in ticks(at)]
            await bench.hear("understood")
        assert [t.what.text for t in ticks(at)] == cautions
        assert {t.source for t in ticks(at)} == {Source.VOICE}


def ticks(at: Desk) -> list[Event]:
    return [event for event in events(at) if isinstance(event.what, CheckTicked)]


@pytest.mark.parametrize(
    ("level", "bar"), [(None, ""), (-90, " "), (-60, " "), (-39, "▃"), (-4, "█"), (0, "█")]
)
def test_the_level_as_one_character(level: float | None, bar: str):
    assert level_bar(level) == bar


@pytest.mark.parametrize(
    ("noise", "word"), [(None, ""), (-60, ""), (-40, "noisy"), (-20, "too noisy")]
)
def test_the_noise_in_a_word(noise: float | None, word: str):
    assert noise_words(noise) == word


def test_every_standing_has_a_light():
    missing = {standing for standing in Standing if standing not in _MICROPHONE_LIGHTS}
    assert missing == {
        Standing.OFF,
        Standing.NO_PORTAUDIO,
        Standing.NO_MICROPHONE,
        Standing.NO_EAR,
    }
    assert Light.NONE not in _MICROPHONE_LIGHTS.values()


@pytest.fixture
def gauge(tmp_path: Path) -> Iterator[PtyGauge]:
    gauge = PtyGauge(tmp_path / "gauge")
    gauge.plug()
    yield gauge
    gauge.unplug()


async def until(bench: Spoken, true: Callable[[], bool]) -> None:
    deadline = time.monotonic() + 20
    while not true():
        assert time.monotonic() < deadline, bench.rig.shown()
        await asyncio.sleep(0.005)
        await bench.rig.pilot.pause()


async def test_a_place_alone_takes_the_value_of_the_gauge(gauge: PtyGauge):
    attached = Attached(gauge.path, BUTTON, History())
    async with spoken(attached=attached) as bench:
        await until(bench, lambda: bench.talk.waits.gauge)
        said = len(bench.talk.said)
        await bench.hear("far")
        assert "far: waiting for the gauge" in bench.rig.pane("entry")
        assert len(bench.talk.said) == said
        gauge.send(b"9.5 N/cm\r\n")
        await until(bench, lambda: ReadingTaken(FAR, Axis.ALONG, 9.5) in bench.happened)
        assert bench.talk.said[said:] == [("taken", "far, nine point five")]
        gauge.send(b"9.7 N/cm\r\n")
        await until(bench, lambda: "at which station?" in bench.rig.pane("entry"))
        await bench.hear("near along")
        assert bench.happened[-1] == ReadingTaken(Station.NEAR, Axis.ALONG, 9.7)


async def test_a_number_said_after_the_place_is_the_reading_and_the_gauge_is_not_waited_for(
    gauge: PtyGauge,
):
    async with spoken(attached=Attached(gauge.path, BUTTON, History())) as bench:
        await until(bench, lambda: bench.talk.waits.gauge)
        await bench.hear("far", "far nine point five")
        assert bench.happened[-1] == ReadingTaken(FAR, Axis.ALONG, 9.5)
        assert "waiting" not in bench.rig.pane("entry")


async def test_without_a_gauge_a_place_alone_is_nothing():
    async with spoken() as bench:
        assert (bench.talk.waits.gauge, len(bench.talk.waits.places)) == (False, 9)
        before = list(bench.happened)
        await bench.hear("far")
        assert bench.happened == before
        assert "wants a gauge on a wire" in bench.message
