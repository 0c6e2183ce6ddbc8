"""Detectors and engines that do what they are told, and plain sounds."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from benchterm.voice.engine import RATE, Hypothesis, Recognition, Samples


class ByLoudness:
    """A detector that takes loud frames for speech."""

    def probability(self, frame: Samples) -> float:
        return 1.0 if np.abs(frame).max() > 0.1 else 0.0

    def reset(self) -> None:
        pass


class Always:
    """A detector among many voices: it always hears somebody."""

    def probability(self, frame: Samples) -> float:
        del frame
        return 0.9

    def reset(self) -> None:
        pass


class Scripted:
    """An engine that hears what it is told to hear, one after the other; then the last for ever."""

    name = "scripted"

    def __init__(self, *hearings: str | Recognition) -> None:
        self._hearings = [h if isinstance(h, Recognition) else clear(h) for h in hearings]
        self.lengths_s: list[float] = []

    def recognise(self, samples: Samples) -> Recognition:
        hearing = self._hearings[min(len(self.lengths_s), len(self._hearings) - 1)]
        self.lengths_s.append(len(samples) / RATE)
        return hearing


def clear(words: str, *others: str, margin: float = 9.0) -> Recognition:
    """A recognition that is as clear as can be; other words follow behind."""
    ranked = [Hypothesis(tuple(words.split()), -0.01)]
    ranked += [Hypothesis(tuple(o.split()), -0.01 - margin) for o in others]
    return Recognition(tuple(h for h in ranked if h.words), tuple(words.split()), -0.01)


def tone(seconds: float, level: float = 0.5) -> Samples:
    t = np.arange(round(seconds * RATE)) / RATE
    return (level * np.sin(2 * np.pi * 440 * t)).astype(np.float32)


def silence(seconds: float) -> Samples:
    return np.zeros(round(seconds * RATE), np.float32)


def joined(parts: Iterable[Samples]) -> Samples:
    return np.concatenate(list(parts))
