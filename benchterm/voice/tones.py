"""Short tones that need no words: taken, refused, asked, advised.

Each differs from the others in its melody, not only in its pitch, so that it is known in a noisy
shop and by somebody who hears high notes badly.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_NOTE_S = 0.07
_EDGE_S = 0.008
"""A note swells and fades, or it would click."""
_GAP_S = 0.02

MELODIES: dict[str, tuple[float, ...]] = {
    "taken": (880.0,),
    "refused": (440.0, 330.0),
    "ask": (660.0, 880.0),
    "advice": (990.0, 660.0, 990.0),
}
"""Notes of each tone, Hz."""


def tone(name: str, rate: int) -> NDArray[np.float32]:
    """The samples of a tone, full scale 1; nothing for an unknown name."""
    gap = np.zeros(round(_GAP_S * rate), np.float32)
    parts = [part for hz in MELODIES.get(name, ()) for part in (_note(hz, rate), gap)]
    return np.concatenate(parts) if parts else np.zeros(0, np.float32)


def _note(hz: float, rate: int) -> NDArray[np.float32]:
    t = np.arange(round(_NOTE_S * rate)) / rate
    swell = np.minimum(1.0, np.minimum(t, t[::-1]) / _EDGE_S)
    return (0.5 * swell * np.sin(2 * np.pi * hz * t)).astype(np.float32)
