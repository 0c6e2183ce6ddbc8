"""Reads recorded sound of any rate, width and number of channels as the mono sound of hearing."""

from __future__ import annotations

from collections.abc import Iterator
from math import gcd
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from benchterm.errors import BenchError
from benchterm.voice.engine import RATE, Samples

if TYPE_CHECKING:
    import soundfile

RATES = (4_000, 768_000)
"""Samples a second that a recording can have: below lies no speech, above no sound card."""


class AudioError(BenchError):
    """A recording cannot be read.

    Example scenarios: the file is no recording; it is empty; it breaks off; its disk was pulled.
    """

    exit_code = 6


def read_sound(path: Path) -> Iterator[Samples]:
    """A recording, a second or so at a time, so that its length does not matter.

    Raises:
        AudioError: it cannot be read, at all or to its end.
    """
    try:
        import soundfile  # noqa: PLC0415 - a library of the system may be missing
    except (ImportError, OSError) as error:
        raise _unreadable(path, "the soundfile library is missing", "Install it.") from error
    if path.is_dir():
        raise _unreadable(path, "it is a folder")
    try:
        with soundfile.SoundFile(path) as file:
            if not RATES[0] <= file.samplerate <= RATES[1]:
                raise _unreadable(path, f"a rate of {file.samplerate} Hz is out of range")
            yield from _resampled(_seconds(file), file.samplerate, path)
    except (soundfile.SoundFileError, OSError) as error:
        raise _unreadable(path, _reason(path, error)) from error


def _seconds(file: soundfile.SoundFile) -> Iterator[NDArray[np.float64]]:
    """Mono sound by the second."""
    while len(block := file.read(file.samplerate, always_2d=True)):
        yield np.clip(np.nan_to_num(block.mean(axis=1)), -1, 1)


def _resampled(seconds: Iterator[NDArray[np.float64]], rate: int, path: Path) -> Iterator[Samples]:
    """The same sound at ``RATE``; each second is filtered with its neighbours on either side."""
    from scipy.signal import resample_poly  # noqa: PLC0415 - takes long to load

    common = gcd(rate, RATE)
    before = np.zeros(rate)
    here = next(seconds, None)
    if here is None:
        raise _unreadable(path, "it holds no sound")
    while here is not None:
        after = next(seconds, None)
        beside = np.zeros(0) if after is None else after
        around = np.concatenate((before, here, beside))
        if rate == RATE:
            yield here.astype(np.float32)
        else:
            sound = resample_poly(around, RATE // common, rate // common)
            length = round(len(here) * RATE / rate)
            yield sound[RATE : RATE + length].astype(np.float32)
        before, here = here, after


def _reason(path: Path, error: Exception) -> str:
    if not path.exists():
        return "there is no such file"
    if path.stat().st_size == 0:
        return "it is empty"
    text = getattr(error, "strerror", None) or getattr(error, "error_string", None) or str(error)
    return str(text).rstrip(".").lower() or "it is no recording"


def _unreadable(path: Path, why: str, todo: str = "") -> AudioError:
    return AudioError(
        f"{path} cannot be heard: {why}.", todo=todo or "Give a WAV or FLAC recording."
    )
