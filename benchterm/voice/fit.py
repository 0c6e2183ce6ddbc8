"""Makes the weights and thresholds of an acceptance from recordings of which the truth is known.

A logistic regression with a little shrinkage. The thresholds are set on confidences which each
voice got from weights that were fitted without it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from benchterm.voice.accept import NAMES, Acceptance, Figures, Thresholds
from benchterm.voice.hear import Listened
from benchterm.voice.understand import Kind

_SHRINK = 1.0
"""Weight of the squared weights, of figures scaled to a deviation of 1."""
_UP, _DOWN = (0.0, None), (None, 0.0)
_LIMITS = {
    "score_a_word": _UP,
    "gap": _UP,
    "margin": _UP,
    "weakest": _UP,
    "strange": _DOWN,
    "no_speech": _DOWN,
    "log_prior": _UP,
    "snr": _UP,
}
"""Which way a figure may count: a worse one never raises the confidence, whatever was learned."""
_SURE_FROM, _ASK_FROM = 0.8, 0.3
"""Thresholds are never lower, however few mistakes there were to learn from."""
_GRID = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.92, 0.94, 0.96, 0.98, 0.99)
_LEADS = (3.0, 3.5, 4.0, 4.5, 5.0)
"""At least so much: a rival that is a twentieth as likely is worth a question."""
_WRONG = 0.002
"""Share of all that was heard of a kind that may be taken wrongly."""
_WRONG_QUESTIONS = 0.04
"""Share that may be asked back wrongly."""


_ROUGH = {"score_a_word": 1.0, "gap": 0.5, "margin": 0.7, "no_speech": -4.0}

ROUGH = Acceptance(
    0.0,
    tuple(_ROUGH.get(name, 0.0) for name in NAMES),
    dict.fromkeys(Kind, Thresholds(_SURE_FROM, _ASK_FROM, _LEADS[0])),
)
"""What recordings are heard with before there is anything better."""


@dataclass(frozen=True, slots=True)
class Sample:
    """One recognition, and whether it was right."""

    figures: Figures
    kind: Kind
    right: bool
    voice: str
    """Who spoke; all samples of a voice are left out together."""


def samples(listened: Iterable[Listened]) -> list[Sample]:
    """What can be learned from recordings; one that fell into pieces teaches nothing."""
    found = []
    for one in listened:
        known = one.recording
        standing = one.standing
        if not known.known or (known.meaning is not None and len(standing) > 1):
            continue
        voice = known.voice or known.path.name
        for utterance in standing:
            heard = utterance.heard
            if heard.figures is not None:
                right = heard.ranked[0].slots == known.meaning
                found.append(Sample(heard.figures, heard.ranked[0].kind, right, voice))
    return found


def fit(given: Sequence[Sample]) -> Acceptance:
    """Weights from all samples, thresholds from voices left out.

    Raises:
        ValueError: there are not both right and wrong ones among them.
    """
    right = np.array([s.right for s in given])
    if right.all() or not right.any():
        raise ValueError("samples of right and of wrong recognitions are needed")
    x = np.array([s.figures.values() for s in given])
    bias, weights = _weights(x, right)
    left_out = confidences_left_out(given)
    kinds = np.array([s.kind.value for s in given])
    margins = np.array([s.figures.margin for s in given])
    thresholds = {}
    for kind in Kind:
        of_kind = kinds == kind.value
        wrong = of_kind & ~right
        count = int(of_kind.sum())
        doubtful = margins[wrong & (left_out >= _SURE_FROM)]
        lead = next((x for x in _LEADS if not np.any(doubtful >= x)), _LEADS[-1])
        thresholds[kind] = Thresholds(
            sure=_lowest(left_out[wrong & (margins >= lead)], _WRONG * count, _SURE_FROM),
            ask=_lowest(left_out[wrong], _WRONG_QUESTIONS * count, _ASK_FROM),
            lead=lead,
        )
    return Acceptance(bias, tuple(float(w) for w in weights), thresholds)


def confidences_left_out(given: Sequence[Sample]) -> NDArray[np.float64]:
    """The confidence of each sample by weights that know nothing of its voice."""
    x = np.array([s.figures.values() for s in given])
    right = np.array([s.right for s in given])
    voices = np.array([s.voice for s in given])
    result = np.zeros(len(given))
    for voice in np.unique(voices):
        out = voices == voice
        bias, weights = _weights(x[~out], right[~out])
        result[out] = 1 / (1 + np.exp(-(bias + x[out] @ weights)))
    return result


def save(acceptance: Acceptance, path: Path) -> None:
    """Write an acceptance to a file that ``Acceptance.load`` reads."""
    data = {
        "bias": round(acceptance.bias, 4),
        "weights": {n: round(w, 4) for n, w in zip(NAMES, acceptance.weights, strict=True)},
        "thresholds": {
            kind.value: asdict(limits) for kind, limits in acceptance.thresholds.items()
        },
    }
    path.write_text(json.dumps(data, indent=2) + "\n", "utf-8")


def _lowest(wrong: NDArray[np.float64], allowed: float, at_least: float) -> float:
    for threshold in _GRID:
        if threshold >= at_least and np.sum(wrong >= threshold) <= allowed:
            return threshold
    return _GRID[-1]


def _weights(x: NDArray[np.float64], right: NDArray[np.bool_]) -> tuple[float, NDArray[np.float64]]:
    centre, scale = x.mean(axis=0), x.std(axis=0) + 1e-6
    z = (x - centre) / scale
    sign = np.where(right, 1.0, -1.0)

    def loss(t: NDArray[np.float64]) -> tuple[float, NDArray[np.float64]]:
        lead = sign * (z @ t[1:] + t[0])
        pull = -sign / (1 + np.exp(lead))
        value = np.logaddexp(0, -lead).sum() + _SHRINK / 2 * np.sum(t[1:] ** 2)
        return float(value), np.concatenate(([pull.sum()], z.T @ pull + _SHRINK * t[1:]))

    start = np.zeros(x.shape[1] + 1)
    limits = [(None, None), *(_LIMITS.get(name, (None, None)) for name in NAMES)]
    t = minimize(loss, start, jac=True, method="L-BFGS-B", bounds=limits).x
    weights = t[1:] / scale
    return float(t[0] - weights @ centre), weights
