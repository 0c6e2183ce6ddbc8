"""The balance of both pairs as bars about a centre line, and how the readings are spread."""

from __future__ import annotations

from benchterm.core.balance import PairBalance, Spread
from benchterm.core.practice import Practice
from benchterm.core.state import State
from benchterm.core.stations import Axis
from benchterm.desk import View
from benchterm.screen.ink import FAINT, NORMAL, PLAIN, WARNING, Line, page, strong
from benchterm.screen.pane import Scene
from benchterm.words import ARROWS

_NARROW = 30
_SIDES = 27
"""Columns a row needs beside its bar."""


def draw_bars(scene: Scene, width: int, height: int) -> list[Line]:
    """Far against near and left against right: tension, then net clicks; then the spread."""
    practice, balance = scene.view.state.practice, scene.view.balance
    pairs = (balance.far_near, balance.left_right)
    if width < _NARROW:
        lines = [_numbers_only(pair, practice) for pair in pairs]
        lines.append(_variation_only(balance.along, balance.across))
        return page(lines, width, height)
    lines = []
    roomy = height >= 10
    for pair in pairs:
        lines += [_tension(pair, practice, width), _clicks(pair, practice, width)]
        if roomy:
            lines.append([])
    lines += [_spread(axis, scene.view, width) for axis in Axis]
    between = balance.along_less_across_n_cm
    if roomy and between is not None:
        verdict, style = _verdict(abs(between) > practice.axes_apart_n_cm)
        lines.append([(f"along less across {between:+.1f} N/cm ", PLAIN), (verdict, style)])
    if roomy and scene.advised:  # Until then the mathematics may not be loaded.
        lines.append(_corrected(scene.view.state))
    return page(lines, width, height)


def bar(value: float, limit: float, cells: int) -> str:
    """A bar about a centre line, towards the left for a positive value (the first of the pair).

    Its full reach is twice the limit; a value beyond it ends in an arrow. ``╎`` marks the limit.
    """
    reach = cells // 2
    halves = min(2 * reach, round(abs(value) / limit * reach)) if limit else 0
    inner = ["█"] * (halves // 2)
    if halves % 2:
        inner.append("▐" if value > 0 else "▌")
    full = inner + ["·"] * (reach - len(inner))
    tick = max(0, (reach + 1) // 2 - 1)
    if full[tick] == "·":
        full[tick] = "╎"
    if abs(value) > 2 * limit:
        full[-1] = "◀" if value > 0 else "▶"
    empty = ["·"] * reach
    empty[tick] = "╎"
    left, right = (full, empty) if value > 0 else (empty, full)
    return f"{''.join(reversed(left))}┃{''.join(right)}"


def _cells(width: int) -> int:
    cells = max(5, width - _SIDES)
    return cells if cells % 2 else cells - 1


def _tension(pair: PairBalance, practice: Practice, width: int) -> Line:
    apart = pair.apart_n_cm
    uneven = apart is not None and abs(apart) > practice.pair_balance_n_cm
    verdict, style = _verdict(uneven)
    drawn = bar(apart or 0.0, practice.pair_balance_n_cm, _cells(width))
    line: Line = [
        (f"{pair.first.label:<5}", PLAIN),
        (_value(pair.first_n_cm), strong(PLAIN)),
        (f" {drawn} ", style if apart is not None else FAINT),
        (_value(pair.second_n_cm), strong(PLAIN)),
        (f" {pair.second.label:<6}", PLAIN),
    ]
    if apart is not None:
        known = verdict if pair.fresh else "~"
        line.append((f"{abs(apart):4.1f}{known}", style if pair.fresh else FAINT))
    return line


def _clicks(pair: PairBalance, practice: Practice, width: int) -> Line:
    apart = pair.clicks_apart
    verdict, style = _verdict(abs(apart) > practice.pair_balance_clicks)
    turned = bool(pair.first_clicks or pair.second_clicks)
    drawn = bar(apart, practice.pair_balance_clicks, _cells(width))
    line: Line = [
        (" " * 5, PLAIN),
        (f"{pair.first_clicks:4d}", PLAIN),
        (f" {drawn} ", style if turned else FAINT),
        (f"{pair.second_clicks:4d}", PLAIN),
        (" clicks", FAINT),
    ]
    if turned:
        line.append((f"{abs(apart):3d}{verdict}", style))
    return line


def _spread(axis: Axis, view: View, width: int) -> Line:
    name, spread, practice = f"{axis.value:<7}", view.balance.spread(axis), view.state.practice
    if spread is None:
        was = any(view.state.readings(axis))
        return [(f"{name}not read{' since the last click' if was else ''}", FAINT)]
    wide = spread.range > practice.range_n_cm
    line: Line = [
        (f"{name}{spread.n}: mean {spread.mean:.1f}", PLAIN),
        (f" range {spread.range:.1f}{'▲' if wide else ''}", WARNING if wide else PLAIN),
    ]
    if spread.cv_pct is not None:
        varied = spread.cv_pct > practice.variation_pct
        figure = f"{spread.cv_pct:.1f}" if spread.cv_pct < 10 else f"{spread.cv_pct:.0f}"
        words = f" CV {figure}%{'▲' if varied else ''}"
        line.append((words, WARNING if varied else PLAIN))
    half = spread.mean_half_width
    if half is not None and width >= 60:
        line.append((f"  mean ±{half:.1f} (95 %)", FAINT))
    return line


def _corrected(state: State) -> Line:
    """Both means by the gauge's calibration, with their expanded uncertainties."""
    from benchterm.core.trust import Trusted, trusted_now  # noqa: PLC0415 - needs numpy
    from benchterm.mechanics.uncertainty import stated  # noqa: PLC0415

    found = {axis: trusted_now(state, axis) for axis in Axis}
    told = [
        f"{axis.value} {stated(mean.mean_n_cm, mean.expanded_n_cm)}"
        for axis, mean in found.items()
        if isinstance(mean, Trusted)
    ]
    return [(f"calibrated: {', '.join(told)} (U, k = 2)", PLAIN)] if told else []


def _numbers_only(pair: PairBalance, practice: Practice) -> Line:
    apart = pair.apart_n_cm
    line: Line = [
        (f"{ARROWS[pair.pair]} ", PLAIN),
        (f"{_value(pair.first_n_cm)}┃{_value(pair.second_n_cm)}", strong(PLAIN)),
    ]
    if apart is not None:
        verdict, style = _verdict(abs(apart) > practice.pair_balance_n_cm)
        line.append((f" {apart:+.1f}{verdict if pair.fresh else '~'}", style))
    return line


def _variation_only(along: Spread | None, across: Spread | None) -> Line:
    known = [s for s in (along, across) if s is not None and s.cv_pct is not None]
    if not known:
        return [("CV --", FAINT)]
    return [("CV " + " ".join(f"{s.cv_pct:.1f}%" for s in known), PLAIN)]


def _verdict(bad: bool) -> tuple[str, str]:
    return ("▲", WARNING) if bad else ("=", NORMAL)


def _value(value: float | None) -> str:
    return "  --" if value is None else f"{value:4.1f}"
