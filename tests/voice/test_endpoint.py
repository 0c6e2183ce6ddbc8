"""Where speech begins and pauses, with detectors that one can foresee."""

from __future__ import annotations

import numpy as np
import pytest
from voice.standins import Always, ByLoudness, silence, tone

from benchterm.voice.endpoint import FRAME, FRAME_S, KEPT_S, Endpointer


def feed(endpointer: Endpointer, sound: np.ndarray) -> None:
    for frame in sound[: len(sound) // FRAME * FRAME].reshape(-1, FRAME):
        endpointer.feed(frame)


def test_silence_begins_nothing():
    endpointer = Endpointer(ByLoudness())
    feed(endpointer, silence(3))
    assert not endpointer.speaking
    assert endpointer.noise_db == pytest.approx(-90)


def test_speech_begins_and_pauses():
    endpointer = Endpointer(ByLoudness())
    feed(endpointer, silence(1.024))
    feed(endpointer, tone(0.512))
    assert endpointer.speaking
    assert endpointer.quiet_s == 0
    assert endpointer.begin_s == pytest.approx(1.024)
    feed(endpointer, silence(0.32))
    assert endpointer.speaking
    assert endpointer.quiet_s == pytest.approx(0.32)


def test_the_segment_holds_sound_from_before_and_after():
    endpointer = Endpointer(ByLoudness())
    feed(endpointer, np.concatenate([silence(1.024), tone(0.512), silence(0.192)]))
    segment = endpointer.segment()
    assert (segment.begin_s, segment.end_s) == pytest.approx((1.024, 1.536))
    assert len(segment.samples) == pytest.approx((0.3 + 0.512 + 0.192) * 16000, abs=FRAME)
    assert segment.speech_db == pytest.approx(20 * np.log10(0.5 / np.sqrt(2)), abs=0.5)


def test_after_closing_the_next_one_begins_afresh():
    endpointer = Endpointer(ByLoudness())
    feed(endpointer, np.concatenate([silence(1.024), tone(0.512), silence(0.64)]))
    endpointer.close()
    assert not endpointer.speaking
    feed(endpointer, np.concatenate([silence(0.512), tone(0.32)]))
    assert endpointer.speaking
    assert endpointer.segment().begin_s == pytest.approx(2.688)


def test_a_segment_may_reach_back_to_what_was_said_before():
    endpointer = Endpointer(ByLoudness())
    feed(endpointer, np.concatenate([silence(1.024), tone(0.512), silence(0.64)]))
    endpointer.close()
    feed(endpointer, tone(0.512))
    segment = endpointer.segment(1.024)
    assert segment.begin_s == pytest.approx(1.024)
    assert len(segment.samples) / 16000 == pytest.approx(0.3 + 0.512 + 0.64 + 0.512, abs=FRAME_S)


def test_no_more_than_some_seconds_are_kept():
    endpointer = Endpointer(ByLoudness())
    feed(endpointer, tone(20))
    assert len(endpointer.segment().samples) <= KEPT_S * 16000


def test_among_voices_the_louder_one_is_followed_to_its_end():
    endpointer = Endpointer(Always())
    feed(endpointer, tone(2.048, level=0.02))
    # A detector that always hears somebody begins at once; that stretch is given up as noise.
    endpointer.close()
    feed(endpointer, tone(1.024, level=0.02))
    assert not endpointer.speaking
    feed(endpointer, tone(1.024, level=0.5))
    assert endpointer.speaking
    feed(endpointer, tone(0.64, level=0.02))
    assert endpointer.quiet_s == pytest.approx(0.64, abs=5 * FRAME_S)


def test_a_level_is_told_while_listening():
    endpointer = Endpointer(ByLoudness())
    feed(endpointer, tone(0.5, level=0.05))
    assert endpointer.level_db == pytest.approx(20 * np.log10(0.05 / np.sqrt(2)), abs=0.5)
    assert endpointer.noise_db == pytest.approx(endpointer.level_db, abs=0.5)
