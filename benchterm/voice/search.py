"""Finds the sentences of a grammar that a network finds likeliest: a beam search over pieces.

All beams are as long as each other in every round. A comma may stand between two words; a sentence
ends with a full stop or without. Ways to write the same words are added up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from benchterm.voice.engine import Hypothesis, Words
from benchterm.voice.spelling import Pieces, Spelling, Spot


class Scorer(Protocol):
    """A network that has taken in a stretch of speech."""

    def log_probs(self, prefixes: Sequence[Pieces]) -> Sequence[NDArray[np.float32]]:
        """For each beginning the log probability of every piece that may come next.

        The beginnings are equally long and differ from each other.
        """
        ...


@dataclass(frozen=True, slots=True)
class Marks:
    """Pieces that are no part of a word."""

    comma: int
    ends: tuple[int, ...]
    """End of text, full stop."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How widely to search."""

    beams: int = 6
    width: float = 7.0
    """A beam this much less likely than the best is let go; natural logarithm."""
    behind: float = 12.0
    """So far behind what is heard freely nothing can be meant; right ones come within 7."""
    longest: int = 24
    """Pieces in the longest sentence."""


@dataclass(frozen=True, slots=True)
class _Beam:
    pieces: Pieces
    spot: Spot
    words: Words
    score: float
    weakest: float


def search(
    scorer: Scorer,
    spelling: Spelling,
    marks: Marks,
    effort: Effort,
    floor: float = -inf,
) -> tuple[Hypothesis, ...]:
    """The likeliest sentences above a score, best first."""
    beams = [_Beam((), spelling.start, (), 0.0, 0.0)]
    found: dict[Words, Hypothesis] = {}
    best_ended = -inf
    for _ in range(effort.longest):
        prefixes = list(dict.fromkeys(beam.pieces for beam in beams))
        rows = dict(zip(prefixes, scorer.log_probs(prefixes), strict=True))
        further: list[_Beam] = []
        for beam in beams:
            row = rows[beam.pieces]
            if spelling.final(beam.spot) and beam.pieces[-1:] != (marks.comma,):
                ended = _ended(beam, row, marks)
                best_ended = max(best_ended, ended.score)
                if ended.score > floor:
                    found[beam.words] = _merged(found.get(beam.words), ended)
            further += _grown(beam, row, spelling, marks)
        further.sort(key=lambda beam: -beam.score)
        best = max([best_ended, *(beam.score for beam in further[:1])])
        least = max(floor, best - effort.width)
        beams = [beam for beam in further[: effort.beams] if beam.score > least]
        if not beams:
            break
    return tuple(sorted(found.values(), key=lambda h: -h.score)[: effort.beams])


def _grown(beam: _Beam, row: NDArray[np.float32], spelling: Spelling, marks: Marks) -> list[_Beam]:
    top = float(row.max())
    grown = []
    for piece, word, spot in spelling.steps(beam.spot):
        p = float(row[piece])
        words = beam.words if word is None else (*beam.words, word)
        weakest = min(beam.weakest, p - top)
        grown.append(_Beam((*beam.pieces, piece), spot, words, beam.score + p, weakest))
    if beam.words and not beam.spot.begun and beam.pieces[-1] != marks.comma:
        p = float(row[marks.comma])
        pieces = (*beam.pieces, marks.comma)
        grown.append(_Beam(pieces, beam.spot, beam.words, beam.score + p, beam.weakest))
    return grown


def _ended(beam: _Beam, row: NDArray[np.float32], marks: Marks) -> Hypothesis:
    p = float(np.logaddexp.reduce(row[list(marks.ends)]))
    weakest = min(beam.weakest, p - float(row.max()))
    return Hypothesis(beam.words, beam.score + p, weakest)


def _merged(one: Hypothesis | None, other: Hypothesis) -> Hypothesis:
    if one is None:
        return other
    score = float(np.logaddexp(one.score, other.score))
    return Hypothesis(one.words, score, max(one.weakest, other.weakest))
