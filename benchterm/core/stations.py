"""Nine places on the mesh, numbered like the numeric keypad, seen from where the operator stands.

::

    7 far left    8 far     9 far right
    4 left        5 centre  6 right
    1 near left   2 near    3 near right

Rollers sit on 2, 4, 6 and 8; corners on 1, 3, 7 and 9.
"""

from __future__ import annotations

from enum import Enum, IntEnum


class Axis(Enum):
    """The direction in which a gauge is laid on the mesh: along the roll of cloth, or across it."""

    ALONG = "along"
    """Along the warp: the threads that run with the roll the mesh was cut from."""
    ACROSS = "across"
    """Across it, along the weft."""

    @property
    def other(self) -> Axis:
        """The axis at right angles to this one."""
        return Axis.ACROSS if self is Axis.ALONG else Axis.ALONG


class Pair(Enum):
    """Two opposite rollers, which pull one set of threads between them."""

    FAR_NEAR = "far-near"
    LEFT_RIGHT = "left-right"

    @property
    def other(self) -> Pair:
        """The pair at right angles to this one."""
        return Pair.LEFT_RIGHT if self is Pair.FAR_NEAR else Pair.FAR_NEAR


class Station(IntEnum):
    """A place where the gauge can sit."""

    NEAR_LEFT = 1
    NEAR = 2
    NEAR_RIGHT = 3
    LEFT = 4
    CENTRE = 5
    RIGHT = 6
    FAR_LEFT = 7
    FAR = 8
    FAR_RIGHT = 9

    @property
    def label(self) -> str:
        """The plain name, as in ``far left``."""
        return self.name.lower().replace("_", " ")

    @property
    def is_roller(self) -> bool:
        """Whether a roller sits here."""
        return self in ROLLERS

    @property
    def is_corner(self) -> bool:
        """Whether this is a corner of the frame."""
        return self in CORNERS

    @property
    def column(self) -> int:
        """-1 at the left, 0 in the middle, 1 at the right."""
        return (self - 1) % 3 - 1

    @property
    def row(self) -> int:
        """-1 near the operator, 0 in the middle, 1 at the far side."""
        return (self - 1) // 3 - 1

    @property
    def opposite(self) -> Station:
        """The station mirrored through the centre; the centre is its own opposite."""
        return Station(10 - self)

    @property
    def pair(self) -> Pair | None:
        """The pair a roller belongs to; ``None`` away from the rollers."""
        if self in (Station.FAR, Station.NEAR):
            return Pair.FAR_NEAR
        if self in (Station.LEFT, Station.RIGHT):
            return Pair.LEFT_RIGHT
        return None

    @property
    def neighbours(self) -> tuple[Station, Station]:
        """The two sides that meet at a corner: far or near first, then left or right.

        Raises:
            ValueError: the station is no corner.
        """
        if not self.is_corner:
            raise ValueError(f"{self.label} is not a corner")
        return (
            Station.FAR if self.row > 0 else Station.NEAR,
            Station.RIGHT if self.column > 0 else Station.LEFT,
        )


ROLLERS = (Station.FAR, Station.NEAR, Station.LEFT, Station.RIGHT)
CORNERS = (Station.FAR_LEFT, Station.FAR_RIGHT, Station.NEAR_LEFT, Station.NEAR_RIGHT)
ROLLERS_OF = {
    Pair.FAR_NEAR: (Station.FAR, Station.NEAR),
    Pair.LEFT_RIGHT: (Station.LEFT, Station.RIGHT),
}
