"""A bench that is spoken to and answers: from the microphone to the journal and the speaker."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from benchterm.core.events import ReadingTaken, RollerTurned, Source, Undone
from benchterm.core.stations import Axis, Station
from benchterm.voice.hear import listen
from benchterm.voice.ready import ready
from benchterm.voice.truth import Recording
from benchterm.voice.understand import Pending
from benchterm.voice.wire import Listening

Bench = Callable[..., Any]


def by_voice(at: Any) -> list[object]:
    return [e.what for e in at.events() if e.source is Source.VOICE and e.what not in at.heard(0)]


def understood(sound: np.ndarray, folder: Path) -> list[str]:
    """What our own ear makes of a recording."""
    file = folder / "speaker.wav"
    soundfile.write(file, sound, 16_000)
    found = listen(ready(Listening("en")), Recording(file), Pending(Station.FAR, True)).utterances
    return [one.heard.ranked[0].text for one in found if one.heard.ranked]


def test_what_is_called_out_is_taken_shown_written_and_read_back(bench: Bench, tmp_path: Path):
    with bench() as at:
        speaker = at.card.record(tmp_path / "speaker.raw")
        at.say("far nine point five")
        (heard,) = at.heard(1)
        at.shows("far 9.5")
        at.watch(4)
        sound = speaker.stop()
        at.say("left three clicks")
        at.heard(2)
        at.watch(4)
        at.say("eleven point five")
        at.heard(3)
        at.watch(4)
        at.say("undo that")
        at.heard(4)
        last = [e for e in at.events() if e.source is Source.VOICE and e.heard]
        taken = by_voice(at)
    assert (heard.decision, heard.became) == ("sure", "taken")
    assert last[0].heard == "far nine point five"
    assert taken[:3] == [
        ReadingTaken(Station.FAR, Axis.ALONG, 9.5),
        RollerTurned(Station.LEFT, 3),
        ReadingTaken(Station.LEFT, Axis.ACROSS, 11.5),
    ]
    assert isinstance(taken[3], Undone)
    assert np.abs(sound).max() > 0.1
    assert "far nine point five" in understood(sound, tmp_path)


def test_muted_it_hears_only_the_word_that_ends_it(bench: Bench):
    with bench('speech = "tones"') as at:
        at.keys("0/")
        at.shows("muted")
        at.say("far nine point five")
        at.watch(3)
        assert by_voice(at) == []
        at.forget()
        at.say("listen")
        at.shows("listening")
        at.watch(1)
        at.say("far nine point five")
        at.heard(2)
        assert [(h.words, h.became) for h in at.heard()] == [
            ("listen", "taken"),
            ("far nine point five", "taken"),
        ]
        assert by_voice(at) == [ReadingTaken(Station.FAR, Axis.ALONG, 9.5)]


def test_it_does_not_hear_itself(bench: Bench, tmp_path: Path):
    with bench() as at:
        at.card.echo()
        microphone = at.card.record(tmp_path / "microphone.raw", "mouth")
        at.say("how far apart")
        at.heard(1)
        at.watch(14)
        sound = microphone.stop()
        assert [h.words for h in at.heard()] == ["how far apart"]
    blocks = np.abs(sound[: len(sound) // 1600 * 1600]).reshape(-1, 1600).max(axis=1)
    assert (blocks[40:] > 0.02).sum() > 10, "the answer never came back into the microphone"


def test_a_key_breaks_off_what_it_says(bench: Bench, tmp_path: Path):
    with bench() as at:
        at.watch(4)  # The mouth is ready later than the ear.
        speaker = at.card.record(tmp_path / "speaker.raw")
        at.keys("how far apart")
        at.watch(1.5)
        at.terminal.press(b"8")
        at.watch(4)
        sound = speaker.stop()
    assert np.abs(sound).max() > 0.1
    assert np.abs(sound[-2 * 16_000 :]).max() < 0.01


def test_a_microphone_taken_away_and_brought_back(bench: Bench):
    with bench() as at:
        at.card.unplug()
        at.shows("The microphone is gone")
        at.keys("8 9.5")
        at.shows("far 9.5")
        at.forget()
        at.card.plug_in()
        at.shows("listening")
        at.watch(2)
        at.say("left three clicks")
        at.heard(1)
        assert RollerTurned(Station.LEFT, 3) in by_voice(at)


def test_ear_and_mouth_killed_are_started_again(bench: Bench, tmp_path: Path):
    with bench() as at:
        before = at.children()
        assert set(before) == {"child", "mouth"}
        at.forget()
        for number in before.values():
            os.kill(number, signal.SIGKILL)
        at.shows("MICROPHONE stopped")
        at.shows("listening", 60)
        at.watch(3)
        assert not set(at.children().values()) & set(before.values())
        speaker = at.card.record(tmp_path / "speaker.raw")
        at.say("left three clicks")
        at.heard(1)
        at.watch(4)
        assert RollerTurned(Station.LEFT, 3) in by_voice(at)
        assert np.abs(speaker.stop()).max() > 0.1


def test_with_a_key_to_talk_nothing_else_is_heard(bench: Bench):
    with bench('push_to_talk = true\nspeech = "none"', "waits for its key") as at:
        at.say("far nine point five")
        at.watch(3)
        assert at.heard(0) == []
        at.forget()
        at.terminal.press(b"\x1b[20~")  # F9
        at.shows("listening")
        at.say("left three clicks")
        at.heard(1)
        at.shows("waits for its key")
        assert by_voice(at) == [RollerTurned(Station.LEFT, 3)]


def test_what_is_heard_is_kept_only_if_asked_for_and_the_light_says_so(
    bench: Bench, tmp_path: Path
):
    with bench('keep_recordings = true\nspeech = "none"') as at:
        at.shows("RECORDING")
        at.say("far nine point five")
        at.heard(1)
    (kept,) = (tmp_path / "home" / "recordings").glob("*.wav")
    sound, rate = soundfile.read(kept)
    assert rate == 16_000
    assert "far nine point five" in understood(sound, tmp_path)


def test_nothing_is_left_running_when_the_bench_is_killed(bench: Bench):
    with bench(leaves=False) as at:
        numbers = at.children().values()
        assert len(numbers) == 2
        at.terminal.process.kill()
        end_s = time.monotonic() + 15
        while any(Path(f"/proc/{number}").exists() for number in numbers):
            assert time.monotonic() < end_s, "still running"
            time.sleep(0.1)
