"""The way of the microphone, on recorded sound: what was heard, what it means, what becomes of it.

The sound is fed frame by frame. The processor time that each takes is added up beside the time of
the stream, so that the delay is that of somebody speaking now to a machine with a core to spare.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from time import process_time
from typing import Any

from benchterm.core.stations import Station
from benchterm.phrases.meanings import Slots
from benchterm.voice.accept import Acceptance, Decision
from benchterm.voice.audio import read_sound
from benchterm.voice.endpoint import FRAME, Endpointer, Silero
from benchterm.voice.engine import RATE, Engine, Samples
from benchterm.voice.listener import Heard, Listener, Patience
from benchterm.voice.truth import Recording
from benchterm.voice.understand import Likely, Pending, Understanding

SHOWN = 3
"""How many understandings are listed besides the first."""
SOUNDS = (".wav", ".flac")


@dataclass(frozen=True, slots=True)
class Hearing:
    """Everything hearing needs, made once."""

    engine: Engine
    understanding: Understanding
    acceptance: Acceptance
    patience: Patience | None = None

    def listener(self) -> Listener:
        """A listener for one stream."""
        return Listener(
            self.engine,
            self.understanding,
            self.acceptance,
            Endpointer(Silero()),
            self.patience,
        )


@dataclass(frozen=True, slots=True)
class Utterance:
    """Something heard, and when the answer would have been there."""

    heard: Heard
    answered_s: float
    """Time since the stream began at which the answer was ready, had it been spoken just then."""

    @property
    def latency_s(self) -> float:
        """From the end of speech, as far as it was found, to the answer."""
        return self.answered_s - self.heard.end_s


@dataclass(frozen=True, slots=True)
class Listened:
    """A recording that was heard to its end."""

    recording: Recording
    utterances: tuple[Utterance, ...]
    length_s: float
    busy_s: float
    """Processor time that the work took."""

    @property
    def standing(self) -> tuple[Utterance, ...]:
        """What was not withdrawn by what came after it."""
        goes_on = [one.heard.goes_on for one in self.utterances[1:]] + [False]
        return tuple(
            one for one, withdrawn in zip(self.utterances, goes_on, strict=False) if not withdrawn
        )


def pending_for(recording: Recording, given: Pending | None) -> Pending:
    """What is pending while a recording is heard.

    As given, if it is. Else, if it is known to hold a phrase or a value is expected, anything may
    be said; if not, nothing waits for a bare number or an answer.
    """
    expected = recording.expected
    likely = (lambda _: None) if expected is None else _likely(expected)
    if given is not None:
        return replace(given, likely=likely)
    if recording.meaning is not None or expected is not None:
        return Pending(Station.NEAR_LEFT, recording.meaning is not None, likely=likely)
    return Pending()


def listen(hearing: Hearing, recording: Recording, pending: Pending) -> Listened:
    """Hear one recording.

    Raises:
        AudioError: it cannot be read.
    """
    listener = hearing.listener()
    found: list[Utterance] = []
    clock_s = fed_s = busy_s = 0.0

    def take(step: Callable[[], Iterator[Heard]]) -> None:
        nonlocal clock_s, busy_s
        began = process_time()
        heard = list(step())
        took_s = process_time() - began
        busy_s += took_s
        clock_s = max(clock_s, fed_s) + took_s
        found.extend(Utterance(one, clock_s) for one in heard)

    for sound in read_sound(recording.path):
        for at in range(0, len(sound), FRAME):
            frame: Samples = sound[at : at + FRAME]
            fed_s += len(frame) / RATE
            take(lambda frame=frame: listener.feed(frame, pending))  # type: ignore[misc]
    take(lambda: listener.finish(pending))
    return Listened(recording, tuple(found), fed_s, busy_s)


def recordings_in(folder: Path) -> list[Recording]:
    """The recordings in a folder and those below it, by name."""
    files = (path for path in folder.rglob("*") if path.suffix.lower() in SOUNDS)
    return [Recording(path) for path in sorted(files)]


def lines(listened: Listened) -> Iterator[dict[str, Any]]:
    """One JSON object for each utterance; one that says so if nobody spoke."""
    file = str(listened.recording.path)
    if not listened.utterances:
        yield {"v": 1, "file": file, "utterance": 0, **_NOTHING}
    for number, one in enumerate(listened.utterances, 1):
        yield {"v": 1, "file": file, "utterance": number, **_shown(one)}


def meaning_shown(slots: Slots) -> dict[str, Any]:
    """What words say, as plain values: stations by name, clicks let back below zero."""
    shown: dict[str, Any] = {"do": slots.do}
    if slots.station is not None:
        shown["station"] = slots.station.label
    if slots.axis is not None:
        shown["axis"] = slots.axis.value
    if slots.stage is not None:
        shown["stage"] = slots.stage.label
    if slots.topic:
        shown["topic"] = slots.topic
    if slots.do == "turn" and slots.clicks is not None:
        shown["clicks"] = int(-slots.clicks if slots.back else slots.clicks)
    if slots.value is not None:
        shown["value_n_cm"] = float(slots.value)
    for name in ("mm", "minutes", "number"):
        value = getattr(slots, name)
        if value is not None:
            shown[name] = float(value)
    return shown


_NOTHING = {
    "words": "",
    "meaning": None,
    "decision": Decision.REJECT.value,
    "why": "nobody spoke",
}


def _shown(one: Utterance) -> dict[str, Any]:
    heard = one.heard
    first = heard.ranked[0] if heard.ranked else None
    return {
        "words": first.text if first else "",
        "meaning": meaning_shown(first.slots) if first else None,
        "decision": heard.verdict.decision.value,
        "why": heard.verdict.why,
        "confidence": round(heard.confidence, 4),
        "goes_on": heard.goes_on,
        "scores": {
            "score": round(first.score, 3) if first else None,
            "free_score": round(heard.recognition.free_score, 3),
            **({k: round(v, 3) for k, v in asdict(heard.figures).items()} if heard.figures else {}),
        },
        "heard_freely": " ".join(heard.recognition.free_words),
        "others": [
            {"words": u.text, "meaning": meaning_shown(u.slots), "score": round(u.score, 3)}
            for u in heard.ranked[1 : 1 + SHOWN]
        ],
        "speech_db": round(heard.speech_db, 1),
        "noise_db": round(heard.noise_db, 1),
        "times": {
            "begin_s": round(heard.begin_s, 3),
            "end_s": round(heard.end_s, 3),
            "closed_s": round(heard.closed_s, 3),
            "decode_s": round(heard.decode_s, 3),
            "latency_s": round(one.latency_s, 3),
        },
    }


def _likely(expected: float) -> Callable[[Slots], Likely | None]:
    return lambda _: Likely(expected)
