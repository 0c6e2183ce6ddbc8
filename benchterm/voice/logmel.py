"""The spectrum as the network wants it: 80 mel bands, 25 ms windows every 10 ms, logarithmic.

The bands are Slaney's (Auditory Toolbox, 1998): linear to 1 kHz, logarithmic above, equal areas.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from benchterm.voice.engine import RATE, Samples

BANDS = 80
HOP = RATE // 100
_WINDOW = RATE // 40
_RANGE = 8.0
"""Decades kept below the loudest value."""

_HZ_A_MEL = 200 / 3
_BREAK_HZ = 1000.0
_BREAK_MEL = _BREAK_HZ / _HZ_A_MEL
_LOG_STEP = np.log(6.4) / 27


def log_mel(samples: Samples, seconds: float) -> NDArray[np.float32]:
    """Bands by frames for sound cut or padded with silence to a length in seconds."""
    length = round(seconds * RATE)
    sound = np.zeros(length, np.float32)
    sound[: len(samples)] = samples[:length]
    around = np.pad(sound, _WINDOW // 2, mode="reflect")
    frames = sliding_window_view(around, _WINDOW)[::HOP][: length // HOP]
    spectrum = np.fft.rfft(frames * _HANN, axis=1)
    power = (spectrum.real**2 + spectrum.imag**2).astype(np.float32)
    # Not as a product of matrices: its threads go on spinning while the network works.
    bands = np.log10(np.maximum(np.einsum("bf,tf->bt", _BANK, power), 1e-10))
    return np.asarray((np.maximum(bands, bands.max() - _RANGE) + 4) / 4, np.float32)


def _bank() -> NDArray[np.float32]:
    """Triangles over the bins of the spectrum, one row a band."""
    top = _BREAK_MEL + np.log(RATE / 2 / _BREAK_HZ) / _LOG_STEP
    mels = np.linspace(0, top, BANDS + 2)
    linear = mels * _HZ_A_MEL
    edges = np.where(mels < _BREAK_MEL, linear, _BREAK_HZ * np.exp((mels - _BREAK_MEL) * _LOG_STEP))
    bins = np.linspace(0, RATE / 2, _WINDOW // 2 + 1)
    widths = np.diff(edges)[:, None]
    away = edges[:, None] - bins
    triangles = np.maximum(0, np.minimum(-away[:-2] / widths[:-1], away[2:] / widths[1:]))
    return (triangles * (2 / (edges[2:] - edges[:-2]))[:, None]).astype(np.float32)


_HANN = np.hanning(_WINDOW + 1)[:-1].astype(np.float32)
_BANK = _bank()
