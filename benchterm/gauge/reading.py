"""One line of a gauge to a tension, or why not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from benchterm.gauge.lines import clean, garbled_share, written
from benchterm.gauge.profile import GaugeUnit, Profile

LARGEST = 1e6
"""No gauge shows a number above this, in whatever unit."""
GARBLED_SHARE = 0.1
"""With more bytes than this that no plain line holds, the characters themselves are wrong."""


class Why(Enum):
    """Why a line cannot be read."""

    GARBLED = "its characters are garbled"
    TOO_LONG = "it has no end"
    NO_FIT = "it does not fit the profile's pattern"
    UNIT = "its unit is not known to the profile"
    CURVE = "it is outside the profile's curve"
    LARGE = "its number is beyond reason"

    @property
    def is_noise(self) -> bool:
        """Whether the characters are wrong, not what they say."""
        return self in (Why.GARBLED, Why.TOO_LONG)


@dataclass(frozen=True, slots=True)
class GaugeReading:
    """What one line says."""

    raw: str
    """The line word for word, as ``lines.written`` writes it."""
    number: float
    """As the gauge shows it."""
    unit: GaugeUnit
    raw_n_cm: float
    """Before correction."""
    n_cm: float
    """After correction by the gauge's calibration; the same without one."""
    moving: bool = False
    """The gauge itself says that its value does not stand still."""
    battery_low: bool = False


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A line that says nothing."""

    raw: str
    why: Why


def uncorrected(n_cm: float) -> float:
    """A gauge without a calibration."""
    return n_cm


class Reader:
    """Reads lines by a profile. Takes whatever comes and never raises."""

    def __init__(self, profile: Profile, correct: Callable[[float], float] = uncorrected) -> None:
        self._profile = profile
        self._correct = correct
        self._read = profile.template.read
        self._spellings = profile.spellings
        self._moving = frozenset(word.lower() for word in profile.line.moving)
        self._low = frozenset(word.lower() for word in profile.line.battery_low)

    def read(self, line: bytes) -> GaugeReading | Unreadable:
        """What a line without its end says."""
        if len(line) > self._profile.line.longest:
            garbled = garbled_share(line) > GARBLED_SHARE
            return Unreadable(written(line), Why.GARBLED if garbled else Why.TOO_LONG)
        found = self._read(clean(line))
        if found is None:
            garbled = garbled_share(line) > GARBLED_SHARE
            return Unreadable(written(line), Why.GARBLED if garbled else Why.NO_FIT)
        unit = self._spellings.get(found.unit.lower()) if found.unit else self._profile.line.unit
        if unit is None:
            return Unreadable(written(line), Why.UNIT)
        if not abs(found.value) <= LARGEST:
            return Unreadable(written(line), Why.LARGE)
        n_cm = self._profile.n_cm(found.value, unit)
        if n_cm is None:
            return Unreadable(written(line), Why.CURVE)
        return GaugeReading(
            written(line),
            found.value,
            unit,
            n_cm,
            self._correct(n_cm),
            found.stability.lower() in self._moving,
            found.battery.lower() in self._low,
        )
