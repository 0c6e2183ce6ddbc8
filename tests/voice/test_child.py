"""The ear's process from inside, with a microphone that is played by hand and a clock to jump."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from voice.standins import ByLoudness, Scripted, joined, silence, tone

from benchterm.errors import BenchError
from benchterm.phrases.grammar import Grammar
from benchterm.voice.accept import Acceptance
from benchterm.voice.child import AFTER_SPEAKING_S, LONGEST_SPEECH_S, NO_BLOCK_S, Child
from benchterm.voice.endpoint import Endpointer
from benchterm.voice.engine import RATE, Samples
from benchterm.voice.listener import Listener
from benchterm.voice.portaudio import NoSound
from benchterm.voice.recordings import Tape
from benchterm.voice.understand import Pending, Understanding
from benchterm.voice.wire import (
    Began,
    Key,
    Level,
    Listening,
    Looking,
    Mute,
    Problem,
    Ready,
    Speaking,
    Uttered,
    Waits,
)

BLOCK = 512
SAID = joined([silence(0.5), tone(0.6), silence(1.2)])


class Hearing:
    """Hears what it is told to hear."""

    def __init__(self, english: Grammar, *words: str) -> None:
        self.engine = Scripted(*words)
        self._understanding = Understanding(english)

    def listener(self) -> Listener:
        return Listener(
            self.engine, self._understanding, Acceptance.load(), Endpointer(ByLoudness())
        )


class Hand:
    """A microphone whose sound comes from the test, and a child that hears it."""

    def __init__(self, english: Grammar, *words: str, **given: Any) -> None:
        self.now_s = 0.0
        self.told: list[Any] = []
        self.problems: list[BenchError] = []
        """What opening it runs into, one after the other."""
        self.opened = 0
        self.looked = 0
        self.hangs = False
        self._rate = given.pop("rate", RATE)
        self._put: Callable[[bytes], object] = lambda _: None
        self._over: Callable[[], object] = lambda: None
        self.child = Child(
            Listening("en", **given),
            self.told.append,
            lambda _: Hearing(english, *words),  # type: ignore[arg-type,return-value]
            self,
            self._look_again,
            self._clock,
        )
        self.code: int | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)

    def open(
        self, name: str, put: Callable[[bytes], object], over: Callable[[], object]
    ) -> tuple[str, int]:
        del name
        if self.problems:
            raise self.problems.pop(0)
        self._put, self._over = put, over
        self.opened += 1
        return "by hand", self._rate

    def close(self) -> bool:
        return not self.hangs

    def _look_again(self) -> None:
        self.looked += 1

    def _clock(self) -> float:
        return self.now_s

    def _run(self) -> None:
        self.code = self.child.run()

    def start(self, a_look_s: float = 0.0) -> None:
        """Begin, and wait until it is ready; so much time passes between looks."""
        self._thread.start()

        def is_ready() -> list[Any]:
            self.now_s += a_look_s
            return self.of(Ready)

        self.until(is_ready)

    def until(self, done: Callable[[], object]) -> None:
        """Wait for the child's thread."""
        for _ in range(2000):
            if done():
                return
            self._thread.join(0.005)
        raise AssertionError(f"never: {self.told[-3:]}")

    def of(self, kind: type) -> list[Any]:
        return [one for one in self.told if isinstance(one, kind)]

    def hear(self, samples: Samples) -> None:
        """Give it sound in blocks; each takes as long as it lasts."""
        for at in range(0, len(samples), BLOCK):
            block = samples[at : at + BLOCK]
            self.now_s += len(block) / self._rate
            self._put((block * 32767).astype(np.int16).tobytes())
            self.until(self.child._blocks.empty)

    def order(self, order: Any) -> None:
        self.child.order(order)
        self.until(self.child._orders.empty)

    def lose(self) -> None:
        self._over()

    def stop(self) -> None:
        self.child.stop()
        self._thread.join(5)
        assert not self._thread.is_alive()


@pytest.fixture
def hand(english: Grammar) -> Iterator[Callable[..., Hand]]:
    made: list[Hand] = []

    def make(*words: str, **given: Any) -> Hand:
        made.append(Hand(english, *words, **given))
        return made[-1]

    yield make
    for one in made:
        one.stop()


def test_what_is_said_is_told_with_its_meaning_and_times(hand: Callable[..., Hand]):
    ear = hand("far twenty two point five")
    ear.start()
    ear.hear(SAID)
    ear.until(lambda: ear.of(Uttered))
    (said,) = ear.of(Uttered)
    assert (said.words, said.decision) == ("far twenty two point five", "sure")
    assert said.slots.value == pytest.approx(22.5)
    assert said.begin_s == pytest.approx(0.5, abs=0.1)
    assert said.end_s == pytest.approx(1.1, abs=0.1)
    assert said.behind_s == pytest.approx(said.closed_s - said.end_s, abs=0.1)
    assert ear.of(Began)
    assert ear.told.index(ear.of(Began)[0]) < ear.told.index(said)


def test_the_level_is_told_while_it_listens(hand: Callable[..., Hand]):
    ear = hand("mark")
    ear.start()
    ear.hear(tone(1.0, level=0.5))
    ear.until(lambda: ear.of(Level))
    assert 3 <= len(ear.of(Level)) <= 6
    assert ear.of(Level)[-1].level_db == pytest.approx(-9, abs=0.5)


def test_sound_of_another_rate_is_heard_as_well(hand: Callable[..., Hand]):
    ear = hand("mark", rate=3 * RATE)
    ear.start()
    ear.hear(np.repeat(SAID, 3))
    ear.until(lambda: ear.of(Uttered))
    assert ear.of(Uttered)[0].end_s == pytest.approx(1.1, abs=0.1)


def test_muted_it_tells_of_nothing_but_the_word_that_ends_it(hand: Callable[..., Hand]):
    ear = hand("far twenty two", "far twenty two", "listen", "listen", "mark")
    ear.start()
    ear.order(Mute(on=True))
    ear.hear(SAID)
    assert not ear.of(Uttered)
    assert not ear.of(Began)


def test_muted_it_hears_listen(hand: Callable[..., Hand]):
    ear = hand("listen")
    ear.start()
    ear.order(Mute(on=True))
    ear.hear(SAID)
    ear.until(lambda: ear.of(Uttered))
    assert ear.of(Uttered)[0].words == "listen"


def test_while_the_bench_speaks_it_hears_nothing(hand: Callable[..., Hand]):
    ear = hand("far twenty two")
    ear.start()
    ear.order(Speaking(on=True))
    ear.hear(SAID)
    ear.order(Speaking(on=False))
    ear.hear(joined([tone(AFTER_SPEAKING_S - 0.05), silence(1.5)]))
    assert not ear.of(Uttered)
    ear.hear(SAID)
    ear.until(lambda: ear.of(Uttered))


def test_what_the_bench_talked_into_is_not_believed(hand: Callable[..., Hand]):
    ear = hand("far twenty two")
    ear.start()
    ear.hear(joined([silence(0.5), tone(0.5)]))
    ear.order(Speaking(on=True))
    ear.order(Speaking(on=False))
    ear.hear(silence(2.0))
    assert not ear.of(Uttered)


def test_a_mouth_that_never_ends_does_not_shut_the_ear_for_ever(hand: Callable[..., Hand]):
    ear = hand("far twenty two")
    ear.start()
    ear.order(Speaking(on=True))
    ear.hear(silence(0.1))
    ear.now_s += LONGEST_SPEECH_S
    ear.hear(SAID)
    ear.until(lambda: ear.of(Uttered))


def test_with_a_key_to_talk(hand: Callable[..., Hand]):
    ear = hand("mark", push_to_talk=True)
    ear.start()
    ear.hear(SAID)
    assert not ear.of(Uttered)
    ear.order(Key(down=True))
    ear.hear(joined([silence(0.3), tone(0.6)]))
    assert not ear.of(Uttered)
    ear.order(Key(down=False))
    ear.hear(silence(0.1))
    ear.until(lambda: ear.of(Uttered))


def test_a_number_alone_counts_where_the_bench_waits_for_one(hand: Callable[..., Hand]):
    ear = hand("twenty two point five")
    ear.start()
    ear.hear(SAID)
    ear.until(lambda: len(ear.of(Uttered)) == 1)
    ear.order(Waits(8, question=False))
    ear.hear(SAID)
    ear.until(lambda: len(ear.of(Uttered)) == 2)
    assert [one.decision for one in ear.of(Uttered)] == ["reject", "sure"]


def test_what_is_heard_is_kept_if_asked_for(hand: Callable[..., Hand], tmp_path: Path):
    ear = hand("mark", recordings=str(tmp_path))
    ear.start()
    ear.hear(SAID)
    ear.until(lambda: ear.of(Uttered))
    assert Path(ear.of(Uttered)[0].recording).is_file()


def none_there() -> NoSound:
    return NoSound("no microphone", "There is no microphone.", works="Keys.", todo="Plug one in.")


def test_a_missing_microphone_is_told_once_and_looked_for(hand: Callable[..., Hand]):
    ear = hand("mark")
    ear.problems = [none_there() for _ in range(5)]
    ear.start(a_look_s=3.0)
    assert [(p.kind, p.todo) for p in ear.of(Problem)] == [("no microphone", "Plug one in.")]
    assert ear.looked == 5
    assert len(ear.of(Looking)) == 5  # Silence would be taken for hanging.


@pytest.mark.parametrize("how", ["ended", "silent"])
def test_a_microphone_that_is_lost_and_comes_back(hand: Callable[..., Hand], how: str):
    ear = hand("mark")
    ear.start()
    ear.hear(silence(0.3))
    if how == "ended":
        ear.lose()
    else:
        ear.now_s += NO_BLOCK_S + 0.1
    ear.until(lambda: len(ear.of(Ready)) == 2)
    assert [p.kind for p in ear.of(Problem)] == ["lost"]
    assert (ear.opened, ear.looked) == (2, 1)
    ear.hear(SAID)
    ear.until(lambda: ear.of(Uttered))


def test_a_device_that_hangs_ends_the_process(hand: Callable[..., Hand]):
    ear = hand("mark")
    ear.start()
    ear.hangs = True
    ear.lose()
    ear.until(lambda: ear.code is not None)
    assert ear.code == 1


def test_two_hours_of_silence_say_nothing_and_pile_nothing_up(english: Grammar):
    listener = Hearing(english, "mark").listener()
    tape = Tape("", keep_days=7)
    ten_seconds = silence(10.0)
    for _ in range(720):
        tape.add(ten_seconds)
        assert not list(listener.feed(ten_seconds, Pending()))
    assert tape.length_s == 7200
    kept = [len(one) for one in vars(listener.endpointer).values() if hasattr(one, "__len__")]
    assert max(kept) < 1000
    assert list(listener.feed(SAID, Pending()))
