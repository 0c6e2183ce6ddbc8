"""The network: loads its weights, takes in sound, says which piece of a word is how likely next.

A folder of weights holds a Whisper model of any size in the form of CTranslate2. The one beside
this file is the bench's own; its notice says how it was made and under which licence it is given.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import ctranslate2
import numpy as np
from numpy.typing import NDArray
from tokenizers import Tokenizer

from benchterm.errors import BenchError
from benchterm.voice.engine import RATE, Samples, Words
from benchterm.voice.logmel import log_mel
from benchterm.voice.search import Marks
from benchterm.voice.spelling import Pieces

OWN_FOLDER = Path(__file__).parent / "ear"
OWN_HASH = "69a0792ecd25f24446152251605d4f5e0a242ae20dc284566a17af09350db294"
"""SHA-256 of the bench's own ``model.bin``."""

CONTEXTS_S = (5.0, 8.0)
"""Sound the network is given at once: the shortest that will do; silence makes up the rest."""

PROMPT = "far left twenty two point five. left three clicks. undo that. next step."
"""Phrases as spoken before, so that the network expects more of the kind."""

_NEEDED = ("model.bin", "config.json", "tokenizer.json", "vocabulary.txt")
_FRAME = RATE // 50
"""Samples behind one row of the encoder's output."""
_TAIL = 60
"""Rows kept after the end of the sound. With few of them the network does not notice that the
sound is over, and says it all again."""
_AHEAD = 16
"""Pieces followed beyond a prefix, since the likeliest ones will be asked for next."""


class EarError(BenchError):
    """The weights cannot be used.

    Example scenarios: a file is missing; a copy was cut short; the folder holds something else.
    """

    exit_code = 5


@dataclass(frozen=True, slots=True)
class Continued:
    """The likeliest way on from some beginning."""

    pieces: Pieces
    """All pieces, the beginning too; the end of text is the last one if it was reached."""
    rows: NDArray[np.float32]
    """Before each of them, the log probability of every piece."""
    no_speech: float
    """How likely it is that nobody spoke."""


class Ear:
    """A loaded network."""

    def __init__(
        self,
        folder: Path = OWN_FOLDER,
        sha256: str | None = None,
        *,
        prompt: str = PROMPT,
        threads: int = 1,
    ) -> None:
        """Load the weights of a folder, whose ``model.bin`` must have the hash if one is given.

        Raises:
            EarError: they are not all there, not what they should be, or not such a network.
        """
        check_files(folder, OWN_HASH if folder == OWN_FOLDER else sha256)
        try:
            self._model = ctranslate2.models.Whisper(
                str(folder), device="cpu", compute_type="int8", intra_threads=threads
            )
            self._tokenizer = Tokenizer.from_file(str(folder / "tokenizer.json"))
        except Exception as error:  # the libraries raise what they like
            raise _unusable(folder, f"it is no such network ({error})") from error
        start = [self._mark("<|startoftranscript|>", folder)]
        if self._model.is_multilingual:
            start += [self._mark("<|en|>", folder), self._mark("<|transcribe|>", folder)]
        start.append(self._mark("<|notimestamps|>", folder))
        before = [self._mark("<|startofprev|>", folder), *self.spell(prompt)] if prompt else []
        self._start = before + start
        self.marks = Marks(
            comma=self._mark(",", folder),
            ends=(self._mark("<|endoftext|>", folder), self._mark(".", folder)),
        )

    def spell(self, words: str) -> Pieces:
        """The pieces of words in running text."""
        return tuple(self._tokenizer.encode(" " + words, add_special_tokens=False).ids)

    def take_in(self, samples: Samples) -> Intake:
        """Listen to a stretch of sound; what is longer than the last context is cut off."""
        rows = math.ceil(len(samples) / _FRAME) + _TAIL
        enough = (context_s for context_s in CONTEXTS_S if rows * _FRAME <= context_s * RATE)
        bands = log_mel(samples, next(enough, CONTEXTS_S[-1]))
        out = self._model.encode(ctranslate2.StorageView.from_array(bands[None]), to_cpu=True)
        return Intake(self, np.array(out)[:, :rows])

    def continue_all(
        self, encoded: NDArray[np.float32], prefixes: Sequence[Pieces]
    ) -> list[Continued]:
        """Go on from each prefix, all equally long, the likeliest way."""
        sound = ctranslate2.StorageView.from_array(np.repeat(encoded, len(prefixes), axis=0))
        results = self._model.generate(
            sound,
            [[*self._start, *prefix] for prefix in prefixes],
            beam_size=1,
            max_length=len(self._start) + len(prefixes[0]) + _AHEAD,
            return_logits_vocab=True,
            return_no_speech_prob=True,
            suppress_blank=False,
            suppress_tokens=[],
        )
        return [self._followed(result) for result in results]

    def _followed(self, result: ctranslate2.models.WhisperGenerationResult) -> Continued:
        rows = np.array(result.logits[0])
        pieces = tuple(result.sequences_ids[0])
        if len(rows) > len(pieces):
            pieces += self.marks.ends[:1]
        top = rows.max(axis=1, keepdims=True)
        log_probs = rows - top - np.log(np.exp(rows - top).sum(axis=1, keepdims=True))
        return Continued(pieces, log_probs, result.no_speech_prob)

    def text(self, pieces: Pieces) -> str:
        """What pieces spell."""
        return str(self._tokenizer.decode(list(pieces)))

    def _mark(self, name: str, folder: Path) -> int:
        number = self._tokenizer.token_to_id(name)
        if number is None:
            raise _unusable(folder, f"its tokenizer lacks {name}")
        return int(number)


class Intake:
    """A stretch of speech as the network took it in: the scorer of a search.

    Rows are kept, and each call looks ahead along the likeliest way; most later calls then find
    what they need already there.
    """

    def __init__(self, ear: Ear, encoded: NDArray[np.float32]) -> None:
        self._ear = ear
        self.encoded = encoded
        self._rows: dict[Pieces, NDArray[np.float32]] = {}
        free = ear.continue_all(encoded, [()])[0]
        self._keep(free)
        self.no_speech = free.no_speech
        self.free_words = _words(ear.text(free.pieces))
        """What it hears with no grammar to guide it."""
        self.free_score = float(sum(row[p] for row, p in zip(free.rows, free.pieces, strict=True)))

    def log_probs(self, prefixes: Sequence[Pieces]) -> list[NDArray[np.float32]]:
        """For each beginning the log probability of every piece that may come next."""
        missing = [prefix for prefix in prefixes if prefix not in self._rows]
        if missing:
            for continued in self._ear.continue_all(self.encoded, missing):
                self._keep(continued)
        return [self._rows[prefix] for prefix in prefixes]

    def _keep(self, continued: Continued) -> None:
        for i, row in enumerate(continued.rows):
            self._rows.setdefault(continued.pieces[:i], row)


def check_files(folder: Path, sha256: str | None) -> None:
    """See that a folder of weights is whole.

    Raises:
        EarError: a file is missing, or ``model.bin`` does not have the hash given.
    """
    for name in _NEEDED:
        if not (folder / name).is_file():
            raise _unusable(folder, f"{name} is missing")
    if sha256 is not None:
        with (folder / "model.bin").open("rb") as file:
            found = hashlib.file_digest(file, "sha256").hexdigest()
        if found != sha256.lower():
            raise _unusable(folder, f"model.bin has SHA-256 {found}, expected {sha256}")


def _unusable(folder: Path, why: str) -> EarError:
    return EarError(
        f"The ear in {folder} cannot be used: {why}.",
        works="Keypad and screen work without it.",
        todo="Install the program again, or name another folder in the settings.",
    )


def _words(text: str) -> Words:
    return tuple(word for raw in text.split() if (word := raw.strip(".,;:!?\"'").lower()))
