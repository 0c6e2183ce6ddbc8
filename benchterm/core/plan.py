"""The figures of a set-up sheet, as ``planning`` works them out before the mesh is cut."""

from __future__ import annotations

from dataclasses import dataclass

from benchterm.core.facts import Facts
from benchterm.core.stations import Axis, Pair
from benchterm.mechanics.windows import Window


@dataclass(frozen=True, slots=True)
class ClothPlan:
    """The mesh as it comes off the roll."""

    threads_cm: float
    threads_in: float
    thread_um: float
    material: str
    opening_um: float
    open_area_pct: float
    volume_bound_cm3_m2: float
    """With two diameters for thickness: an upper bound."""
    stiffness_n_cm: float
    """Tension for a strain of 1, by the modulus in the shop's table."""
    window: Window | None
    """Usual tensions; ``None``: not in the table of common practice."""
    ceiling_n_cm: float | None
    """Highest working tension; ``None``: not known for this material."""
    ceiling_is_the_makers: bool
    strength_n_cm: float | None
    """Where the threads part, by the tenacity in the shop's table; polyester only."""


@dataclass(frozen=True, slots=True)
class AxisPlan:
    """One axis, along or across the roll."""

    axis: Axis
    pair: Pair
    """The rollers that pull it."""
    target_n_cm: float
    per_thread_cn: float
    stress_mpa: float
    stress_cn_dtex: float | None
    share_of_strength: float | None
    span_mm: float
    """Roller to roller."""
    cut_mm: tuple[float, float]
    """Length to cut, from and to."""
    rod_mm: float
    """Length of the rods in the rollers of this pair."""
    rod_gap_mm: float
    """From the end of those rods to the corner of the mesh field."""
    step_n_cm: float
    """Tension that one click of one roller adds."""
    promise_n_cm: float
    """How near to the target whole clicks can be promised to come."""
    strain: float
    """At the target."""
    clicks: tuple[int, int, int]
    """Of each of the two rollers from lock-in to target: likely, at least, at most."""
    next_day_n_cm: tuple[float, float]
    """What is left the next day of a target never topped up, on the stretcher."""


@dataclass(frozen=True, slots=True)
class FramePlan:
    """What the frame does when it has the mesh to carry. Pairs of values: along, across."""

    source: str
    """Where the figures of its material come from."""
    closing_mm: tuple[float, float]
    """How much nearer the sides come at their middle, at the target; negative: they bow outward."""
    stress_mpa: float
    yield_mpa: float
    left_n_cm: tuple[float, float]
    """What is left of the targets after the cut-out."""
    set_n_cm: tuple[float, float]
    """Targets to set on the stretcher so that the wanted ones are left."""
    warmer_10k_n_cm: float
    """Tension added by a frame 10 K warmer."""


@dataclass(frozen=True, slots=True)
class CornerPlan:
    """What the corners have to bear."""

    rod_gap_mm: float
    tear_chance: float
    """At the target, never relieved."""
    relief_mm: float
    """Mesh to let back in at each corner, in all, to bring that down; nought if it is low."""


@dataclass(frozen=True, slots=True)
class Minutes:
    """How long it takes."""

    handling: float
    tensioning: float
    settling: float
    curing: float
    cut_out: float

    @property
    def total(self) -> float:
        """All of it."""
        return self.handling + self.tensioning + self.settling + self.curing + self.cut_out


@dataclass(frozen=True, slots=True)
class Plan:
    """The sheet."""

    facts: Facts
    cloth: ClothPlan
    axes: tuple[AxisPlan, AxisPlan]
    """Along, across."""
    frame: FramePlan | None
    """``None``: its material has no one figure, as wood has not."""
    corners: CornerPlan | None
    """``None``: the material is not one the corner rule was made for."""
    minutes: Minutes
    notes: tuple[str, ...]
    """What to mind, most important first."""
