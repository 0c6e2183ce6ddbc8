"""``benchterm air`` and ``benchterm products``: each imports what it needs when it is run."""

# ruff: noqa: PLC0415 - see above

from __future__ import annotations

import json
import math
import shutil
import sys
from datetime import UTC, date, datetime
from typing import Any

import click

SCREENS_H, HOURS = 2.0, 4.0


class Number(click.ParamType[float]):
    """A number within bounds; NaN and endless ones are none."""

    name = "number"

    def __init__(self, low: float, high: float, unit: str) -> None:
        self.low, self.high, self.unit = low, high, unit

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """The number, or a usage error."""
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if not self.low <= number <= self.high:
            self.fail(f"{value} is outside {self.low:g} to {self.high:g} {self.unit}.", param, ctx)
        return number


@click.command()
@click.option("--product", "names", multiple=True, metavar="NAME", help="A product; repeat it.")
@click.option("--grams", multiple=True, type=Number(0.01, 1000, "g"), help="A screen, in order.")
@click.option("--volume", type=Number(3, 1e5, "m3"), help="Of the room, m3.")
@click.option("--flow", type=Number(0, 1e6, "m3/h"), help="Fresh air, m3/h; 0: none.")
@click.option("--changes", type=Number(0, 200, "an hour"), help="Air changes, in place of --flow.")
@click.option("--mixing", type=Number(1, 10, "times"), help="1 perfect to 10 very poor.")
@click.option("--pocket", type=Number(0.05, 100, "m3"), help="Air close by the bench, m3.")
@click.option("--screens", type=Number(0.01, 200, "an hour"), help="Screens glued an hour.")
@click.option("--hours", type=Number(0.01, 24, "h"), help="Hours of that work.")
@click.option("--json", "as_json", is_flag=True, help="Print figures as JSON.")
def air(
    names: tuple[str, ...],
    grams: tuple[float, ...],
    volume: float | None,
    flow: float | None,
    changes: float | None,
    mixing: float | None,
    pocket: float | None,
    screens: float | None,
    hours: float | None,
    as_json: bool,
) -> None:
    """What the room makes of the glue's vapour: levels, limits, waits, how much more air."""
    from benchterm.config import load_settings
    from benchterm.safety.report import figures, products_named, report
    from benchterm.safety.room import Room, Use, assess

    settings = load_settings()
    practice = settings.practice
    if flow is not None and changes is not None:
        raise click.UsageError("--flow and --changes say the same thing: give one.")
    chosen = products_named(names or settings.session.products, _today())
    if grams and len(grams) != len(chosen):
        raise click.UsageError(f"--grams is given {len(grams)} times for {len(chosen)} products.")
    volume_m3 = practice.room_m3 if volume is None else volume
    if changes is not None:
        flow = changes * volume_m3
    room = Room(
        volume_m3,
        practice.room_air_m3_h if flow is None else flow,
        practice.room_mixing if mixing is None else mixing,
        practice.pocket_m3 if pocket is None else pocket,
    )
    use = Use(SCREENS_H if screens is None else screens, HOURS if hours is None else hours)
    found = assess(chosen, practice, room, use, grams or None)
    if as_json:
        click.echo(json.dumps(figures(found), ensure_ascii=False))
        return
    taken = {
        "volume": volume is None,
        "fresh air": flow is None,
        "mixing": mixing is None,
        "pocket": pocket is None,
        "screens": screens is None,
        "hours": hours is None,
    }
    defaults = [name for name, default in taken.items() if default]
    width = max(20, min(100, shutil.get_terminal_size().columns - 12))
    encoding = (sys.stdout.encoding or "").lower()
    lines = report(
        found,
        chosen,
        practice,
        defaults,
        _today(),
        width=width,
        ascii_only=not encoding.startswith("utf"),
    )
    click.echo("\n".join(lines))


@click.command()
@click.argument("names", nargs=-1)
@click.option("--use-in", "session", metavar="ID", help="Go on with these in a session.")
def products(names: tuple[str, ...], session: str | None) -> None:
    """List the product files, or check those named: what is wrong with each, and its cautions.

    With --use-in an unfinished session, which no bench has open, goes on with the products named.
    """
    from benchterm.config import load_settings
    from benchterm.errors import BenchError
    from benchterm.locations import products_folder
    from benchterm.safety.products import all_names, find_product
    from benchterm.safety.report import described

    practice = load_settings().practice
    bad = 0
    for name in names or all_names():
        try:
            product = find_product(name, _today())
        except BenchError as error:
            bad += 1
            click.echo(f"{name}: NOT USABLE\n{error.what.rstrip()}")
            continue
        for line in described(name, product, practice, _today(), whole=bool(names)):
            click.echo(line)
    click.echo(f"Files: {products_folder()}")
    if bad:
        raise BenchError(f"{bad} product file{'s' if bad > 1 else ''} cannot be used.")
    if session is not None:
        _use_in(session, names)


def _use_in(session: str, names: tuple[str, ...]) -> None:
    from benchterm.core.events import Source
    from benchterm.desk import Desk, Unsaved
    from benchterm.errors import BenchError
    from benchterm.locations import sessions_folder
    from benchterm.records.sessions import unfinished

    paths = {one.path.stem: one.path for one in unfinished(sessions_folder())}
    if session not in paths:
        raise BenchError(
            f"No unfinished session is called {session}.",
            todo="benchterm sessions lists all of them.",
        )
    desk = Desk.resume(paths[session])
    try:
        taken = desk.use(names, Source.KEYPAD)
    finally:
        desk.close()
    if isinstance(taken, Unsaved):
        raise BenchError(f"NOT SAVED: {taken.why}", works=f"{session} goes on with its old glue.")
    click.echo(f"{session} goes on with {' and '.join(names) or 'no product named'}.")


def _today() -> date:
    return datetime.now(UTC).date()
