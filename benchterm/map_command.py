"""``benchterm map``: the likely tension all over a mesh, from the journal of its session."""

# ruff: noqa: PLC0415 - the command imports what it needs when it is run

from __future__ import annotations

from pathlib import Path

import click


@click.command("map")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--json", "as_json", is_flag=True, help="One JSON object, every figure in full.")
def map_(file: Path, as_json: bool) -> None:
    """Print a likely map of the mesh from the readings of a session, with how sure it is."""
    import msgspec

    from benchterm.core.fold import fold_all
    from benchterm.core.likely_map import likely_map
    from benchterm.errors import BenchError
    from benchterm.map_sheet import HEADING, rows
    from benchterm.records.journal import read

    state = fold_all(read(file))
    drawn = likely_map(state)
    if isinstance(drawn, str):
        raise BenchError(
            f"There is no map of this mesh: {drawn}.",
            works="The journal is as it was.",
            todo="Read the centre and the four corners, along and across.",
        )
    if as_json:
        click.echo(msgspec.json.encode(drawn))
        return
    click.echo(f"{HEADING}   screen {state.facts.screen_id}   stage: {state.stage.label}\n")
    for line in rows(drawn, state.facts.target):
        click.echo(line)
