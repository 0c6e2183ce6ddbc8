"""Recordings of every kind, and what is none."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchterm.voice.audio import AudioError, read_sound
from benchterm.voice.engine import RATE

FREQUENCY = 440.0


def tone(rate: int, seconds: float = 2.3, channels: int = 1) -> np.ndarray:
    t = np.arange(round(rate * seconds)) / rate
    sound = 0.5 * np.sin(2 * np.pi * FREQUENCY * t)
    return np.stack([sound] * channels, axis=1)


def read(path: Path) -> np.ndarray:
    return np.concatenate(list(read_sound(path)))


@pytest.mark.parametrize(
    ("name", "rate", "channels", "subtype"),
    [
        ("plain.wav", 16_000, 1, "PCM_16"),
        ("eight_bit.wav", 16_000, 1, "PCM_U8"),
        ("wide.wav", 48_000, 2, "PCM_24"),
        ("wider.wav", 96_000, 2, "PCM_32"),
        ("float.wav", 44_100, 1, "FLOAT"),
        ("telephone.wav", 8_000, 1, "ULAW"),
        ("odd.wav", 11_025, 6, "PCM_16"),
        ("packed.flac", 96_000, 1, "PCM_24"),
    ],
)
def test_every_form_gives_the_same_tone(tmp_path, name, rate, channels, subtype):
    path = tmp_path / name
    soundfile.write(path, tone(rate, channels=channels), rate, subtype)
    sound = read(path)
    assert sound.dtype == np.float32
    assert len(sound) == pytest.approx(2.3 * RATE, abs=2)
    wanted = tone(RATE)[: len(sound), 0]
    middle = slice(2_000, -2_000)
    np.testing.assert_allclose(sound[middle], wanted[middle], atol=0.02)


def test_the_seams_between_seconds_cannot_be_heard(tmp_path):
    path = tmp_path / "long.wav"
    soundfile.write(path, tone(44_100, seconds=3), 44_100, "FLOAT")
    sound = read(path)
    wanted = tone(RATE, seconds=3)[:, 0]
    for seam in (RATE, 2 * RATE):
        near = slice(seam - 200, seam + 200)
        np.testing.assert_allclose(sound[near], wanted[near], atol=1e-3)


def test_channels_are_averaged(tmp_path):
    path = tmp_path / "opposed.wav"
    soundfile.write(path, np.stack([tone(RATE)[:, 0], -tone(RATE)[:, 0]], axis=1), RATE)
    assert np.abs(read(path)).max() < 1e-4


def test_what_is_no_number_is_silence(tmp_path):
    path = tmp_path / "broken.wav"
    soundfile.write(path, np.array([0.5, np.nan, np.inf, -0.5]), RATE, "FLOAT")
    assert read(path).tolist() == [0.5, 0.0, 1.0, -0.5]


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("empty.wav", b"", "it is empty"),
        ("text.wav", b"far left twenty two point five\n" * 9, "cannot be heard"),
        ("picture.flac", b"\x89PNG\r\n\x1a\n" + bytes(200), "cannot be heard"),
        ("cut.wav", b"RIFF\x24\x00\x00\x00WAVEfmt ", "cannot be heard"),
    ],
)
def test_what_is_no_recording_is_told(tmp_path, name, content, said):
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(AudioError, match=said) as error:
        read(path)
    assert str(path) in error.value.what
    assert error.value.exit_code == 6


def test_no_sound_at_all_is_told(tmp_path):
    path = tmp_path / "none.wav"
    soundfile.write(path, np.zeros(0), RATE)
    with pytest.raises(AudioError, match="no sound"):
        read(path)


def test_a_file_that_breaks_off_is_told(tmp_path):
    path = tmp_path / "half.flac"
    rng = np.random.default_rng(1)
    soundfile.write(path, rng.normal(0, 0.1, 4 * RATE), RATE)
    path.write_bytes(path.read_bytes()[:40_000])
    with pytest.raises(AudioError, match="cannot be heard"):
        read(path)


@pytest.mark.parametrize("rate", [1, 1_000, 2_000_000])
def test_a_rate_that_no_recording_has_is_told(tmp_path, rate):
    path = tmp_path / "rate.wav"
    soundfile.write(path, np.zeros(50), rate)
    with pytest.raises(AudioError, match="out of range"):
        read(path)


def test_what_is_not_there_is_told(tmp_path):
    with pytest.raises(AudioError, match="no such file"):
        read(tmp_path / "nowhere.wav")


def test_a_folder_is_told(tmp_path):
    with pytest.raises(AudioError, match="folder"):
        read(tmp_path)
