"""``benchterm gauge calibrate``, ``study`` and ``mean``: how far a gauge can be trusted."""

# ruff: noqa: PLC0415 - each command imports what it needs when it is run

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from benchterm.errors import BenchError
from benchterm.gauge.options import chosen, number_reader, voice_of, wire_options, wire_to

if TYPE_CHECKING:
    from benchterm.gauge.asking import Asker
    from benchterm.gauge.sheet import Sheet

ON_NOTHING_N_CM = -1e9
"""While calibrating, also a zero that stands still is a value."""
METHODS = {"pooled": "POOLED", "full": "FULL", "range": "RANGE"}


@click.command()
@wire_options
@click.option(
    "--gauge",
    "gauge_name",
    metavar="NAME",
    help="A gauge without a wire, by its name in the set-up.",
)
@click.option("--operator", metavar="NAME", default="", help="Who does it.")
@click.option("--plate", metavar="N/CM", type=float, help="Reading on plate glass.")
@click.option("--plate-only", is_flag=True, help="Look at the zero on plate glass, nothing else.")
@click.option(
    "--point",
    "points",
    metavar="REFERENCE=READING",
    multiple=True,
    help="A reference and what the gauge read, N/cm; can be repeated. Without any, asks.",
)
@click.option(
    "--reference-u",
    type=click.FloatRange(0),
    default=0.0,
    help="Standard uncertainty of the references, N/cm.",
)
@click.option("--keep/--no-keep", "kept", default=None, help="Keep the result without asking.")
def calibrate(
    port: str | None,
    profile: str | None,
    gauge_name: str | None,
    operator: str,
    plate: float | None,
    plate_only: bool,
    points: tuple[str, ...],
    reference_u: float,
    kept: bool | None,
) -> None:
    """Fit a line through known tensions, and keep it for this gauge's readings."""
    from dataclasses import replace
    from datetime import UTC, datetime

    from benchterm.gauge.asking import Asker
    from benchterm.gauge.calibrated import Plate, keep

    address, described = chosen(port, profile)
    identity = gauge_name or address
    if not identity:
        raise BenchError(
            "No gauge is named.", todo="Name it with --port, or with --gauge if it has no wire."
        )
    settle = replace(described.settle, lifted_below_n_cm=ON_NOTHING_N_CM)
    wired = "" if points or gauge_name or (plate_only and plate is not None) else address
    with wire_to(wired, replace(described, settle=settle)) as wire:
        asker = Asker(wire, number_reader())
        if plate is None and not points:
            plate = _plate(asker)
        utc = datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
        if plate_only:
            if plate is None:
                return
            look = Plate(utc=utc, operator=operator, gauge=identity, reading_n_cm=plate)
            click.echo(f"Kept in {keep(look)}")
            _remind(identity)
            return
        pairs = [_point(text) for text in points] or _points(asker)
    _fit(identity, utc, operator, plate, pairs, reference_u, settle.resolution, kept=kept)


@click.command()
@wire_options
@click.option(
    "--sheet",
    "path",
    type=click.Path(path_type=Path, dir_okay=False),
    required=True,
    help="CSV file of the study: written as it goes, taken up again where it ends.",
)
@click.option("--piece", "pieces", multiple=True, help="Name of a piece; can be repeated.")
@click.option("--operator", "operators", multiple=True, help="Name of an operator; repeated.")
@click.option("--trials", type=click.IntRange(2, 20), default=3)
@click.option(
    "--voice/--no-voice",
    "by_voice",
    default=None,
    help="Values can be said, and are read back; without it, as in the settings.",
)
@click.option("--relaxes", is_flag=True, help="The pieces relax: ask when each was stretched.")
@click.option("--method", type=click.Choice(list(METHODS)), help="Without it: pooled if p > 0.25.")
@click.option("--tolerance", type=click.FloatRange(0.01), help="Width of the tolerance, N/cm.")
def study(
    port: str | None,
    profile: str | None,
    path: Path,
    pieces: tuple[str, ...],
    operators: tuple[str, ...],
    trials: int,
    by_voice: bool | None,
    relaxes: bool,
    method: str | None,
    tolerance: float | None,
) -> None:
    """Judge gauge and operators: every operator reads every piece several times, unseen order."""
    from secrets import randbelow

    from benchterm.gauge.calibrated import load_history
    from benchterm.gauge.sheet import Sheet, load, sheet_of

    rows = load(path) if path.exists() else []
    if pieces and operators:
        sheet = Sheet(pieces, operators, trials, seed=randbelow(1 << 32))
    else:
        sheet = sheet_of(rows)
    for cell, _ in rows:
        if cell not in sheet.order:
            raise BenchError(f"{path} holds {cell}, which is not of this study.")
    sheet.take_up(rows)
    if sheet.next is not None:
        address, described = chosen(port, profile)
        with wire_to(address, described, load_history(address).corrected) as wire:
            from benchterm.gauge.asking import Asker

            asker = Asker(wire, number_reader(), voice_of(wanted=by_voice))
            try:
                _fill_in(sheet, path, asker, relaxes=relaxes)
            finally:
                asker.close()
    if sheet.next is not None:
        left = sum(cell not in sheet.entries for cell in sheet.order)
        click.echo(f"{left} readings are still wanted. Go on with --sheet {path}.")
        return
    from benchterm.gauge.study_report import report, work_out
    from benchterm.mechanics.gauge_study import Method

    try:
        findings = work_out(sheet, Method[METHODS[method]] if method else None)
    except ValueError as error:
        raise BenchError(f"{path}: {error}.") from error
    for line in report(findings, tolerance):
        click.echo(line)


@click.command()
@wire_options
@click.argument("values", nargs=-1, type=float)
@click.option("--step", type=click.FloatRange(0), help="Smallest step of the display, N/cm.")
@click.option("--certificate", type=click.FloatRange(0), default=0.0, help="Its U, N/cm.")
@click.option("--k", type=click.FloatRange(1), default=2.0, help="Coverage factor of that U.")
def mean(
    port: str | None,
    profile: str | None,
    values: tuple[float, ...],
    step: float | None,
    certificate: float,
    k: float,
) -> None:
    """Print the mean of readings at one place with its uncertainty, as JCGM 100 has it."""
    from benchterm.core.trust import mean_uncertainty
    from benchterm.gauge.asking import Asker
    from benchterm.gauge.calibrated import load_history
    from benchterm.gauge.given import Given
    from benchterm.mechanics.uncertainty import Mean, mean_of

    address, described = chosen(port, profile)
    readings = list(values)
    history = load_history("" if readings else address)
    if not readings:
        with wire_to(address, described, history.corrected) as wire:
            asker = Asker(wire, number_reader())
            click.echo(f"Read the same place again and again. {asker.keys}")
            while isinstance(given := asker.value(f"reading {len(readings) + 1}"), Given):
                readings.append(given.n_cm)
                asker.taken(given)
    try:
        found = mean_of(
            readings, described.settle.resolution if step is None else step, certificate, k
        )
    except ValueError as error:
        raise BenchError(f"No mean: {error}.") from error
    known = mean_uncertainty(readings, history.in_force, same_place=True)
    if known is not None and not certificate:
        found = Mean(found.value, known)
    combined = found.combined
    click.echo(f"{found} N/cm (k = 2, about 95 %), n {len(readings)}")
    for part in combined.components:
        click.echo(f"    u {part.name:14} {part.u:.4f} N/cm")
    click.echo(f"    u combined       {combined.u:.4f} N/cm")
    click.echo(
        f"    With t for {min(combined.df, 1e6):.1f} degrees of freedom: "
        f"k {combined.coverage_factor():.2f}, "
        f"U {combined.expanded(combined.coverage_factor()):.2f} N/cm"
    )


def _plate(asker: Asker) -> float | None:
    from benchterm.gauge.given import Given

    click.echo(f"Set the gauge to its zero on plate glass as its manual says. {asker.keys}")
    given = asker.value("on plate glass")
    if not isinstance(given, Given):
        return None
    asker.taken(given)
    return given.n_cm


def _points(asker: Asker) -> list[tuple[float, float]]:
    from benchterm.gauge.given import Given, Wish

    points: list[tuple[float, float]] = []
    click.echo("Now known tensions over the whole range, three or more. . ends.")
    while True:
        text = click.prompt(f"reference {len(points) + 1}, N/cm", default=".").strip()
        if text == ".":
            return points
        if text == "-":
            points = points[:-1]
            continue
        try:
            reference = float(text.replace(",", "."))
        except ValueError:
            click.echo("  That is no number.")
            continue
        given = asker.value(f"  the gauge at {reference:g}", can_stop=False)
        if isinstance(given, Given):
            points.append((reference, given.n_cm))
            asker.taken(given)
        elif given is Wish.BACK:
            points = points[:-1]


def _point(text: str) -> tuple[float, float]:
    reference, equals, reading = text.partition("=")
    try:
        if equals:
            return float(reference), float(reading)
    except ValueError:
        pass
    raise click.BadParameter(f"{text!r} is not REFERENCE=READING.", param_hint="--point")


def _fit(
    identity: str,
    utc: str,
    operator: str,
    plate: float | None,
    pairs: list[tuple[float, float]],
    reference_u: float,
    step: float,
    *,
    kept: bool | None,
) -> None:
    from benchterm.gauge.calibrated import Calibration, keep
    from benchterm.gauge.calibration_report import report
    from benchterm.mechanics.calibration import fit_line

    references, readings = [r for r, _ in pairs], [y for _, y in pairs]
    try:
        line = fit_line(references, readings)
    except ValueError as error:
        raise BenchError(
            f"No calibration: {error}.", works="The gauge goes on with the one it had."
        ) from error
    for text in report(line, pairs, step, reference_u):
        click.echo(text)
    if kept is None:
        kept = click.confirm("Keep this and correct the gauge's readings by it?")
    if kept:
        found = Calibration(
            utc=utc,
            operator=operator,
            gauge=identity,
            references_n_cm=tuple(references),
            readings_n_cm=tuple(readings),
            step_n_cm=step,
            plate_n_cm=plate,
            reference_u_n_cm=reference_u,
            slope=line.slope,
            intercept=line.intercept,
            s=line.s,
            verdict=line.verdict.value,
        )
        click.echo(f"Kept in {keep(found)}")


def _remind(identity: str) -> None:
    from datetime import UTC, datetime

    from benchterm.config import load_settings
    from benchterm.gauge.calibrated import load_history, reminders

    history = load_history(identity)
    days = load_settings().gauge.recalibrate_days
    said = list(reminders(history, datetime.now(UTC), days))
    for line in said or ["The zero is where it was."]:
        click.echo(line)


def _fill_in(sheet: Sheet, path: Path, asker: Asker, *, relaxes: bool) -> None:
    """Ask for what is missing, each reading on disk before the next is asked for."""
    import time

    from benchterm.gauge.given import Wish
    from benchterm.gauge.sheet import Entry, save

    ages_min = _ages(sheet) if relaxes else {}
    began_s = time.monotonic()
    click.echo(f"The operator must not see earlier readings. {asker.keys}")
    while (cell := sheet.next) is not None:
        given = asker.value(str(cell))
        if given is Wish.STOP:
            return
        try:
            if given is Wish.BACK:
                back = sheet.take_back()
                save(sheet, path)
                asker.tell(f"Taken back: {back}" if back else "Nothing to take back.", "undone")
            elif not isinstance(given, Wish):
                age = ages_min.get(cell.piece)
                minutes = None if age is None else age + (time.monotonic() - began_s) / 60
                sheet.put(cell, Entry(given.n_cm, given.heard, minutes))
                save(sheet, path)
                asker.taken(given)
        except BenchError as error:
            if given is not Wish.BACK:
                sheet.take_back()
            asker.tell(str(error), "not saved", "refused")


def _ages(sheet: Sheet) -> dict[str, float]:
    above_0 = click.FloatRange(0, min_open=True)
    return {
        piece: click.prompt(f"piece {piece}: minutes since it was stretched", type=above_0)
        for piece in sheet.pieces
    }
