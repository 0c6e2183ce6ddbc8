"""Makes hearing ready."""

from __future__ import annotations

from pathlib import Path

from benchterm.locations import grammar_file
from benchterm.phrases.grammar import Grammar
from benchterm.voice.accept import OWN_FILE, VOSK_FILE, Acceptance, Tuning
from benchterm.voice.engine import Engine
from benchterm.voice.hear import Hearing
from benchterm.voice.understand import Understanding
from benchterm.voice.wire import Listening


def ready(given: Listening) -> Hearing:
    """Hearing in one language, with the bench's own ear, other weights for it, or a Vosk model.

    Raises:
        BenchError: a part of it cannot be used.
    """
    grammar = Grammar.load(grammar_file(given.language))
    acceptance = Acceptance.load(VOSK_FILE if given.engine == "vosk" else OWN_FILE)
    return Hearing(
        _engine(grammar, given),
        Understanding(grammar),
        acceptance.tuned(Tuning(given.shift, given.scale)),
    )


def _engine(grammar: Grammar, given: Listening) -> Engine:
    # Each loads a large library: only the one that is used.
    folder = Path(given.model).expanduser() if given.model else None
    if given.engine == "vosk":
        from benchterm.voice.vosk_engine import VoskEngine  # noqa: PLC0415

        return VoskEngine(folder or Path(), grammar.words)
    from benchterm.voice.decoder import Decoder  # noqa: PLC0415
    from benchterm.voice.ear import OWN_FOLDER, Ear  # noqa: PLC0415

    return Decoder(Ear(folder or OWN_FOLDER, given.sha256 or None), grammar.automaton)
