"""What a calibration found, in lines of text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from benchterm.mechanics.calibration import Line, Verdict
from benchterm.mechanics.uncertainty import Combined, Component, resolution, stated

_TODO = {
    Verdict.NONE: "Readings can be taken as they come; the line changes little.",
    Verdict.BIAS: "Set its zero on plate glass as its manual says, or let the line correct it.",
    Verdict.SCALE: "Let the line correct it, or have it adjusted; look again soon.",
}


def report(
    line: Line, points: Sequence[tuple[float, float]], step: float, reference_u: float
) -> Iterator[str]:
    """The line, what kind of error it shows, and what each point becomes with its uncertainty."""
    yield f"reading = {line.intercept:.4f} + {line.slope:.6f} x tension   ({line.n} points, N/cm)"
    slope, se_slope = f"{line.slope:.6f}", f"{line.se_slope:.6f}"
    yield f"    slope      {slope}  se {se_slope}  p if it were 1: {line.p_slope:.3g}"
    yield f"    intercept  {line.intercept:.6f}  se {line.se_intercept:.6f}"
    yield f"    mean error {line.mean_bias:+.4f}  p if it were 0: {line.p_bias:.3g}"
    yield f"    scatter about the line s {line.s:.4f}"
    yield f"{line.verdict.value[0].upper()}{line.verdict.value[1:]}."
    yield _TODO[line.verdict]
    yield ""
    yield "reference  reading  corrected ± U (95 %)"
    for reference, reading in points:
        corrected = stated(line.corrected(reading), corrected_u(line, reading, step, reference_u))
        yield f"{reference:9.2f}{reading:9.2f}  {corrected}"
    yield (
        "U holds the line, one reading's scatter, the display's step and the references' own u. "
        f"Nothing is known below {line.lowest:g} and above {line.highest:g} N/cm."
    )


def corrected_u(line: Line, reading: float, step: float, reference_u: float) -> float:
    """Expanded uncertainty of a corrected reading, 95 % (JCGM 100, G.4), N/cm."""
    parts = (
        Component("line", line.u_corrected(reading), line.n - 2),
        resolution(step),
        Component("references", reference_u),
    )
    combined = Combined(parts)
    return combined.expanded(combined.coverage_factor())
