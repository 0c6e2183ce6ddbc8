"""The terminal the picture is drawn on: kept clean while it is there, let go when it is not.

Textual on Linux draws on file descriptor 2, where sound libraries and recognisers chatter too: what
they write goes to the log instead. Call ``claim`` before textual is imported: textual binds
``sys.__stderr__`` on import.

A terminal can go away with a signal (SIGHUP) or without one: it is killed and was not the one that
controls the program, or the signal is ignored. Textual then reads the end of its input over and
over, and waits for ever once its output has failed.
"""

from __future__ import annotations

import os
import signal
import sys
from io import BufferedWriter, FileIO, TextIOWrapper
from pathlib import Path
from types import FrameType
from typing import Any


class _Picture(FileIO):
    """A way to the terminal that stays open when the terminal is gone: what is drawn is dropped."""

    def write(self, drawn: Any, /) -> int:
        try:
            return super().write(drawn)
        except OSError:
            return len(drawn)


_told: list[int] = []
"""Signals by which the terminal has said that it goes away."""


def is_lost() -> bool:
    """Whether the terminal has gone away since it was claimed."""
    return bool(_told) or not os.isatty(0)


def claim(log: Path) -> None:
    """Give the screen a private way to the terminal and send descriptor 2 to a log file.

    Where standard error is sent elsewhere already, it stays so, and standard output is drawn on. If
    the log cannot be written, the chatter is dropped: the bench opens all the same. A terminal that
    hangs up no longer ends the program: see ``is_lost``.
    """
    signal.signal(signal.SIGHUP, _hung_up)
    chatter_on_screen = os.isatty(2)
    if not chatter_on_screen and not os.isatty(1):
        return
    terminal = os.dup(2 if chatter_on_screen else 1)
    picture = BufferedWriter(_Picture(terminal, "w"))
    sys.__stderr__ = TextIOWrapper(picture, line_buffering=True)  # type: ignore[misc]
    if not chatter_on_screen:
        return
    try:
        log.parent.mkdir(parents=True, exist_ok=True)
        sink = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
    except OSError:
        sink = os.open(os.devnull, os.O_WRONLY)
    os.dup2(sink, 2)
    os.close(sink)


def release() -> None:
    """Point descriptor 2 at the terminal again, for what is printed after the screen is gone."""
    screen = sys.__stderr__
    if screen is None or screen.fileno() == 2:
        return
    screen.flush()
    if not os.isatty(screen.fileno()):
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
    elif not os.isatty(2):
        os.dup2(screen.fileno(), 2)


def _hung_up(number: int, _: FrameType | None) -> None:
    _told.append(number)
