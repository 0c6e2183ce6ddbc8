"""What every recogniser does: one stretch of speech in, scored word sequences out."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]
"""Mono sound at ``RATE``, full scale 1."""

RATE = 16_000
"""Samples a second in all of hearing."""

Words = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One way to understand a stretch of speech."""

    words: Words
    score: float
    """Natural logarithm of a probability, up to a constant of the engine; higher is better."""
    weakest: float = 0.0
    """The least that one of its words lags behind what the engine would rather have heard."""


@dataclass(frozen=True, slots=True)
class Recognition:
    """What an engine made of a stretch of speech."""

    hypotheses: tuple[Hypothesis, ...]
    """Sentences of the grammar, best first; empty: nothing was understood."""
    free_words: Words = ()
    """What the engine hears with no grammar to guide it; empty if it cannot say."""
    free_score: float = 0.0
    """Its score, on the scale of the hypotheses."""
    no_speech: float = 0.0
    """Probability, in the engine's eyes, that nobody spoke."""
    floor: float = -inf
    """Sentences with a lower score were not looked for."""


class Engine(Protocol):
    """A recogniser that is ready for use."""

    name: str

    def recognise(self, samples: Samples) -> Recognition:
        """Understand one stretch of speech as a sentence of the grammar."""
        ...
