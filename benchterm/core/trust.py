"""How far a mean of readings can be trusted, given the gauge's calibration: pure.

Of the gauge alone: how much the mesh differs from place to place is not in it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from benchterm.core.facts import Calibration
from benchterm.core.state import Reading, State
from benchterm.core.stations import Axis
from benchterm.mechanics.calibration import fit_line
from benchterm.mechanics.uncertainty import (
    USUAL_K,
    Combined,
    Component,
    repeatability,
    resolution,
)


@dataclass(frozen=True, slots=True)
class Part:
    """One source of uncertainty, as a standard uncertainty, N/cm."""

    name: str
    u_n_cm: float


@dataclass(frozen=True, slots=True)
class Trusted:
    """A mean of readings after correction, with the gauge's uncertainty (JCGM 100)."""

    mean_n_cm: float
    expanded_n_cm: float
    """U = k u."""
    k: float
    u_n_cm: float
    """Combined standard uncertainty."""
    df: float | None
    """Effective degrees of freedom; ``None``: no limit."""
    t_k: float
    """Student's t for these, which holds 95 %."""
    parts: tuple[Part, ...]
    calibrated_utc: str
    """Which calibration it rests on."""


def trusted_now(state: State, axis: Axis) -> Trusted | str:
    """The mean on an axis of all readings since which no roller has turned; empty: there is none.

    As in ``trusted_mean``, why nothing can be said of it.
    """
    readings = [r for r in state.readings(axis) if r is not None and state.is_current(r)]
    return trusted_mean(readings) if readings else ""


def trusted_mean(readings: Sequence[Reading]) -> Trusted | str:
    """The mean of readings at different places; else why nothing can be said of it.

    Raises:
        ValueError: no reading.
    """
    if not readings:
        raise ValueError("nothing was read")
    known = [reading for reading in readings if reading.gauge.calibration is not None]
    if not known:
        return "no calibration is on record"
    if len(known) < len(readings):
        return f"no calibration is on record for {len(readings) - len(known)} of {len(readings)}"
    calibrations = {reading.gauge.calibration for reading in readings}
    calibration = calibrations.pop()
    if calibrations or calibration is None:
        return "they were read under different calibrations"
    low, high = min(calibration.readings_n_cm), max(calibration.readings_n_cm)
    tensions = [_corrected(reading, calibration) for reading in readings]
    shown = [calibration.intercept + calibration.slope * tension for tension in tensions]
    if min(shown) < low - calibration.step_n_cm or max(shown) > high + calibration.step_n_cm:
        return f"the gauge was calibrated from {low:g} to {high:g} only"
    combined = mean_uncertainty(tensions, calibration, same_place=False)
    if combined is None:
        return "no line goes through the points of the calibration"
    return _trusted(math.fsum(tensions) / len(tensions), combined, calibration)


def _corrected(reading: Reading, calibration: Calibration) -> float:
    """What came over a wire has been corrected on the way."""
    value = reading.value_n_cm
    return value if reading.gauge.wired else calibration.corrected(value)


def _trusted(mean_n_cm: float, combined: Combined, calibration: Calibration) -> Trusted:
    return Trusted(
        mean_n_cm=mean_n_cm,
        expanded_n_cm=combined.expanded(),
        k=USUAL_K,
        u_n_cm=combined.u,
        df=combined.df if math.isfinite(combined.df) else None,
        t_k=combined.coverage_factor(),
        parts=tuple(Part(part.name, part.u) for part in combined.components),
        calibrated_utc=calibration.utc,
    )


def mean_uncertainty(
    tensions_n_cm: Sequence[float], calibration: Calibration | None, *, same_place: bool
) -> Combined | None:
    """Uncertainty of the mean of corrected readings, N/cm; ``None``: nothing can be said of it.

    Line, display and references are common to all readings, so that averaging shrinks none of them
    (JCGM 100, 5.2.4 and F.1.2); repeatability it does.

    Args:
        tensions_n_cm: corrected by this calibration.
        calibration: the gauge's; without one its errors are not known.
        same_place: the readings are of one place, so that their own scatter is repeatability; else
            that of the calibration is taken, for what differs between places is the mesh.
    """
    n = len(tensions_n_cm)
    if calibration is None or n == 0:
        return None
    try:
        line = fit_line(calibration.references_n_cm, calibration.readings_n_cm)
    except ValueError:
        return None  # Written by hand.
    mean = math.fsum(tensions_n_cm) / n
    one = line.s / line.slope
    whole = line.u_corrected(line.intercept + line.slope * mean)
    if same_place and n > 1:
        s = math.sqrt(math.fsum((t - mean) ** 2 for t in tensions_n_cm) / (n - 1))
        scatter = repeatability(s, n)
    else:
        scatter = repeatability(one, n, line.n - 2)
    return Combined(
        (
            Component("line", math.sqrt(max(0.0, whole**2 - one**2)), line.n - 2),
            scatter,
            resolution(calibration.step_n_cm),
            Component("references", calibration.reference_u_n_cm),
        )
    )
