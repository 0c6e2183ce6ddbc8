"""The command line's options for what a session is opened with."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from benchterm.config import Settings
    from benchterm.core.facts import Facts


def setup_options(command: Callable[..., None]) -> Callable[..., None]:
    """Options which say what a session is opened with."""
    options = (
        click.option(
            "--setup",
            "setup_file",
            type=click.Path(path_type=Path, dir_okay=False),
            help="A TOML file of facts: frame, mesh, stretcher, target, people.",
        ),
        click.option("--screen", metavar="ID", help="Number or name of the screen."),
        click.option("--operator", metavar="NAME", help="Who does the job."),
        click.option("--gauge", metavar="NAME", help="The gauge's name in the shop."),
        click.option("--mesh", metavar="COUNT", help='Count with its unit: "77/cm", "195/in".'),
        click.option("--thread", metavar="UM", help="Thread diameter, micrometres."),
        click.option("--target", metavar="N/CM", help="Tension wanted, along and across."),
        click.option(
            "--set",
            "more",
            metavar="KEY=VALUE",
            multiple=True,
            help="Any other fact, as in frame.width_mm=580. Can be repeated.",
        ),
    )
    for option in reversed(options):
        command = option(command)
    return command


def facts_given(
    settings: Settings,
    *,
    setup_file: Path | None,
    more: tuple[str, ...],
    screen: str | None,
    operator: str | None,
    gauge: str | None,
    mesh: str | None,
    thread: str | None,
    target: str | None,
) -> Facts:
    """The facts of a session: the shop's, with these options over them.

    Raises:
        SettingsError: every problem of file and options at once.
    """
    from benchterm.setup import option, set_up  # noqa: PLC0415 - see cli

    options: dict[str, Any] = {
        "screen_id": screen,
        "operator": operator,
        "gauge": gauge,
        "mesh.count": mesh,
    }
    try:
        for key, text in (
            ("mesh.thread_um", thread),
            ("target.along_n_cm", target),
            ("target.across_n_cm", target),
        ):
            if text is not None:
                options |= [option(f"{key}={text}")]
        options |= [option(text) for text in more]
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="--set") from error
    return set_up(settings.session, settings.practice, setup_file, options)
