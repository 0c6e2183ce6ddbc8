"""How far to believe what was heard: sure, worth asking back, or not to be believed.

A logistic regression over a few figures of one recognition gives a confidence. Its weights and the
thresholds come from data; ``fit`` makes them, ``acceptance.json`` keeps them.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from enum import Enum
from math import exp, log
from pathlib import Path

from benchterm.errors import BenchError
from benchterm.phrases.meanings import NO_GAUGE, Meant, Named, Nonsense, mean
from benchterm.voice.engine import Recognition
from benchterm.voice.understand import Kind, Pending, Understood, margin

OWN_FILE = Path(__file__).with_name("acceptance.json")
VOSK_FILE = Path(__file__).with_name("acceptance_vosk.json")
"""For Vosk there were no recordings to fit to: it goes by the least confidence of a word alone, and
asks about every number alone, since short words were heard with full confidence in other talk."""

SURPRISE = -3.125
"""Log prior of a value 2.5 standard deviations away: it is asked back, however clear it was."""


class Decision(Enum):
    """What becomes of something heard."""

    SURE = "sure"
    ASK = "ask"
    REJECT = "reject"


@dataclass(frozen=True, slots=True)
class Figures:
    """What a confidence rests on; logarithms are natural, scores those of the engine."""

    score_a_word: float
    gap: float
    """Score behind that of hearing freely, a word."""
    margin: float
    """Lead before the second understanding, or before one that may not have been looked for."""
    weakest: float
    """The least likely word, behind what was likelier there."""
    strange: float
    """Share of the words, heard freely, that are not among those understood; or the reverse."""
    no_speech: float
    words: float
    seconds_a_word: float
    log_prior: float
    snr: float
    """Speech above noise, in units of 10 dB."""
    placed: float
    answer: float
    control: float
    """1 for a phrase of that kind."""

    def values(self) -> tuple[float, ...]:
        """The figures in a fixed order."""
        return tuple(getattr(self, name) for name in NAMES)


NAMES = tuple(Figures.__slots__)

_LOW = 6.0
"""Logarithms below this tell nothing more."""


def figures(
    recognition: Recognition, ranked: tuple[Understood, ...], seconds: float, snr_db: float
) -> Figures:
    """The figures of the first understanding."""
    first = ranked[0]
    count = len(first.words)
    return Figures(
        score_a_word=max(-_LOW, first.score / count),
        gap=max(-_LOW, (first.score - recognition.free_score) / count),
        margin=min(margin(ranked), first.score - recognition.floor),
        weakest=max(-_LOW, first.weakest),
        strange=_strange(first.words, recognition.free_words),
        no_speech=recognition.no_speech,
        words=float(count),
        seconds_a_word=seconds / count,
        log_prior=first.log_prior,
        snr=min(4.0, snr_db / 10),
        placed=float(first.kind is Kind.PLACED),
        answer=float(first.kind is Kind.ANSWER),
        control=float(first.kind is Kind.CONTROL),
    )


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Confidences from which a phrase is believed, and from which it is asked back."""

    sure: float
    ask: float
    lead: float
    """Margin before the second understanding below which the first is asked back, if not less."""


def log_odds(confidence: float) -> float:
    """Logarithm of the odds, kept finite."""
    kept = min(1 - _NEVER, max(_NEVER, confidence))
    return log(kept / (1 - kept))


_NEVER = 1e-4


@dataclass(frozen=True, slots=True)
class Tuning:
    """How the log odds of one operator's phrases differ from the shipped ones."""

    shift: float = 0.0
    scale: float = 1.0

    def of(self, confidence: float) -> float:
        """A shipped confidence, tuned."""
        return 1 / (1 + exp(-(self.shift + self.scale * log_odds(confidence))))


@dataclass(frozen=True, slots=True)
class Acceptance:
    """Weights and thresholds."""

    bias: float
    weights: tuple[float, ...]
    """One for each of ``NAMES``."""
    thresholds: dict[Kind, Thresholds]

    @classmethod
    def load(cls, path: Path = OWN_FILE) -> Acceptance:
        """Read them from a file.

        Raises:
            BenchError: it is not such a file.
        """
        try:
            data = json.loads(path.read_text("utf-8"))
            weights = tuple(float(data["weights"][name]) for name in NAMES)
            thresholds = {
                kind: Thresholds(**{k: float(v) for k, v in data["thresholds"][kind.value].items()})
                for kind in Kind
            }
            return cls(float(data["bias"]), weights, thresholds)
        except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
            raise BenchError(
                f"The acceptance of voice in {path} cannot be read: {error!r}.",
                works="Keypad and screen work without it.",
                todo="Fit it again, or take the name out of the settings.",
            ) from error

    def tuned(self, tuning: Tuning) -> Acceptance:
        """The same, tuned to one operator."""
        weights = tuple(tuning.scale * weight for weight in self.weights)
        return replace(self, bias=tuning.shift + tuning.scale * self.bias, weights=weights)

    def confidence(self, given: Figures) -> float:
        """Probability that the first understanding is right."""
        z = self.bias + sum(w * x for w, x in zip(self.weights, given.values(), strict=True))
        return 1 / (1 + exp(-max(-60.0, min(60.0, z))))

    def decide(self, first: Understood, given: Figures, pending: Pending) -> Verdict:
        """What becomes of an understanding."""
        confidence = self.confidence(given)
        limits = self.thresholds[first.kind]
        if first.kind is Kind.BARE and pending.station is None:
            return Verdict(Decision.REJECT, None, "nothing waits for a number or clicks alone")
        if first.kind is Kind.ANSWER and not pending.question:
            return Verdict(Decision.REJECT, None, "no question is open")
        try:
            intent = mean(first.slots, pending.station)
        except Nonsense as error:
            return Verdict(Decision.REJECT, None, str(error))
        if isinstance(intent, Named) and not pending.gauge:
            return Verdict(Decision.REJECT, intent, NO_GAUGE)
        if confidence < limits.ask:
            return Verdict(Decision.REJECT, intent, "not clear enough")
        clear = confidence >= limits.sure and given.margin >= limits.lead
        if isinstance(intent, Named) and not clear:
            return Verdict(Decision.REJECT, intent, "not clear enough")
        if not clear:
            return Verdict(Decision.ASK, intent, "not quite clear")
        if first.log_prior <= SURPRISE:
            return Verdict(Decision.ASK, intent, "a surprising value")
        return Verdict(Decision.SURE, intent, "")


@dataclass(frozen=True, slots=True)
class Verdict:
    """A decision with what it is about."""

    decision: Decision
    intent: Meant | None
    """``None``: the words amount to nothing now."""
    why: str
    """Why it is not believed at once; empty: it is."""


def _strange(words: tuple[str, ...], free: tuple[str, ...]) -> float:
    """Edits from one to the other, a word of the longer one."""
    row = list(range(len(free) + 1))
    for i, word in enumerate(words, 1):
        last = row
        row = [i]
        for j, other in enumerate(free, 1):
            row.append(min(last[j] + 1, row[-1] + 1, last[j - 1] + (word != other)))
    return row[-1] / max(len(words), len(free), 1)
