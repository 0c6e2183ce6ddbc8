"""The English grammar, and spoken phrases made on the spot."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchterm.phrases.grammar import Grammar

GRAMMARS = Path(__file__).parents[2] / "grammars"


@pytest.fixture(scope="session")
def english() -> Grammar:
    return Grammar.load(GRAMMARS / "en.jsgf")


@pytest.fixture
def say(tmp_path: Path) -> Callable[..., Path]:
    """Speaks words into a WAV file, by espeak-ng, with silence around them."""
    program = shutil.which("espeak-ng")
    if program is None:
        pytest.skip("espeak-ng is not installed: no speech can be made")

    def spoken(words: str, voice: str = "en-us+m3") -> Path:
        path = tmp_path / f"{words.replace(' ', '_')}.wav"
        command = [program, "-v", voice, "-s", "150", "-w", str(path), words]
        subprocess.run(command, check=True, timeout=20)
        sound, rate = soundfile.read(path)
        silence = np.zeros(rate)
        soundfile.write(path, np.concatenate([silence, sound, silence]), rate)
        return path

    return spoken
