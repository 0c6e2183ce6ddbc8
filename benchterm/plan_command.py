"""``benchterm plan``: the set-up sheet of a job, before the mesh is cut."""

# ruff: noqa: PLC0415 - the command imports what it needs when it is run

from __future__ import annotations

from typing import Any

import click

from benchterm.setup_options import facts_given, setup_options


@click.command()
@setup_options
@click.option("--json", "as_json", is_flag=True, help="One JSON object, every figure in full.")
def plan(as_json: bool, **options: Any) -> None:
    """Print the set-up sheet: mesh, cut, rods, clicks, corners, frame, adhesive, time."""
    from datetime import UTC, datetime

    import msgspec

    from benchterm.adhesive_amount import adhesive_amount
    from benchterm.config import load_settings
    from benchterm.core.planning import impossible
    from benchterm.core.planning import plan as made_of
    from benchterm.errors import SettingsError
    from benchterm.plan_sheet import page

    settings = load_settings()
    facts = facts_given(settings, **options)
    wrong = list(impossible(facts, settings.practice))
    if wrong:
        raise SettingsError(
            "This job cannot be done:\n" + "".join(f"  {line}\n" for line in wrong),
            works="Nothing has been begun or written.",
            todo="Change the target, the mesh, the rods or the frame.",
        )
    made = made_of(facts, settings.practice)
    grams, whose = adhesive_amount(facts, settings.practice, datetime.now(UTC).date())
    if as_json:
        sheet = {**msgspec.to_builtins(made), "adhesive_g": grams, "adhesive_by": whose}
        click.echo(msgspec.json.encode(sheet))
    else:
        click.echo(page(made, f"{grams:g} g, {whose}"), nl=False)
