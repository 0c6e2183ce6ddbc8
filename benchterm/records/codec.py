r"""One event, one line of JSON, sealed with a checksum.

::

    {"v":1,"seq":7,"entry":7,"at":61.5,"utc":"2026-03-02T09:15:02.417Z","source":"keypad",
     "heard":"8 22.5","type":"reading_taken",
     "body":{"station":8,"axis":"along","value_n_cm":22.5},"crc":"5f1c09ab"}\n

(in one line). ``crc`` is the CRC-32 (ISO 3309, as in zlib) of all bytes before ``,"crc"``. Strings
are UTF-8. A field that is missing has the event's default; one that is not known is refused, for
to pass over it would be to count something else than was written.
"""

from __future__ import annotations

import contextlib
import re
from typing import Any, get_args
from zlib import crc32

import msgspec

from benchterm.core.events import Event, Happening, Source

FORMAT = 1
"""``v`` of the lines written and read here."""


class BadLine(ValueError):
    """A line is no event.

    Example scenarios: a bit flipped on the disk; the file was edited by hand.
    """


class NewerLine(BadLine):
    """The line is in order, but a later version of the program wrote it."""


class _Line(msgspec.Struct, forbid_unknown_fields=True):
    v: int
    seq: int
    entry: int
    at: float
    utc: str
    source: Source
    heard: str
    type: str
    body: Any


class _Version(msgspec.Struct):
    v: int


_CLASS_OF = {re.sub(r"(?<!^)(?=[A-Z])", "_", c.__name__).lower(): c for c in get_args(Happening)}
_TYPE_OF = {c: name for name, c in _CLASS_OF.items()}
_ENCODER = msgspec.json.Encoder()
_DECODER = msgspec.json.Decoder(_Line)
_SEAL = b',"crc":"%08x"}\n'
_SEAL_LENGTH = len(_SEAL % 0)


def type_name(happening: Happening) -> str:
    """The ``type`` of an event in the journal, as in ``reading_taken``."""
    return _TYPE_OF[type(happening)]


def encode(event: Event) -> bytes:
    """The line of an event, with its newline.

    Raises:
        ValueError: the line would not read back as this event, for a number in it is NaN or
            infinite, a text is not Unicode or a value is of a wrong type.
    """
    with contextlib.suppress(ValueError, OverflowError):
        line = _seal(event)
        # JSON has no NaN: it would be written as null, and could be read back as "not given".
        if decode(line) == event:
            return line
    raise ValueError(f"{type_name(event.what)} holds a number or a text that no line can hold")


def decode(line: bytes) -> Event:
    """The event in a line.

    Raises:
        NewerLine: a later version of the program wrote it.
        BadLine: it is not what was written, or not an event.
    """
    head = line[:-_SEAL_LENGTH]
    if line[-_SEAL_LENGTH:] != _SEAL % crc32(head):
        raise BadLine("the checksum does not match")
    try:
        read = _DECODER.decode(head + b"}")
        if read.v != FORMAT:
            raise _other_format(read.v)
        kind = _CLASS_OF.get(read.type)
        if kind is None:
            raise BadLine(f"{read.type!r} is no event that this version knows")
        what = msgspec.convert(read.body, kind)
    except (msgspec.MsgspecError, UnicodeDecodeError) as error:
        raise _why(head + b"}", error) from error
    unknown = _unknown_field(read.body, what)
    if unknown:
        raise BadLine(f"{read.type} has a field that this version does not know: {unknown}")
    return Event(read.seq, read.entry, read.at, read.utc, read.source, what, read.heard)


def _seal(event: Event) -> bytes:
    line = _Line(
        FORMAT,
        event.seq,
        event.entry,
        event.at_s,
        event.utc,
        event.source,
        event.heard,
        type_name(event.what),
        event.what,
    )
    head = _ENCODER.encode(line)[:-1]
    return head + _SEAL % crc32(head)


def _why(text: bytes, error: Exception) -> BadLine:
    """A later format may differ in any field, so that its number is looked for by itself."""
    try:
        version = msgspec.json.decode(text, type=_Version).v
    except (msgspec.MsgspecError, UnicodeDecodeError):
        version = FORMAT
    return BadLine(f"it is no event: {error}") if version == FORMAT else _other_format(version)


def _other_format(version: int) -> BadLine:
    if version > FORMAT:
        return NewerLine(f"it is in format {version}, this version reads format {FORMAT}")
    return BadLine(f"there is no format {version}")


def _unknown_field(body: dict[str, Any], made: Any) -> str:
    known = made.__dataclass_fields__
    for name, value in body.items():
        if name not in known:
            return name
        if isinstance(value, dict):
            inner = _unknown_field(value, getattr(made, name))
            if inner:
                return f"{name}.{inner}"
    return ""
