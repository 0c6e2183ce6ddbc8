"""A bench that is spoken to: its ear, its mouth, and what passes between them."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import Any

from benchterm.config import Voice as Wanted
from benchterm.core.state import State
from benchterm.errors import BenchError
from benchterm.phrases.grammar import Grammar
from benchterm.voice.accept import Tuning
from benchterm.voice.conversation import Conversation, waits_for
from benchterm.voice.expectations import places
from benchterm.voice.microphone import Microphone, News, Standing
from benchterm.voice.saying import Spoken, Wording
from benchterm.voice.speak import Speaking
from benchterm.voice.wire import Level, Listening, Problem, Voice, Waits

KEPT = 64
"""News that wait to be fetched; far more than a person can say."""
TALK_S = 6.0
"""The key to talk opens the ear for so long, or for one phrase."""


class Talk:
    """One microphone and one speaker at one bench. Fetched from by one thread only."""

    def __init__(
        self,
        wanted: Wanted,
        grammar: Grammar,
        language: str,
        recordings: Path,
        tuning: Tuning | None = None,
    ) -> None:
        """Nothing starts yet.

        Args:
            wanted: the shop's settings.
            grammar: what can be said.
            language: its name, for the ear.
            recordings: where what is heard is kept, if the settings ask for it.
            tuning: to the operator; ``None``: as shipped.
        """
        tuning = tuning or Tuning()
        self.wanted = wanted
        self.wording = _wording(grammar)
        self._news: deque[News] = deque(maxlen=KEPT)
        self._wake: Callable[[], None] = lambda: None
        self._talk_until_s: float | None = None
        self._lock = threading.Lock()
        self.microphone = Microphone(
            Listening(
                language=language,
                engine=wanted.engine,
                model=wanted.model,
                sha256=wanted.sha256,
                shift=tuning.shift,
                scale=tuning.scale,
                device=wanted.input,
                push_to_talk=wanted.push_to_talk,
                recordings=str(recordings) if wanted.keep_recordings else "",
                keep_days=wanted.keep_days,
            ),
            self._put,
        )
        self.mouth = Speaking(
            Voice(wanted.speech, wanted.output, wanted.volume, wanted.speed),
            speaking=lambda on: self.microphone.shut(speaking=on),
            trouble=lambda text: self._put(Problem("speech", text)),
        )

    def start(self, wake: Callable[[], None]) -> None:
        """Begin; ``wake`` is called, from another thread, when there is news to fetch."""
        self._wake = wake
        self.microphone.start()
        self.mouth.start()

    def stop(self) -> None:
        """End."""
        self.mouth.stop()
        self.microphone.stop()

    def fetch(self) -> list[News]:
        """The news since the last time."""
        with self._lock:
            news = list(self._news)
            self._news.clear()
        return news

    def say(self, spoken: Spoken) -> None:
        """Say something after what is being said."""
        self.mouth.say(spoken.tone, spoken.text, spoken.language)

    def hush(self) -> None:
        """Say no more."""
        self.mouth.hush()

    def mute(self, *, on: bool) -> None:
        """Hear nothing but the word that ends this, or all again."""
        self.microphone.mute(on=on)

    def expect(self, state: State, talk: Conversation, now_s: float, *, gauge: bool) -> None:
        """Tell the ear what the bench waits for; whether a gauge waits for a place, too."""
        station, question = waits_for(state, talk, now_s)
        number = None if station is None else int(station)
        self.microphone.expect(Waits(number, question, gauge, places(state)))

    def press(self, now_s: float) -> None:
        """The key to talk was pressed: the ear is open for one phrase.

        A terminal does not tell when a key is let go, so a key that is held down just presses on.
        """
        self.hush()
        if self._talk_until_s is None:
            self.microphone.talk(down=True)
        self._talk_until_s = now_s + TALK_S

    def pass_time(self, now_s: float) -> None:
        """The ear that the key opened is shut when nobody has spoken."""
        if self._talk_until_s is not None and now_s > self._talk_until_s:
            self.heard()

    def heard(self) -> None:
        """A phrase was heard: the ear that the key opened is shut."""
        if self._talk_until_s is not None:
            self._talk_until_s = None
            self.microphone.talk(down=False)

    def _put(self, news: Any) -> None:
        with self._lock:
            if isinstance(news, Level) and self._news and isinstance(self._news[-1], Level):
                self._news.pop()
            self._news.append(news)
        self._wake()


def noise_words(noise_db: float | None) -> str:
    """A plain word about the noise; empty: nothing to say.

    The limits are common practice, no source: a headset or a desk microphone of usual gain shows a
    quiet room below -55 dB.
    """
    if noise_db is None or noise_db < -45:
        return ""
    return "noisy" if noise_db < -30 else "too noisy"


def _wording(grammar: Grammar) -> Wording | None:
    try:
        return Wording(grammar)
    except (BenchError, StopIteration):
        return None  # Shown, not spoken.


__all__ = ["Standing", "Talk", "noise_words"]
