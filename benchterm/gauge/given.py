"""What can be answered where a value is asked for, by whatever way it comes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Wish(Enum):
    """Something else than a value."""

    BACK = "back"
    STOP = "stop"


@dataclass(frozen=True, slots=True)
class Given:
    """A value, N/cm, with where it came from word for word."""

    n_cm: float
    heard: str
