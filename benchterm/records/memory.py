"""What the shop's own sessions tell of how much each mesh settles in a day.

Taken from sessions whose mesh was read within an hour of the last click and again half a day later
or more, still on the stretcher. Off it the frame has taken its part, which cannot be told apart.
A mesh is the same if material, count and thread are; its maker's ceiling has no part in it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

from benchterm.core.events import NoteMade, SessionOpened
from benchterm.core.facts import Mesh
from benchterm.core.fold import fold
from benchterm.core.practice import Practice
from benchterm.core.settling import lost_later
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.errors import BenchError
from benchterm.mechanics.settling import DAY_S, Likely
from benchterm.records.journal import read
from benchterm.records.sessions import journals, last_event

BETWEEN_SCREENS = 0.01
"""Standard deviation of the share lost later, from screen to screen of one mesh; simulated."""
_ENOUGH = 12
"""Screens of a mesh after which a further one hardly narrows the prior of the next."""
_LOOKED_AT = 2000
_GONE_THROUGH = 60
"""Journals, the newest: by two lines, and from end to end. Opening a session waits for them."""


@dataclass(frozen=True, slots=True)
class Remembered:
    """What is known of one mesh, as a prior for its next screen."""

    mesh: Mesh
    screens: int
    lost: float
    """Share of the tension lost from a quarter of an hour to 24 h."""
    sd: float

    def told(self) -> str:
        """The loss, in words."""
        share, sd = 100 * self.lost, 100 * self.sd
        return f"{share:.1f} % lost from a quarter of an hour to a day (sd {sd:.1f})"


def remembered(folder: Path) -> list[Remembered]:
    """Each mesh with at least one such session, the best known first."""
    told: dict[Mesh, list[Likely]] = {}
    for path in journals(folder):
        if (mesh := _mesh(path)) and _went_on(path) and (lost := _lost(path)):
            told.setdefault(mesh, []).append(lost)
    found = [narrowed(mesh, seen) for mesh, seen in told.items()]
    return sorted(found, key=lambda one: -one.screens)


def recalled(folder: Path, mesh: Mesh) -> Remembered | None:
    """What the newest screens of one mesh tell; ``None``: nothing is known of it.

    Made to be quick: most sessions are told from their first and last line not to count.
    """
    newest = sorted(journals(folder), key=lambda path: path.name, reverse=True)[:_LOOKED_AT]
    late = (path for path in newest if _mesh(path) == _same(mesh) and _went_on(path))
    told = (lost for path in islice(late, _GONE_THROUGH) if (lost := _lost(path)) is not None)
    seen = list(islice(told, _ENOUGH))
    return narrowed(_same(mesh), seen) if seen else None


def settled_practice(
    folder: Path | None, mesh: Mesh, practice: Practice
) -> tuple[Practice, tuple[NoteMade, ...]]:
    """The numbers a new session goes by, and a note where its settling comes from, if not theirs.

    ``None`` for the folder: nothing is remembered.
    """
    known = recalled(folder, mesh) if folder else None
    if known is None:
        return practice, ()
    screens = "1 screen" if known.screens == 1 else f"{known.screens} screens"
    note = f"settling: {known.told()}, from {screens} of this mesh"
    mine = replace(practice, lost_later=known.lost, lost_later_sd=known.sd)
    return mine, (NoteMade(note),)


def narrowed(mesh: Mesh, seen: Sequence[Likely]) -> Remembered:
    """What screens of one mesh have lost later on, each with its sd, as a prior for the next.

    Normal with known variances; the next screen may differ from the mean as any other.
    """
    weights = [1 / (one.sd**2 + BETWEEN_SCREENS**2) for one in seen]
    whole = math.fsum(weights)
    mean = math.fsum(w * one.value for w, one in zip(weights, seen, strict=True)) / whole
    return Remembered(mesh, len(seen), mean, math.hypot(whole**-0.5, BETWEEN_SCREENS))


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


def _same(mesh: Mesh) -> Mesh:
    return replace(mesh, ceiling_n_cm=None)


def _mesh(path: Path) -> Mesh | None:
    """The mesh of a journal, by its first line; ``None``: it cannot be told."""
    try:
        what = next(read(path)).what
    except (BenchError, StopIteration):
        return None
    return _same(what.facts.mesh) if isinstance(what, SessionOpened) else None


def _went_on(path: Path) -> bool:
    """Whether a session may have readings half a day apart, by its last line."""
    last = last_event(path)
    return last is None or last.at_s >= DAY_S / 2


def _lost(path: Path) -> Likely | None:
    """What a session tells; ``None`` too for a journal that cannot be read.

    That is told of where sessions are listed, and never keeps a new one from being opened.
    """
    try:
        return lost_later(on_the_stretcher(path))
    except (BenchError, ArithmeticError, ValueError):
        return None
