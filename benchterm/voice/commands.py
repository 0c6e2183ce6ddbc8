"""``benchterm voice``, ``say`` and ``hear``: what is there, what can be said, recorded sound."""

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
    from benchterm.config import Settings
    from benchterm.voice.hear import Listened
    from benchterm.voice.trial import Try
    from benchterm.voice.truth import Recording
    from benchterm.voice.understand import Pending, Understanding


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--expect", metavar="N/CM", type=float, help="What the value is likely to be.")
@click.option(
    "--pending",
    metavar="WHAT",
    multiple=True,
    help="What the bench waits for: a station, as in 'far left' or 7, 'question' or 'gauge'. "
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
    from benchterm.voice.wire import Listening

    hearing = ready(Listening(language))
    given = _pending(pending) if pending else None
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


def _pending(names: Iterable[str]) -> Pending:
    from benchterm.core.stations import Station
    from benchterm.voice.understand import Pending

    station: Station | None = None
    for name in names:
        if name in ("question", "gauge"):
            continue
        known = {str(int(s)): s for s in Station} | {s.label: s for s in Station}
        station = known.get(" ".join(name.lower().replace("_", " ").split()))
        if station is None:
            raise click.BadParameter(
                f"{name!r} is no station, nor 'question' or 'gauge'", param_hint="--pending"
            )
    return Pending(station, "question" in names, "gauge" in names)


def _plain(line: dict[str, object]) -> str:
    why = f" ({line['why']})" if line["why"] else ""
    return f"{line['file']}: {line['decision']}{why}: {line['words'] or '-'}"


def _progress(number: int, total: int) -> None:
    if total > 1 and sys.stderr.isatty():
        click.echo(f"\r{number}/{total} ", nl=number == total, err=True)


@click.group(invoke_without_command=True)
@click.pass_context
def voice(ctx: click.Context) -> None:
    """Print what voice has and lacks on this machine, and what to do about it."""
    if ctx.invoked_subcommand is not None:
        return
    from benchterm.config import load_settings
    from benchterm.locations import config_file
    from benchterm.voice.inspection import inspect

    lacking = 0
    for found in inspect(load_settings()):
        click.echo(found.text)
        lacking += bool(found.todo) and not found.there
    click.echo(
        f"Settings: [voice] in {config_file()}; benchterm settings --example shows every key."
    )
    click.echo(
        "Something is missing: the keypad does everything meanwhile."
        if lacking
        else "Everything is there. benchterm voice try shows how well you are heard."
    )


@voice.command("try")
@click.option(
    "--phrases", "count", type=click.IntRange(1, 40), help="How many; 8, or 24 to fit to somebody."
)
@click.option(
    "--seconds", type=click.FloatRange(2, 60), default=10.0, help="How long to wait for each."
)
@click.option(
    "--for",
    "operator",
    metavar="NAME",
    help="Offer to fit the ear to this operator, called as in a session's set-up.",
)
def try_(count: int | None, seconds: float, operator: str | None) -> None:
    """Say the phrases shown, see how each was heard. Ctrl-C ends it."""
    from benchterm.config import load_settings
    from benchterm.locations import grammar_file
    from benchterm.phrases.grammar import Grammar
    from benchterm.voice.listening import Listened, NotReady, listening
    from benchterm.voice.trial import advice, phrases, phrases_to_fit, tried

    settings = load_settings()
    grammar = Grammar.load(grammar_file(settings.language))
    asked = (
        phrases(grammar, count or 8) if operator is None else phrases_to_fit(grammar, count or 24)
    )
    tries: list[Try] = []
    with listening(settings) as ear:
        click.echo("Making ready ...")
        match ear.ready(60.0):
            case NotReady(why):
                works, todo = "The keypad does everything.", "benchterm voice says what is there."
                raise BenchError(why, works=works, todo=todo)
            case Listened(engine, device):
                click.echo(f"Listening with {engine} on {device}. Ctrl-C ends it.")
        try:
            for number, wanted in enumerate(asked, 1):
                click.echo(f"\n{number} of {len(asked)}. Say: {wanted}")
                one = tried(wanted, ear.next(seconds), grammar)
                click.echo(f"  {one.line}")
                tries.append(one)
        except KeyboardInterrupt:
            click.echo("")
    click.echo("")
    for line in advice(tries) if tries else ():
        click.echo(line)
    if operator is not None:
        _offer_to_fit(operator, tries, settings, device)


def _offer_to_fit(operator: str, tries: list[Try], settings: Settings, device: str) -> None:
    from datetime import UTC, datetime
    from statistics import median

    from benchterm.voice import tuning, voices

    heard = [(one.heard, one.right) for one in tries if one.heard is not None]
    told = [tuning.Told(one.confidence, right) for one, right in heard]
    try:
        fitted = tuning.fit(told)
    except tuning.TooFew as error:
        raise BenchError(f"Nothing was fitted: {error}", works="The ear stays as it is.") from error
    click.echo(tuning.compared(told))
    if not click.confirm(f"Use this fit whenever {operator} opens a session?"):
        click.echo("Nothing was kept.")
        return
    path = voices.save(
        voices.Fitted(
            operator=operator,
            utc=datetime.now(UTC).isoformat(timespec="seconds"),
            language=settings.language,
            engine=settings.voice.engine,
            model=settings.voice.model,
            input=settings.voice.input,
            device=device,
            phrases=len(told),
            right=sum(one.right for one in told),
            speech_db=round(median(one.speech_db for one, _ in heard), 1),
            noise_db=round(median(one.noise_db for one, _ in heard), 1),
            shift=fitted.shift,
            scale=fitted.scale,
        )
    )
    click.echo(f"Kept in {path}; benchterm voice forget takes it away.")


@voice.command()
@click.argument("operator")
def forget(operator: str) -> None:
    """Take away what was fitted to an operator."""
    from benchterm.voice.voices import remove

    remove(operator)
    click.echo(f"The ear hears {operator} as it hears everybody.")


@voice.command()
@click.argument("model")
@click.option("--sha256", metavar="HASH", help="SHA-256 the archive must have, by its publisher.")
def fetch(model: str, sha256: str | None) -> None:
    """Fetch a model for Vosk from the internet, after asking: MODEL is en, ko, or an address.

    It is only needed to hear another language, or with another engine, than the ear that comes
    along. Nothing of yours is sent.
    """
    from benchterm.locations import models_folder
    from benchterm.voice import fetching

    known = fetching.model_of(model)
    models = models_folder()
    click.echo(f"Asking for the size of {known.address} ...")
    offered = fetching.offered(known.address, fetching.open_https)
    with offered as remote, fetching.workplace(models) as place:
        fetching.check_free(models / remote.name)
        size = f"{remote.size / 1e6:.1f} MB"
        if not click.confirm(f"Fetch it ({size}), a model with which Vosk hears, into {models}?"):
            raise BenchError("Nothing was fetched.")
        archive = place / "model.zip"
        found = fetching.download(remote, archive, _bytes_came)
        _check_hash(found, sha256 or known.sha256)
        home = fetching.settle(fetching.unpack(archive, place), models, remote.name)
    click.echo(f"The model is in {home}. To hear with it, set this, and its language:")
    click.echo(f'\n[voice]\nengine = "vosk"\nmodel = {json.dumps(str(home))}')


def _check_hash(found: str, wanted: str | None) -> None:
    from benchterm.voice.fetching import FetchError

    if wanted is not None:
        if found != wanted.strip().lower():
            raise FetchError(
                f"The archive has SHA-256 {found}, wanted was {wanted.strip().lower()}.",
                "Try again; if it stays so, do not use it.",
            )
        return
    click.echo(f"SHA-256 of what came: {found}")
    if not click.confirm("Is it the one that the publisher gives?"):
        raise FetchError("It was thrown away.", "Ask the publisher, then give it with --sha256.")


def _bytes_came(came: int, total: int) -> None:
    if sys.stderr.isatty():
        click.echo(f"\r{came / 1e6:.0f} of {total / 1e6:.0f} MB ", nl=came == total, err=True)


@click.command()
@click.option("--language", metavar="NAME", help="Grammar in use; default: as set.")
def say(language: str | None) -> None:
    """Print what can be said to the bench, with examples."""
    from benchterm.config import load_settings
    from benchterm.locations import grammar_file
    from benchterm.phrases.grammar import Grammar

    grammar = Grammar.load(grammar_file(language or load_settings().language))
    for saying in grammar.sayings:
        click.echo(f"{saying.what}\n    {saying.pattern}")
        for example in saying.examples:
            click.echo(f"    {example}")
