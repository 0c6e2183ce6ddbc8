"""The sessions in ``demo_sessions``: who did what. Screens, people and days are invented."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from demo.membrane import Membrane
from demo.worker import Worker

from benchterm.core.facts import Facts, Frame, Mesh, Stretcher, Target
from benchterm.core.stations import CORNERS, ROLLERS, Axis, Pair, Station

FAR, NEAR, LEFT, RIGHT = ROLLERS
CENTRE = Station.CENTRE
GLUE = ("demo-bond", "demo-spray")
FINE_RATCHET = Stretcher(roller_mm=32, teeth=96, rod_gap_mm=20)


def good(path: Path) -> None:
    """From bare frame to a screen that can be printed with, nothing out of the way."""
    facts = Facts(
        screen_id="A-104",
        operator="Ada",
        stretcher=FINE_RATCHET,
        target=Target(along_n_cm=22, across_n_cm=22),
        gauge="gauge 1",
        products=GLUE,
    )
    mesh = Membrane(facts, 104, {Pair.FAR_NEAR: 11.0, Pair.LEFT_RIGHT: 10.0})
    at = Worker(path, datetime(2026, 3, 2, 8, 40, tzinfo=UTC), facts, mesh)
    at.say("note first screen of the week, new roll of mesh")
    at.get_to_slack()
    at.take_out_slack(2, 2)
    at.tick_and_go_on()
    at.tension_to(13.5, 13.5)
    at.tick_and_go_on()
    at.read(*CORNERS)
    for corner in CORNERS:
        at.ease(corner, 3)
    at.tick_and_go_on()
    at.finish_at(22.5, 22.5)
    at.tick_and_go_on()
    at.settle(15)
    at.glue_and_cut_out()
    at.read_again_and_close()


def drifting_apart(path: Path) -> None:
    """One side gets the clicks, warning or not, until opposite sides are put level again."""
    facts = Facts(
        screen_id="B-017",
        operator="Tomek",
        frame=Frame(width_mm=500, depth_mm=700),
        mesh=Mesh(threads_cm=54, thread_um=64),
        stretcher=FINE_RATCHET,
        target=Target(along_n_cm=24, across_n_cm=24),
        gauge="gauge 1",
        products=GLUE,
    )
    mesh = Membrane(facts, 17, {Pair.FAR_NEAR: 9.0, Pair.LEFT_RIGHT: 8.0})
    at = Worker(path, datetime(2026, 3, 3, 13, 5, tzinfo=UTC), facts, mesh)
    at.get_to_slack()
    at.take_out_slack(2, 1)
    at.take_out_slack(1, 1)
    at.tick_and_go_on()
    at.tension_to(10.5, 9)
    at.say("note near stands against the wall: no room for the wrench")
    at.turn_and_read(FAR, 1)
    at.turn_and_read(RIGHT, 2)
    at.read(LEFT)
    at.tick_and_go_on()
    at.read(*CORNERS)
    for corner in CORNERS:
        at.ease(corner, 3)
    at.tick_and_go_on()
    at.read(*ROLLERS)
    at.turn_and_read(FAR, 1)
    at.turn_and_read(LEFT, 1)
    at.turn_and_read(RIGHT, 1)
    at.turn_and_read(FAR, 1)
    at.read(LEFT, NEAR)
    at.say("mark")
    at.say("note bench moved out from the wall")
    at.turn_and_read(NEAR, 2)
    at.turn_and_read(NEAR, 2)
    at.finish_at(24, 24.5)
    at.tick_and_go_on()
    at.settle(15)
    at.glue_and_cut_out()
    at.read_again_and_close()


def corner_ahead(path: Path) -> None:
    """Rods into the corners and a corner that runs ahead; all eased as advised, then tensioned."""
    facts = Facts(
        screen_id="C-230",
        operator="Ada",
        mesh=Mesh(threads_cm=120, thread_um=34),
        stretcher=Stretcher(roller_mm=32, teeth=72, rod_gap_mm=3),
        target=Target(along_n_cm=18, across_n_cm=18),
        gauge="gauge 2",
        products=GLUE,
    )
    ratio = {Station.FAR_RIGHT: 1.34, Station.NEAR_RIGHT: 1.18}
    mesh = Membrane(facts, 230, {Pair.FAR_NEAR: 10.5, Pair.LEFT_RIGHT: 9.5}, ratio)
    at = Worker(path, datetime(2026, 3, 5, 9, 20, tzinfo=UTC), facts, mesh)
    at.get_to_slack()
    at.take_out_slack(2, 2)
    at.tick_and_go_on()
    for roller in ROLLERS:
        at.turn_and_read(roller, 2)
    at.turn_and_read(FAR, 1)
    at.read(*CORNERS)
    at.read(Station.FAR_LEFT, Station.NEAR_RIGHT, axis=Axis.ACROSS)
    at.turn_and_read(NEAR, 1)
    for corner in CORNERS:
        at.ease(corner, 7)
    at.tension_to(10.8, 10.8)
    for axis in Axis:
        at.read(CENTRE, axis=axis)
    at.tick_and_go_on()
    at.read(*CORNERS)
    at.tick_and_go_on()
    at.finish_at(18.5, 18.5)
    at.tick_and_go_on()
    at.settle(15)
    at.glue_and_cut_out()
    at.read_again_and_close()


def resumed(path: Path) -> None:
    """The power fails half-way through an entry; taken up again from what is on the disk."""
    facts = Facts(
        screen_id="A-105",
        operator="Tomek",
        stretcher=FINE_RATCHET,
        target=Target(along_n_cm=20, across_n_cm=20),
        gauge="gauge 1",
        products=GLUE,
    )
    mesh = Membrane(facts, 105, {Pair.FAR_NEAR: 12.0, Pair.LEFT_RIGHT: 9.0})
    at = Worker(path, datetime(2026, 3, 6, 10, 30, tzinfo=UTC), facts, mesh)
    at.get_to_slack()
    at.take_out_slack(2, 2)
    at.tick_and_go_on()
    at.turn_and_read(FAR, 2)
    at.turn_and_read(LEFT, 2)
    at.say("undo")
    mesh.turn(LEFT, -2, at.clock.s)
    at.turn_and_read(NEAR, 2)
    at.lose_power_during("far 2.0", away_s=412)
    at.say("note lights went out, all rollers still locked")
    at.read(FAR, NEAR)
    at.say("far 52")
    at.say("no")
    at.read(FAR)
    at.tension_to(12.5, 12.5)
    at.tick_and_go_on()
    at.read(*CORNERS)
    for corner in CORNERS:
        at.ease(corner, 3)
    at.tick_and_go_on()
    at.finish_at(20.5, 20.5)
    at.tick_and_go_on()
    at.settle(15)
    at.glue_and_cut_out()
    at.read_again_and_close()


SESSIONS: dict[str, Callable[[Path], None]] = {
    "good": good,
    "drifting-apart": drifting_apart,
    "corner-ahead": corner_ahead,
    "resumed": resumed,
}
