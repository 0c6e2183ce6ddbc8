"""Bytes to lines, and lines to text that can be shown and kept: pure, bounded, never an error.

Nothing a gauge sends reaches a terminal or a report but through ``clean`` or ``written``.
"""

from __future__ import annotations

import re

_ESCAPES = re.compile(
    rb"""(?:\x1b\[|\x9b)[0-?]*+[ -/]*+[@-~]?+           # control sequences: colours, cursor
       | (?:\x1b\]|\x9d)[^\x07\x1b\x9c]*+(?:\x07|\x9c|\x1b\\)?+     # titles, links, clipboard
       | (?:\x1b[PX^_]|[\x90\x98\x9e\x9f])[^\x1b\x9c]*+(?:\x9c|\x1b\\)?+   # strings
       | \x1b[ -/]*+[0-~]?+
       | [\x00-\x1f\x7f]""",
    re.VERBOSE,
)
"""Escape sequences and control characters, 7-bit and 8-bit (ECMA-48)."""
_GARBLED = re.compile(rb"[^\x20-\x7e\t\r\n\x02\x03\x1b]")
_NOT_PLAIN = re.compile(rb"[^\x20-\x5b\x5d-\x7e]")


def clean(line: bytes) -> str:
    """A line as printable ASCII: a blank for what would steer a terminal, ``?`` for other bytes.

    Not taken out without a trace: a byte lost inside a number must not leave another number.
    """
    if line.isascii() and not _ESCAPES.search(line):
        return line.decode("ascii")
    return "".join(chr(byte) if 0x20 <= byte < 0x7F else "?" for byte in _ESCAPES.sub(b" ", line))


def written(line: bytes) -> str:
    r"""A line word for word in printable ASCII: other bytes as ``\x1b``, a backslash doubled."""
    return _NOT_PLAIN.sub(_escaped, line).decode("ascii")


def unwritten(text: str) -> bytes:
    """The bytes that ``written`` was given."""
    return re.sub(rb"\\(?:\\|x([0-9a-f]{2}))", _byte, text.encode("ascii"))


def garbled_share(data: bytes) -> float:
    """Share of bytes that no plain line holds, 0 to 1."""
    return len(_GARBLED.findall(data)) / len(data) if data else 0.0


class Splitter:
    """Cuts a stream of bytes into lines. Holds no more than one line of the longest length."""

    def __init__(self, ends_with: str, longest: int) -> None:
        """Take ``ends_with`` as in a profile: empty for carriage return, line feed or both."""
        self._end = ends_with.encode("ascii")
        self._longest = longest
        self._partial = b""
        self._too_long = False

    @property
    def partial(self) -> bytes:
        """The beginning of a line whose end has not come."""
        return self._partial

    def feed(self, data: bytes) -> list[bytes]:
        """The lines that are whole now, without their ends and without empty ones.

        Of a line that is too long every further ``longest`` + 1 bytes come as one piece, so that
        its length tells it from a line; its last piece is dropped.
        """
        text = self._partial + data
        if not self._end:
            *whole, rest = text.replace(b"\r", b"\n").split(b"\n")
        else:
            *whole, rest = text.split(self._end)
        lines: list[bytes] = []
        for line in whole:
            pieces = self._pieces(line)
            if not self._too_long:
                pieces.append(self._partial)
            lines += pieces
            self._too_long = False
        lines += self._pieces(rest)
        return [line for line in lines if line]

    def drop(self) -> None:
        """Forget the beginning of a line."""
        self._partial = b""
        self._too_long = False

    def _pieces(self, line: bytes) -> list[bytes]:
        """Cut off what is too long; what is left is the partial line."""
        size = self._longest + 1
        pieces: list[bytes] = []
        while len(line) >= size:
            pieces.append(line[:size])
            line = line[size:]
            self._too_long = True
        self._partial = line
        return pieces


def _escaped(found: re.Match[bytes]) -> bytes:
    byte = found[0]
    return b"\\\\" if byte == b"\\" else b"\\x%02x" % byte[0]


def _byte(found: re.Match[bytes]) -> bytes:
    return bytes([int(found[1], 16)]) if found[1] else b"\\"
