"""``benchterm gauge``: what is plugged in, what it says, a gauge made of software."""

# ruff: noqa: PLC0415 - each command imports what it needs when it is run

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING

import click

from benchterm.errors import BenchError
from benchterm.gauge.judging import calibrate, mean, study
from benchterm.gauge.options import chosen, wire_options

if TYPE_CHECKING:
    from benchterm.gauge.listener import News
    from benchterm.gauge.profile import Profile


@click.group()
def gauge() -> None:
    """The tension gauge on a wire: list, try, simulate, calibrate, study, mean."""


for judging in (calibrate, study, mean):
    gauge.add_command(judging)


@gauge.command("list")
def list_() -> None:
    """Print what is plugged in, each with settings to paste, and the profiles there are."""
    from benchterm.gauge.ports import list_ports
    from benchterm.gauge.profile import load_profile, profile_files
    from benchterm.locations import config_file
    from benchterm.tables import shown

    found = list_ports()
    if not found:
        click.echo("No serial port is there. benchterm gauge simulate makes one of software.")
    for port in found:
        click.echo(f"{port.device}  {port.what}".rstrip())
        if not port.lasting:
            click.echo("    (this address can change when it is plugged in elsewhere)")
        click.echo(f'    [gauge]\n    port = {shown(port.address)}\n    profile = "number"\n')
    click.echo("Profiles:")
    for name in profile_files():
        with contextlib.suppress(BenchError):
            click.echo(f"    {name:14} {load_profile(name).what}")
    click.echo(f"Paste one block into {config_file()}.")
    click.echo("benchterm gauge try --port ADDRESS --profile NAME shows whether it fits.")


@gauge.command("try")
@wire_options
@click.option("--lines", type=click.IntRange(1), help="Stop after so many lines.")
@click.option("--seconds", type=click.FloatRange(0.1), help="Stop after so long.")
def try_(port: str | None, profile: str | None, lines: int | None, seconds: float | None) -> None:
    """Print the gauge's lines beside what they are read as. Ctrl-C ends it."""
    import threading
    import time

    from benchterm.gauge.calibrated import load_history
    from benchterm.gauge.link import Inbox, Link

    address, described = chosen(port, profile)
    if not address:
        raise BenchError(
            "No gauge is named.",
            works="The bench works by keypad without one.",
            todo="Name it with --port, or in the settings: benchterm gauge list shows them.",
        )
    woken = threading.Event()
    inbox = Inbox(woken.set, every_line=True)
    link = Link(address, described, inbox, load_history(address).corrected)
    until_s = time.monotonic() + (seconds if seconds is not None else 1e9)
    seen = 0
    link.start()
    try:
        while time.monotonic() < until_s and (lines is None or seen < lines):
            woken.clear()
            for news in inbox.fetch():
                text, is_line = _tried(news, address, described)
                if text and (lines is None or seen < lines):
                    click.echo(text)
                    seen += is_line
            woken.wait(min(0.5, max(0.0, until_s - time.monotonic())))
    except KeyboardInterrupt:
        pass
    finally:
        link.stop()


def _tried(news: News, address: str, profile: Profile) -> tuple[str, bool]:
    """What is printed of a piece of news, and whether it is a line of the gauge."""
    from benchterm.gauge.listener import BatteryLow, Settled, Showing, Stands, Unread
    from benchterm.gauge.telling import BATTERY_LOW, told

    match news:
        case Showing(reading):
            words = f"{reading.number:g} {reading.unit.value} = {reading.raw_n_cm:.2f} N/cm"
            if reading.n_cm != reading.raw_n_cm:
                words += f", corrected {reading.n_cm:.2f}"
            if reading.moving:
                words += ", moving"
            return f"{reading.raw:32} {words}", True
        case Unread(line):
            return f"{line.raw[:32]:32} not read: {line.why.value}", True
        case Settled(reading):
            return f"{'':32} settled: {reading.n_cm:.2f} N/cm is offered", False
        case Stands(state):
            return f"-- {told(state, address, profile)}", False
        case BatteryLow():
            return f"-- {BATTERY_LOW}", False
        case _:
            return "", False


_CHANCE = click.FloatRange(0, 1)


@gauge.command()
@click.option("--profile", metavar="NAME", default="number", help="What kind of gauge to play.")
@click.option(
    "--link",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Where it can be opened; without it, in benchterm's own folder.",
)
@click.option("--tension", type=float, multiple=True, help="N/cm under it; can be repeated.")
@click.option("--every", type=click.FloatRange(0.001, 60), default=0.1, help="Seconds a line.")
@click.option("--noise", type=click.FloatRange(0), default=0.0, help="N/cm, standard deviation.")
@click.option("--drift", type=float, default=0.0, help="N/cm a minute.")
@click.option("--garbage", type=_CHANCE, default=0.0, help="Chance of random bytes for a line.")
@click.option("--partial", type=_CHANCE, default=0.0, help="Chance of a line in two parts.")
@click.option("--pause", type=_CHANCE, default=0.0, help="Chance of a second of silence.")
@click.option("--unplug", type=_CHANCE, default=0.0, help="Chance of being unplugged.")
@click.option("--seed", type=int, help="The same chances every time.")
@click.option("--seconds", type=click.FloatRange(0.1), help="Stop after so long.")
def simulate(
    profile: str,
    link: Path | None,
    tension: tuple[float, ...],
    every: float,
    noise: float,
    drift: float,
    garbage: float,
    partial: float,
    pause: float,
    unplug: float,
    seed: int | None,
    seconds: float | None,
) -> None:
    """Play a gauge on a pseudo-terminal. Ctrl-C ends it."""
    import time

    from benchterm.gauge.profile import load_profile
    from benchterm.gauge.pseudo import PtyGauge
    from benchterm.gauge.simulated import Behaviour, Simulator
    from benchterm.locations import simulated_gauge

    behaviour = Behaviour(
        tensions_n_cm=tension or Behaviour().tensions_n_cm,
        every_s=every,
        noise_n_cm=noise,
        drift_n_cm_min=drift,
        garbage=garbage,
        partial=partial,
        pause=pause,
        unplug=unplug,
    )
    described = load_profile(profile)
    path = link or simulated_gauge()
    path.parent.mkdir(parents=True, exist_ok=True)
    if path.exists() and not path.is_symlink():
        raise BenchError(f"{path} is there already and is no simulated gauge.")
    end_s = time.monotonic() + (seconds if seconds is not None else 1e9)
    player = PtyGauge(path)
    click.echo(f"Simulated gauge ({described.what or profile}) at {path}")
    click.echo(f"In another terminal: benchterm gauge try --port {path} --profile {profile}")
    try:
        Simulator(described, behaviour, player, seed).run(lambda: time.monotonic() >= end_s)
    except KeyboardInterrupt:
        pass
    finally:
        player.unplug()
