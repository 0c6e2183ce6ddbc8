"""Advice: what to do, why, and what it rests on. The rules that give it are in ``rules``."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from benchterm.core.stations import Axis, Station

SHOWN = 3
"""How many pieces of advice are shown at once."""


class Severity(Enum):
    """How much it matters: a word and a symbol, so that colour is never needed."""

    STOP = "stop"
    """Something will tear or hurt unless the next move changes."""
    CARE = "care"
    """Out of order, to be mended before going on."""
    DO = "do"
    """The next thing to do."""
    KNOW = "know"
    """Worth knowing, nothing to do yet."""

    @property
    def symbol(self) -> str:
        """One character that goes with the word."""
        return {"stop": "■", "care": "▲", "do": "▶", "know": "·"}[self.value]

    @property
    def rank(self) -> int:
        """0 is the most important."""
        return list(Severity).index(self)


@dataclass(frozen=True, slots=True)
class Move:
    """Clicks advised on one roller; negative: let back."""

    station: Station
    clicks: int


@dataclass(frozen=True, slots=True)
class Look:
    """A reading advised."""

    station: Station
    axis: Axis


@dataclass(frozen=True, slots=True)
class Ease:
    """Mesh to let back in at a corner, besides what has been."""

    station: Station
    mm: float


@dataclass(frozen=True, slots=True)
class Advice:
    """One piece of advice."""

    code: str
    """Stable name of the rule that gave it, as in ``sides-uneven``."""
    severity: Severity
    do: str
    """What to do: "right roller: 1 click"."""
    why: str
    """Why: "left 24.0, right 21.5: 2.5 apart, limit 1.0"."""
    rests_on: tuple[int, ...] = ()
    """``seq`` of the events it rests on."""
    moves: tuple[Move, ...] = ()
    """What to turn, in order, for a reader without eyes for ``do``."""
    read: tuple[Look, ...] = ()
    """What to read, in order."""
    ease: tuple[Ease, ...] = ()
    """What to ease, in order."""
