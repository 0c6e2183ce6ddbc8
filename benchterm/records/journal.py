"""The journal: one file a session, one writer, every entry on the disk before it is taken.

An entry is added with one write and one ``fdatasync``. If either fails, nothing of the entry
counts: the file is cut back to the last entry that was taken, at once if the disk lets us, else
before the next entry, which is the operator's own second try; there is no other.

What lies after the last newline was cut off by a power cut and never taken; on opening it is moved
into a file beside the journal. A bad line before that is named and nothing is changed. Lines are
never rewritten.
"""

from __future__ import annotations

import contextlib
import errno
import fcntl
import os
from collections.abc import Iterable, Iterator, Sequence
from itertools import count
from pathlib import Path
from types import TracebackType
from typing import NamedTuple, Self
from zlib import crc32

from benchterm.core.bench import NotSaved
from benchterm.core.events import Event, JournalRepaired
from benchterm.errors import BenchError, JournalBusy, JournalDamaged
from benchterm.records.codec import BadLine, NewerLine, decode, encode


class Contents(NamedTuple):
    """What a journal holds."""

    events: tuple[Event, ...]
    torn: bytes
    """What follows the last newline: half a line that never counted."""


class Resumed(NamedTuple):
    """A journal opened again."""

    journal: Journal
    events: tuple[Event, ...]
    repaired: JournalRepaired | None
    """What to write down first, if half a line was moved aside."""


class Journal:
    """The one writer of a session's file; a ``Recorder`` for the bench."""

    def __init__(self, path: Path, descriptor: int, known: _Known) -> None:
        self.path = path
        self._descriptor = descriptor
        self._known = known
        self._broken = False
        self._closed = False

    @classmethod
    def create(cls, path: Path) -> Journal:
        """Begin a new file, and its folder if need be.

        Raises:
            JournalBusy: another program has just begun it.
            BenchError: it is there already, or cannot be made.
        """
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            descriptor = _open_locked(path, os.O_CREAT | os.O_EXCL)
            _sync_folder(path.parent)
        except OSError as error:
            raise _cannot_open(path, error) from error
        return cls(path, descriptor, _Known(path))

    @classmethod
    def resume(cls, path: Path) -> Resumed:
        """Open a file again, every line checked, and move half a line at its end aside.

        Raises:
            JournalBusy: another program is writing it.
            JournalDamaged: a line is not what was written; nothing was changed.
            BenchError: it cannot be read or written.
        """
        try:
            descriptor = _open_locked(path)
        except OSError as error:
            raise _cannot_open(path, error) from error
        known = _Known(path)
        try:
            with open(descriptor, "rb", closefd=False) as file:
                events = tuple(known.check(file))
            torn = known.torn
            repaired = None
            if torn:
                repaired = JournalRepaired(len(torn), _move_aside(path, torn))
                os.ftruncate(descriptor, known.size)
            # Lines of a program that died between write and fdatasync may not be on the disk yet.
            os.fsync(descriptor)
        except BaseException as error:
            os.close(descriptor)
            if isinstance(error, OSError):
                raise _cannot_open(path, error) from error
            raise
        return Resumed(cls(path, descriptor, known), events, repaired)

    def record(self, events: Sequence[Event]) -> None:
        """Put an entry on the disk, all its events or none.

        Raises:
            NotSaved: it is not on the disk and does not count. The next call begins by looking
                at the file afresh.
            ValueError: the events do not follow on from the last one, or the journal is closed.
        """
        if self._closed:
            raise ValueError("the journal is closed")
        for place, event in enumerate(events, self._known.last_seq + 1):
            if event.seq != place:
                raise ValueError(f"event {event.seq} cannot follow event {place - 1}")
        try:
            lines = b"".join(map(encode, events))
        except ValueError as error:
            raise NotSaved(f"This entry cannot be written down: {error}.") from error
        try:
            if self._broken:
                self._mend()
            self._append(lines)
        except (OSError, JournalBusy) as error:
            self._broken = True
            raise NotSaved(_not_saved(error)) from error
        self._broken = False
        self._known.add(lines, events[-1] if events else None)

    def close(self) -> None:
        """Let the file go; others may write it from here on."""
        self._closed = True
        self._let_go()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _append(self, lines: bytes) -> None:
        found = os.fstat(self._descriptor)
        if found.st_nlink == 0:
            raise OSError(errno.ENOENT, "deleted")
        if found.st_size != self._known.size:
            raise OSError(errno.ESTALE, "changed by another program")
        try:
            _write(self._descriptor, lines)
            _sync_data(self._descriptor)
        except OSError:
            # Lest a power cut before the next entry bring back what the operator was told is not
            # saved. Where this fails too, _mend sees to it.
            with contextlib.suppress(OSError):
                os.ftruncate(self._descriptor, self._known.size)
            raise

    def _mend(self) -> None:
        """Open the file anew and leave in it what was taken, byte for byte, and nothing else."""
        self._let_go()
        self._descriptor = _open_locked(self.path)
        with open(self._descriptor, "rb", closefd=False) as file:
            found = file.read()
        size = self._known.size
        if len(found) < size or crc32(found[:size]) != self._known.crc:
            raise OSError(errno.ESTALE, "changed by another program")
        if len(found) > size:
            _move_aside(self.path, found[size:])
            os.ftruncate(self._descriptor, size)
        os.fsync(self._descriptor)

    def _let_go(self) -> None:
        descriptor, self._descriptor = self._descriptor, -1
        if descriptor >= 0:
            with contextlib.suppress(OSError):
                os.close(descriptor)


def read(path: Path) -> Iterator[Event]:
    """The events of a journal one by one, without a lock; half a line at its end is passed over.

    Raises:
        JournalDamaged: on reaching a line that is not what was written.
        BenchError: it cannot be read.
    """
    return _read(path, _Known(path))


def read_all(path: Path) -> Contents:
    """The events of a journal and the half line at its end; the file is left as it is.

    Raises:
        JournalDamaged: a line is not what was written.
        BenchError: it cannot be read.
    """
    known = _Known(path)
    return Contents(tuple(_read(path, known)), known.torn)


def _read(path: Path, known: _Known) -> Iterator[Event]:
    try:
        with path.open("rb") as file:
            yield from known.check(file)
    except OSError as error:
        raise _cannot_open(path, error) from error


class _Known:
    """What is known to be in a journal: its whole lines, in order, and nothing after them."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self.size = 0
        self.crc = 0
        self.last_seq = 0
        self.torn = b""
        self._entry = 0

    def add(self, lines: bytes, last: Event | None) -> None:
        """Take lines as there."""
        self.size += len(lines)
        self.crc = crc32(lines, self.crc)
        if last:
            self.last_seq, self._entry = last.seq, last.entry

    def check(self, lines: Iterable[bytes]) -> Iterator[Event]:
        """The events of a file's lines.

        Raises:
            JournalDamaged: a line is not what was written.
        """
        for number, line in enumerate(lines, 1):
            if not line.endswith(b"\n"):
                self.torn = line
                return
            try:
                event = decode(line)
                self._check_order(event)
            except BadLine as error:
                raise self._damaged(number, error) from error
            self.add(line, event)
            yield event

    def _check_order(self, event: Event) -> None:
        due = self.last_seq + 1
        if event.seq > due:
            raise BadLine(f"event {due} is missing, event {event.seq} stands in its place")
        if event.seq < due:
            raise BadLine(f"event {event.seq} comes again after event {self.last_seq}")
        if event.entry not in (event.seq, self._entry):
            raise BadLine(f"event {event.seq} is given to entry {event.entry}, which is over")

    def _damaged(self, number: int, why: BadLine) -> JournalDamaged:
        if isinstance(why, NewerLine):
            todo = "Open it with the version of the program that wrote it."
        else:
            todo = (
                "Put a good copy of the file in its place. Without one, copy it under another "
                f"name, keep what stands before line {number}, and go on with that."
            )
        return JournalDamaged(
            f"{self._path}, line {number}: {why}.",
            works="Nothing in the file was changed; other sessions can be opened.",
            todo=todo,
        )


def _open_locked(path: Path, flags: int = 0) -> int:
    descriptor = os.open(path, os.O_RDWR | os.O_APPEND | flags, 0o644)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as error:
        os.close(descriptor)
        raise JournalBusy(
            f"{path} is being written by another program.",
            works="It can be watched and replayed.",
            todo="Go on where the bench is open, or close it there.",
        ) from error
    except OSError:
        os.close(descriptor)
        raise
    return descriptor


def _move_aside(path: Path, torn: bytes) -> str:
    """Keep bytes in a new file beside the journal, on the disk; gives its name."""
    for number in count(1):
        aside = path.with_name(f"{path.name}.torn-{number}")
        with contextlib.suppress(FileExistsError), aside.open("xb") as file:
            try:
                file.write(torn)
                file.flush()
                os.fsync(file.fileno())
            except OSError:
                aside.unlink()
                raise
            break
    _sync_folder(path.parent)
    return aside.name


def _write(descriptor: int, lines: bytes) -> None:
    if os.write(descriptor, lines) != len(lines):
        raise OSError("only part of it went in; the disk may be full")


def _sync_data(descriptor: int) -> None:
    # macOS has no fdatasync.
    getattr(os, "fdatasync", os.fsync)(descriptor)


def _sync_folder(folder: Path) -> None:
    """Put the folder's list of names on the disk: a new file without it can be lost whole."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


_REASONS = {
    errno.EEXIST: "a file of that name is there already",
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your share of the disk is used up",
    errno.EFBIG: "the file has reached the largest size allowed",
    errno.EROFS: "the disk can only be read",
    errno.EACCES: "the file may not be written by you",
    errno.EPERM: "the file may not be written by you",
    errno.EIO: "the disk reports an error",
    errno.ENOENT: "the file is gone",
    errno.ENODEV: "the disk is gone",
    errno.ENXIO: "the disk is gone",
    errno.ESTALE: "another program has changed the file",
}


def _reason(error: OSError) -> str:
    return _REASONS.get(error.errno or 0, error.strerror or str(error))


def _not_saved(error: OSError | JournalBusy) -> str:
    if isinstance(error, JournalBusy):
        return f"{error.what} This entry does not count. Close it there, then enter it again."
    return (
        f"Not on disk: {_reason(error)}. This entry does not count; what was taken before is kept. "
        "Put that right, then enter it again."
    )


def _cannot_open(path: Path, error: OSError) -> BenchError:
    return BenchError(
        f"{path} cannot be opened: {_reason(error)}.",
        works="Other sessions are not touched.",
        todo="Put that right, or choose another name or folder.",
    )
