"""Every error the person at the bench can meet: what happened, what still works, what to do."""

from __future__ import annotations


class BenchError(Exception):
    """An error with a plain message; shown without a traceback."""

    exit_code = 1

    def __init__(self, what: str, *, works: str = "", todo: str = "") -> None:
        super().__init__(" ".join(part for part in (what, works, todo) if part))
        self.what = what
        """What happened."""
        self.works = works
        """What still works."""
        self.todo = todo
        """What to do."""


class SettingsError(BenchError):
    """A settings or set-up file cannot be used.

    Example scenarios: a key is misspelt; a count of mesh has no unit; a number is out of range.
    """

    exit_code = 2


class TerminalLost(BenchError):
    """The terminal that the program was started in has gone away.

    Example scenarios: its window was closed or killed; the connection to the machine was lost.
    """

    exit_code = 129
    """As a shell gives for a program that SIGHUP has ended."""

    def __init__(self) -> None:
        super().__init__(
            "The terminal has gone away.",
            works="Every entry shown as taken is in the journal on disk.",
            todo="Open another and start again: the session can be resumed.",
        )


class JournalBusy(BenchError):
    """Another program is writing this session.

    Example scenarios: the bench is open in a second terminal or browser tab.
    """

    exit_code = 3


class JournalDamaged(BenchError):
    """A line inside a journal is not what was written.

    Example scenarios: the file was edited by hand; a disk returned bad data; lines are missing.
    """

    exit_code = 4
