"""The bench's side of hearing and speaking: processes started, restarted, ended."""

from __future__ import annotations

import os
import queue
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from benchterm.voice import process
from benchterm.voice.microphone import DIED, Microphone, Standing
from benchterm.voice.wire import Level, Listening, Problem, Ready, Waits

TESTS = Path(__file__).parents[1]
PUPPET = "voice.puppet"
SOON_S = 20


@pytest.fixture(autouse=True)
def _puppets(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", f"{TESTS}{os.pathsep}{TESTS.parent}")
    monkeypatch.setattr(process, "FIRST_WAIT_S", 0.01)


class At:
    """A microphone and what it told."""

    def __init__(self, **given: Any) -> None:
        self.news: queue.SimpleQueue[Any] = queue.SimpleQueue()
        self.microphone = Microphone(
            Listening(**({"language": "en"} | given)), self.news.put, PUPPET
        )

    def next(self, kind: type) -> Any:
        while not isinstance(one := self.news.get(timeout=SOON_S), kind):
            pass
        return one


@pytest.fixture
def at() -> Iterator[Callable[..., At]]:
    made: list[At] = []

    def make(**given: Any) -> At:
        made.append(At(**given))
        made[-1].microphone.start()
        return made[-1]

    yield make
    for one in made:
        one.microphone.stop()
        assert one.microphone.pid is None


def test_it_listens_once_it_is_ready(at):
    one = at()
    assert one.microphone.standing is Standing.STARTING
    assert one.next(Ready).engine == "en"
    assert one.microphone.standing is Standing.LISTENING


def test_a_killed_ear_is_told_once_and_started_again_with_what_it_was_told(at):
    one = at()
    one.next(Ready)
    for _ in range(2):
        os.kill(one.microphone.pid, signal.SIGKILL)
        assert one.next(Problem).what == DIED
        one.next(Ready)
    one.microphone.mute(on=True)
    assert one.next(Problem).kind == "no microphone"
    assert one.microphone.standing is Standing.NO_MICROPHONE
    os.kill(one.microphone.pid, signal.SIGKILL)
    one.next(Ready)
    assert one.next(Problem).kind == "no microphone"  # It was told again that it is muted.


def test_an_ear_that_dies_again_and_again_is_told_once_and_waited_for_longer(
    monkeypatch: pytest.MonkeyPatch,
):
    monkeypatch.setattr(process, "LONGEST_WAIT_S", 0.05)
    waits: list[float] = []
    one = At(language="dies")
    stop = one.microphone._process._stop
    wait = stop.wait
    monkeypatch.setattr(stop, "wait", lambda s: waits.append(s) or wait(s))
    one.microphone.start()
    one.next(Problem)
    while len(waits) < 5:
        wait(0.01)
    one.microphone.stop()
    assert one.news.empty()
    assert one.microphone._has_died
    assert waits[:5] == [0.02, 0.04, 0.05, 0.05, 0.05]


def test_an_ear_that_hangs_is_ended(at, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("benchterm.voice.microphone.SILENT_S", 0.5)
    one = at(language="hangs")
    assert one.next(Problem).what == DIED
    assert one.microphone.standing is Standing.DIED


def test_sending_never_waits_for_an_ear_that_does_not_read(at):
    one = at(language="hangs")
    while one.microphone.pid is None:
        pass
    before = one.microphone.pid
    for station in range(200_000):
        if not one.microphone._process.send(Waits(station)):
            break
    else:
        pytest.fail("a pipe took it all")
    assert one.next(Problem).what == DIED
    assert one.microphone.pid != before


def test_it_is_seen_to_be_shut_while_the_bench_speaks():
    microphone = Microphone(Listening("en"), lambda _: None)
    microphone._told(Ready("ear", "default", 16_000))
    microphone.shut(speaking=True)
    assert microphone.standing is Standing.SHUT
    microphone.shut(speaking=False)
    assert microphone.standing is Standing.LISTENING


@pytest.mark.parametrize(
    ("push", "talking", "muted", "standing"),
    [
        (False, False, False, Standing.LISTENING),
        (False, False, True, Standing.MUTED),
        (True, False, False, Standing.WAITING),
        (True, True, False, Standing.LISTENING),
        (True, True, True, Standing.MUTED),
    ],
)
def test_how_it_stands(push, talking, muted, standing):
    microphone = Microphone(Listening("en", push_to_talk=push), lambda _: None)
    assert microphone.standing is Standing.OFF
    microphone._told(Ready("ear", "default", 16_000))
    microphone.mute(on=muted)
    microphone.talk(down=talking)
    assert microphone.standing is standing


@pytest.mark.parametrize(
    ("kind", "standing"),
    [
        ("no portaudio", Standing.NO_PORTAUDIO),
        ("no microphone", Standing.NO_MICROPHONE),
        ("no ear", Standing.NO_EAR),
        ("lost", Standing.LOST),
    ],
)
def test_what_is_missing(kind: str, standing: Standing):
    microphone = Microphone(Listening("en"), lambda _: None)
    microphone._told(Ready("ear", "default", 16_000))
    microphone._told(Level(-20, -50))
    assert microphone.level_db == -20
    microphone._told(Problem(kind, "gone"))
    assert microphone.standing is standing
    assert microphone.level_db is None
