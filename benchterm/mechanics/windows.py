"""Which tensions are usual for which mesh: common practice, no source.

Pairings of count and thread alike. The mesh maker's data sheet wins.
"""

from __future__ import annotations

from dataclasses import dataclass

_COUNT_OFF = 0.04
_THREAD_OFF = 0.08


@dataclass(frozen=True, slots=True)
class Window:
    """Tensions that a mesh is usually worked at, N/cm."""

    low_n_cm: float
    high_n_cm: float

    def __contains__(self, tension_n_cm: float) -> bool:
        return self.low_n_cm <= tension_n_cm <= self.high_n_cm


WINDOWS = {
    (21.0, 150.0): Window(28, 40),
    (32.0, 100.0): Window(25, 38),
    (43.0, 80.0): Window(25, 35),
    (54.0, 64.0): Window(22, 30),
    (61.0, 64.0): Window(22, 30),
    (77.0, 48.0): Window(18, 25),
    (77.0, 55.0): Window(20, 28),
    (90.0, 48.0): Window(18, 25),
    (100.0, 40.0): Window(16, 22),
    (120.0, 34.0): Window(15, 21),
    (150.0, 31.0): Window(14, 20),
    (165.0, 27.0): Window(13, 18),
}
"""By threads per centimetre and thread diameter in micrometres, polyester."""


def window_for(threads_cm: float, thread_um: float) -> Window | None:
    """The window of a mesh in the table; ``None``: there is none near enough."""

    def off(mesh: tuple[float, float]) -> float:
        count, thread = mesh
        return max(
            abs(threads_cm / count - 1) / _COUNT_OFF, abs(thread_um / thread - 1) / _THREAD_OFF
        )

    nearest = min(WINDOWS, key=off)
    return WINDOWS[nearest] if off(nearest) <= 1 else None
