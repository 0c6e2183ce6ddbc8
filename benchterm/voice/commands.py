"""``benchterm hear``: the way of the microphone, on recorded sound."""

# ruff: noqa: PLC0415 - the command imports what it needs when it is run, so that --help is quick

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from benchterm.errors import BenchError

if TYPE_CHECKING:
    from benchterm.voice.hear import Hearing, Listened
    from benchterm.voice.truth import Recording
    from benchterm.voice.understand import Pending, Understanding


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--expect", metavar="N/CM", type=float, help="What the value is likely to be.")
@click.option(
    "--pending",
    metavar="WHAT",
    multiple=True,
    help="What the bench waits for: a station, as in 'far left' or 7, or 'question'. "
    "Without one a number alone counts only with --expect. Can be repeated.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
@click.option("--language", metavar="NAME", default="en", help="Grammar in use.")
def hear(
    files: tuple[Path, ...],
    expect: float | None,
    pending: tuple[str, ...],
    as_json: bool,
    language: str,
) -> None:
    """Hear recorded sound as the bench would: WAV or FLAC, folders of it, or a manifest.

    A manifest (.jsonl) says what each recording holds; a table of what became of it comes last.
    """
    from benchterm.voice.hear import lines, listen, pending_for
    from benchterm.voice.ready import ready
    from benchterm.voice.tally import table

    hearing = ready(language)
    given = _pending(pending, hearing.understanding) if pending else None
    recordings = list(_recordings(files, expect, hearing.understanding))
    if not recordings:
        raise BenchError("There is no recording in what was named.", todo="Name WAV or FLAC files.")
    failed: BenchError | None = None
    done: list[Listened] = []
    for number, recording in enumerate(recordings, 1):
        _progress(number, len(recordings))
        try:
            listened = listen(hearing, recording, pending_for(recording, given))
        except BenchError as error:
            failed = error
            click.echo(f"benchterm: {error}", err=True)
            continue
        done.append(listened)
        for line in lines(listened):
            click.echo(json.dumps(line, ensure_ascii=False) if as_json else _plain(line))
    if len(recordings) > 1:
        for row in table(done):
            click.echo(row, err=as_json)
    if failed is not None:
        sys.exit(failed.exit_code)


def _recordings(
    files: Iterable[Path], expect: float | None, understanding: Understanding
) -> Iterable[Recording]:
    from dataclasses import replace

    from benchterm.voice.hear import recordings_in
    from benchterm.voice.truth import Recording, read_manifest

    for file in files:
        manifest = file / "manifest.jsonl" if file.is_dir() else file
        if manifest.suffix == ".jsonl" and manifest.is_file():
            found = list(read_manifest(manifest, understanding))
        else:
            found = recordings_in(file) if file.is_dir() else [Recording(file)]
        for one in found:
            yield one if expect is None else replace(one, expected=expect)


def _pending(names: Iterable[str], understanding: Understanding) -> Pending:
    from benchterm.core.stations import Station
    from benchterm.voice.understand import Pending

    station: Station | None = None
    question = False
    for name in names:
        if name == "question":
            question = True
            continue
        known = {str(int(s)): s for s in Station} | {s.label: s for s in Station}
        station = known.get(" ".join(name.lower().replace("_", " ").split()))
        if station is None:
            raise click.BadParameter(
                f"{name!r} is neither a station nor 'question'", param_hint="--pending"
            )
    return Pending(station, question)


def _plain(line: dict[str, object]) -> str:
    why = f" ({line['why']})" if line["why"] else ""
    return f"{line['file']}: {line['decision']}{why}: {line['words'] or '-'}"


def _progress(number: int, total: int) -> None:
    if total > 1 and sys.stderr.isatty():
        click.echo(f"\r{number}/{total} ", nl=number == total, err=True)
