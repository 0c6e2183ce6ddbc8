"""Units of tension and mesh count. Inside the program tension is N/cm and a count is threads/cm.

Exact by definition (NIST SP 811): 1 kgf = 9.80665 N, 1 lbf = 4.4482216152605 N, 1 in = 2.54 cm.
"""

from __future__ import annotations

from enum import Enum

CM_PER_INCH = 2.54
N_PER_KGF = 9.80665
N_PER_LBF = 4.4482216152605


class TensionUnit(Enum):
    """A unit of tension, force over width. Trade speech "newtons" means N/cm."""

    N_PER_CM = "N/cm"
    KGF_PER_CM = "kgf/cm"
    LBF_PER_INCH = "lbf/in"

    @property
    def n_per_cm(self) -> float:
        """How many N/cm one of this unit is."""
        return _N_PER_CM[self]


_N_PER_CM = {
    TensionUnit.N_PER_CM: 1.0,
    TensionUnit.KGF_PER_CM: N_PER_KGF,
    TensionUnit.LBF_PER_INCH: N_PER_LBF / CM_PER_INCH,
}


class CountUnit(Enum):
    """A unit of mesh count."""

    PER_CM = "/cm"
    PER_INCH = "/in"


def threads_per_cm(count: float, unit: CountUnit) -> float:
    """Mesh count in threads per centimetre."""
    return count if unit is CountUnit.PER_CM else count / CM_PER_INCH


def to_n_per_cm(value: float, unit: TensionUnit) -> float:
    """Tension in N/cm."""
    return value * unit.n_per_cm


def from_n_per_cm(tension_n_cm: float, unit: TensionUnit) -> float:
    """Tension in another unit."""
    return tension_n_cm / unit.n_per_cm
