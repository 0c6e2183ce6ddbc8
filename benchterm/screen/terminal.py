"""Keeps the picture clean: what native code writes to standard error goes to the log instead.

Textual on Linux draws on file descriptor 2, where sound libraries and recognisers chatter too.
Call ``claim`` before textual is imported: textual binds ``sys.__stderr__`` on import.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path


def claim(log: Path) -> None:
    """Give the screen a private way to the terminal and send descriptor 2 to a log file.

    Where standard error is sent elsewhere already, it stays so, and standard output is drawn on. If
    the log cannot be written, the chatter is dropped: the bench opens all the same.
    """
    chatter_on_screen = os.isatty(2)
    if not chatter_on_screen and not os.isatty(1):
        return
    terminal = os.dup(2 if chatter_on_screen else 1)
    sys.__stderr__ = os.fdopen(terminal, "w", buffering=1)  # type: ignore[misc]
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
    if not os.isatty(2):
        os.dup2(screen.fileno(), 2)
