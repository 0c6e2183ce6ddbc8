"""Brings the sound of a device to the rate of hearing, block after block."""

from __future__ import annotations

from math import gcd

import numpy as np
from numpy.typing import NDArray

from benchterm.voice.engine import RATE, Samples

_TAPS = 10
"""Half the length of the filter, in samples of the slower side, as ``resample_poly`` makes it."""


class Resampler:
    """One stream; what comes out is what filtering all of it at once would have given.

    Each stretch is filtered with a little of what lies before and after it, so the last few
    milliseconds wait for the next block.
    """

    def __init__(self, rate: int) -> None:
        common = gcd(rate, RATE)
        self._up, self._down = RATE // common, rate // common
        reach = _TAPS * max(self._up, self._down) // self._up + 1
        self._side = -(-reach // self._down) * self._down
        """Samples on either side, a whole number of steps."""
        self._kept = np.zeros(self._side, np.float32)
        self._same = rate == RATE

    def feed(self, block: NDArray[np.float32]) -> Samples:
        """More of the stream; as much at ``RATE`` as is complete now."""
        if self._same:
            return block
        from scipy.signal import resample_poly  # noqa: PLC0415 - many devices need none

        sound = np.concatenate((self._kept, block))
        whole = (len(sound) - 2 * self._side) // self._down * self._down
        if whole <= 0:
            self._kept = sound
            return np.zeros(0, np.float32)
        around = resample_poly(sound[: whole + 2 * self._side], self._up, self._down)
        begin = self._side // self._down * self._up
        self._kept = sound[whole:]
        cut = around[begin : begin + whole // self._down * self._up]
        return np.asarray(cut, np.float32)
