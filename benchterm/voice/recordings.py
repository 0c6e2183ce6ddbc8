"""What is heard, kept as files for as long as the shop wishes; nothing unless it is switched on."""

from __future__ import annotations

import contextlib
import time
import wave
from collections import deque
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from benchterm.voice.engine import RATE, Samples

_KEPT_S = 12.0
_AROUND_S = 0.2
_PREFIX = "heard-"


class Tape:
    """The last seconds of a stream; from it a stretch of speech is cut out and kept."""

    def __init__(self, folder: str, keep_days: float) -> None:
        """An empty folder name: nothing is kept."""
        self._folder = Path(folder) if folder else None
        self._keep_days = keep_days
        self._blocks: deque[Samples] = deque()
        self._begin = 0
        self._end = 0
        if self._folder is not None:
            delete_old(self._folder, keep_days)

    @property
    def length_s(self) -> float:
        """How much has gone by."""
        return self._end / RATE

    def add(self, samples: Samples) -> None:
        """More of the stream."""
        self._end += len(samples)
        if self._folder is None:
            return
        self._blocks.append(samples)
        while self._end - self._begin - len(self._blocks[0]) > _KEPT_S * RATE:
            self._begin += len(self._blocks.popleft())

    def keep(self, begin_s: float, end_s: float) -> str:
        """Write a stretch to a file; gives its path, empty if nothing is kept."""
        if self._folder is None or not self._blocks:
            return ""
        begin = max(0, round((begin_s - _AROUND_S) * RATE) - self._begin)
        end = max(0, round((end_s + _AROUND_S) * RATE) - self._begin)
        sound = np.concatenate(self._blocks)[begin:end]
        path = self._folder / f"{_PREFIX}{datetime.now(UTC):%Y%m%dT%H%M%S%f}.wav"
        try:
            delete_old(self._folder, self._keep_days)
            self._folder.mkdir(parents=True, exist_ok=True)
            with wave.open(str(path), "wb") as file:
                file.setnchannels(1)
                file.setsampwidth(2)
                file.setframerate(RATE)
                file.writeframes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
        except OSError:
            return ""  # A full disk must not make the bench deaf.
        return str(path)


def delete_old(folder: Path, keep_days: float) -> int:
    """Delete our recordings older than this; gives how many."""
    oldest_s = time.time() - 86400 * keep_days
    deleted = 0
    for path in folder.glob(f"{_PREFIX}*.wav"):
        with contextlib.suppress(OSError):
            if path.stat().st_mtime < oldest_s:
                path.unlink()
                deleted += 1
    return deleted
