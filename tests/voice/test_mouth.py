"""The mouth's process from inside, and the bench's side of it."""

from __future__ import annotations

import shutil
import threading
from typing import Any

import numpy as np
import pytest

from benchterm.voice.mouth import Mouth
from benchterm.voice.portaudio import NoSound
from benchterm.voice.speak import DIED, NO_WORDS, Speaking
from benchterm.voice.synths import SILENCE, Espeak, Hibari, Sound, synths
from benchterm.voice.wire import Hush, Problem, Said, Say, Voice, Voiced

RATE = 8_000


class Beeper:
    """Speaks one language, a tenth of a second a letter."""

    name = "beeper"

    def speak(self, text: str, language: str, speed: float) -> Sound:
        if language != "en":
            return SILENCE
        return np.full(round(len(text) * RATE / 10 / speed), 0.5, np.float32), RATE


class Speaker:
    """Keeps what is played; can be missing for a while."""

    def __init__(self) -> None:
        self.played: list[tuple[int, float]] = []
        self.missing = 0
        self.during: Any = lambda: None

    def play(self, samples: np.ndarray, rate: int, hushed: threading.Event) -> None:
        del rate
        if self.missing:
            self.missing -= 1
            raise NoSound("no speaker", "There is no speaker.", works="Screen.", todo="Plug in.")
        self.during()
        if not hushed.is_set():
            self.played.append((len(samples), float(np.abs(samples).max())))


class At:
    """A mouth that is run to its end on what it was asked for."""

    def __init__(self, *engines: Any, **given: Any) -> None:
        self.told: list[Any] = []
        self.speaker = Speaker()
        self.looks = 0
        self.mouth = Mouth(Voice(**given), self.told.append, engines, self.speaker, self._look)

    def _look(self) -> None:
        self.looks += 1

    def run(self, *orders: Any) -> None:
        for order in orders:
            self.mouth.order(order)
        self.mouth._wanted.put(None)
        assert self.mouth.run() == 0


def test_tone_and_words_are_played_and_told_to_be_over():
    at = At(Beeper(), volume=0.4)
    at.run(Say(1, "", "far"), Say(2, "taken", "far"), Say(3, "taken", ""))
    assert at.told == [Voiced(("beeper",)), Said(1), Said(2), Said(3)]
    (far, loud), (both, _), (tone, _) = at.speaker.played
    assert far == 0.3 * RATE
    assert loud == pytest.approx(0.2)
    assert both > far
    assert tone > 0


def test_speed():
    at = At(Beeper(), speed=2.0)
    at.run(Say(1, "", "far"))
    assert at.speaker.played[0][0] == 0.15 * RATE


def test_without_an_engine_for_the_language_there_is_the_tone():
    at = At(Beeper())
    at.run(Say(1, "taken", "둘", "ko"), Say(2, "", "둘", "ko"))
    assert len(at.speaker.played) == 1
    assert at.told[1:] == [Said(1), Said(2)]


def test_what_is_hushed_is_broken_off_and_what_waited_is_not_said():
    at = At(Beeper())
    at.speaker.during = lambda: at.mouth.order(Hush())
    at.run(Say(1, "", "far"), Say(2, "", "near"))
    assert at.speaker.played == []
    assert at.told[1:] == [Said(1), Said(2)]


def test_what_is_asked_for_after_a_hush_is_said():
    at = At(Beeper())
    at.run(Say(1, "", "far"), Hush(), Say(2, "", "near"))
    assert [length for length, _ in at.speaker.played] == [0.4 * RATE]


def test_a_missing_speaker_is_looked_for_and_told_once():
    at = At(Beeper())
    at.speaker.missing = 4
    at.run(*(Say(n, "", "far") for n in (1, 2, 3)))
    assert [type(one) for one in at.told] == [Voiced, Problem, Said, Said, Said]
    assert len(at.speaker.played) == 1


def test_a_speaker_that_is_back_is_found_at_once():
    at = At(Beeper())
    at.speaker.missing = 1
    at.run(Say(1, "", "far"))
    assert at.looks == 1
    assert len(at.speaker.played) == 1


# The engines.


def test_hibari_speaks_english_only():
    pytest.importorskip("hibari")
    sound, rate = Hibari().speak("far, two two point five", "en", 1.0)
    assert 1 < len(sound) / rate < 4
    assert np.abs(sound).max() > 0.1
    assert Hibari().speak("둘", "ko", 1.0) == SILENCE


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed")
@pytest.mark.parametrize(("language", "speaks"), [("en", True), ("ko", True), ("xx", False)])
def test_espeak_speaks_many(language: str, speaks: bool):
    sound, _ = Espeak().speak("22", language, 1.0)
    assert (len(sound) > 0) is speaks


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed")
def test_faster_is_shorter():
    slow, fast = (Espeak().speak("far, two two point five", "en", s)[0] for s in (1.0, 2.0))
    assert len(fast) < 0.8 * len(slow)


def test_engines_that_are_not_there_are_passed_over(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(shutil, "which", lambda _: None)
    assert [one.name for one in synths("espeak-ng")] == []
    assert synths("tones") == synths("none") == ()


# The bench's side.


class Bench:
    def __init__(self, engine: str = "auto") -> None:
        self.speaking: list[bool] = []
        self.troubles: list[str] = []
        self.sent: list[Any] = []
        self.mouth = Speaking(
            Voice(engine), speaking=self.speaking.append, trouble=self.troubles.append
        )
        self.mouth._process.send = lambda line: self.sent.append(line) or True  # type: ignore[method-assign]


def test_the_ear_is_shut_before_the_first_word_and_opened_after_the_last():
    bench = Bench()
    bench.mouth._told(Voiced(("hibari",)))
    bench.mouth.say("taken", "far")
    bench.mouth.say("advice", "near")
    assert bench.speaking == [True, True]
    bench.mouth._told(Said(1))
    assert bench.speaking == [True, True]
    bench.mouth._told(Said(2))
    assert bench.speaking == [True, True, False]
    assert bench.sent == [Say(1, "taken", "far"), Say(2, "advice", "near")]


def test_a_mouth_that_dies_leaves_the_ear_open_and_is_told_once():
    bench = Bench()
    bench.mouth._told(Voiced(("hibari",)))
    bench.mouth.say("taken", "far")
    bench.mouth._died(1)
    bench.mouth._died(1)
    assert bench.speaking[-1] is False
    assert bench.troubles == [DIED]
    bench.mouth.say("taken", "far")  # It is not ready again yet: shown only.
    assert len(bench.sent) == 1


@pytest.mark.parametrize(
    ("engine", "engines", "sent", "troubles"),
    [
        ("auto", (), [Say(1, "taken", "far")], [NO_WORDS]),
        ("tones", (), [Say(1, "taken", "")], []),
        ("none", (), [], []),
    ],
)
def test_without_words_there_are_tones_and_without_tones_silence(engine, engines, sent, troubles):
    bench = Bench(engine)
    bench.mouth._told(Voiced(engines))
    bench.mouth.say("taken", "far")
    assert (bench.sent, bench.troubles) == (sent, troubles)


def test_hushing_is_sent_only_while_it_speaks():
    bench = Bench()
    bench.mouth._told(Voiced(("hibari",)))
    bench.mouth.hush()
    bench.mouth.say("", "far")
    bench.mouth.hush()
    assert bench.sent == [Say(1, "", "far"), Hush()]
