"""How a closed frame bends under the mesh, and what tension it gives back when it is cut out.

Four bars of one section, joined stiffly at the corners, loaded inward and evenly. Bars ``a`` run
one way, bars ``b`` the other; each has the length of its centre line. Formulas by slope-deflection
(derived for this program, from the standard equations of beams); inward is positive. Real joints,
wood, and pull off the bar's axis give more.
"""

from __future__ import annotations

from dataclasses import dataclass

_MPA_PER_GPA = 1000.0
_N_MM_PER_N_CM = 0.1


@dataclass(frozen=True, slots=True)
class Material:
    """What a frame is made of."""

    modulus_gpa: float
    expansion_per_k: float
    yield_mpa: float
    source: str


MATERIALS = {
    "aluminium": Material(69.0, 23.4e-6, 145.0, "6063-T5: Aluminum Association, typical values"),
    "steel": Material(205.0, 12e-6, 235.0, "plain structural steel, from memory"),
}
"""Frames are made of more, but of nothing else that one figure describes."""


@dataclass(frozen=True, slots=True)
class Section:
    """The section of a bar, for bending in the plane of the mesh."""

    area_mm2: float
    inertia_mm4: float
    depth_mm: float
    """Size of the tube in the plane of the mesh."""

    @classmethod
    def tube(cls, depth_mm: float, height_mm: float, wall_mm: float) -> Section:
        """A rectangular tube: I = (H B^3 - (H - 2t)(B - 2t)^3) / 12, B in the plane of the mesh.

        A wall of half the tube's size is a solid bar.

        Raises:
            ValueError: the walls do not fit.
        """
        hollow_depth, hollow_height = depth_mm - 2 * wall_mm, height_mm - 2 * wall_mm
        if wall_mm <= 0 or hollow_depth < 0 or hollow_height < 0:
            raise ValueError(
                f"walls of {wall_mm:g} mm do not fit a tube of {depth_mm:g} x {height_mm:g} mm"
            )
        return cls(
            depth_mm * height_mm - hollow_depth * hollow_height,
            (height_mm * depth_mm**3 - hollow_height * hollow_depth**3) / 12,
            depth_mm,
        )


@dataclass(frozen=True, slots=True)
class Bar:
    """One of two opposite bars under load. Moments N mm, forces N, deflections mm inward."""

    mid_moment: float
    axial: float
    """Pressed together by half the load of the bars beside it."""
    mid_deflection: float
    mean_deflection: float
    """Mean over its length."""
    mid_closing: float
    """How much nearer its pair comes at the middle, shortening of the bars beside it included."""
    mean_closing: float


@dataclass(frozen=True, slots=True)
class Bending:
    """A frame under load."""

    corner_moment: float
    a: Bar
    b: Bar
    corner_stress_mpa: float
    """Highest at a corner, bending and axial pressure together."""


def bending(
    section: Section,
    modulus_gpa: float,
    a_mm: float,
    b_mm: float,
    on_a_n_cm: float,
    on_b_n_cm: float,
) -> Bending:
    """A closed frame of centre lines a x b under mesh tensions pulling on its bars.

    Corner moment (wa a^3 + wb b^3) / (12 (a + b)). ``on_a_n_cm`` pulls on the two bars ``a``, from
    one towards the other.
    """
    wa, wb = on_a_n_cm * _N_MM_PER_N_CM, on_b_n_cm * _N_MM_PER_N_CM
    corner = (wa * a_mm**3 + wb * b_mm**3) / (12 * (a_mm + b_mm))
    push_a, push_b = wb * b_mm / 2, wa * a_mm / 2
    e_mpa = modulus_gpa * _MPA_PER_GPA

    def bar(w: float, length: float, axial: float, beside: float, push_beside: float) -> Bar:
        ei = e_mpa * section.inertia_mm4
        mid = 5 * w * length**4 / (384 * ei) - corner * length**2 / (8 * ei)
        mean = w * length**4 / (120 * ei) - corner * length**2 / (12 * ei)
        shorter = push_beside * beside / (e_mpa * section.area_mm2)
        return Bar(
            w * length**2 / 8 - corner, axial, mid, mean, 2 * mid + shorter, 2 * mean + shorter
        )

    bent = abs(corner) * section.depth_mm / 2 / section.inertia_mm4
    return Bending(
        corner,
        bar(wa, a_mm, push_a, b_mm, push_b),
        bar(wb, b_mm, push_b, a_mm, push_a),
        bent + max(push_a, push_b) / section.area_mm2,
    )


@dataclass(frozen=True, slots=True)
class Held:
    """A frame with mesh glued to it. ``on_a`` is what pulls on the bars ``a``."""

    section: Section
    modulus_gpa: float
    a_mm: float
    """Centre lines."""
    b_mm: float
    stiffness_on_a_n_cm: float
    """Of the mesh that pulls on bars ``a``, N/cm for a strain of 1."""
    stiffness_on_b_n_cm: float
    poisson: float = 0.0
    """How much pulling one set of threads asks of the other; nought leaves them apart."""

    def set_for(
        self, on_a_n_cm: float, on_b_n_cm: float, *, mid: bool = False
    ) -> tuple[float, float]:
        """Tensions to glue at so that these are left once the frame carries the mesh.

        T0 = T + k x closing(T) / clear span; by the mean bow, or that of the middle line.
        """
        lost_a, lost_b = self._lost(on_a_n_cm, on_b_n_cm, mid)
        return on_a_n_cm + lost_a, on_b_n_cm + lost_b

    def left_of(
        self, on_a_n_cm: float, on_b_n_cm: float, *, mid: bool = False
    ) -> tuple[float, float]:
        """Tensions left of these once the frame carries the mesh: T = T0 - k closing(T) / span."""
        aa, ba = self.set_for(1.0, 0.0, mid=mid)
        ab, bb = self.set_for(0.0, 1.0, mid=mid)
        det = aa * bb - ab * ba
        return (
            (on_a_n_cm * bb - ab * on_b_n_cm) / det,
            (aa * on_b_n_cm - ba * on_a_n_cm) / det,
        )

    def _lost(self, on_a_n_cm: float, on_b_n_cm: float, mid: bool) -> tuple[float, float]:
        bent = bending(self.section, self.modulus_gpa, self.a_mm, self.b_mm, on_a_n_cm, on_b_n_cm)
        depth = self.section.depth_mm
        strain_a = (bent.a.mid_closing if mid else bent.a.mean_closing) / (self.b_mm - depth)
        strain_b = (bent.b.mid_closing if mid else bent.b.mean_closing) / (self.a_mm - depth)
        held = 1 - self.poisson**2
        cross = self.poisson * (self.stiffness_on_a_n_cm * self.stiffness_on_b_n_cm) ** 0.5
        return (
            (self.stiffness_on_a_n_cm * strain_a + cross * strain_b) / held,
            (self.stiffness_on_b_n_cm * strain_b + cross * strain_a) / held,
        )


def warmed_n_cm(stiffness_n_cm: float, expansion_per_k: float, warmer_k: float) -> float:
    """Tension that a frame adds when it grows warmer and the mesh does not, k alpha dT, N/cm."""
    return stiffness_n_cm * expansion_per_k * warmer_k
