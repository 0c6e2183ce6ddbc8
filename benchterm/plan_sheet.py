"""A set-up sheet as a page of plain text, no wider than 80 characters."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator

from benchterm.core.plan import AxisPlan, FramePlan, Plan
from benchterm.core.practice import COMMON_PRACTICE, OUR_CHOICE, SIMULATED

WIDTH = 78
_LABEL = 27
_COLUMN = 24


def page(plan: Plan, adhesive: str) -> str:
    """The sheet. ``adhesive`` says how much goes on and who says so."""
    return "\n".join(_lines(plan, adhesive)) + "\n"


def _lines(plan: Plan, adhesive: str) -> Iterator[str]:
    facts = plan.facts
    yield f"SET-UP SHEET   screen {facts.screen_id}" + (
        f"   {facts.operator}" if facts.operator else ""
    )
    size = facts.frame
    yield _row(
        "frame",
        f"{size.width_mm:g} x {size.depth_mm:g} mm outside, {size.tube_mm:g} x "
        f"{size.tube_height_mm:g} x {size.wall_mm:g} mm {size.material}",
    )
    yield ""
    yield from _mesh(plan)
    yield ""
    yield from _stretching(plan)
    yield ""
    yield from _corners(plan)
    yield ""
    yield from _frame(plan)
    yield ""
    minutes = plan.minutes
    yield _row("adhesive", adhesive)
    yield _row(
        "time",
        f"about {minutes.total:.0f} min: {minutes.handling:.0f} to lock-in, "
        f"{minutes.tensioning:.0f} tensioning, {minutes.settling:.0f} settling, "
        f"{minutes.curing:.0f} curing, {minutes.cut_out:.0f} cutting out",
    )
    if plan.notes:
        yield ""
        yield "MIND"
        for note in plan.notes:
            yield textwrap.fill(
                note[0].upper() + note[1:],
                WIDTH,
                initial_indent="  ▲ ",
                subsequent_indent="    ",
                break_long_words=False,
            )
    yield ""
    yield textwrap.fill(
        "Starting values, not promises: stiffness, slack, clicks and corners are "
        f"{SIMULATED}; windows, cut and rods {COMMON_PRACTICE}; handling times "
        f"{OUR_CHOICE}. The mesh maker's data sheet, the gauge's manual and the safety data "
        "sheet win over every line here.",
        WIDTH,
    )


def _mesh(plan: Plan) -> Iterator[str]:
    sheet = plan.cloth
    yield "MESH"
    yield _row(
        "count and thread",
        f"{sheet.threads_cm:.4g}/cm ({sheet.threads_in:.4g}/in), {sheet.thread_um:g} µm "
        f"{sheet.material}",
    )
    yield _row("opening, open area", f"{sheet.opening_um:.1f} µm, {sheet.open_area_pct:.1f} %")
    yield _row("ink volume, at most", f"{sheet.volume_bound_cm3_m2:.1f} cm3/m2")
    window = sheet.window
    yield _row(
        "usual tension",
        "not known here: see the maker's data sheet"
        if window is None
        else f"{window.low_n_cm:g} to {window.high_n_cm:g} N/cm ({COMMON_PRACTICE})",
    )
    if sheet.ceiling_n_cm is None:
        yield _row("highest working tension", "not known for this material")
    else:
        whose = "the maker's" if sheet.ceiling_is_the_makers else "worked out from the threads"
        yield _row("highest working tension", f"{sheet.ceiling_n_cm:.1f} N/cm, {whose}")


def _stretching(plan: Plan) -> Iterator[str]:
    yield f"{'STRETCHING':<{_LABEL}}{'along the roll':<{_COLUMN}}{'across'}"

    for label, tell in _AXIS_ROWS:
        along, across = (tell(axis) for axis in plan.axes)
        yield _pair(label, along, across)


def _corners(plan: Plan) -> Iterator[str]:
    yield "CORNERS"
    corners = plan.corners
    if corners is None:
        yield _row("tearing", "not worked out for this material")
        return
    yield _row("rods stop short by", f"{corners.rod_gap_mm:.0f} mm, {_whence(plan)}")
    yield _row(
        "a tear, never relieved", f"a chance of {_chance(corners.tear_chance)} at the target"
    )
    if corners.relief_mm:
        yield _row("relief", f"{corners.relief_mm:.0f} mm each, before the final tensioning")
    else:
        yield _row("relief", "not called for by these figures; read two corners and see")


def _frame(plan: Plan) -> Iterator[str]:
    bent = plan.frame
    if bent is None:
        yield "FRAME"
        yield _row("bending", f"not worked out for {plan.facts.frame.material}")
        return
    yield f"{'FRAME':<{_LABEL}}{'along the roll':<{_COLUMN}}{'across'}"
    for label, cells in _frame_rows(bent):
        yield _pair(label, *cells)
    yield _row(
        "corner stress",
        f"{bent.stress_mpa:.0f} MPa of {bent.yield_mpa:g} ({bent.source})",
    )
    yield _row("frame 10 K warmer", f"{bent.warmer_10k_n_cm:+.1f} N/cm")


def _frame_rows(bent: FramePlan) -> Iterator[tuple[str, Iterator[str]]]:
    yield (
        "opposite sides move",
        (f"{abs(mm):.1f} mm {'nearer' if mm >= 0 else 'apart'}" for mm in bent.closing_mm),
    )
    yield "left after the cut-out", (f"{t:.1f} N/cm" for t in bent.left_n_cm)
    yield "set this to keep target", (f"{t:.1f} N/cm" for t in bent.set_n_cm)


def _share(axis: AxisPlan) -> str:
    if axis.share_of_strength is None or axis.stress_cn_dtex is None:
        return "not known"
    return f"{100 * axis.share_of_strength:.0f} %, {axis.stress_cn_dtex:.2f} cN/dtex"


_AXIS_ROWS: tuple[tuple[str, Callable[[AxisPlan], str]], ...] = (
    ("rollers", lambda a: a.pair.value),
    ("target on the stretcher", lambda a: f"{a.target_n_cm:g} N/cm"),
    ("pull on a thread", lambda a: f"{a.per_thread_cn:.1f} cN, {a.stress_mpa:.0f} MPa"),
    ("share of strength", _share),
    ("roller to roller", lambda a: f"{a.span_mm:.0f} mm"),
    ("cut the mesh", lambda a: f"{a.cut_mm[0]:.0f} to {a.cut_mm[1]:.0f} mm"),
    ("rods, gap to the corner", lambda a: f"{a.rod_mm:.0f} mm, {a.rod_gap_mm:.0f} mm"),
    ("one click adds", lambda a: f"{a.step_n_cm:.1f} N/cm"),
    ("can be promised", lambda a: f"±{a.promise_n_cm:.1f} N/cm"),
    ("the next day, on it", lambda a: "{:.1f} to {:.1f} N/cm".format(*a.next_day_n_cm)),
    ("stretched by", lambda a: f"{100 * a.strain:.1f} %"),
    ("clicks of each roller", lambda a: f"about {a.clicks[0]} ({a.clicks[1]} to {a.clicks[2]})"),
)


def _whence(plan: Plan) -> str:
    measured = plan.facts.stretcher.rod_gap_mm is not None
    return "as measured" if measured else "if cut to the inside of the frame"


def _chance(chance: float) -> str:
    return "under 1 %" if chance < 0.01 else f"{100 * chance:.0f} %"


def _pair(label: str, along: str, across: str) -> str:
    return f"  {label:<{_LABEL - 2}}{along:<{_COLUMN}}{across}"


def _row(label: str, text: str) -> str:
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=f"  {label:<{_LABEL - 2}}",
        subsequent_indent=" " * _LABEL,
        break_long_words=False,
    )
