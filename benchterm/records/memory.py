"""What the shop's own sessions tell of how much each mesh settles in a day.

Taken from sessions whose mesh was read within an hour of the last click and again half a day later
or more, still on the stretcher. Off it the frame has taken its part, which cannot be told apart.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from benchterm.core.facts import Mesh
from benchterm.core.fold import fold
from benchterm.core.practice import Practice
from benchterm.core.settling import lost_in_a_day
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.errors import BenchError
from benchterm.records.journal import read
from benchterm.records.sessions import journals

BETWEEN_SCREENS = 0.015
"""Standard deviation of the share lost, from screen to screen of one mesh; simulated."""


@dataclass(frozen=True, slots=True)
class Remembered:
    """What is known of one mesh, as a prior for its next screen."""

    mesh: Mesh
    screens: int
    lost: float
    """Share lost in 24 h."""
    sd: float


def remembered(folder: Path, practice: Practice) -> list[Remembered]:
    """Each mesh with at least one such session, the best known first."""
    told: dict[Mesh, list[tuple[float, float]]] = {}
    for path in journals(folder):
        try:
            state = on_the_stretcher(path)
        except BenchError:
            continue  # Told of where sessions are listed.
        lost = lost_in_a_day(state)
        if lost is not None:
            told.setdefault(state.facts.mesh, []).append((lost.value, lost.sd))
    found = [narrowed(mesh, seen, practice) for mesh, seen in told.items()]
    return sorted(found, key=lambda one: -one.screens)


def narrowed(mesh: Mesh, seen: Iterable[tuple[float, float]], practice: Practice) -> Remembered:
    """The shop's prior narrowed by what screens of one mesh have lost, each with its sd.

    Normal with known variances; the next screen may differ from the mean as any other.
    """
    listed = list(seen)
    weights = [1 / (sd * sd + BETWEEN_SCREENS**2) for _, sd in listed]
    before = 1 / practice.lost_in_a_day_sd**2
    whole = before + math.fsum(weights)
    mean = before * practice.lost_in_a_day
    mean += math.fsum(w * lost for w, (lost, _) in zip(weights, listed, strict=True))
    sd = min(practice.lost_in_a_day_sd, math.sqrt(1 / whole + BETWEEN_SCREENS**2))
    return Remembered(mesh, len(listed), mean / whole, sd)


def on_the_stretcher(path: Path) -> State:
    """A session as it stood before its screen was cut out.

    Raises:
        BenchError: its journal cannot be read.
    """
    state = State()
    for event in read(path):
        after = fold(state, event)
        if after.stage > Stage.CURE:
            break
        state = after
    return state
