"""``benchterm settling``: what a mesh will have lost by tomorrow, and what the shop remembers."""

# ruff: noqa: PLC0415 - the command imports what it needs when it is run

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from benchterm.core.settling import Outlook
    from benchterm.core.state import State
    from benchterm.core.stations import Axis


@click.command()
@click.argument("file", required=False, type=click.Path(path_type=Path, dir_okay=False))
def settling(file: Path | None) -> None:
    """Print what a session's mesh will keep until tomorrow; without FILE, what the shop has seen.

    Without FILE the shop's own sessions are gone through for screens that were read again half a
    day after the last click or later, on the stretcher.
    """
    for line in _shop() if file is None else _session(file):
        click.echo(line)


def _session(file: Path) -> Iterator[str]:
    from benchterm.core.settling import outlooks
    from benchterm.errors import BenchError
    from benchterm.records.memory import on_the_stretcher

    state = on_the_stretcher(file)
    found = outlooks(state)
    if not found:
        raise BenchError(
            "Nothing can be told of this settling: no tension was read after the last click.",
            works="The journal is as it was.",
            todo="Read the centre, along and across, some minutes after the last click.",
        )
    yield f"SETTLING   screen {state.facts.screen_id}"
    for axis, outlook in found.items():
        yield from _axis(state, axis, outlook)
    yield "Intervals hold 90 %, by meshes simulated on a computer, never checked on real mesh."
    yield "The log-time interval covers scatter of readings only: no error of the line, no warmth."


def _axis(state: State, axis: Axis, outlook: Outlook) -> Iterator[str]:
    from benchterm.core.settling import last_turn_s, record
    from benchterm.mechanics.log_time import BREAK_MIN, fit_log_line

    of = record(state, axis)
    since = [((one.at_s - last_turn_s(state)) / 60, one.n_cm) for one in of.seen]
    read = ", ".join(f"{n_cm:g} at {minutes:.1f} min" for minutes, n_cm in since[-6:])
    tomorrow = outlook.tomorrow
    yield f"\n{axis.value}: last readings {read}"
    yield (
        f"  24 h after the last click  {tomorrow.value:.1f} N/cm "
        f"({max(0.0, tomorrow.low):.1f} to {tomorrow.high:.1f})"
    )
    late = [(minutes, n_cm) for minutes, n_cm in since if minutes >= BREAK_MIN]
    try:
        line = fit_log_line([minutes for minutes, _ in late], [n_cm for _, n_cm in late])
        b = line.b_interval(0.90)
        yield (
            f"  log-time line              loses {b.value:.2f} ({b.low:.2f} to {b.high:.2f}) N/cm "
            f"for ten times the time, {line.n} readings"
        )
        ahead = line.reading_at(24 * 60, 0.90)
        told = f"{ahead.value:.1f} ({ahead.low:.1f} to {ahead.high:.1f})"
        yield f"  by that line after 24 h    {told}"
    except ValueError as error:
        yield f"  log-time line              not drawn: {error}"


def _shop() -> Iterator[str]:
    from benchterm.locations import sessions_folder
    from benchterm.records.memory import remembered

    found = remembered(sessions_folder())
    if not found:
        yield "No screen was read on the stretcher soon after its last click and half a day later."
        yield "Leave one on it overnight and read the centre twice each way, before and after:"
        yield "each narrows what can be told of the next screen of its mesh."
        return
    for one in found:
        mesh = one.mesh
        screens = "1 screen" if one.screens == 1 else f"{one.screens} screens"
        name = f"{mesh.threads_cm:.4g}/cm {mesh.thread_um:g} µm {mesh.material}"
        yield f"{name}: {screens}, {one.told()}"
    yield "A new session with one of these meshes goes by its line, and notes so at its beginning."
