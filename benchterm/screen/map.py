"""The mesh as the operator sees it: nine stations in a grid like the keypad's."""

from __future__ import annotations

from benchterm.core.state import Reading, State
from benchterm.core.stations import Axis, Station
from benchterm.desk import View
from benchterm.screen.digits import figures
from benchterm.screen.ink import (
    ACTION,
    BOLD,
    FAINT,
    NORMAL,
    PLAIN,
    WARNING,
    Line,
    apart,
    block,
    fit,
    page,
    strong,
)
from benchterm.screen.pane import Scene
from benchterm.words import against_target, age, arrow, clicks, is_stale

_ROOM_FOR_FIGURES = (22, 6)
"""Columns and rows from which on a station's value is drawn large."""
_ROOM_FOR_TALL_FIGURES = 9
"""Rows from which on they are five rows high."""
_VALUE_STYLES = {"=": NORMAL, "<": PLAIN, ">": WARNING}


def touched(state: State) -> Station | None:
    """The station that the last entry was about."""
    if state.held is not None:
        return state.held.station
    return state.trail[-1].station if state.trail else None


def draw_map(scene: Scene, width: int, height: int) -> list[Line]:
    """The nine stations with value, age, clicks and relief; tilt in the lower edge."""
    view = scene.view
    cell, tall = (width - 4) // 3, (height - 4) // 3
    frame = FAINT
    lines: list[Line] = []
    for row, joints in ((7, "┌┬┐"), (4, "├┼┤"), (1, "├┼┤")):
        lines.append([(_edge(joints, cell), frame)])
        stations = [Station(row + i) for i in range(3)]
        cells = [_cell(view, station, cell, tall) for station in stations]
        for beside in zip(*cells, strict=True):
            line: Line = [("│", frame)]
            for part in beside:
                line += [*part, ("│", frame)]
            lines.append(line)
    lines.append(_foot(view, cell))
    return page(lines, width, height)


def _edge(joints: str, cell: int) -> str:
    return joints[0] + joints[1].join(["─" * cell] * 3) + joints[2]


def _cell(view: View, station: Station, width: int, height: int) -> list[Line]:
    state = view.state
    here = touched(state) is station
    name = f"{int(station)} {station.label}"
    if height < 3 and station.is_roller and state.net_clicks(station):
        name = f"{name:<{width - 4}}{state.net_clicks(station):+4d}"
    title: Line = [(name.ljust(width), block(PLAIN))] if here else [(name, BOLD)]
    usual = state.facts.usual_axis(station)
    lines = [title]
    large = width >= _ROOM_FOR_FIGURES[0] and height >= _ROOM_FOR_FIGURES[1]
    tall = 5 if height >= _ROOM_FOR_TALL_FIGURES else 3
    lines += (
        _large(view, station, usual, width, tall)
        if large
        else [_small(view, station, usual, width)]
    )
    below = _work_done(state, station, roomy=large)
    other = state.reading(station, usual.other)
    if other is not None and large:
        lines.append(_small(view, station, usual.other, width))
    if large and height > len(lines) + 1:
        lines.append([])
    if other is not None and not large:
        beside = [(f"{other.value_n_cm:.1f}{arrow(state.facts, other.axis)}", FAINT)]
        lines.append(apart([(" ", PLAIN), *below], beside, width))
    else:
        lines.append([(" ", PLAIN), *below])
    lines += [[] for _ in range(height - len(lines))]
    return [fit(line, width) for line in lines[:height]]


def _small(view: View, station: Station, axis: Axis, width: int) -> Line:
    state = view.state
    held = state.held
    if held is not None and held.station is station and held.axis is axis:
        return [(f"?{held.value_n_cm:4.1f}{arrow(state.facts, axis)} kept?", strong(WARNING))]
    reading = state.reading(station, axis)
    if reading is None:
        return [("  --", FAINT)]
    mark = "▸" if touched(state) is station and axis is _shown_axis(state, station) else " "
    against, style = _judged(state, reading)
    return apart(
        [
            (mark, ACTION),
            (f"{reading.value_n_cm:4.1f}", strong(style)),
            (f"{arrow(state.facts, axis)}{against}", style),
        ],
        [_age(view, reading)],
        width,
    )


def _large(view: View, station: Station, axis: Axis, width: int, tall: int) -> list[Line]:
    state = view.state
    reading = state.reading(station, axis)
    if reading is None or (state.held is not None and state.held.station is station):
        return [[], _small(view, station, axis, width), *([[]] * (tall - 2))]
    against, style = _judged(state, reading)
    drawn = figures(f"{reading.value_n_cm:.1f}", width - 6, tall)
    beside: list[Line] = [
        [_age(view, reading)],
        *([[]] * (len(drawn) - 2)),
        [(f" {arrow(state.facts, axis)}{against}", strong(style))],
    ]
    return [
        apart([(f" {row}", style)], side, width) for row, side in zip(drawn, beside, strict=True)
    ]


def _shown_axis(state: State, station: Station) -> Axis:
    last = state.trail[-1]
    return last.axis if isinstance(last, Reading) else state.facts.usual_axis(station)


def _judged(state: State, reading: Reading) -> tuple[str, str]:
    against = against_target(state, reading.axis, reading.value_n_cm)
    return against, _VALUE_STYLES[against]


def _age(view: View, reading: Reading) -> tuple[str, str]:
    if is_stale(view.state, reading, view.now_s):
        return "stale", WARNING
    return age(view.now_s - reading.at_s), FAINT


def _work_done(state: State, station: Station, *, roomy: bool) -> Line:
    if station.is_roller:
        net = state.net_clicks(station)
        if roomy:
            return [(f"{net:+d} {clicks(net).split()[1]} net", PLAIN)] if net else []
        return [(f"{net:+d}cl", PLAIN)] if net else []
    relief = state.relief_mm[station]
    if station.is_corner and relief:
        return [(f"relief {relief:g} mm" if roomy else f"-{relief:g}mm", PLAIN)]
    return []


def _foot(view: View, cell: int) -> Line:
    """The lower edge, with the tilt of the plane through the readings in it."""
    tilts = []
    for axis in Axis:
        spread = view.balance.spread(axis)
        if spread is not None and spread.tilt_columns is not None and spread.tilt_rows is not None:
            size = abs(spread.tilt_columns) + abs(spread.tilt_rows)
            tilts.append((size, axis, spread.tilt_columns, spread.tilt_rows))
    plain = _edge("└┴┘", cell)
    if not tilts:
        return [(plain, FAINT)]
    room = len(plain) - 5
    both = "   ".join(_tilt_words(*tilt[1:]) for tilt in tilts)
    words = both if len(both) <= room else _tilt_words(*max(tilts)[1:])
    return [("└─ ", FAINT), (words, PLAIN), (f" {'─' * (room - len(words))}┘", FAINT)]


def _tilt_words(axis: Axis, columns: float, rows: float) -> str:
    """How much the tension rises, N/cm a station, towards which sides."""
    side = "right" if columns >= 0 else "left"
    end = "far" if rows >= 0 else "near"
    return f"tilt {axis.value} {abs(columns):.1f} {side}, {abs(rows):.1f} {end}"
