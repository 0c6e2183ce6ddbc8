"""The commands. Each one imports what it needs when it is run, so that ``--help`` is quick."""

# ruff: noqa: PLC0415 - see above

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, nullcontext, redirect_stderr
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from benchterm import __version__
from benchterm.errors import BenchError
from benchterm.gauge.commands import gauge as gauge_commands
from benchterm.map_command import map_ as map_command
from benchterm.plan_command import plan as plan_command
from benchterm.safety.commands import air as air_command
from benchterm.safety.commands import products as products_command
from benchterm.settling_command import settling as settling_command
from benchterm.setup_options import facts_given, setup_options
from benchterm.sheet_command import sheet as sheet_command
from benchterm.telling import PlainlyTold
from benchterm.voice.commands import hear as hear_command
from benchterm.voice.commands import say as say_command
from benchterm.voice.commands import voice as voice_commands

if TYPE_CHECKING:
    from benchterm.config import Settings
    from benchterm.core.events import Event
    from benchterm.core.stages import Stage

DEMO_LONGEST_WAIT_S = 4.0
"""A demo passes over waits: no more than this without something happening."""


@click.group(
    cls=PlainlyTold,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(__version__, prog_name="benchterm")
@setup_options
@click.option("--new", is_flag=True, help="Begin a new session without asking.")
@click.option("--resume", metavar="ID", help="Take up this session or screen without asking.")
@click.option("--no-mouse", is_flag=True, help="Leave the mouse to the terminal, for copying.")
@click.option("--theme", metavar="NAME", help="How the screen looks.")
@click.pass_context
def cli(
    ctx: click.Context,
    /,
    new: bool,
    resume: str | None,
    no_mouse: bool,
    theme: str | None,
    **options: Any,
) -> None:
    """A bench terminal for stretching screen mesh: opens the bench, or runs a command."""
    given = any(options.values())
    if ctx.invoked_subcommand is not None:
        if given or new or resume or no_mouse or theme:
            name = ctx.invoked_subcommand
            raise click.UsageError(f"Options before {name} are the bench's own; put them after it.")
        return
    from benchterm.config import load_settings
    from benchterm.locations import grammar_file, recordings_folder, sessions_folder
    from benchterm.phrases.grammar import Grammar

    if new and resume is not None:
        raise click.UsageError("--new and --resume ask for two different things.")
    settings = load_settings()
    facts = facts_given(settings, **options) if given else settings.begins_from
    look = _look(settings, theme)
    folder = sessions_folder()
    resumed = None if resume is None else _journal(folder, resume)
    grammar = Grammar.load(grammar_file(settings.language))
    _need_terminal("benchterm pipe takes phrases without a terminal.")
    with _screen():
        from benchterm.gauge.attached import attach
        from benchterm.screen.app import run_live
        from benchterm.screen.shop import Shop
        from benchterm.voice.talk import Talk
        from benchterm.voice.voices import tuning_for

        def talk(operator: str) -> Talk | None:
            wanted = settings.voice
            if not wanted.on:
                return None
            tuning = tuning_for(operator, wanted, settings.language)
            return Talk(wanted, grammar, settings.language, recordings_folder(), tuning)

        shop = Shop(
            folder,
            grammar,
            settings.bench,
            settings.practice,
            settings.rules_off,
            facts=facts,
            attach=lambda: attach(settings.gauge.port, settings.gauge.profile),
            recalibrate_days=settings.gauge.recalibrate_days,
            talk=talk,
        )
        run_live(
            shop,
            begin=shop.next_facts() if new else None,
            resume=resumed,
            mouse=not no_mouse,
            **look,
        )


def main() -> None:
    """The program."""
    cli(prog_name="benchterm")


@cli.command()
@click.option(
    "--session-file",
    "file",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Journal to begin, or to take up again. Without one nothing is kept.",
)
@click.option(
    "--with-gauge", is_flag=True, help="Read a station that is said alone by the settings' gauge."
)
@setup_options
def pipe(file: Path | None, with_gauge: bool, **options: Any) -> None:
    """Take phrases on standard input, one a line, and answer each in JSON."""
    from benchterm.config import load_settings
    from benchterm.gauge.asked import asked_gauge
    from benchterm.locations import grammar_file, sessions_folder
    from benchterm.phrases.grammar import Grammar
    from benchterm.pipe import Pipe, PipeClock, open_desk, run

    settings = load_settings()
    grammar = Grammar.load(grammar_file(settings.language))
    clock = PipeClock()
    wired = asked_gauge(settings.gauge.port, settings.gauge.profile) if with_gauge else None
    desk = open_desk(file, facts_given(settings, **options), settings, clock, sessions_folder())
    try:
        with wired or nullcontext() as gauge:
            bench = Pipe(desk, clock, grammar, gauge)
            if bench.resumed and any(options.values()):
                click.echo(
                    "benchterm: resumed; the set-up is the one it was opened with.", err=True
                )
            run(bench, sys.stdin.buffer, sys.stdout.buffer)
    finally:
        desk.close()


@cli.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--speed", type=click.FloatRange(0.25, 64), default=1.0, help="1 is true time.")
@click.option("--stage", metavar="STAGE", help="Number or name of the stage to begin at.")
@click.option("--theme", metavar="NAME", help="How the screen looks.")
@click.option("--json", "as_json", is_flag=True, help="Print the timeline, without a screen.")
@click.option("--every", type=click.IntRange(1), default=1, help="With --json: one of so many.")
@click.option("--summary", is_flag=True, help="With --json: the end only.")
def replay(
    file: Path,
    speed: float,
    stage: str | None,
    theme: str | None,
    as_json: bool,
    every: int,
    summary: bool,
) -> None:
    """Play a journal on the screen, or print it as a timeline."""
    from benchterm.config import load_settings
    from benchterm.records.journal import read

    settings = load_settings()
    at = _stage(stage)
    if as_json:
        from benchterm.timeline import timeline

        lines = timeline(
            read(file), every=None if summary else every, stage=at, rules_off=settings.rules_off
        )
        for line in lines:
            sys.stdout.buffer.write(line)
        return
    look = _look(settings, theme)
    _need_terminal("Add --json for the timeline without a screen.")
    _play(read(file), look, settings, speed=speed, stage=at)


@cli.command()
@click.argument("name", default="good")
@click.option("--list", "listed", is_flag=True, help="Print what there is to play.")
@click.option("--speed", type=click.FloatRange(0.25, 64), default=8.0, help="1 is true time.")
@click.option("--theme", metavar="NAME", help="How the screen looks.")
def demo(name: str, listed: bool, speed: float, theme: str | None) -> None:
    """Play a session of an invented shop: no hardware needed, nothing is written."""
    from benchterm.config import load_settings
    from benchterm.locations import demo_sessions_folder
    from benchterm.records.journal import read

    files = {path.stem: path for path in sorted(demo_sessions_folder().glob("*.jsonl"))}
    if not files:
        raise BenchError(
            f"No demo sessions in {demo_sessions_folder()}.",
            works="The bench itself works without them.",
            todo="Install the program again.",
        )
    if listed:
        click.echo("\n".join(files))
        return
    if name not in files:
        raise BenchError(f"No demo session is called {name}.", todo=f"Choose {_or(files)}.")
    settings = load_settings()
    look = _look(settings, theme)
    _need_terminal(f"benchterm replay --json {files[name]} prints it without a screen.")
    _play(
        read(files[name]),
        look,
        settings,
        speed=speed,
        longest_wait_s=DEMO_LONGEST_WAIT_S,
        banner="DEMO: invented shop, invented data",
    )


@cli.command()
def rules() -> None:
    """Print the rules that give advice, with their limits and where these come from."""
    from benchterm.config import load_settings
    from benchterm.core.rules import RULES

    settings = load_settings()
    limits = {row.name: row for row in settings.practice.rows()}
    for rule in RULES:
        off = "  (switched off)" if rule.code in settings.rules_off else ""
        click.echo(f"{rule.code}{off}\n    when {rule.speaks_when}")
        for name in rule.limits:
            row = limits[name]
            click.echo(f"    {name} = {row.value:g} {row.unit} ({row.source})")
        click.echo(f"    source: {rule.source}")


@cli.command()
@click.option("--locate", is_flag=True, help="Print where everything is kept.")
@click.option("--example", is_flag=True, help="Print a settings file to start from.")
def settings(locate: bool, example: bool) -> None:
    """Print the shop's numbers with their sources, or where and how they are set."""
    from benchterm.config import load_settings, settings_example
    from benchterm.locations import all_locations

    if locate:
        for what, path in all_locations():
            click.echo(f"{what:14} {path}")
    elif example:
        click.echo(settings_example(), nl=False)
    else:
        from benchterm.core.practice import Practice

        for row, usual in zip(load_settings().practice.rows(), Practice().rows(), strict=True):
            changed = "" if row.value == usual.value else f" (default {usual.value:g})"
            click.echo(f"{row.name} = {row.value:g} {row.unit}{changed}")
            click.echo(f"    {row.what}; {row.source}")


@cli.command()
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
def sessions(as_json: bool) -> None:
    """List the sessions on disk, the latest first."""
    import msgspec

    from benchterm.locations import sessions_folder
    from benchterm.records.sessions import list_sessions

    found = list_sessions(sessions_folder())
    if as_json:
        for one in found:
            click.echo(msgspec.json.encode(one, enc_hook=str))
        return
    if not found:
        click.echo(f"No sessions in {sessions_folder()}.")
    for one in found:
        head = f"{one.path.stem}  {one.standing.value:10}  {one.screen_id}"
        click.echo(f"{head}  stage: {one.stage.label}{f'  {one.problem}' if one.problem else ''}")


cli.add_command(gauge_commands)
cli.add_command(map_command)
cli.add_command(plan_command)
cli.add_command(settling_command)
cli.add_command(sheet_command)
cli.add_command(air_command)
cli.add_command(products_command)
cli.add_command(hear_command)
cli.add_command(say_command)
cli.add_command(voice_commands)


def _journal(folder: Path, session: str) -> Path:
    """The journal of an unfinished session, from its name, its screen or its file; the latest."""
    from benchterm.records.sessions import Standing, unfinished

    open_ones = [one for one in unfinished(folder) if one.standing is Standing.UNFINISHED]
    for one in open_ones:
        if session in (one.session, one.screen_id, one.path.name, str(one.path)):
            return one.path
    raise BenchError(
        f"No unfinished session is called {session}.",
        works=f"Unfinished: {', '.join(one.session for one in open_ones) or 'none'}.",
        todo="benchterm sessions lists all of them.",
    )


def _look(settings: Settings, theme: str | None) -> dict[str, Any]:
    """What the screen looks like and which keys it has."""
    from benchterm.config import THEMES

    if theme is not None and theme not in THEMES:
        raise click.BadParameter(f"choose {_or(THEMES)}", param_hint="--theme")
    return {"theme": theme or settings.theme, "keys": settings.keys}


def _play(
    events: Iterable[Event],
    look: dict[str, Any],
    settings: Settings,
    *,
    speed: float,
    stage: Stage | None = None,
    longest_wait_s: float | None = None,
    banner: str = "",
) -> None:
    """Play events on the screen."""
    from benchterm.training.player import Player

    session = tuple(events)
    if not session:
        raise BenchError("There is nothing in this journal to play.")
    player = Player(session, speed, longest_wait_s, settings.rules_off)
    with _screen():
        from benchterm.screen.app import run_replay

        run_replay(player, stage=stage, banner=banner, **look)


@contextmanager
def _screen() -> Iterator[None]:
    """Keep the picture clean while it is up; import ``screen.app`` inside, not before."""
    from benchterm.locations import log_file
    from benchterm.screen import terminal

    terminal.claim(log_file())
    try:
        # What is said after the screen is gone goes to the terminal, not to the log.
        with redirect_stderr(sys.__stderr__ or sys.stderr):
            yield
    finally:
        terminal.release()


def _stage(text: str | None) -> Stage | None:
    """A stage from its number or its name."""
    from benchterm.core.stages import Stage

    if text is None:
        return None
    for stage in Stage:
        if text.strip().lower() in (str(int(stage)), stage.label, stage.name.lower()):
            return stage
    raise BenchError(
        f"No stage is called {text!r}.",
        todo=f"Choose {_or(f'{stage:d} {stage.label}' for stage in Stage)}.",
    )


def _or(names: Iterable[str]) -> str:
    return " or ".join(", ".join(names).rsplit(", ", 1))


def _need_terminal(instead: str) -> None:
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise BenchError("This needs a terminal, and there is none.", todo=instead)
