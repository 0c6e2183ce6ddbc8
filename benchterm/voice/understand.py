"""From scored word sequences to what was most likely meant.

Sequences that mean the same are added up. What the bench expects a value to be weighs in, but
weakly: it may put one understanding before another, it never makes up one that was not heard.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from math import log

import numpy as np

from benchterm.core.stations import Station
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import Slots, fill
from benchterm.voice.engine import Recognition, Words

PRIOR_WEIGHT = 0.3
"""Of the expectation against the sound; stronger weights damage true outliers."""
PRIOR_FLOOR = log(0.01)
USUAL_SD = 1.5
"""Scatter of a value around what is expected, N/cm, where nothing better is known."""

MOST = 8.0
"""Margin where there is nothing else to choose, and the most that any margin counts."""


@dataclass(frozen=True, slots=True)
class Likely:
    """What a value is expected to be, N/cm."""

    value: float
    sd: float = USUAL_SD

    def log_prior(self, value: float) -> float:
        """Logarithm of how well a value agrees, from 0 down to ``PRIOR_FLOOR``."""
        return max(PRIOR_FLOOR, -0.5 * ((value - self.value) / self.sd) ** 2)


class Kind(Enum):
    """What a phrase needs in order to count; thresholds differ by it."""

    PLACED = "placed"
    """It names a station."""
    BARE = "bare"
    """A number or clicks alone: a station must be pending."""
    ANSWER = "answer"
    """Yes, no, a choice: a question must be pending."""
    CONTROL = "control"
    """Anything else."""


@dataclass(frozen=True, slots=True)
class Pending:
    """What the bench is waiting for while it listens."""

    station: Station | None = None
    """Where the next number is expected."""
    question: bool = False
    """Whether a question is open."""
    gauge: bool = False
    """Whether a gauge on a wire can give the value of a place that is named alone."""
    likely: Callable[[Slots], Likely | None] = lambda _: None
    """What the value of a phrase is expected to be."""


@dataclass(frozen=True, slots=True)
class Understood:
    """One understanding of a stretch of speech."""

    words: Words
    slots: Slots
    kind: Kind
    score: float
    """Of all words which mean this, and of the expectation."""
    log_prior: float
    weakest: float

    @property
    def text(self) -> str:
        """The words in one line."""
        return " ".join(self.words)


class Understanding:
    """Knows the grammar, and ranks what may have been meant."""

    def __init__(self, grammar: Grammar) -> None:
        self._grammar = grammar

    def rank(self, recognition: Recognition, pending: Pending) -> tuple[Understood, ...]:
        """What may have been meant, likeliest first."""
        ranked: list[Understood] = []
        for hypothesis in recognition.hypotheses:
            for slots in self.slots(hypothesis.words):
                for i, other in enumerate(ranked):
                    if other.slots == slots:
                        ranked[i] = _joined(other, hypothesis.score)
                        break
                else:
                    ranked.append(
                        Understood(
                            hypothesis.words,
                            slots,
                            _kind(slots),
                            hypothesis.score,
                            _log_prior(slots, pending),
                            hypothesis.weakest,
                        )
                    )
        return tuple(sorted(ranked, key=lambda u: -u.score - PRIOR_WEIGHT * u.log_prior))

    def slots(self, words: Words) -> list[Slots]:
        """What words say, each way to understand them once."""
        found: list[Slots] = []
        for tags in self._grammar.parse(words).meanings:
            slots = fill(tags)
            if slots not in found:
                found.append(slots)
        return found

    def may_go_on(self, words: Words) -> bool:
        """Whether a number may follow, so that a pause need not be the end."""
        return not self._grammar.number_words.isdisjoint(self._next(words))

    def may_begin(self, words: Words) -> bool:
        """Whether words may be the beginning of a phrase."""
        return bool(words) and bool(self._next(words))

    def only_begun(self, words: Words) -> bool:
        """Whether words are the beginning of a phrase: no phrase yet, or a place alone."""
        whole = any(slots.do != "name" for slots in self.slots(words))
        return not whole and self.may_begin(words)

    def _next(self, words: Words) -> tuple[str, ...]:
        """The words that may come next; none if these begin nothing."""
        automaton = self._grammar.automaton
        state: int | None = automaton.start
        for word in words:
            state = None if state is None else automaton.next(state, word)
        return () if state is None else automaton.words(state)


def _joined(one: Understood, score: float) -> Understood:
    return replace(one, score=float(np.logaddexp(one.score, score)))


def _log_prior(slots: Slots, pending: Pending) -> float:
    if slots.do not in ("read", "turn") or slots.value is None:
        return 0.0
    likely = pending.likely(slots)
    return 0.0 if likely is None else likely.log_prior(float(slots.value))


def _kind(slots: Slots) -> Kind:
    if slots.do in ("yes", "no", "choose"):
        return Kind.ANSWER
    if slots.station is not None:
        return Kind.PLACED
    return Kind.BARE if slots.do in ("read", "turn", "relieve") else Kind.CONTROL


def margin(ranked: Sequence[Understood]) -> float:
    """How far the first understanding leads the second."""
    if len(ranked) < 2:
        return MOST
    first, second = (u.score + PRIOR_WEIGHT * u.log_prior for u in ranked[:2])
    return min(MOST, first - second)
