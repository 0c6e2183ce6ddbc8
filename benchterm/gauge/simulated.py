"""A gauge made of software, for the demo, the tests and whoever has none.

Behind it lies a mesh: a list of tensions, one after the other under the gauge, with the gauge
lifted off in between. Real gauges and adapters misbehave, so this one can too.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from benchterm.core.units import from_n_per_cm
from benchterm.gauge.profile import TENSIONS, Profile, Sends
from benchterm.gauge.pseudo import PtyGauge

RAMP_S = 0.4
"""Set down, the value climbs for so long before it stands still."""


@dataclass(frozen=True, slots=True)
class Behaviour:
    """How a simulated gauge behaves."""

    tensions_n_cm: tuple[float, ...] = (22.0, 22.4, 21.6, 22.2)
    """Under the gauge one after the other, over and over."""
    rest_s: float = 4.0
    """On the mesh for so long at each."""
    lift_s: float = 1.5
    """Off the mesh for so long between two."""
    every_s: float = 0.1
    """A streaming gauge sends so often."""
    noise_n_cm: float = 0.0
    """Standard deviation of each value sent."""
    drift_n_cm_min: float = 0.0
    """Change of zero for every minute."""
    garbage: float = 0.0
    """Chance of random bytes instead of a line."""
    partial: float = 0.0
    """Chance that a line comes in two parts."""
    pause: float = 0.0
    """Chance of nothing for a second instead of a line."""
    unplug: float = 0.0
    """Chance that the gauge is unplugged instead of a line."""


@dataclass(slots=True)
class Mesh:
    """What lies under the gauge at a moment."""

    behaviour: Behaviour
    chance: random.Random = field(default_factory=random.Random)

    def shown_n_cm(self, at_s: float) -> float:
        """What the gauge would show so many seconds after it was switched on."""
        b = self.behaviour
        turn, into_s = divmod(at_s, b.lift_s + b.rest_s)
        error = b.drift_n_cm_min * at_s / 60
        if into_s < b.lift_s:
            return error
        tension = b.tensions_n_cm[int(turn) % len(b.tensions_n_cm)]
        share = min(1.0, (into_s - b.lift_s) / RAMP_S)
        return share * tension + error + self.chance.gauss(0, b.noise_n_cm)

    def button_due(self, before_s: float, at_s: float) -> bool:
        """Whether the button was pressed in between: once at each place, when it stands still."""
        b = self.behaviour
        length = b.lift_s + b.rest_s
        press_s = b.lift_s + b.rest_s / 2
        return (at_s - press_s) // length > (before_s - press_s) // length


def line_for(profile: Profile, n_cm: float) -> bytes:
    """The line which a gauge of a profile would send for a tension."""
    line = profile.line
    tension = TENSIONS.get(line.unit)
    number = profile.curve.mm_at(n_cm) if tension is None else from_n_per_cm(n_cm, tension)
    step = profile.settle.resolution
    places = max(0, len(f"{step:.6f}".rstrip("0").partition(".")[2]))
    text = f"{round(number / step) * step:.{places}f}"
    if line.decimal.value == "comma":
        text = text.replace(".", ",")
    unit = next((w for w, u in line.units.items() if u == line.unit.value), line.unit.value)
    words = {
        "value": text,
        "unit": unit,
        "stability": (*line.stable, "")[0],
        "battery": (*line.battery_good, "")[0],
        "skip": "",
    }
    sent = line.pattern
    for name, word in words.items():
        sent = sent.replace(f"{{{name}}}", word)
    return f"{sent}{line.ends_with or chr(13) + chr(10)}".encode("ascii")


class Simulator:
    """Plays a gauge of a profile on a pseudo-terminal."""

    def __init__(
        self,
        profile: Profile,
        behaviour: Behaviour,
        gauge: PtyGauge,
        seed: int | None = None,
        clock: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._profile = profile
        self._behaviour = behaviour
        self._gauge = gauge
        self._chance = random.Random(seed)  # noqa: S311 - noise, no secret
        self._mesh = Mesh(behaviour, self._chance)
        self._clock = clock
        self._sleep = sleep

    def run(self, stop: Callable[[], bool] = lambda: False) -> None:
        """Play until told to stop."""
        began_s = before_s = self._clock()
        asked = b""
        while not stop():
            if not self._gauge.plugged:
                self._gauge.plug()
            request = self._profile.sends.request.encode("ascii")
            asked = (asked + self._gauge.received(self._behaviour.every_s))[-200:]
            now_s = self._clock()
            match self._profile.sends.how:
                case Sends.STREAM:
                    due = True
                case Sends.REQUEST:
                    due = request in asked
                case Sends.BUTTON:
                    due = self._mesh.button_due(before_s - began_s, now_s - began_s)
            if due:
                asked = b""
                self._send_line(now_s - began_s)
            before_s = now_s
        self._gauge.unplug()

    def _send_line(self, at_s: float) -> None:
        b = self._behaviour
        line = line_for(self._profile, self._mesh.shown_n_cm(at_s))
        if self._happens(b.unplug):
            self._gauge.unplug()
            self._sleep(2.0)
        elif self._happens(b.pause):
            self._sleep(1.0)
        elif self._happens(b.garbage):
            self._gauge.send(self._chance.randbytes(self._chance.randint(1, 40)))
        elif self._happens(b.partial):
            middle = self._chance.randint(1, len(line) - 1)
            self._gauge.send(line[:middle])
            self._sleep(0.2)
            self._gauge.send(line[middle:])
        else:
            self._gauge.send(line)

    def _happens(self, likelihood: float) -> bool:
        return self._chance.random() < likelihood
