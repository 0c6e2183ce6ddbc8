"""What is known before the first thread is pulled: frame, mesh, stretcher, target, people.

Lengths of the frame are as the operator sees it: width from left to right, depth from near to far.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

from benchterm.core.stations import Axis, Pair, Station


class StretcherKind(Enum):
    """Whether the stretcher's corners move with the frame size or are welded."""

    ADJUSTABLE = "adjustable"
    FIXED = "fixed"


class Locking(Enum):
    """How the mesh is held in the roller's groove."""

    TAPERED_ROD = "tapered rod"
    TWO_RODS = "two rods"


@dataclass(frozen=True, slots=True)
class Frame:
    """The frame the mesh is glued to."""

    width_mm: float = 580.0
    """Outer size from left to right."""
    depth_mm: float = 840.0
    """Outer size from near to far."""
    material: str = "aluminium"
    tube_mm: float = 40.0
    """Depth of the tube in the plane of the mesh, so that inner size = outer - 2 x this."""
    tube_height_mm: float = 40.0
    wall_mm: float = 2.0

    @property
    def inner_width_mm(self) -> float:
        """Clear span from left to right."""
        return self.width_mm - 2 * self.tube_mm

    @property
    def inner_depth_mm(self) -> float:
        """Clear span from near to far."""
        return self.depth_mm - 2 * self.tube_mm


@dataclass(frozen=True, slots=True)
class Mesh:
    """The cloth."""

    threads_cm: float = 77.0
    """Threads per centimetre."""
    thread_um: float = 55.0
    """Thread diameter before weaving, micrometres."""
    material: str = "polyester"
    ceiling_n_cm: float | None = None
    """The maker's highest working tension; ``None``: worked out from the threads."""


@dataclass(frozen=True, slots=True)
class Stretcher:
    """The roller stretcher and how the mesh is locked into it."""

    roller_mm: float = 32.0
    """Roller diameter."""
    teeth: int = 24
    """Teeth of the ratchet: clicks in one turn."""
    kind: StretcherKind = StretcherKind.ADJUSTABLE
    locking: Locking = Locking.TAPERED_ROD
    span_beyond_frame_mm: float = 120.0
    """Roller-to-roller span of mesh beyond the frame's outer size, both ends together."""
    rod_gap_mm: float | None = None
    """From the end of a locking rod to the corner of the mesh field, if measured."""


@dataclass(frozen=True, slots=True)
class Target:
    """The tension wanted on the stretcher and how far off it may be."""

    along_n_cm: float = 22.0
    across_n_cm: float = 22.0
    tolerance_n_cm: float = 1.0

    def of(self, axis: Axis) -> float:
        """The tension wanted on one axis, N/cm."""
        return self.along_n_cm if axis is Axis.ALONG else self.across_n_cm


@dataclass(frozen=True, slots=True)
class Calibration:
    """What a gauge read of known tensions, N/cm, and the line through that.

    ``reading = intercept + slope x tension``.
    """

    utc: str
    """When it was done, ISO 8601."""
    operator: str
    references_n_cm: tuple[float, ...]
    readings_n_cm: tuple[float, ...]
    step_n_cm: float
    """Smallest step of the gauge's display."""
    reference_u_n_cm: float
    """Standard uncertainty of the references; 0: none was stated."""
    slope: float
    intercept: float

    def corrected(self, n_cm: float) -> float:
        """The tension that a reading stands for."""
        return (n_cm - self.intercept) / self.slope


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything a session is opened with."""

    screen_id: str = "screen"
    operator: str = ""
    frame: Frame = field(default_factory=Frame)
    mesh: Mesh = field(default_factory=Mesh)
    stretcher: Stretcher = field(default_factory=Stretcher)
    target: Target = field(default_factory=Target)
    gauge: str = ""
    """The gauge's name in the shop."""
    along_pair: Pair = Pair.FAR_NEAR
    """Which pair of rollers pulls the threads that run along the roll of cloth (the warp)."""
    products: tuple[str, ...] = ()
    """Names of the product files of the glue, its activator or hardener; none: not said."""

    def axis_of(self, pair: Pair) -> Axis:
        """The axis which a pair of rollers pulls."""
        return Axis.ALONG if pair is self.along_pair else Axis.ACROSS

    def pair_of(self, axis: Axis) -> Pair:
        """The pair of rollers which pulls an axis."""
        return self.along_pair if axis is Axis.ALONG else self.along_pair.other

    def usual_axis(self, station: Station) -> Axis:
        """How a gauge is read at a station unless said otherwise.

        At a roller: in the direction it pulls. At the centre and the corners: along.
        """
        return Axis.ALONG if station.pair is None else self.axis_of(station.pair)

    def free_span_mm(self, pair: Pair) -> float:
        """Length of mesh between the two rollers of a pair."""
        size = self.frame.depth_mm if pair is Pair.FAR_NEAR else self.frame.width_mm
        return size + self.stretcher.span_beyond_frame_mm
