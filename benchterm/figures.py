"""The figures of a moment as plain values for JSON: what pipe and replay print.

The schema in ``schemas/pipe.schema.json`` says what each one is.
"""

from __future__ import annotations

from typing import Any

import msgspec

from benchterm.core.advice import SHOWN, Advice
from benchterm.core.air_budget import air_budget
from benchterm.core.balance import Balance, PairBalance, Spread
from benchterm.core.events import Event
from benchterm.core.gates import open_checks, reasons, stage_checks
from benchterm.core.state import State
from benchterm.core.stations import Axis, Station
from benchterm.desk import View
from benchterm.records.codec import type_name

VERSION = 1
"""``v`` of every line printed."""
_DIGITS = 4
"""Places kept after the point: far finer than any gauge."""


def figures(view: View) -> dict[str, object]:
    """The figures of a moment; all of them plain, finite and in the units their names say."""
    state, balance = view.state, view.balance
    target = state.facts.target
    return {
        "stage": int(state.stage),
        "stage_name": state.stage.label,
        "closed": state.closed,
        "finished": state.finished,
        "target": {
            "along_n_cm": target.along_n_cm,
            "across_n_cm": target.across_n_cm,
            "tolerance_n_cm": target.tolerance_n_cm,
        },
        "stations": {str(int(station)): _station(state, station) for station in Station},
        "balance": _balance(balance),
        "spread": {axis.value: _spread(balance.spread(axis)) for axis in Axis},
        "timer": _timer(state, view.now_s),
        "question": question(state),
        "open_checks": _open_checks(state),
        "marks": state.marks,
        "air": _air(state, view.now_s),
    }


def question(state: State) -> dict[str, object] | None:
    """What the bench waits for, with what can be answered; ``None``: nothing."""
    if state.held is not None:
        held = state.held
        return {
            "about": "reading",
            "text": (
                f"{held.value_n_cm:g} at {held.station.label} {held.axis.value}: "
                f"expected about {held.expected_n_cm:g}. Keep it?"
            ),
            "choices": ["yes", "no"],
            "passed_over": [],
        }
    if state.way_on is not None:
        return {
            "about": "reason",
            "text": f"Why go on to {state.way_on.to.label} with this left open?",
            "choices": [f"{number} {why}" for number, why in enumerate(reasons(state), 1)] + ["no"],
            "passed_over": list(state.way_on.open_items),
        }
    return None


def advice_shown(advice: tuple[Advice, ...]) -> list[dict[str, object]]:
    """The most important pieces of advice, no more than are shown at once."""
    return [
        {
            "code": one.code,
            "severity": one.severity.value,
            "do": one.do,
            "why": one.why,
            "rests_on": list(one.rests_on),
            "moves": [{"station": int(m.station), "clicks": m.clicks} for m in one.moves],
            "read": [{"station": int(k.station), "axis": k.axis.value} for k in one.read],
            "ease": [{"station": int(e.station), "mm": e.mm} for e in one.ease],
        }
        for one in advice[:SHOWN]
    ]


def event_shown(event: Event) -> dict[str, object]:
    """What happened, with its number and kind; stations and stages are numbers."""
    body: dict[str, Any] = msgspec.to_builtins(event.what)
    return {"seq": event.seq, "type": type_name(event.what), **body}


def _station(state: State, station: Station) -> dict[str, object]:
    along, across = state.along[station], state.across[station]
    values: dict[str, object] = {
        "name": station.label,
        "along_n_cm": along and along.value_n_cm,
        "across_n_cm": across and across.value_n_cm,
    }
    if station.is_roller:
        values["net_clicks"] = state.net_clicks(station)
    if station.is_corner:
        values["relief_mm"] = state.relief_mm[station]
    return values


def _balance(balance: Balance) -> dict[str, object]:
    apart = balance.along_less_across_n_cm
    return {
        "far-near": _pair(balance.far_near),
        "left-right": _pair(balance.left_right),
        "along_less_across_n_cm": _rounded(apart),
    }


def _pair(pair: PairBalance) -> dict[str, object]:
    return {
        "apart_n_cm": _rounded(pair.apart_n_cm),
        "clicks_apart": pair.clicks_apart,
        "fresh": pair.fresh,
    }


def _spread(spread: Spread | None) -> dict[str, object] | None:
    if spread is None:
        return None
    return {
        "stations": spread.n,
        "mean_n_cm": _rounded(spread.mean),
        "range_n_cm": _rounded(spread.range),
        "s_n_cm": _rounded(spread.s),
        "cv_pct": _rounded(spread.cv_pct),
        "tilt_columns_n_cm": _rounded(spread.tilt_columns),
        "tilt_rows_n_cm": _rounded(spread.tilt_rows),
    }


def _timer(state: State, now_s: float) -> dict[str, object] | None:
    timer = state.timer
    if timer is None:
        return None
    return {
        "stage": int(timer.stage),
        "minutes": timer.minutes,
        "left_s": _rounded(timer.left_s(now_s)),
    }


def _open_checks(state: State) -> list[dict[str, object]]:
    still_open = set(open_checks(state))
    return [
        {"number": number, "id": check.id, "text": check.text, "caution": check.caution}
        for number, check in enumerate(stage_checks(state), 1)
        if check in still_open
    ]


def _air(state: State, now_s: float) -> dict[str, object] | None:
    budget = air_budget(state, now_s)
    if budget is None:
        return None
    return {
        "index": _rounded(budget.index),
        "day_share": _rounded(budget.day_share),
        "pocket_lel_pct": _rounded(budget.pocket_lel_pct),
        "line": budget.line,
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, _DIGITS)
