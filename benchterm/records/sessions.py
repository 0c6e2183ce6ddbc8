"""The sessions in a folder: their names, what each one is about, which can be taken up again."""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import Enum
from pathlib import Path

from benchterm.core.events import Event, SessionClosed
from benchterm.core.fold import fold
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.errors import BenchError
from benchterm.records.codec import BadLine, decode
from benchterm.records.journal import read

SUFFIX = ".jsonl"
_LAST_BYTES = 4096
"""Where the last line is looked for: far longer than a line that closes a session."""


class Standing(Enum):
    """How a session stands."""

    UNFINISHED = "unfinished"
    FINISHED = "finished"
    GIVEN_UP = "given up"
    EMPTY = "empty"
    """The program was stopped before the first entry."""
    DAMAGED = "damaged"


@dataclass(frozen=True, slots=True)
class Summary:
    """One session in a list. Of a damaged one, what stands before the damage."""

    path: Path
    standing: Standing
    session: str = ""
    screen_id: str = ""
    operator: str = ""
    stage: Stage = Stage.PREPARE
    started_utc: str = ""
    last_utc: str = ""
    """Of the last entry."""
    problem: str = ""
    """Why it cannot be opened."""


def new_session_id(utc: datetime, bench: str) -> str:
    """A name for a session begun now: sorts by time, fits a file name on any system.

    As in ``20260302-091502-417-by-the-door``: UTC to the millisecond, then the bench.
    """
    moment = utc.astimezone(UTC)
    plain = unicodedata.normalize("NFKD", bench).encode("ascii", "ignore").decode().lower()
    slug = re.sub(r"[^a-z0-9]+", "-", plain)[:32].strip("-") or "bench"
    return f"{moment:%Y%m%d-%H%M%S}-{moment.microsecond // 1000:03d}-{slug}"


def journal_path(folder: Path, session: str) -> Path:
    """Where the journal of a session is kept."""
    return folder / f"{session}{SUFFIX}"


def list_sessions(folder: Path) -> list[Summary]:
    """Every session in a folder, the one with the latest entry first. None if it is not there."""
    return _latest_first(summarise(path) for path in journals(folder))


def unfinished(folder: Path) -> list[Summary]:
    """The sessions that can be taken up again, and the damaged ones, the latest entry first.

    Of a session whose last line closes it no more than that line is read.
    """
    found = (summarise(path) for path in journals(folder) if not _ends_closed(path))
    return _latest_first(
        one for one in found if one.standing in (Standing.UNFINISHED, Standing.DAMAGED)
    )


def summarise(path: Path) -> Summary:
    """What one journal is about; a journal that cannot be read is told as damaged."""
    state = State()
    started = last = problem = ""
    try:
        for event in read(path):
            started = started or event.utc
            last = event.utc
            state = fold(state, event)
    except BenchError as error:
        problem = str(error)
    return Summary(
        path,
        _standing(state, problem),
        state.session,
        state.facts.screen_id if state.session else "",
        state.facts.operator,
        state.stage,
        started,
        last,
        problem,
    )


def _standing(state: State, problem: str) -> Standing:
    if problem:
        return Standing.DAMAGED
    if not state.last_seq:
        return Standing.EMPTY
    if not state.closed:
        return Standing.UNFINISHED
    return Standing.FINISHED if state.finished else Standing.GIVEN_UP


def journals(folder: Path) -> Iterator[Path]:
    """Every journal in a folder, in no order."""
    return folder.glob(f"*{SUFFIX}")


def _latest_first(sessions: Iterator[Summary]) -> list[Summary]:
    return sorted(sessions, key=lambda one: (one.last_utc, one.path.name), reverse=True)


def last_event(path: Path) -> Event | None:
    """What stands in the last line of a journal; ``None``: it is torn, too long, or no event."""
    try:
        with path.open("rb") as file:
            file.seek(max(0, file.seek(0, os.SEEK_END) - _LAST_BYTES))
            last = file.read().splitlines(keepends=True)[-1:]
        return decode(last[0]) if last else None
    except (OSError, BadLine):
        return None


def _ends_closed(path: Path) -> bool:
    last = last_event(path)
    return last is not None and isinstance(last.what, SessionClosed)
