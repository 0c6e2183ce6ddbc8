"""How well the 24 h tension is told from the first minutes, on simulated benches.

Run: ``python tests/benchmarks/bench_settling.py [BENCHES] [FIRST_SEED]``. Truth is drawn in equal
parts from three families of relaxation (log-time, stretched exponential, five-decade Prony), the
share lost in a day from 8 to 20 %. Two axes are brought up in uneven steps that the program knows
to about a tenth; the gauge has scatter and reads in half newtons; sides differ from the centre.
Earlier screens of the same mesh have the same shape and a loss that differs by 0.015 (sd).
``settling_floor.py`` tells how near to the best that can be told this comes.
"""

from __future__ import annotations

import math
import sys
import time
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import chain
from random import Random

from benchterm.core.facts import Mesh
from benchterm.mechanics.log_time import fit_log_line
from benchterm.mechanics.settling import (
    DAY_S,
    WITHIN_90,
    Kept,
    Likely,
    Prior,
    Seen,
    Settling,
    Step,
    superposed,
)
from benchterm.records.memory import narrowed

AXES = ("along", "across")
LOOKS = ((2, 4), (5, 6), (15, 8))
"""Minutes since the last step, and readings taken by then."""
BETWEEN_SCREENS = 0.015
NIGHT_S = 16 * 3600.0
SCREENS = (1, 3)
"""Of the mesh that stood overnight before."""

Plan = list[tuple[float, str, str | None]]
"""When to read, on which axis, where; ``None`` is the centre."""


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
    phi: Kept
    told: dict[str, list[Step]]
    """Steps as the program knows them."""
    true: dict[str, list[Step]]
    gauge_sd: float
    draw: Random

    def kept(self, age_s: float) -> float:
        """What is left of a step."""
        return 1 - self.loss * self.phi(age_s) / self.phi(DAY_S)

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
    return Bench(loss, phi, told, true, 0.3, draw)


def spread(minutes: float, count: int) -> Plan:
    """Readings spread by the log of time from 20 s on: either axis in turn, centre and sides."""
    places = (None, "a", None, "b")
    return [
        (20 * (60 * minutes / 20) ** (i / (count - 1)), AXES[i % 2], places[i // 2 % 4])
        for i in range(count)
    ]


def as_asked(minutes: float, count: int) -> Plan:
    """The sides after the last step, and at the end the centre, twice each way."""
    early = [(20.0 + 10 * i, AXES[i % 2], "ab"[i // 2]) for i in range(count - 4)]
    return early + [(60.0 * minutes - 30 + 10 * i, AXES[i % 2], None) for i in range(4)]


PLANS = {"spread over the wait": spread, "as the screen asks": as_asked}


def readings(one: Bench, plan: Plan) -> dict[str, list[Seen]]:
    """What the gauge shows."""
    found: dict[str, list[Seen]] = {axis: [] for axis in AXES}
    high = {(axis, side): one.draw.gauss(1, 0.015) for axis in AXES for side in ("a", "b")}
    for at_s, axis, spot in plan:
        true = one.tension(axis, at_s) * high.get((axis, spot), 1.0)
        shown = one.draw.gauss(true, math.hypot(one.gauge_sd, 0.1))
        found[axis].append(Seen(at_s, spot, round(2 * shown) / 2))
    return found


def overnight(one: Bench, seed: int) -> list[Likely]:
    """What earlier screens of a bench's mesh have told of their loss after a quarter of an hour."""
    draw = Random(-1 - seed)
    mesh = draw.gauss(one.loss, BETWEEN_SCREENS)
    plan = as_asked(15, 8) + [(NIGHT_S + 10 * i, AXES[i % 2], None) for i in range(4)]
    told = []
    for number in range(max(SCREENS)):
        loss = max(0.01, draw.gauss(mesh, BETWEEN_SCREENS))
        screen = replace(bench(10**6 * (1 + seed) + number), loss=loss, phi=one.phi)
        told.append(Settling(screen.told, readings(screen, plan), Prior(sd=0.07)).later_share)
    return told


def remembered(told: Sequence[Likely]) -> Prior:
    """As a new session goes by them."""
    known = narrowed(Mesh(), told)
    return Prior(later=Likely(known.lost, known.sd))


class Score:
    """Errors of one way of telling, by family, and how often its 90 % interval held."""

    def __init__(self) -> None:
        self._errors: list[list[float]] = [[] for _ in FAMILIES]
        self._inside: list[list[bool]] = [[] for _ in FAMILIES]

    def add(self, family: int, value: float, sd: float | None, truth: float) -> None:
        """One forecast."""
        self._errors[family].append(value - truth)
        if sd is not None:
            self._inside[family].append(abs(value - truth) <= WITHIN_90 * sd)

    def __str__(self) -> str:
        shown = [_told([*chain(*self._errors)], [*chain(*self._inside)])]
        shown += [_told(*one) for one in zip(self._errors, self._inside, strict=True)]
        return "  ".join(f"{text:11}" for text in shown).rstrip()


def _told(errors: Sequence[float], inside: Sequence[bool]) -> str:
    rmse = math.sqrt(sum(e * e for e in errors) / len(errors)) if errors else math.nan
    return f"{rmse:.2f}" + (f" ({100 * sum(inside) / len(inside):.0f} %)" if inside else "")


def tell(line: str) -> None:
    """Print a line."""
    sys.stdout.write(f"{line}\n")


def by_line(seen: Sequence[Seen]) -> float | None:
    """The least-squares line after 24 h; the program refuses to draw it so far."""
    if len(seen) < 4:
        return None
    line = fit_log_line([s.at_s / 60 for s in seen], [s.n_cm for s in seen])
    return line.a - line.b * math.log10(DAY_S / 60)


def main(benches: int, first: int) -> None:
    """Measure and print."""
    seeds = range(first, first + benches)
    memories = {seed: overnight(bench(seed), seed) for seed in seeds}
    tell(f"24 h tension, RMSE N/cm (coverage of 90 %), {benches} benches from seed {first}")
    tell(f"{'':30}all          " + "  ".join(f"{f.__name__:11}" for f in FAMILIES))
    for (minutes, count), (name, plan) in [(look, p) for look in LOOKS for p in PLANS.items()]:
        scores: dict[str, Score] = defaultdict(Score)
        spent = 0.0
        for seed in seeds:
            one, family = bench(seed), seed % 3
            seen = readings(one, plan(minutes, count))
            began = time.process_time()
            ways = {"Bayes": Settling(one.told, seen)}
            spent += time.process_time() - began
            known = Prior(one.draw.gauss(one.loss, BETWEEN_SCREENS), BETWEEN_SCREENS)
            ways["Bayes, R24 to 0.015"] = Settling(one.told, seen, known)
            for n in SCREENS:
                memory = remembered(memories[seed][:n])
                ways[f"Bayes, {n} remembered"] = Settling(one.told, seen, memory)
            for axis in AXES:
                truth = one.tension(axis, DAY_S)
                scores["last less 10 %"].add(family, 0.9 * seen[axis][-1].n_cm, None, truth)
                if (ahead := by_line(seen[axis])) is not None:
                    scores["least squares, log-time"].add(family, ahead, None, truth)
                for way, settling in ways.items():
                    told = settling.tension(axis, DAY_S)
                    scores[way].add(family, told.value, told.sd, truth)
        tell(f"{minutes} min, {count} readings {name}, {1000 * spent / benches:.0f} ms a fit")
        for way, score in scores.items():
            tell(f"    {way:26}{score}")


if __name__ == "__main__":
    given = [int(text) for text in sys.argv[1:]]
    main(*(given + [200, 10_000][len(given) :]))
