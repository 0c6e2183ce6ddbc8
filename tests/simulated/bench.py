"""A bench to work at: rollers that slip and scatter, mesh that relaxes and tears, a noisy gauge.

Nothing of ``benchterm`` is used here, and much of it the estimator does not assume: a membrane
with edges and corners instead of one number a direction, three families of relaxation, threads that
lean, mesh locked in unevenly, wrapped lengths and a toe of their own. Invented numbers, of the size
that textbooks give for drawn polyester; no real mesh was measured.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
from simulated.sheet import CORNERS, SIDES, Sheet

MESHES = {(54.0, 64.0): 28.0, (77.0, 48.0): 23.0, (120.0, 34.0): 19.0}
"""Threads per cm and micrometres, with a usual target in N/cm (common practice, no source)."""
BREAKING_MPA = 600.0
CORNER_STRENGTH = 0.88
DAY_S = 86400.0
BEYOND_MM = 120.0
"""Span of mesh beyond the frame's outer size."""
PLACES = {key: ((key - 1) % 3 - 1, (key - 1) // 3 - 1) for key in range(1, 10)}
"""Column and row of each station, numbered as on the numeric keypad."""
ROLLERS = {2: "near", 4: "left", 6: "right", 8: "far"}
CORNER_NAMES = {1: "near left", 3: "near right", 7: "far left", 9: "far right"}


@dataclass(frozen=True)
class Draw:
    """One bench: what is known of it and what nobody knows. Index 0: x (left-right), 1: y."""

    span_mm: tuple[float, float]
    mesh: tuple[float, float]
    target_n_cm: float
    roller_mm: float
    teeth: int
    gap_mm: float
    gap_said_mm: float
    along_is_y: bool
    modulus_gpa: tuple[float, float]
    """Modulus times crimp."""
    nu: float
    shear: float
    lean: float
    wrapped_mm: float
    slack_mm: tuple[float, float]
    toe_mm: float
    loss: float
    family: str
    shape: float
    time_s: float
    tilt: float
    held: tuple[float, float, float, float]
    """Of the rollers near, far, left, right."""
    click_scatter: float
    uneven_mm: tuple[float, float, float, float]
    """Mesh locked in too long at each corner."""
    strength: float
    gauge_sd: float
    gauge_zero: float
    gauge_step: float = 0.5
    placement_sd: float = 0.1
    knee: float = 0.04
    slips: str = ""
    """The roller whose pawl slips."""
    slips_from: float = 0.45
    """Share of the target from which on it does."""
    slip_chance: float = 0.5
    """Of each click."""


def draw(seed: int, **changes: object) -> Draw:
    """One bench of the usual kind; some of it changed."""
    rng = np.random.default_rng(seed)
    mesh = list(MESHES)[rng.integers(len(MESHES))]
    is_in = rng.random() < 0.5
    gap = rng.uniform(0, 10) if is_in else rng.uniform(10, 50)
    modulus = rng.uniform(8, 14) * rng.uniform(0.55, 0.8)
    usual = Draw(
        span_mm=(rng.uniform(450, 900), rng.uniform(550, 1200)),
        mesh=mesh,
        target_n_cm=MESHES[mesh] + rng.integers(-2, 3),
        roller_mm=rng.uniform(25, 40),
        teeth=int(rng.choice([24, 30, 36, 48, 60, 72, 96, 120])),
        gap_mm=gap,
        gap_said_mm=max(0.0, round(gap + rng.normal(0, 0.5))),
        along_is_y=bool(rng.random() < 0.7),
        modulus_gpa=(modulus * rng.uniform(0.93, 1.07), modulus * rng.uniform(0.93, 1.07)),
        nu=rng.uniform(0.1, 0.3),
        shear=math.exp(rng.uniform(math.log(0.003), math.log(0.03))),
        lean=math.radians(rng.normal(0, 0.7)),
        wrapped_mm=rng.uniform(20, 40),
        slack_mm=(rng.uniform(8, 28), rng.uniform(8, 28)),
        toe_mm=rng.uniform(0.6, 2.0),
        loss=rng.uniform(0.08, 0.20),
        family=str(rng.choice(["log", "stretched", "prony"])),
        shape=rng.uniform(0.2, 0.4),
        time_s=math.exp(rng.uniform(math.log(600), math.log(21600))),
        tilt=rng.uniform(-0.6, 0.6),
        held=tuple(rng.uniform(0.93, 1.0, 4)),
        click_scatter=0.03,
        uneven_mm=tuple(rng.normal(0, 0.5, 4)),
        strength=math.exp(rng.normal(0, 0.10)),
        gauge_sd=0.3,
        gauge_zero=rng.normal(0, 0.2),
    )
    return replace(usual, **changes)


@dataclass
class Bench:
    """A bench with its mesh in. Times are seconds and never fall."""

    is_: Draw
    seed: int = 0
    torn: bool = False
    turns: int = 0
    readings: int = 0
    corner_readings: int = 0
    eased: dict[int, float] = field(default_factory=dict)
    slipped: int = 0
    log: list[tuple] = field(default_factory=list)
    """Time, ``turn``, ``read`` or ``ease``, station, and what."""

    def __post_init__(self) -> None:
        d = self.is_
        self.rng = np.random.default_rng([self.seed, 77])
        threads, um = d.mesh
        self.section = threads * math.pi / 4 * (um / 1000) ** 2
        self.stiffness = [self.section * e * 1000 / (1 - d.nu**2) for e in d.modulus_gpa]
        ratio = self.stiffness[1] / self.stiffness[0]
        self.sheet = Sheet(*d.span_mm, ratio, d.nu, d.shear, d.gap_mm, lean=d.lean)
        self.click_mm = math.pi * d.roller_mm / d.teeth
        self.step_n_cm = [
            k * self.click_mm / (span + 2 * d.wrapped_mm)
            for k, span in zip(self.stiffness, d.span_mm, strict=True)
        ]
        self.clicks = dict.fromkeys(ROLLERS, 0)
        self.wound = dict.fromkeys(ROLLERS, 0.0)
        self.taut = [[(0.0, self._taut(0))], [(0.0, self._taut(1))]]
        self._weights: dict[tuple[float, float, bool], np.ndarray] = {}

    def along(self, axis: str) -> int:
        """Index of the direction that an axis is read in."""
        return int((axis == "along") == self.is_.along_is_y)

    def turn(self, station: int, clicks: int, at_s: float) -> None:
        """Turn a roller; negative: let back."""
        d = self.is_
        self.turns += 1
        self.log.append((at_s, "turn", station, clicks))
        self.clicks[station] += clicks
        held = d.held[SIDES.index(ROLLERS[station])]
        for _ in range(abs(clicks)):
            slips = d.slips == ROLLERS[station] and clicks > 0 and self.level > d.slips_from
            if slips and self.rng.random() < d.slip_chance:
                self.slipped += 1
                continue
            one = self.click_mm * held * (1 + d.click_scatter * self.rng.normal())
            self.wound[station] += math.copysign(one, clicks)
        pair = 0 if station in (4, 6) else 1
        self.taut[pair].append((at_s, self._taut(pair)))
        self._tear(at_s)

    def ease(self, station: int, mm: float, at_s: float) -> None:
        """Let mesh back in at a corner, not quite as much as meant."""
        self.log.append((at_s, "ease", station, mm))
        self.eased[station] = self.eased.get(station, 0.0) + mm * self.rng.uniform(0.85, 1.1)
        self._tear(at_s)

    def read(self, station: int, axis: str, at_s: float) -> float:
        """What the gauge shows."""
        d = self.is_
        self.readings += 1
        self.corner_readings += station in CORNER_NAMES
        shown = self.true(station, axis, at_s)
        shown += self.rng.normal(0, d.gauge_sd) + self.rng.normal(0, d.placement_sd)
        value = max(0.0, round(shown / d.gauge_step) * d.gauge_step)
        self.log.append((at_s, "read", station, axis, value))
        return value

    def true(self, station: int, axis: str, at_s: float) -> float:
        """What a gauge without noise, of the same calibration, would show."""
        return self.true_at(*self.sheet.place(*PLACES[station]), axis, at_s)

    def true_at(self, x: float, y: float, axis: str, at_s: float) -> float:
        """The same anywhere on the mesh, mm from the left and near edges."""
        index = self.along(axis)
        key = (x, y, bool(index))
        if key not in self._weights:
            self._weights[key] = self.sheet.shown(x, y, along=bool(index))
        linear = float(self._weights[key] @ self._field(index, at_s)) * self.stiffness[0]
        k = self.stiffness[index]
        strain = max(linear, 0.0) / k
        if strain > self.is_.knee:
            strain = self.is_.knee + 0.37 * (strain - self.is_.knee)
        return k * strain + self.is_.gauge_zero

    @property
    def level(self) -> float:
        """Share of the target reached, the lower direction."""
        now = max(t[-1][0] for t in self.taut)
        return min(self.true(5, a, now) for a in ("along", "across")) / self.is_.target_n_cm

    def peak(self, at_s: float) -> float:
        """Highest tension at a corner, N/cm."""
        fields = [self._field(i, at_s) for i in (0, 1)]
        return max(float((self.sheet.peak_windows @ f).max()) for f in fields) * self.stiffness[0]

    def _tear(self, at_s: float) -> None:
        self.torn = self.torn or self.peak(at_s) > self.bears_n_cm

    @property
    def bears_n_cm(self) -> float:
        """Tension at which a corner tears."""
        return self.section * BREAKING_MPA * CORNER_STRENGTH * self.is_.strength

    def _taut(self, pair: int) -> float:
        sides = (4, 6) if pair == 0 else (2, 8)
        raw = sum(self.wound[s] for s in sides) - self.is_.slack_mm[pair]
        return self.is_.toe_mm * float(np.logaddexp(0.0, raw / self.is_.toe_mm))

    def _field(self, index: int, at_s: float) -> np.ndarray:
        """Tension over the elements in a direction, for a weft stiffness of 1."""
        d, fields = self.is_, self.sheet.fields
        total = 0.0
        part = 0 if index else 1
        pulled = [taut[-1][1] for taut in self.taut]
        tight = 1 - math.exp(-min(pulled) / 2.0)
        for pair, (first, second) in enumerate((("left", "right"), ("near", "far"))):
            scale = d.span_mm[pair] / (d.span_mm[pair] + 2 * d.wrapped_mm)
            steps = np.array(self.taut[pair])
            added = np.diff(steps[:, 1], prepend=0.0)
            pull = float(added @ self._kept(at_s - steps[:, 0])) * scale
            a, b = ((4, 6), (2, 8))[pair]
            lead = (self.wound[a] - self.wound[b]) / 2 * scale
            total = total + (pull / 2 + lead * tight) * fields[first][part]
            total = total + (pull / 2 - lead * tight) * fields[second][part]
        for station, name in CORNER_NAMES.items():
            loose = self.eased.get(station, 0.0) + d.uneven_mm[CORNERS.index(name)]
            total = total + loose * tight * fields[name][part]
        return total

    def _kept(self, age_s: np.ndarray) -> np.ndarray:
        d = self.is_
        age = np.maximum(age_s, 0.0)

        def passed(t):
            if d.family == "log":
                return np.log1p(t / (d.time_s / 60))
            if d.family == "stretched":
                return 1 - np.exp(-((t / d.time_s) ** d.shape))
            decades = np.arange(5)
            share = 10 ** (d.tilt * (decades - 2) / 2)
            return ((1 - np.exp(-np.multiply.outer(t, 10.0**-decades) / 10)) * share).sum(axis=-1)

        return 1 - d.loss * passed(age) / passed(np.array(DAY_S))
