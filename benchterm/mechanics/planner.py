"""The next move in whole clicks: which rollers, how many, in which order, what it should give.

Both directions are planned together, since each pulls the other along. A move is chosen to bring
both near their targets, while the chance to end above what is promised stays small, the gain since
a direction was last read stays within half its target, and the corners are not likely to tear.
Checked on simulated benches, never on real mesh.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from benchterm.mechanics.estimator import Belief, Estimate
from benchterm.mechanics.history import DIRECTIONS, Array, Spot
from benchterm.mechanics.planner_corners import Risk, Strength
from benchterm.mechanics.pull import HELD, coupling, kept, pull, taut_mm, tension_n_cm
from benchterm.mechanics.scatter import upcoming

LOOK_AHEAD_S = 60.0
"""A move is judged by the tension this long after it."""
OVER_CHANCE = 0.10
"""Highest chance of ending above the aim by more than the slop."""
BLIND_SHARE = 0.35
"""Share of the target that the first clicks, with nothing read yet, aim at."""
GAIN_SHARE = 0.5
"""Largest share of the target gained before a direction is read again."""
_UNREAD_CHANCE = 0.25
_BLIND_CHANCE = 0.15
_EASED_CHANCE = 1.5
"""Share of the chance of a tear to run: with corners not read, with sides not read since the last
clicks either, and once corners are eased as much as the rule asks for."""
_EASE_FROM = 0.5
"""Share of the target from which on corners are eased: before it there is little to let back."""
_EASE_AT_LEAST = 0.2
"""The same where no click may be made without."""
_SLACK_SHARE = 0.1
"""Share of the target below which a reading may still be one of slack mesh."""
_BAND = 0.7
"""Share of the slop within which a direction is not let back."""
_MOST_BACK = 6
_GRID = 17
_BACK_COST_N_CM2 = 0.15
"""Cost, a square error, of letting a direction back: a pawl has to be lifted."""


@dataclass(frozen=True, slots=True)
class Goal:
    """What is wanted in each direction."""

    aim_n_cm: tuple[float, float]
    """What to come near to now."""
    slop_n_cm: tuple[float, float]
    """How near is near enough, and how far above the aim is too far."""
    target_n_cm: tuple[float, float]
    """What is wanted in the end."""
    worth_n_cm2: float
    """Cost, a square error, that a move has to save."""
    most_clicks: int
    """On one roller before its opposite is turned."""
    sides: tuple[tuple[Spot, Spot], tuple[Spot, Spot]]
    """The sides of each direction, in the order of its rollers."""
    ahead: tuple[int, int] = (0, 0)
    """Clicks by which the first roller of each direction is ahead of the second."""


@dataclass(frozen=True, slots=True)
class Move:
    """Clicks on one roller; negative: let back."""

    direction: int
    roller: int
    clicks: int


@dataclass(frozen=True, slots=True)
class Plan:
    """What to do next. With neither moves nor relief: nothing that whole clicks can better."""

    moves: tuple[Move, ...]
    """In order."""
    now: tuple[Belief, Belief]
    """Tension in each direction now, mean of its two sides."""
    expected: tuple[Belief, Belief]
    """The same ``LOOK_AHEAD_S`` after the moves."""
    over_chance: tuple[float, float]
    """Of ending above the aim by more than the slop."""
    tear_chance: float | None = None
    """After the moves wanted, or at the target if easing is due; ``None``: no rod gap known."""
    tear_limit: float = 1.0
    """Highest chance of a tear to run in this pass."""
    read_corners: tuple[int, ...] = ()
    """Directions in which two opposite corners are to be read first: it may spare easing them."""
    ease_mm: float = 0.0
    """Mesh to let back in at each corner, in all, before the next click; 0: no need, or no use."""
    held_back: bool = False
    """Fewer clicks than wanted, or none, because a corner might tear and easing helps no more."""


def plan(now: Estimate, goal: Goal, strength: Strength | None = None) -> Plan:
    """The next move towards a goal."""
    ahead = _Ahead(now, goal)
    clicks = wanted = ahead.best()
    most = goal.most_clicks
    if strength is None:
        return ahead.plan(clicks, most)
    risk = Risk(now, ahead.taut, strength)
    limit = strength.chance * (1.0 if risk.is_read else _UNREAD_CHANCE)
    most_chance = limit if ahead.is_known else strength.chance * _BLIND_CHANCE
    chance = ahead.tear_chance(clicks, risk)
    if max(clicks) > 0 and ahead.is_taut(_EASE_FROM):
        likelier = max(chance, ahead.tear_chance_at_target(risk))
        if likelier > limit and (ease := ahead.ease_mm(risk)):
            still = ahead.before_clicks(risk, ease)
            return replace(still, tear_chance=likelier, tear_limit=limit)
    while chance > most_chance and max(clicks) > 0:
        is_eased = ahead.is_known and ahead.is_taut(_EASE_FROM) and risk.is_read
        if is_eased and ahead.tear_chance(clicks, risk, 0) <= _EASED_CHANCE * strength.chance:
            break  # What is left is run, and a lead of one click.
        clicks = ahead.fewer(clicks)
        may_ease = max(clicks) <= 0 and ahead.is_known and ahead.is_taut(_EASE_AT_LEAST)
        if may_ease and (ease := ahead.ease_mm(risk)):
            still = ahead.before_clicks(risk, ease)
            return replace(still, tear_chance=chance, tear_limit=most_chance)
        chance = ahead.tear_chance(clicks, risk)
    while most > 1 and ahead.tear_chance(clicks, risk, most) > most_chance:
        most //= 2
    stuck = clicks != wanted and ahead.is_known and not ahead.is_near
    chance = ahead.tear_chance(wanted if stuck else clicks, risk)
    last = replace(ahead.plan(clicks, most), tear_chance=chance, tear_limit=most_chance)
    if stuck and not last.moves and (again := risk.unread_since_eased):
        return replace(last, read_corners=again)
    return replace(last, held_back=stuck)


class _Ahead:
    """What clicks would do, for every likely parameter set at once."""

    def __init__(self, now: Estimate, goal: Goal) -> None:
        self.estimate, self.goal = now, goal
        self.target = np.array(goal.target_n_cm)
        self.wanted = np.array(goal.aim_n_cm)
        self.limit = self.wanted + np.array(goal.slop_n_cm)
        theta, seen = now.theta, now.history
        at_s = seen.end_s + LOOK_AHEAD_S
        then = pull(now.rig, theta, seen.steps, seen.after(at_s))
        self.strain, self.raw = then.strain[:, 0], then.raw_mm[:, 0]
        self.taut = taut_mm(theta, self.raw)
        self.left = kept(theta, np.array([LOOK_AHEAD_S]))[:, 0]
        self.coupling = coupling(theta)
        drawn, sd = now.look(upcoming(seen, [*goal.sides[0], *goal.sides[1]], at_s))
        self.drawn = drawn.reshape(-1, 2, 2).mean(axis=2)
        self.sd = sd.reshape(2, 2).mean(axis=1)
        self.off = self.drawn - tension_n_cm(theta, self.strain)
        self.step = np.array([now.step(d).mean for d in DIRECTIONS])
        self.when_read = np.array([self._when_read(d) for d in DIRECTIONS])
        self.aim = np.array([self._aim(d) for d in DIRECTIONS])

    @property
    def is_known(self) -> bool:
        """Whether both directions have been read since they were last turned."""
        return all(self._is_known(d) for d in DIRECTIONS)

    @property
    def is_near(self) -> bool:
        """Whether both directions are likely to be as near their aim as is promised."""
        off = np.abs(self.drawn.mean(axis=0) - self.wanted)
        return bool(np.all(off <= self.limit - self.wanted))

    def best(self) -> tuple[int, int]:
        """The clicks that come nearest to the aim, both rollers of a direction added."""
        spans = [self._range(d) for d in DIRECTIONS]
        stride = [max(1, math.ceil((hi - lo) / (_GRID - 1))) for lo, hi in spans]
        tried = [
            np.unique(np.append(np.arange(lo, hi + 1, s), max(lo, 0)))
            for (lo, hi), s in zip(spans, stride, strict=True)
        ]
        clicks = self._cheapest(tried)
        if max(stride) > 1:
            tried = [
                np.unique(np.clip(np.append(np.arange(c - s + 1, c + s), 0), *span))
                for c, s, span in zip(clicks, stride, spans, strict=True)
            ]
            clicks = self._cheapest(tried)
        return clicks

    def plan(self, clicks: tuple[int, int], most: int) -> Plan:
        """The plan that makes these clicks, no more than ``most`` on a roller in one go."""
        tension = self._tensions([np.array([c]) for c in clicks])[:, :, 0, 0]
        sd = self._sd(np.array(clicks))
        over = _normal((self._judged(tension) - self.limit) / np.maximum(sd, 0.05)).mean(axis=0)
        return Plan(
            self._moves(clicks, most),
            (self._belief(self.drawn, self.sd, 0), self._belief(self.drawn, self.sd, 1)),
            (self._belief(tension, sd, 0), self._belief(tension, sd, 1)),
            (float(over[0]), float(over[1])),
        )

    def fewer(self, clicks: tuple[int, int]) -> tuple[int, int]:
        """Clicks that pull less, taken off where they pull most."""
        pull = np.array(clicks) * self.step
        d = int(np.argmax(np.where(np.array(clicks) > 0, pull, -np.inf)))
        less = list(clicks)
        less[d] -= max(1, less[d] // 4)
        return less[0], less[1]

    def tear_chance(self, clicks: tuple[int, int], risk: Risk, most: int = 1) -> float:
        """Chance that a corner tears by the end of these clicks, no more than so many in one go.

        On the way, and often at the end, one roller is ahead of its opposite; with ``most`` 0 that
        is left out.
        """
        if not most:
            return self._tear_chance(clicks, risk, (0, 0))
        ahead, made = list(self.goal.ahead), [0, 0]
        left = (self._left_ahead(0, clicks[0]), self._left_ahead(1, clicks[1]))
        chances = [self._tear_chance(clicks, risk, left)]
        for move in self._moves(clicks, most):
            d, toward = move.direction, 1 if move.roller == 0 else -1
            ahead[d] += toward * move.clicks
            made[d] += move.clicks
            if toward * ahead[d] > 0:
                leads = abs(ahead[0]), abs(ahead[1])
                chances.append(self._tear_chance((made[0], made[1]), risk, leads))
        return max(chances)

    def tear_chance_at_target(self, risk: Risk) -> float:
        """Chance that a corner tears on the way to the target, eased no more than now."""
        return risk.chance_at(self._taut_at_target(), self.target)

    def ease_mm(self, risk: Risk) -> float:
        """Mesh to let back in at each corner, in all; 0 when the rule asks for no more."""
        wanted = risk.relief_mm(self._taut_at_target(), self.target)
        return wanted if wanted - risk.eased_mm >= 1.0 else 0.0

    def is_taut(self, share: float) -> bool:
        """Whether one direction held this share when both were last read, whatever came since."""
        return bool(np.max(self.when_read / self.target) >= share)

    def before_clicks(self, risk: Risk, ease_mm: float) -> Plan:
        """No clicks before corners are read or, once they are, this much is let back in at each."""
        still = self.plan((0, 0), 1)
        if risk.unread:
            return replace(still, read_corners=risk.unread)
        return replace(still, ease_mm=ease_mm)

    def _tear_chance(self, clicks: tuple[int, int], risk: Risk, leads: tuple[int, int]) -> float:
        """The same with one roller of each direction ahead of its opposite by some clicks."""
        tension = self._tensions([np.array([c]) for c in clicks])[:, :, 0, 0]
        mm = self.estimate.rig.click_mm
        return risk.chance(self._taut_after(clicks), tension, (leads[0] * mm, leads[1] * mm))

    def _left_ahead(self, d: int, clicks: int) -> int:
        """Clicks by which a roller is still ahead once these are split to end even."""
        lead, more = abs(self.goal.ahead[d]), abs(clicks)
        return lead - more if more < lead else (lead + more) % 2

    def _taut_at_target(self) -> Array:
        missing = np.maximum(self.target - self.drawn, 0.0) / np.exp(self.estimate.theta[:, :2])
        lengths = np.array([self.estimate.rig.length_mm(d) for d in DIRECTIONS])
        return np.asarray(self.taut + missing * lengths)

    def _aim(self, d: int) -> float:
        read, target = self.when_read[d], self.target[d]
        gain = GAIN_SHARE if read >= _SLACK_SHARE * target else BLIND_SHARE
        return float(min(self.wanted[d], np.nan_to_num(read) + gain * target))

    def _when_read(self, d: int) -> float:
        """Tension of a direction when it was last read; not a number if it never was."""
        seen = self.estimate.history
        if not any(s.direction == d for s in seen.spots):
            return math.nan
        done = np.array([[seen.blind_from(each) for each in DIRECTIONS]])
        when = replace(seen.now, done=done)
        then = pull(self.estimate.rig, self.estimate.theta, seen.steps, when)
        base = tension_n_cm(self.estimate.theta, then.strain)[:, 0, d]
        return float(base.mean() + self.off[:, d].mean())

    def _is_known(self, d: int) -> bool:
        return not (math.isnan(self.when_read[d]) or self.estimate.history.turned_since_read(d))

    def _range(self, d: int) -> tuple[int, int]:
        """Fewest and most clicks to think of. One side of a pass is followed by the other."""
        most = 2 * self.goal.most_clicks
        alone = self._alone(d, np.arange(most + 1))
        beyond = np.nonzero(alone.mean(axis=0) > self.limit[d])[0]
        most = int(beyond[0]) if len(beyond) else most
        if abs(self.goal.ahead[d]) > 1 and not self._is_known(d):
            return min(abs(self.goal.ahead[d]) - 1, most), most
        over = float(self.drawn[:, d].mean() - self.wanted[d])
        back = self._is_known(d) and over > _BAND * (self.limit[d] - self.wanted[d])
        return -_MOST_BACK if back else 0, most

    def _alone(self, d: int, clicks: Array) -> Array:
        strain = np.repeat(self.strain[:, None], len(clicks), axis=1)
        strain[:, :, d] += self._added(d, clicks)
        return np.asarray(tension_n_cm(self.estimate.theta, strain)[:, :, d] + self.off[:, d, None])

    def _added(self, d: int, clicks: Array) -> Array:
        """Strain added by clicks, one column a number of clicks."""
        rig, theta = self.estimate.rig, self.estimate.theta
        held = np.clip(theta[:, HELD + 2 * d : HELD + 2 * d + 2].mean(axis=1), 0.0, 1.5)
        raw = self.raw[:, d, None] + rig.click_mm * held[:, None] * clicks
        added = taut_mm(theta, raw) - self.taut[:, d, None]
        return np.asarray(added * self.left[:, None] / rig.length_mm(d))

    def _taut_after(self, clicks: tuple[int, int]) -> Array:
        theta, rig = self.estimate.theta, self.estimate.rig
        held = theta[:, HELD : HELD + 4].reshape(-1, 2, 2).mean(axis=2)
        return taut_mm(theta, self.raw + rig.click_mm * held * np.array(clicks))

    def _tensions(self, tried: list[Array]) -> Array:
        """Tension: parameter set, direction, clicks along, clicks across."""
        along = self.strain[:, 0, None] + self._added(0, tried[0])
        across = self.strain[:, 1, None] + self._added(1, tried[1])
        shape = (len(along), len(tried[0]), len(tried[1]))
        strain = np.stack(
            [np.broadcast_to(along[:, :, None], shape), np.broadcast_to(across[:, None], shape)],
            axis=-1,
        )
        tension = tension_n_cm(self.estimate.theta, strain) + self.off[:, None, None]
        return np.moveaxis(np.maximum(tension, 0.0), -1, 1)

    def _judged(self, tension: Array) -> Array:
        """What each direction will hold once the other has come to its aim in a later pass.

        Where both can come to what is wanted in this one, there is no later pass to wait for.
        """
        if np.all(self.aim >= self.wanted):
            return tension
        shape = (-1, 2, *(1,) * (tension.ndim - 2))
        missing = np.maximum(self.aim.reshape(shape) - tension, 0.0)
        return np.asarray(tension + self.coupling.reshape(shape) * missing[:, ::-1])

    def _sd(self, clicks: Array) -> Array:
        more = self.estimate.fit.scatter * self.step * np.sqrt(np.abs(clicks))
        return np.asarray(np.hypot(self.sd, more))

    def _cheapest(self, tried: list[Array]) -> tuple[int, int]:
        judged = self._judged(self._tensions(tried))
        mean = judged.mean(axis=0)
        beyond = np.maximum(judged - self.wanted.reshape(2, 1, 1), 0.0) ** 2
        off = (mean - self.aim.reshape(2, 1, 1)) ** 2
        cost = (off + beyond.mean(axis=0)).sum(axis=0)
        for d in DIRECTIONS:
            clicks = tried[d].reshape((-1, 1) if d == 0 else (1, -1))
            sd = np.hypot(
                self.sd[d], self.estimate.fit.scatter * self.step[d] * np.sqrt(abs(clicks))
            )
            above = _normal((judged[:, d] - self.limit[d]) / np.maximum(sd, 0.05))
            over = above.mean(axis=0)
            cost = cost + np.where((over > OVER_CHANCE) & (clicks > 0), np.inf, 0.0)
            cost = cost + np.where(clicks < 0, _BACK_COST_N_CM2, 0.0)
        i, j = np.unravel_index(int(np.argmin(cost)), cost.shape)
        best = int(tried[0][i]), int(tried[1][j])
        still = [np.flatnonzero(t == 0) for t in tried]
        if not np.isfinite(cost[i, j]):
            return 0, 0
        if all(len(s) for s in still):
            saved = cost[still[0][0], still[1][0]] - cost[i, j]
            return best if saved >= self.goal.worth_n_cm2 else (0, 0)
        return best

    def _moves(self, clicks: tuple[int, int], most: int) -> tuple[Move, ...]:
        behind = (self.aim - self.drawn.mean(axis=0)) / self.target
        order = sorted(DIRECTIONS, key=lambda d: (abs(self.goal.ahead[d]) <= 1, -behind[d]))
        return tuple(m for d in order for m in self._split(d, clicks[d], most))

    def _split(self, d: int, clicks: int, most: int) -> list[Move]:
        """Both rollers of a direction, so that they end even; the one with fewer clicks first.

        Where one may go only a little ahead, the other goes past it by as much in its turn.
        """
        if clicks == 0:
            return []
        sign = 1 if clicks > 0 else -1
        behind = sign * self.goal.ahead[d]
        first = int(behind > 0)
        lag = abs(behind)
        to_first = min(abs(clicks), (abs(clicks) + lag + 1) // 2)
        moves = []
        for roller, share in ((first, to_first), (1 - first, abs(clicks) - to_first)):
            n = min(share, most + lag, self.goal.most_clicks)
            lag = n - lag
            if n > 0:
                moves.append(Move(d, roller, sign * n))
        return moves

    def _belief(self, drawn: Array, sd: Array, d: int) -> Belief:
        return Belief(float(drawn[:, d].mean()), math.hypot(float(drawn[:, d].std()), float(sd[d])))


def _normal(x: Array) -> Array:
    """Cumulative normal distribution, to 2e-4."""
    chance: Array = 0.5 * (1 + np.tanh(0.7978845608 * (x + 0.044715 * x**3)))
    return chance
