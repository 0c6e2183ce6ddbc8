"""Listens to a stream of sound and tells what was said, as soon as that is clear.

A pause is decoded at once, while it may still turn out to be none: if nobody goes on speaking the
answer is there when the pause has lasted long enough. It must last longer where it was not clear
what was said, and where a number may yet follow: the more so, the more slowly somebody speaks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np

from benchterm.voice.accept import Acceptance, Decision, Figures, Verdict, figures
from benchterm.voice.endpoint import FRAME, KEPT_S, Endpointer, Segment
from benchterm.voice.engine import Engine, Recognition, Samples
from benchterm.voice.understand import Kind, Pending, Understanding, Understood

OF_IT = "a place came just before it"
"""Why a number is asked back that was clear in itself."""


@dataclass(frozen=True, slots=True)
class Patience:
    """How long to wait, seconds."""

    glances_s: tuple[float, ...] = (0.2, 0.4)
    """Pauses of these lengths are decoded."""
    short_s: float = 0.35
    """It ends a phrase that is clear and to which no number can be added."""
    long_s: float = 0.45
    """It ends a phrase that is not clear, or may be added to and was spoken fluently."""
    words: float = 1.15
    """Whoever speaks slowly adds within this many times the time that a word took so far."""
    alone_s: float = 0.95
    """It ends a number of one word, which tells no pace yet."""
    longest_s: float = 1.1
    """It ends any phrase."""
    most_s: float = 6.0
    """Longest stretch of speech."""
    again_s: float = 0.45
    """Who speaks again so soon after the end of a phrase may go on with it."""


@dataclass(frozen=True, slots=True)
class Heard:
    """One stretch of speech and what became of it."""

    recognition: Recognition
    ranked: tuple[Understood, ...]
    """What may have been meant, likeliest first; empty: nothing was understood."""
    figures: Figures | None
    confidence: float
    verdict: Verdict
    begin_s: float
    end_s: float
    """Where in the stream somebody spoke."""
    closed_s: float
    """Where in the stream the stretch was taken to be over."""
    decode_s: float
    """Time that the last decoding took."""
    speech_db: float
    noise_db: float
    goes_on: bool = False
    """Whether it holds the one before too, which was not sure and is thereby withdrawn."""


class Listener:
    """Follows one stream of sound."""

    def __init__(
        self,
        engine: Engine,
        understanding: Understanding,
        acceptance: Acceptance,
        endpointer: Endpointer,
        patience: Patience | None = None,
    ) -> None:
        self._engine = engine
        self._understanding = understanding
        self._acceptance = acceptance
        self.endpointer = endpointer
        self._patience = patience or Patience()
        self._rest: Samples = np.zeros(0, np.float32)
        self._glance: Heard | None = None
        self._glances = 0
        self._before: Heard | None = None
        """What was heard last, if it may be the beginning of what is being said."""
        self._first_s = 0.0
        """Where that began, with all that went before it in the same way."""
        self._begun = False
        """Whether some of it is the beginning of a phrase and no phrase yet, as a place alone."""

    def feed(self, samples: Samples, pending: Pending) -> Iterator[Heard]:
        """Take more of the stream; tells each phrase that has come to its end."""
        sound = np.concatenate((self._rest, samples))
        whole = len(sound) // FRAME * FRAME
        self._rest = sound[whole:]
        for frame in sound[:whole].reshape(-1, FRAME):
            self.endpointer.feed(frame)
            if self.endpointer.speaking and (heard := self._look(pending)) is not None:
                yield heard

    def finish(self, pending: Pending) -> Iterator[Heard]:
        """The stream ends, or the key is let go: whatever was begun is over."""
        if len(self._rest):
            yield from self.feed(np.zeros(FRAME - len(self._rest), np.float32), pending)
        if self.endpointer.speaking:
            yield self._close(pending)

    def _look(self, pending: Pending) -> Heard | None:
        quiet_s = self.endpointer.quiet_s
        if self.endpointer.length_s >= self._patience.most_s:
            return self._close(pending)
        if quiet_s == 0:
            self._glance = None
            self._glances = 0
        elif any(quiet_s >= at_s for at_s in self._patience.glances_s[self._glances :][:1]):
            self._glances += 1
            self._glance = self._weigh_all(pending)
        if self._glance is not None and quiet_s >= self._needed_s(self._glance):
            return self._close(pending)
        return None

    def _needed_s(self, glance: Heard) -> float:
        patience = self._patience
        first = glance.ranked[0] if glance.ranked else None
        if first is None or glance.figures is None:
            return patience.long_s
        if not self._understanding.may_go_on(first.words):
            sure = glance.verdict.decision is Decision.SURE
            return patience.short_s if sure else patience.long_s
        if first.kind is Kind.BARE and len(first.words) == 1:
            return patience.alone_s
        by_pace_s = patience.words * glance.figures.seconds_a_word
        return min(patience.longest_s, max(patience.long_s, by_pace_s))

    def _close(self, pending: Pending) -> Heard:
        heard = self._glance or self._weigh_all(pending)
        heard = replace(heard, closed_s=self.endpointer.now_s)
        self._glance = None
        self._glances = 0
        begun = self._understanding.only_begun(heard.recognition.free_words)
        if self._follows(heard):
            self._begun = self._begun or begun
        else:
            self._first_s, self._begun = heard.begin_s, begun
        # What was sure has been taken by now; it is not taken a second time as part of another.
        taken = heard.verdict.decision is Decision.SURE and heard.ranked[0].slots.do != "name"
        self._before = None if taken else heard
        self.endpointer.close()
        return heard

    def _weigh_all(self, pending: Pending) -> Heard:
        """Weigh the stretch alone, and with what came just before it: all of it, then the last."""
        alone = self.weigh(self.endpointer.segment(), pending)
        before = self._before
        if before is None or not self._follows(alone):
            return alone
        sure = alone.verdict.decision is Decision.SURE
        if sure and not self._begun:
            return alone
        decode_s = alone.decode_s
        for begin_s in dict.fromkeys((self._first_s, before.begin_s)):
            if alone.end_s - begin_s > KEPT_S - 1:
                continue
            whole = self.weigh(self.endpointer.segment(begin_s), pending)
            decode_s += whole.decode_s
            if whole.verdict.decision is not Decision.REJECT:
                return replace(whole, goes_on=True, decode_s=decode_s)
        if sure and alone.ranked[0].kind is Kind.BARE:
            alone = replace(alone, verdict=replace(alone.verdict, decision=Decision.ASK, why=OF_IT))
        return replace(alone, decode_s=decode_s)

    def _follows(self, heard: Heard) -> bool:
        """Whether it comes soon enough to go on with what was heard last."""
        before = self._before
        return before is not None and heard.begin_s - before.closed_s <= self._patience.again_s

    def weigh(self, segment: Segment, pending: Pending) -> Heard:
        """Recognise one stretch of speech and decide what becomes of it."""
        began = perf_counter()
        recognition = self._engine.recognise(segment.samples)
        decode_s = perf_counter() - began
        ranked = self._understanding.rank(recognition, pending)
        given = None
        confidence = 0.0
        verdict = Verdict(Decision.REJECT, None, "nothing was understood")
        if ranked:
            snr_db = segment.speech_db - segment.noise_db
            seconds = segment.end_s - segment.begin_s
            given = figures(recognition, ranked, seconds, snr_db)
            confidence = self._acceptance.confidence(given)
            verdict = self._acceptance.decide(ranked[0], given, pending)
        return Heard(
            recognition=recognition,
            ranked=ranked,
            figures=given,
            confidence=confidence,
            verdict=verdict,
            begin_s=segment.begin_s,
            end_s=segment.end_s,
            closed_s=segment.end_s,
            decode_s=decode_s,
            speech_db=segment.speech_db,
            noise_db=segment.noise_db,
        )
