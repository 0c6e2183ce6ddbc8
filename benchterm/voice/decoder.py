"""The bench's own recogniser: the network's ear, and a search that knows what can be said."""

from __future__ import annotations

from benchterm.voice.ear import Ear
from benchterm.voice.engine import Recognition, Samples
from benchterm.voice.search import Effort, search
from benchterm.voice.spelling import Sayable, Spelling


class Decoder:
    """Hears only sentences of a grammar, each with its score."""

    name = "ear"

    def __init__(self, ear: Ear, sayable: Sayable, effort: Effort | None = None) -> None:
        self._ear = ear
        self._spelling = Spelling(sayable, ear.spell)
        self._effort = effort or Effort()

    def recognise(self, samples: Samples) -> Recognition:
        """Understand one stretch of speech as a sentence of the grammar."""
        intake = self._ear.take_in(samples)
        floor = intake.free_score - self._effort.behind
        hypotheses = search(intake, self._spelling, self._ear.marks, self._effort, floor)
        return Recognition(
            hypotheses, intake.free_words, intake.free_score, intake.no_speech, floor
        )
