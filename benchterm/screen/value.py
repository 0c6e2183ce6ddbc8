"""The value of the moment in figures that can be read across the room."""

from __future__ import annotations

from dataclasses import dataclass

from benchterm.core.estimate import expectation
from benchterm.core.state import State
from benchterm.core.stations import Axis, Station
from benchterm.screen.digits import figures
from benchterm.screen.ink import BOLD, FAINT, NORMAL, PLAIN, WARNING, Line, apart, page, strong
from benchterm.screen.map import touched
from benchterm.screen.pane import Scene
from benchterm.words import against_target, arrow, clicks

NO_VALUE = "--"


@dataclass(frozen=True, slots=True)
class Now:
    """What the large figures are about."""

    station: Station
    axis: Axis
    value_n_cm: float | None
    held: bool
    current: bool
    """No roller on its axis has moved since."""
    clicks_since: int


def value_now(state: State) -> Now | None:
    """The reading asked back, else the last one at the station touched last, on its axis."""
    held = state.held
    if held is not None:
        return Now(held.station, held.axis, held.value_n_cm, True, True, 0)
    station = touched(state)
    if station is None:
        return None
    axis = getattr(state.trail[-1], "axis", None) or state.facts.usual_axis(station)
    reading = state.reading(station, axis)
    if reading is None:
        return Now(station, axis, None, False, False, 0)
    since = state.clicks_since(reading)
    current = state.is_current(reading)
    return Now(station, axis, reading.value_n_cm, False, current, since)


def draw_value(scene: Scene, width: int, height: int) -> list[Line]:
    """A caption, the figures, and what they are against: target and expectation."""
    state = scene.view.state
    now = value_now(state)
    target = state.facts.target
    if now is None:
        along, across = f"{target.along_n_cm:g}", f"{target.across_n_cm:g}"
        wanted = along if along == across else f"{along} along, {across} across"
        drawn = _figures(NO_VALUE, width, height)
        foot: Line = [(f"target {wanted} ±{target.tolerance_n_cm:g}", PLAIN)]
        return page([[("nothing read yet", FAINT)], *_rows(drawn, FAINT), foot], width, height)
    where: Line = [
        (f"{int(now.station)} {now.station.label}", BOLD),
        (f" {arrow(state.facts, now.axis)} ", PLAIN),
    ]
    if width >= 30:
        where.append((now.axis.value, PLAIN))
    text = NO_VALUE if now.value_n_cm is None else f"{now.value_n_cm:.1f}"
    style = _style(state, now)
    lines = [apart(where, [("N/cm", FAINT)], width)]
    lines += _rows(_figures(text, width, height), style)
    lines.append(_foot(scene, now, width))
    return page(lines, width, height)


def _figures(text: str, width: int, height: int) -> tuple[str, ...]:
    return figures(text, width, max(3, height - 2))


def _rows(drawn: tuple[str, ...], style: str) -> list[Line]:
    return [[(row, style)] for row in drawn]


def _style(state: State, now: Now) -> str:
    if now.value_n_cm is None:
        return FAINT
    if now.held:
        return WARNING
    if not now.current:
        return FAINT
    against = against_target(state, now.axis, now.value_n_cm)
    return {"=": NORMAL, "<": PLAIN, ">": WARNING}[against]


def _foot(scene: Scene, now: Now, width: int) -> Line:
    state = scene.view.state
    target = state.facts.target
    wanted = target.of(now.axis)
    if state.held is not None:
        asked = "asked back, " if width >= 30 else ""
        return [(f"? {asked}expected {state.held.expected_n_cm:.1f}", strong(WARNING))]
    if now.value_n_cm is None:
        return [(f"not read here{_expect(scene, now)}", FAINT)]
    if not now.current:
        number = now.clicks_since
        since = f"{number:+d} {clicks(number).split()[1]} since" if number else "turned since"
        return [(f"{since}{_expect(scene, now)}", PLAIN)]
    off = now.value_n_cm - wanted
    against = against_target(state, now.axis, now.value_n_cm)
    word = {"=": "in tolerance", "<": "under", ">": "over"}[against]
    whole = f"{against} {word}: {off:+.1f} of {wanted:g} ±{target.tolerance_n_cm:g}"
    short = f"{against} {off:+.1f} of {wanted:g}"
    return [(whole if len(whole) <= width else short, PLAIN)]


def _expect(scene: Scene, now: Now) -> str:
    """By the estimate that the advice goes by, so that the two do not differ; empty until then."""
    if not scene.advised:
        return ""
    likely = expectation(scene.view.state, now.station, now.axis, scene.view.now_s)
    return "" if likely.rests_on is None else f", expect {likely.value_n_cm:.1f}"
