"""Recognition by Vosk, for any language of which a model folder is installed.

The library ends the whole process on bad input: a folder that is no model, a grammar that is no
list of words. So everything is checked before it is handed over, and hearing runs in a process of
its own. Nothing here goes to the network.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from math import log
from pathlib import Path
from typing import Any

import numpy as np

from benchterm.errors import BenchError
from benchterm.voice.engine import RATE, Hypothesis, Recognition, Samples, Words

ACOUSTIC = ("am/final.mdl", "final.mdl")
"""One of these is in every model folder."""
UNKNOWN = "[unk]"
"""What the library writes for a word that is none of those it was given."""

_ALTERNATIVES = 8
_LIST = 3
"""How many missing words are named."""


class VoskError(BenchError):
    """Vosk cannot be used.

    Example scenarios: the folder is no model; the model is of another language than the grammar.
    """

    exit_code = 5


class VoskEngine:
    """Hears the words of a grammar with a Vosk model."""

    name = "vosk"

    def __init__(self, folder: Path, words: Iterable[str]) -> None:
        """Load a model and give it the words of a grammar.

        Raises:
            VoskError: the library or the model is missing, or the model lacks words.
        """
        said = sorted(set(words))
        if not said:
            raise VoskError("The grammar has no word that can be said.", todo="Add one to it.")
        if not any((folder / name).is_file() for name in ACOUSTIC):
            raise VoskError(
                f"{folder} is no Vosk model.",
                works="Keypad and screen work without it.",
                todo="Name the folder that holds am and conf.",
            )
        try:
            import vosk  # noqa: PLC0415 - a large library, and only for who uses it
        except (ImportError, OSError) as error:
            raise VoskError(f"Vosk cannot be loaded: {error}.", todo="Install vosk.") from error
        vosk.SetLogLevel(-1)
        try:
            model = vosk.Model(str(folder))
        except Exception as error:  # the library raises nothing more precise
            raise VoskError(f"{folder} cannot be loaded as a Vosk model.") from error
        known = set(known_words(model, [*said, UNKNOWN]))
        missing = [word for word in said if word not in known]
        if missing:
            named = ", ".join(missing[:_LIST]) + (" and more" if missing[_LIST:] else "")
            raise VoskError(
                f"The model in {folder} does not know {len(missing)} of {len(said)} words of the "
                f"grammar: {named}.",
                todo="Take a model of the grammar's language, or other words in the grammar.",
            )
        grammar = json.dumps(sorted(known), ensure_ascii=False)
        self._many = vosk.KaldiRecognizer(model, RATE, grammar)
        self._many.SetMaxAlternatives(_ALTERNATIVES)
        self._one = vosk.KaldiRecognizer(model, RATE, grammar)
        self._one.SetWords(True)

    def recognise(self, samples: Samples) -> Recognition:
        """Understand one stretch of speech as words of the grammar, in any order."""
        sound = np.clip(np.rint(samples * 32767), -32768, 32767).astype("<i2").tobytes()
        sure = _sureness(_result(self._one, sound))
        found: dict[Words, Hypothesis] = {}
        for alternative in _result(self._many, sound).get("alternatives", ()):
            words = tuple(alternative["text"].split())
            if words:
                found.setdefault(words, Hypothesis(words, alternative["confidence"], sure))
        if not found:
            return Recognition((), no_speech=1.0)
        best = next(iter(found.values()))
        heard = tuple(h for h in found.values() if UNKNOWN not in h.words)
        return Recognition(heard, best.words, best.score)


def known_words(model: Any, words: Iterable[str]) -> list[str]:
    """Those words which a model knows; the library itself drops the others without a word."""
    return [word for word in words if model.vosk_model_find_word(word) >= 0]


def _result(recogniser: Any, sound: bytes) -> dict[str, Any]:
    recogniser.AcceptWaveform(sound)
    result: dict[str, Any] = json.loads(recogniser.FinalResult())
    recogniser.Reset()
    return result


def _sureness(result: dict[str, Any]) -> float:
    """Logarithm of the least confidence of a word."""
    least = min((word["conf"] for word in result.get("result", ())), default=0.0)
    return log(max(least, 1e-6))
