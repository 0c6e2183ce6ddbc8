"""Errors as they are told at the command line: in plain words, the rest goes into the log."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, datetime
from errno import EIO
from termios import error as termios_error
from termios import tcgetattr
from traceback import format_exception
from typing import Any

import click

from benchterm import __version__
from benchterm.errors import BenchError, TerminalLost


class Told(click.ClickException):
    """An error as it is told at the bench."""

    def __init__(self, error: BenchError) -> None:
        super().__init__("\n".join(part for part in (error.what, error.works, error.todo) if part))
        vars(self)["exit_code"] = error.exit_code

    def show(self, file: Any = None) -> None:
        """Print it, if there is anybody left to read it."""
        with suppress(OSError):
            click.echo(f"benchterm: {self.message}", file=file, err=file is None)


class PlainlyTold(click.Group):
    """Commands whose errors are told in plain words, never as a traceback."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command."""
        try:
            return super().invoke(ctx)
        except BenchError as error:
            raise Told(error) from error
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except Exception as error:
            raise Told(_plain(error)) from error


def _plain(error: Exception) -> BenchError:
    from benchterm.core.bench import NotSaved  # noqa: PLC0415 - see cli

    if isinstance(error, NotSaved):
        return _not_saved(error)
    if isinstance(error, OSError) and error.errno == EIO and any(map(_hung_up, (0, 1, 2))):
        return TerminalLost()
    return _unexpected(error)


def _hung_up(stream: int) -> bool:
    """Whether a descriptor leads to a terminal that has gone away."""
    try:
        tcgetattr(stream)
    except termios_error as error:
        return bool(error.args[0] == EIO)
    return False


def _not_saved(error: Exception) -> BenchError:
    return BenchError(
        f"NOT SAVED: {error}",
        works="What was taken before is on disk.",
        todo="Make room or mend the disk, then start again: the session can be resumed.",
    )


def _unexpected(error: Exception) -> BenchError:
    """Put the whole of an error into the log, and say where it is."""
    from benchterm.locations import log_file  # noqa: PLC0415 - see cli

    log = log_file()
    try:
        log.parent.mkdir(parents=True, exist_ok=True)
        with log.open("a", encoding="utf-8") as file:
            file.write(f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ} benchterm {__version__}\n")
            file.write("".join(format_exception(error)))
        where = f"The details are in {log}."
    except OSError:
        where = f"The details could not be written to {log}."
    return BenchError(
        f"The program met an error it did not expect ({type(error).__name__}: {error}).",
        works="Every entry shown as taken is in the journal on disk.",
        todo=f"Start again and resume the session. {where}",
    )
