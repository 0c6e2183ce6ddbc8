"""``benchterm sheet``: the record that goes with a screen, and the shop's screens side by side."""

# ruff: noqa: PLC0415 - the command imports what it needs when it is run

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from benchterm.errors import BenchError

if TYPE_CHECKING:
    from benchterm.records.sheet import Sheet


@click.command()
@click.argument("session", required=False)
@click.option("--all", "every", is_flag=True, help="One line a screen, the latest first.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a screen.")
@click.option("--output", type=click.Path(path_type=Path, dir_okay=False), help="Write it here.")
def sheet(session: str | None, every: bool, as_json: bool, output: Path | None) -> None:
    """Print the sheet that goes with a screen: how it stands and how it was made.

    SESSION is a session's name, its screen's, or a journal file; without one, the latest session.
    """
    import msgspec

    from benchterm.sheet_page import HEADING, line, page

    sheets = list(_every()) if every else [_made(_file(session))]
    if as_json:
        text = "".join(msgspec.json.encode(_plain(one)).decode() + "\n" for one in sheets)
    else:
        text = "".join([HEADING, *map(line, sheets)] if every else map(page, sheets))
    if output is None:
        click.echo(text, nl=False)
        return
    try:
        output.write_text(text, encoding="utf-8")
    except OSError as error:
        raise BenchError(
            f"{output} cannot be written: {error.strerror}.",
            works="The session's journal is as it was.",
            todo="Name another file, or leave --output away.",
        ) from error
    click.echo(f"Written: {output}")


def _plain(sheet: Sheet) -> dict[str, object]:
    """A sheet as ``schemas/sheet.schema.json`` has it."""
    import msgspec

    from benchterm.figures import event_shown

    plain: dict[str, object] = msgspec.to_builtins(sheet)
    gone = [[{"at": e.at_s, **event_shown(e)} for e in entry] for entry in sheet.taken_back]
    return {"v": 1, **plain, "taken_back": gone}


def _made(path: Path) -> Sheet:
    from benchterm.records.journal import read_all
    from benchterm.records.sheet import sheet_of

    contents = read_all(path)
    if not contents.events:
        raise BenchError(
            f"{path.name} holds no session: the program stopped before its first line."
        )
    return sheet_of(contents.events, len(contents.torn))


def _every() -> Iterator[Sheet]:
    from benchterm.locations import sessions_folder
    from benchterm.records.sessions import Standing, list_sessions

    for one in list_sessions(sessions_folder()):
        if one.standing is Standing.DAMAGED:
            click.echo(f"{one.path.name} is left out: {one.problem}", err=True)
        elif one.standing is not Standing.EMPTY:
            yield _made(one.path)


def _file(session: str | None) -> Path:
    from benchterm.locations import sessions_folder
    from benchterm.records.sessions import list_sessions

    folder = sessions_folder()
    if session is not None and Path(session).is_file():
        return Path(session)
    for one in list_sessions(folder):
        if session is None or session in (one.session, one.screen_id, one.path.name):
            return one.path
    raise BenchError(
        "There is no session yet." if session is None else f"No session is called {session}.",
        works=f"Sessions are kept in {folder}.",
        todo="benchterm sessions lists all of them.",
    )
