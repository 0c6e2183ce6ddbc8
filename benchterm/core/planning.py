"""What can be said of a job before the mesh is cut. Pure.

Stiffness, slack and what a click gives are defaults set on a simulated bench; the mesh maker's data
sheet, the gauge and the shop's own clicks win over all of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from benchterm.core import cloth
from benchterm.core.facts import Facts, Frame
from benchterm.core.plan import AxisPlan, ClothPlan, CornerPlan, FramePlan, Minutes, Plan
from benchterm.core.practice import Practice
from benchterm.core.state import State
from benchterm.core.stations import Axis, Pair
from benchterm.core.units import CM_PER_INCH
from benchterm.mechanics import corner, frame, mesh, takeup
from benchterm.mechanics.windows import Window, window_for

SLACK_MM = (18.0, 7.0)
"""Mesh to wind up before an axis pulls, and its standard deviation; simulated."""
STIFFNESS_OFF = 0.25
"""How far the stiffness may be from the worked-out one, as a share; simulated."""
HELD = 0.965
"""Share of a click that stays wound up; simulated."""
OVERNIGHT = (0.85, 0.90)
"""Share of the tension that still reads the next day (trade article, Feb 2001: 20 N/cm, 17-18)."""
ROD_SHORT_MM = 20.0
"""Rods that stop this far from the corner, or farther, spare it most; simulated."""
MOST_STRAIN = 0.04
"""Beyond it the mesh gives more than it pulls; simulated."""
HANDLING_MIN = 20.0
"""Preparing, cutting and locking in; this program's default."""
MIN_A_CLICK = 0.3
"""Clicks, with their readings; this program's default."""
CUT_OUT_MIN = 10.0
"""Cutting out, releasing and reading again; this program's default."""


def impossible(facts: Facts, practice: Practice) -> Iterator[str]:
    """What cannot be done with facts that are sound by themselves, each with figure and reason."""
    strength = _strength_n_cm(facts, practice)
    for axis in Axis:
        target = facts.target.of(axis)
        if strength is not None and target >= strength:
            yield (
                f"{target:g} N/cm {axis.value} is past {strength:.1f}, where threads of "
                f"{facts.mesh.thread_um:g} µm at {facts.mesh.threads_cm:.4g}/cm part "
                f"(tenacity {practice.tenacity_cn_dtex:g} cN/dtex)."
            )
    for pair in Pair:
        gap = facts.stretcher.rod_gap_mm
        span = facts.free_span_mm(pair)
        if gap is not None and 2 * gap >= span:
            yield f"rods that stop {gap:g} mm short at both ends of {span:g} mm have no length."
    held = _held(facts, practice)
    if held is not None:
        on_a, on_b = _on_bars(facts)
        bent = frame.bending(held.section, held.modulus_gpa, held.a_mm, held.b_mm, on_a, on_b)
        limit = frame.MATERIALS[facts.frame.material].yield_mpa
        if bent.corner_stress_mpa >= limit:
            yield (
                f"a frame of {_tube(facts.frame)} bends for good under this: "
                f"{bent.corner_stress_mpa:.0f} MPa at its corners, it bears {limit:g}."
            )


def plan(facts: Facts, practice: Practice) -> Plan:
    """The set-up sheet for facts in which nothing is ``impossible``."""
    state = State(facts=facts, practice=practice)
    sheet = ClothPlan(
        threads_cm=facts.mesh.threads_cm,
        threads_in=facts.mesh.threads_cm * CM_PER_INCH,
        thread_um=facts.mesh.thread_um,
        material=facts.mesh.material,
        opening_um=mesh.opening_um(facts.mesh.threads_cm, facts.mesh.thread_um),
        open_area_pct=mesh.open_area_pct(facts.mesh.threads_cm, facts.mesh.thread_um),
        volume_bound_cm3_m2=mesh.theoretical_volume_cm3_m2(
            facts.mesh.threads_cm, facts.mesh.thread_um
        ),
        stiffness_n_cm=cloth.stiffness_n_cm(state),
        window=_window(facts),
        ceiling_n_cm=cloth.ceiling_n_cm(state),
        ceiling_is_the_makers=facts.mesh.ceiling_n_cm is not None,
        strength_n_cm=_strength_n_cm(facts, practice),
    )
    axes = (_axis(state, Axis.ALONG), _axis(state, Axis.ACROSS))
    clicks = 2 * sum(axis.clicks[0] for axis in axes)
    made = Plan(
        facts=facts,
        cloth=sheet,
        axes=axes,
        frame=_frame(facts, practice, sheet),
        corners=_corners(state, axes),
        minutes=Minutes(
            HANDLING_MIN, MIN_A_CLICK * clicks, practice.settle_min, practice.cure_min, CUT_OUT_MIN
        ),
        notes=(),
    )
    return replace(made, notes=tuple(_notes(made, practice)))


def _window(facts: Facts) -> Window | None:
    if facts.mesh.material != "polyester":
        return None
    return window_for(facts.mesh.threads_cm, facts.mesh.thread_um)


def _strength_n_cm(facts: Facts, practice: Practice) -> float | None:
    if facts.mesh.material != "polyester":
        return None
    return mesh.working_ceiling_n_cm(
        facts.mesh.threads_cm, facts.mesh.thread_um, 1.0, practice.tenacity_cn_dtex
    )


def _axis(state: State, axis: Axis) -> AxisPlan:
    facts, practice = state.facts, state.practice
    pair = facts.pair_of(axis)
    span = facts.free_span_mm(pair)
    target, stiffness = facts.target.of(axis), cloth.stiffness_n_cm(state)
    is_polyester = facts.mesh.material == "polyester"
    strength = _strength_n_cm(facts, practice)
    rod, gap = rod_and_gap_mm(facts, pair)
    step = cloth.nominal_step_n_cm(state, pair)
    strain = (target - takeup.POISSON * facts.target.of(axis.other)) / stiffness
    return AxisPlan(
        axis=axis,
        pair=pair,
        target_n_cm=target,
        per_thread_cn=mesh.force_per_thread_cn(target, facts.mesh.threads_cm),
        stress_mpa=mesh.thread_stress_mpa(target, facts.mesh.threads_cm, facts.mesh.thread_um),
        stress_cn_dtex=mesh.specific_stress_cn_dtex(
            target, facts.mesh.threads_cm, facts.mesh.thread_um
        )
        if is_polyester
        else None,
        share_of_strength=None if strength is None else target / strength,
        span_mm=span,
        cut_mm=(span + 2 * practice.past_roller_min_mm, span + 2 * practice.past_roller_max_mm),
        rod_mm=rod,
        rod_gap_mm=gap,
        step_n_cm=step,
        promise_n_cm=takeup.promised_accuracy_n_cm(step),
        strain=strain,
        clicks=_clicks(state, span, strain),
        next_day_n_cm=(OVERNIGHT[0] * target, OVERNIGHT[1] * target),
    )


def rod_and_gap_mm(facts: Facts, pair: Pair) -> tuple[float, float]:
    """Length of the rods of a pair's rollers, and the gap they leave at either end.

    By the gap if it was measured; else cut to the inside of the frame (common practice, no source).
    """
    field = facts.free_span_mm(pair.other)
    measured = facts.stretcher.rod_gap_mm
    if measured is not None:
        return field - 2 * measured, measured
    inner = facts.frame.inner_width_mm if pair is Pair.FAR_NEAR else facts.frame.inner_depth_mm
    return inner, (field - inner) / 2


def _clicks(state: State, span_mm: float, strain: float) -> tuple[int, int, int]:
    """Clicks of each of two rollers from lock-in to a strain: likely, at least, at most."""
    wound = 2 * cloth.click_mm(state) * HELD
    stretch = max(strain, 0.0) * (span_mm + 2 * takeup.WRAPPED_MM)
    slack, sd = SLACK_MM
    likely = (slack + stretch) / wound
    least = (slack - 2 * sd + stretch / (1 + STIFFNESS_OFF)) / wound
    most = (slack + 2 * sd + stretch * (1 + STIFFNESS_OFF)) / wound
    return max(1, round(likely)), max(0, math.floor(least)), math.ceil(most)


def _held(facts: Facts, practice: Practice) -> frame.Held | None:
    """The frame with this mesh on it; bars ``a`` are the far and the near one."""
    material = frame.MATERIALS.get(facts.frame.material)
    if material is None:
        return None
    size, cloth_ = facts.frame, facts.mesh
    stiffness = mesh.stiffness_n_cm(cloth_.threads_cm, cloth_.thread_um, practice.modulus_gpa)
    return frame.Held(
        frame.Section.tube(size.tube_mm, size.tube_height_mm, size.wall_mm),
        material.modulus_gpa,
        size.width_mm - size.tube_mm,
        size.depth_mm - size.tube_mm,
        stiffness,
        stiffness,
        takeup.POISSON,
    )


def _on_bars(facts: Facts) -> tuple[float, float]:
    """What pulls on the far and near bars, and on the left and right ones."""
    far_near, left_right = (facts.target.of(facts.axis_of(pair)) for pair in Pair)
    return far_near, left_right


def _by_axis(facts: Facts, by_pair: tuple[float, float]) -> tuple[float, float]:
    """Along, across from far-near, left-right."""
    first, second = by_pair
    return by_pair if facts.along_pair is Pair.FAR_NEAR else (second, first)


def _frame(facts: Facts, practice: Practice, sheet: ClothPlan) -> FramePlan | None:
    held = _held(facts, practice)
    if held is None:
        return None
    material = frame.MATERIALS[facts.frame.material]
    wanted = _on_bars(facts)
    bent = frame.bending(held.section, held.modulus_gpa, held.a_mm, held.b_mm, *wanted)
    return FramePlan(
        source=material.source,
        closing_mm=_by_axis(facts, (bent.a.mid_closing, bent.b.mid_closing)),
        stress_mpa=bent.corner_stress_mpa,
        yield_mpa=material.yield_mpa,
        left_n_cm=_by_axis(facts, held.left_of(*wanted)),
        set_n_cm=_by_axis(facts, held.set_for(*wanted)),
        warmer_10k_n_cm=frame.warmed_n_cm(sheet.stiffness_n_cm, material.expansion_per_k, 10),
    )


def _corners(state: State, axes: tuple[AxisPlan, AxisPlan]) -> CornerPlan | None:
    if state.facts.mesh.material != "polyester":
        return None
    gap = min(axis.rod_gap_mm for axis in axes)
    strength = cloth.breaking_n_cm(state)
    unread = [corner.Corners(gap, axis.span_mm) for axis in axes]
    by_axis = list(zip(unread, axes, strict=True))
    chance = max(corner.tear_chance(each, a.target_n_cm, strength) for each, a in by_axis)
    relief = 0.0
    if chance > state.practice.tear_chance:
        relief = max(
            corner.relief_share(each, a.target_n_cm, strength) * _a_roller_mm(a)
            for each, a in by_axis
        )
    return CornerPlan(gap, chance, relief)


def _a_roller_mm(axis: AxisPlan) -> float:
    """Take-up of one roller from taut mesh to the target."""
    return max(axis.strain, 0.0) * (axis.span_mm + 2 * takeup.WRAPPED_MM) / 2


def _notes(made: Plan, practice: Practice) -> Iterator[str]:
    """What to mind, most important first."""
    target, sheet = made.facts.target, made.cloth
    for axis in made.axes:
        if sheet.ceiling_n_cm is not None and axis.target_n_cm > sheet.ceiling_n_cm:
            yield (
                f"{axis.target_n_cm:g} N/cm {axis.axis.value} is above the highest working tension "
                f"of {sheet.ceiling_n_cm:.1f}: past it mesh may never hold its tension."
            )
        if axis.strain > MOST_STRAIN:
            yield (
                f"{axis.axis.value} it is stretched {100 * axis.strain:.1f} %: beyond "
                f"{100 * MOST_STRAIN:g} % clicks add less and less, and mesh gives for good."
            )
    yield from _corner_notes(made, practice)
    for axis in made.axes:
        if axis.promise_n_cm > target.tolerance_n_cm:
            yield (
                f"{axis.axis.value} one click adds {axis.step_n_cm:.1f} N/cm: whole clicks come "
                f"within {axis.promise_n_cm:.1f}, not within {target.tolerance_n_cm:g}. A finer "
                f"ratchet or a thinner roller would."
            )
    yield from _frame_notes(made, practice)
    if sheet.window is None:
        yield "no usual tension is known for this mesh: take it from the maker's data sheet."
    elif any(axis.target_n_cm not in sheet.window for axis in made.axes):
        yield (
            f"usual for this mesh is {sheet.window.low_n_cm:g} to {sheet.window.high_n_cm:g} N/cm "
            "(common practice, no source); the maker's data sheet wins."
        )


def _corner_notes(made: Plan, practice: Practice) -> Iterator[str]:
    corners = made.corners
    if corners is None:
        return
    if corners.tear_chance > practice.tear_chance:
        yield (
            f"corners: a chance of {100 * corners.tear_chance:.0f} % that one tears if never "
            f"relieved. Plan on {corners.relief_mm:.0f} mm each before the final tensioning."
        )
    if corners.rod_gap_mm < ROD_SHORT_MM:
        yield (
            f"rods stop {corners.rod_gap_mm:g} mm from the corner: measure it to the millimetre. "
            f"{ROD_SHORT_MM:g} mm or more, with rounded ends, spares corners more than any rule."
        )


def _frame_notes(made: Plan, practice: Practice) -> Iterator[str]:
    facts, bent = made.facts, made.frame
    longest = max(facts.frame.width_mm, facts.frame.depth_mm)
    if longest > practice.heavy_frame_mm:
        yield (
            f"a frame of {longest:g} mm is over {practice.heavy_frame_mm:g}: at high tension it "
            "wants the heavy-duty channel (common practice, no source)."
        )
    if bent is None:
        yield (
            f"nothing is known of how {facts.frame.material} bends: read the screen off the "
            "stretcher and compare."
        )
        return
    ceiling = made.cloth.ceiling_n_cm
    for axis, to_set in zip(made.axes, bent.set_n_cm, strict=True):
        if ceiling is not None and axis.target_n_cm <= ceiling < to_set:
            yield (
                f"to keep {axis.target_n_cm:g} N/cm {axis.axis.value} the stretcher would have to "
                f"go to {to_set:.1f}, above {ceiling:.1f}: take a stiffer frame or less tension."
            )


def _tube(size: Frame) -> str:
    return f"{size.tube_mm:g} x {size.tube_height_mm:g} x {size.wall_mm:g} mm {size.material}"
