"""Makes hearing ready."""

from __future__ import annotations

from pathlib import Path

from benchterm.locations import grammar_file
from benchterm.phrases.grammar import Grammar
from benchterm.voice.accept import Acceptance
from benchterm.voice.engine import Engine
from benchterm.voice.hear import Hearing
from benchterm.voice.understand import Understanding


def ready(language: str, engine: str = "ear", model: str = "") -> Hearing:
    """Hearing in one language, with the bench's own ear, other weights for it, or a Vosk model.

    Raises:
        BenchError: a part of it cannot be used.
    """
    grammar = Grammar.load(grammar_file(language))
    recogniser = _engine(grammar, engine, Path(model).expanduser() if model else None)
    return Hearing(recogniser, Understanding(grammar), Acceptance.load())


def _engine(grammar: Grammar, engine: str, model: Path | None) -> Engine:
    # Each loads a large library: only the one that is used.
    if engine == "vosk":
        from benchterm.voice.vosk_engine import VoskEngine  # noqa: PLC0415

        return VoskEngine(model or Path(), grammar.words)
    from benchterm.voice.decoder import Decoder  # noqa: PLC0415
    from benchterm.voice.ear import OWN_FOLDER, Ear  # noqa: PLC0415

    return Decoder(Ear(model or OWN_FOLDER), grammar.automaton)
