"""Makes hearing ready."""

from __future__ import annotations

from benchterm.locations import grammar_file
from benchterm.phrases.grammar import Grammar
from benchterm.voice.accept import Acceptance
from benchterm.voice.decoder import Decoder
from benchterm.voice.ear import Ear
from benchterm.voice.hear import Hearing
from benchterm.voice.understand import Understanding


def ready(language: str) -> Hearing:
    """Hearing in one language with the bench's own ear.

    Raises:
        BenchError: a part of it cannot be used.
    """
    grammar = Grammar.load(grammar_file(language))
    return Hearing(Decoder(Ear(), grammar.automaton), Understanding(grammar), Acceptance.load())
