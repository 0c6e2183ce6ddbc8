"""Sound on its way: rates, tones, recordings."""

from __future__ import annotations

import os
import wave
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import resample_poly

from benchterm.voice.engine import RATE
from benchterm.voice.recordings import Tape, delete_old
from benchterm.voice.resample import Resampler
from benchterm.voice.tones import MELODIES, tone


@pytest.mark.parametrize("rate", [8_000, 22_050, 44_100, 48_000, 96_000])
@pytest.mark.parametrize("block", [100, 511, 4_096])
def test_block_after_block_gives_what_the_whole_would(rate: int, block: int):
    """Against scipy.signal.resample_poly over all of it at once."""
    sound = np.random.default_rng(1).standard_normal(rate).astype(np.float32)
    resampler = Resampler(rate)
    pieces = [resampler.feed(sound[at : at + block]) for at in range(0, len(sound), block)]
    got = np.concatenate(pieces)
    whole = resample_poly(sound, RATE, rate)
    late = len(got) - len(whole)
    delay = int(np.argmax(np.correlate(got[:4000], whole[:2000], "valid")))
    assert delay < 0.02 * RATE
    assert late > -0.1 * RATE
    np.testing.assert_allclose(got[delay : delay + 10_000], whole[:10_000], atol=1e-4)


def test_sound_of_the_right_rate_is_left_alone():
    sound = np.arange(5, dtype=np.float32)
    assert Resampler(RATE).feed(sound) is sound


def test_each_tone_is_a_melody_of_its_own():
    assert set(MELODIES) == {"taken", "refused", "ask", "advice"}
    assert len(set(MELODIES.values())) == len(MELODIES)
    for name, notes in MELODIES.items():
        samples = tone(name, 24_000)
        assert 0.3 < np.abs(samples).max() <= 0.5
        assert abs(samples[0]) < 0.01, "it begins without a click"
        spectrum = np.abs(np.fft.rfft(samples[: round(0.07 * 24_000)]))
        assert np.argmax(spectrum) * 24_000 / round(0.07 * 24_000) == pytest.approx(
            notes[0], abs=15
        )
    assert len(tone("none of them", 24_000)) == 0


def test_a_recording_holds_what_was_said_and_a_little_around(tmp_path: Path):
    tape = Tape(str(tmp_path / "kept"), keep_days=7)
    sound = np.zeros(20 * RATE, np.float32)
    sound[15 * RATE : 16 * RATE] = 0.5
    for block in sound.reshape(-1, 512 * 5)[:, :]:
        tape.add(block)
    path = Path(tape.keep(15, 16))
    with wave.open(str(path)) as file:
        assert (file.getframerate(), file.getnchannels()) == (RATE, 1)
        kept = np.frombuffer(file.readframes(file.getnframes()), np.int16)
    assert len(kept) == pytest.approx(1.4 * RATE, abs=2)
    assert (np.abs(kept) > 16_000).sum() == pytest.approx(RATE, abs=2)


def test_nothing_is_kept_unless_it_is_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(tmp_path)
    tape = Tape("", keep_days=7)
    tape.add(np.ones(RATE, np.float32))
    assert tape.keep(0, 1) == ""
    assert tape.length_s == 1
    assert not list(tmp_path.iterdir())


def test_a_full_disk_does_not_make_it_deaf(tmp_path: Path):
    (tmp_path / "file").write_text("in the way", encoding="ascii")
    tape = Tape(str(tmp_path / "file" / "kept"), keep_days=7)
    tape.add(np.ones(RATE, np.float32))
    assert tape.keep(0, 1) == ""


def test_old_recordings_are_deleted_and_nothing_else(tmp_path: Path):
    for name, days in (("heard-1.wav", 8), ("heard-2.wav", 6), ("mine.wav", 99)):
        (tmp_path / name).touch()
        then = (tmp_path / name).stat().st_mtime - 86_400 * days
        os.utime(tmp_path / name, (then, then))
    assert delete_old(tmp_path, 7) == 1
    assert {path.name for path in tmp_path.iterdir()} == {"heard-2.wav", "mine.wav"}
