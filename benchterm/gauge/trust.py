"""How far a mean of readings can be trusted, given the gauge's calibration: pure."""

from __future__ import annotations

import math
from collections.abc import Sequence

from benchterm.gauge.calibrated import Calibration
from benchterm.mechanics.calibration import fit_line
from benchterm.mechanics.uncertainty import Combined, Component, repeatability, resolution


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
