"""What the bench and its voice processes say to each other: one JSON object a line, each way."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import msgspec

from benchterm.core.stations import Axis
from benchterm.phrases.meanings import Slots


class _Line(msgspec.Struct, frozen=True, tag=True, tag_field="is"):
    """One line."""


# To the ear.


class Listening(_Line, frozen=True):
    """The first line: how to listen."""

    language: str
    """Name of the grammar."""
    engine: str = "ear"
    model: str = ""
    """Folder of the model; empty: the one that comes with the program."""
    sha256: str = ""
    """What its ``model.bin`` must hash to; empty: anything."""
    shift: float = 0.0
    scale: float = 1.0
    """How the operator's confidences differ, as in ``accept.Tuning``."""
    device: str = ""
    """Name of the microphone, or part of it; empty: the system's."""
    push_to_talk: bool = False
    """Hear only between the key's going down and up."""
    recordings: str = ""
    """Folder for what is recorded; empty: nothing is."""
    keep_days: float = 7.0
    """Recordings older than this are deleted."""


class Value(msgspec.Struct, frozen=True):
    """What a reading is likely to be, N/cm."""

    value: float
    sd: float
    a_click: float
    """How much one click of this roller adds."""


class Place(msgspec.Struct, frozen=True):
    """What readings at one station are likely to be."""

    usual: Axis
    """The axis that is meant when none is named."""
    along: Value
    across: Value


class Waits(_Line, frozen=True):
    """What the bench waits for."""

    station: int | None = None
    """Where a number or clicks alone would count."""
    question: bool = False
    """Whether yes, no and choices count."""
    gauge: bool = False
    """Whether a place alone counts, for the value of a gauge."""
    places: dict[int, Place] = {}


class Mute(_Line, frozen=True):
    """Hear nothing but the word that ends this, or all again."""

    on: bool


class Key(_Line, frozen=True):
    """The key to talk went down, or up."""

    down: bool


class Speaking(_Line, frozen=True):
    """The bench speaks, or no longer: it must not hear itself."""

    on: bool


ToEar = Listening | Waits | Mute | Key | Speaking


# From the ear.


class Ready(_Line, frozen=True):
    """It listens."""

    engine: str
    device: str
    rate: int
    """Samples a second of the device."""


class Level(_Line, frozen=True):
    """How loud it is, dB below full scale; comes at least once a second while it listens."""

    level_db: float
    noise_db: float
    lost: int = 0
    """Blocks of sound lost so far because nobody took them in time."""


class Began(_Line, frozen=True):
    """Somebody began to speak."""


class Uttered(_Line, frozen=True):
    """Something was said, and this is what it was taken for."""

    words: str
    """As the grammar knows them; empty: not understood."""
    says: dict[str, Any] | None
    """What they say, as ``Slots``."""
    decision: str
    """``sure``, ``ask`` or ``reject``."""
    why: str
    """Why it is not believed at once; empty: it is."""
    confidence: float
    scores: dict[str, float]
    """What the confidence rests on."""
    others: tuple[str, ...]
    """Other understandings, the likelier first."""
    goes_on: bool
    """Whether it holds the one before too, which is thereby withdrawn."""
    begin_s: float
    end_s: float
    closed_s: float
    """In seconds of the stream: where speech began and ended, where the end was believed."""
    decode_s: float
    behind_s: float
    """Time from the end of speech to this line."""
    speech_db: float
    noise_db: float
    recording: str = ""
    """File it was kept in."""

    @property
    def slots(self) -> Slots | None:
        """What the words say."""
        return None if self.says is None else msgspec.convert(self.says, Slots, strict=False)


class Problem(_Line, frozen=True):
    """Something is missing or was lost: what happened, what still works, what to do."""

    kind: str
    what: str
    works: str = ""
    todo: str = ""


class Looking(_Line, frozen=True):
    """What was told to be missing still is, and is looked for; comes with every look.

    It is a sign of life: an ear that says nothing is taken to hang.
    """


FromEar = Ready | Level | Began | Uttered | Problem | Looking


# To the mouth, and back.


class Voice(_Line, frozen=True):
    """The first line: how to speak."""

    engine: str = "auto"
    device: str = ""
    volume: float = 0.8
    """0 to 1."""
    speed: float = 1.0
    """0.5 to 2."""


class Say(_Line, frozen=True):
    """Sound a tone, then say words; either may be missing."""

    number: int
    tone: str = ""
    text: str = ""
    language: str = "en"


class Hush(_Line, frozen=True):
    """Say no more, also of what was asked for before."""


ToMouth = Voice | Say | Hush


class Voiced(_Line, frozen=True):
    """It can speak, with these engines."""

    engines: tuple[str, ...]


class Said(_Line, frozen=True):
    """This was said, or was broken off."""

    number: int


FromMouth = Voiced | Said | Problem


def encode(line: _Line) -> bytes:
    """A line with its newline."""
    return msgspec.json.encode(line) + b"\n"


def says(slots: Slots) -> dict[str, Any]:
    """Slots as plain values, those that are filled."""
    empty = msgspec.to_builtins(Slots())
    filled: dict[str, Any] = msgspec.to_builtins(slots)
    return {name: value for name, value in filled.items() if value != empty[name]}


class Lines:
    """Cuts a stream of bytes into lines and reads each; a line that is none of ours is passed over.

    A library may print into the stream: that must end nothing.
    """

    def __init__(self, kind: Any) -> None:
        self._decoder = msgspec.json.Decoder(kind)
        self._rest = b""

    def feed(self, data: bytes) -> Iterator[Any]:
        """More of the stream; the lines that are whole now."""
        *lines, self._rest = (self._rest + data).split(b"\n")
        for line in lines:
            try:
                yield self._decoder.decode(line)
            except msgspec.MsgspecError:
                continue


Tell = Callable[[_Line], None]
"""Sends a line."""
