"""The front end against another implementation of it."""

from __future__ import annotations

import numpy as np

from benchterm.voice.logmel import BANDS, log_mel

# faster-whisper 1.2.1, faster_whisper/feature_extractor.py, on the sound of ``rising`` followed by
# seconds of silence;
# the rows and columns named of FeatureExtractor(feature_size=80, chunk_length=8), padding=0
ROWS = (0, 5, 20, 40, 60, 79)
COLUMNS = (0, 10, 50, 99, 100, 101, 400)
REFERENCE = (
    (1.1660, -0.2787, -0.5530, -0.1408, 0.3694, -0.1407, -0.5530),
    (1.2784, -0.0079, -0.5530, -0.1396, 0.3706, -0.1398, -0.5530),
    (0.5754, -0.0338, -0.5530, -0.1256, 0.3845, -0.1254, -0.5530),
    (0.2259, -0.5530, 1.3889, -0.0510, 0.4599, -0.0506, -0.5530),
    (-0.1947, -0.5530, -0.5530, 0.1317, 0.6447, 0.1346, -0.5530),
    (-0.1295, -0.5530, -0.5530, -0.2712, 0.2389, -0.2712, -0.5530),
)


def rising() -> np.ndarray:
    """A second of a rising tone over a weak high one."""
    t = np.arange(16000) / 16000
    low = 0.5 * np.sin(2 * np.pi * (200 + 1500 * t) * t)
    return (low + 0.01 * np.sin(2 * np.pi * 5000 * t)).astype(np.float32)


def test_bands_are_those_of_the_reference():
    bands = log_mel(rising(), 8.0)
    assert bands.shape == (BANDS, 800)
    assert bands.dtype == np.float32
    np.testing.assert_allclose(bands[np.ix_(ROWS, COLUMNS)], REFERENCE, atol=1e-4)


def test_what_is_too_long_is_cut():
    long = np.concatenate([rising(), rising()])
    assert log_mel(long, 1.0).shape == (BANDS, 100)


def test_silence_is_flat():
    assert np.ptp(log_mel(np.zeros(100, np.float32), 1.0)) == 0
