"""How well the 24 h tension is told from the first minutes, on simulated benches.

Run: ``python tests/benchmarks/bench_settling.py [BENCHES] [FIRST_SEED]``. Truth is drawn in equal
parts from three families of relaxation (log-time, stretched exponential, five-decade Prony), the
share lost in a day from 8 to 20 %. Two axes are brought up in uneven steps that the program knows
to about a tenth; the gauge has scatter and reads in half newtons; sides differ from the centre.
"""

from __future__ import annotations

import math
import sys
import time
from dataclasses import dataclass
from random import Random

from benchterm.mechanics.log_time import fit_log_line
from benchterm.mechanics.settling import (
    DAY_S,
    WITHIN_90,
    Kept,
    Prior,
    Seen,
    Settling,
    Step,
    superposed,
)

AXES = ("along", "across")
LOOKS = ((2, 4), (5, 6), (15, 8))
"""Minutes since the last step, and readings taken by then."""


def log_time(draw: Random) -> Kept:
    """Tau 1 to 1000 s."""
    tau = 10 ** draw.uniform(0, 3)
    return lambda age_s: math.log1p(age_s / tau)


def stretched(draw: Random) -> Kept:
    """Beta 0.2 to 0.4, tau 10 min to 6 h."""
    beta, tau = draw.uniform(0.2, 0.4), 600 * 36 ** draw.random()
    return lambda age_s: -math.expm1(-((age_s / tau) ** beta))


def prony(draw: Random) -> Kept:
    """Five terms a decade apart, 10 s to 1e5 s, their weights tilted by -0.6 to 0.6 a decade."""
    tilt = draw.uniform(-0.6, 0.6)
    terms = [(10.0 ** (i + 1), math.exp(tilt * (i - 2))) for i in range(5)]
    return lambda age_s: math.fsum(w * -math.expm1(-age_s / tau) for tau, w in terms)


FAMILIES = (log_time, stretched, prony)


@dataclass(frozen=True)
class Bench:
    """One mesh after its last step at time 0."""

    loss: float
    told: dict[str, list[Step]]
    """Steps as the program knows them."""
    true: dict[str, list[Step]]
    kept: Kept
    gauge_sd: float
    draw: Random

    def tension(self, axis: str, at_s: float) -> float:
        """The truth at the centre."""
        return superposed(self.true[axis], at_s, self.kept)


def bench(seed: int) -> Bench:
    """A bench of a seed."""
    draw = Random(seed)
    loss = draw.uniform(0.08, 0.20)
    phi = FAMILIES[seed % 3](draw)
    told, true = {}, {}
    for axis in AXES:
        level, count = draw.uniform(14, 30), draw.randint(4, 9)
        parts = [draw.uniform(0.5, 1.5) for _ in range(count)]
        at_s = sorted(-draw.uniform(0, 600) for _ in range(count - 1))
        times = [*at_s, 0.0 if axis == "along" else -draw.uniform(5, 60)]
        true[axis] = [Step(t, level * p / sum(parts)) for t, p in zip(times, parts, strict=True)]
        told[axis] = [Step(s.at_s, s.n_cm * draw.gauss(1, 0.1)) for s in true[axis]]
    return Bench(loss, told, true, lambda age_s: 1 - loss * phi(age_s) / phi(DAY_S), 0.3, draw)


def readings(one: Bench, minutes: float, count: int) -> dict[str, list[Seen]]:
    """Readings spread by the log of time from 20 s on: either axis in turn, centre and sides."""
    found: dict[str, list[Seen]] = {axis: [] for axis in AXES}
    high = {(axis, side): one.draw.gauss(1, 0.015) for axis in AXES for side in ("a", "b")}
    for i in range(count):
        at_s = 20 * (60 * minutes / 20) ** (i / (count - 1))
        axis, spot = AXES[i % 2], (None, "a", None, "b")[(i // 2) % 4]
        true = one.tension(axis, at_s) * high.get((axis, spot), 1.0)
        shown = one.draw.gauss(true, math.hypot(one.gauge_sd, 0.1))
        found[axis].append(Seen(at_s, spot, round(2 * shown) / 2))
    return found


@dataclass
class Score:
    """Errors of one way of telling, and how often its 90 % interval held."""

    errors: list[float]
    inside: list[bool]

    def add(self, value: float, sd: float | None, truth: float) -> None:
        """One forecast."""
        self.errors.append(value - truth)
        if sd is not None:
            self.inside.append(abs(value - truth) <= WITHIN_90 * sd)

    def __str__(self) -> str:
        rmse = math.sqrt(sum(e * e for e in self.errors) / len(self.errors))
        held = f" ({100 * sum(self.inside) / len(self.inside):.0f} %)" if self.inside else ""
        return f"{rmse:.2f}{held}"


def tell(line: str) -> None:
    """Print a line."""
    sys.stdout.write(f"{line}\n")


def main(benches: int, first: int) -> None:
    """Measure and print."""
    ways = ("last reading less 10 %", "least squares, log-time", "Bayes", "Bayes, R24 remembered")
    tell(f"24 h tension, RMSE N/cm (coverage of 90 %), {benches} benches from seed {first}")
    for minutes, count in LOOKS:
        scores = {way: Score([], []) for way in ways}
        spent = 0.0
        for seed in range(first, first + benches):
            one = bench(seed)
            seen = readings(one, minutes, count)
            began = time.process_time()
            now = Settling(one.told, seen)
            spent += time.process_time() - began
            remembered = Settling(one.told, seen, Prior(one.draw.gauss(one.loss, 0.015), 0.015))
            for axis in AXES:
                truth = one.tension(axis, DAY_S)
                scores[ways[0]].add(0.9 * seen[axis][-1].n_cm, None, truth)
                if len(seen[axis]) >= 4:
                    line = fit_log_line(
                        [s.at_s / 60 for s in seen[axis]], [s.n_cm for s in seen[axis]]
                    )
                    # The program refuses to draw the line so far; here it is drawn to compare.
                    ahead = line.a - line.b * math.log10(DAY_S / 60)
                    scores[ways[1]].add(ahead, None, truth)
                for way, settling in ((ways[2], now), (ways[3], remembered)):
                    told = settling.tension(axis, DAY_S)
                    scores[way].add(told.value, told.sd, truth)
        tell(f"{minutes:3g} min, {count} readings, {1000 * spent / benches:.0f} ms a fit")
        for way, score in scores.items():
            if score.errors:
                tell(f"    {way:26} {score}")


if __name__ == "__main__":
    given = [int(text) for text in sys.argv[1:]]
    main(*(given + [200, 10_000][len(given) :]))
