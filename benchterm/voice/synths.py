"""Engines that turn text into speech: one inside Python, one program if it is installed."""

from __future__ import annotations

import shutil
import subprocess
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

ENGINES = ("auto", "hibari", "espeak-ng", "tones", "none")
"""What the settings may name: the best there is, one of them, tones without words, or silence."""

_WAV_HEAD = 44
_WORDS_A_MINUTE = 160
_LONGEST_S = 10.0

Sound = tuple[NDArray[np.float32], int]
"""Samples, full scale 1, and how many a second."""

SILENCE: Sound = (np.zeros(0, np.float32), 24_000)


class Synth(Protocol):
    """Something that can speak."""

    name: str

    def speak(self, text: str, language: str, speed: float) -> Sound:
        """The sound of a text; nothing if it has no voice for the language."""
        ...


class Hibari:
    """The hibari engine, with the voice that is inside its package; English only."""

    name = "hibari"

    def __init__(self) -> None:
        """Load it and warm it up: its first words take long.

        Raises:
            ImportError: it is not installed.
        """
        from hibari import Hibari as Engine  # noqa: PLC0415 - loads onnxruntime

        self._engine = Engine(threads=1)
        self._engine("one, two.")

    def speak(self, text: str, language: str, speed: float) -> Sound:
        """The sound of a text; nothing unless it is English."""
        if language.split("-", maxsplit=1)[0] != "en":
            return SILENCE
        sound = self._engine(text, speed=min(2.0, max(0.5, speed)), seed=0)
        return np.asarray(sound, np.float32), int(self._engine.sample_rate)


class Espeak:
    """The espeak-ng program, if it is installed."""

    name = "espeak-ng"

    def __init__(self) -> None:
        """Look for it.

        Raises:
            ImportError: it is not installed.
        """
        program = shutil.which("espeak-ng")
        if program is None:
            raise ImportError("there is no program espeak-ng")
        self._program = program

    def speak(self, text: str, language: str, speed: float) -> Sound:
        """The sound of a text; nothing if the program does not know the language."""
        wav = self._run(text, language, speed)
        if len(wav) <= _WAV_HEAD:
            return SILENCE
        samples = np.frombuffer(wav[_WAV_HEAD : len(wav) // 2 * 2], np.int16)
        return samples.astype(np.float32) / np.float32(32768), int.from_bytes(wav[24:28], "little")

    def _run(self, text: str, language: str, speed: float) -> bytes:
        words = str(round(_WORDS_A_MINUTE * speed))
        try:
            run = subprocess.run(  # noqa: S603 - a program of the system, no shell
                [self._program, "--stdin", "--stdout", "-v", language, "-s", words],
                input=text.encode(),
                capture_output=True,
                timeout=_LONGEST_S,
                check=False,
            )
        except (OSError, subprocess.TimeoutExpired):
            return b""
        return run.stdout if run.returncode == 0 else b""


_CLASSES: dict[str, type[Hibari | Espeak]] = {"hibari": Hibari, "espeak-ng": Espeak}


def synths(engine: str) -> tuple[Synth, ...]:
    """The engines to try in this order for what is named in the settings; those that are there."""
    found: list[Synth] = []
    for name in _CLASSES if engine == "auto" else (engine,):
        try:
            found.append(_CLASSES[name]())
        except Exception:  # noqa: BLE001, S112 - not installed, or it cannot be loaded
            continue
    return tuple(found)
