"""The lines above and below: title, advice, entry, message, link lights."""

from __future__ import annotations

from datetime import datetime, timedelta

from benchterm.core.advice import SHOWN, Advice, Severity
from benchterm.core.gates import minutes_and_seconds
from benchterm.core.stages import Stage
from benchterm.core.units import CountUnit
from benchterm.desk import View
from benchterm.screen.feed import Light, Link
from benchterm.screen.ink import (
    ACTION,
    BOLD,
    DANGER,
    FAINT,
    NORMAL,
    PLAIN,
    WARNING,
    Line,
    Part,
    apart,
    block,
    length,
    page,
    strong,
    wrap,
)
from benchterm.screen.pane import Scene
from benchterm.words import clock

_SEVERITY_STYLES = {
    Severity.STOP: DANGER,
    Severity.CARE: WARNING,
    Severity.DO: ACTION,
    Severity.KNOW: PLAIN,
}
_LIGHT_STYLES = {
    Light.GOOD: NORMAL,
    Light.NONE: FAINT,
    Light.WAITING: WARNING,
    Light.BROKEN: DANGER,
}


def draw_title(scene: Scene, width: int, height: int) -> list[Line]:
    """Screen, mesh, stage, timer, clock."""
    view = scene.view
    state = view.state
    stage = f"{int(state.stage)}/{len(Stage)} {state.stage.label}"
    if state.closed:
        stage = "closed, finished" if state.finished else "closed, given up"
    mesh = state.facts.mesh
    left: Line = [(f" screen {state.facts.screen_id}  ", BOLD), (stage, strong(ACTION))]
    cloth = f"  {mesh.threads_cm:g}{CountUnit.PER_CM.value} {mesh.thread_um:g} µm"
    right: Line = [*_timer(view), (f"  {clock(view.now_s)}", PLAIN)]
    o_clock = _time_of_day(view)
    if o_clock and width >= 78:
        right.append((f"  {o_clock}", BOLD))
    right.append((" ", PLAIN))
    if length(left) + len(cloth) + length(right) <= width:
        left.append((cloth, FAINT))
    return page([apart(left, right, width)], width, height)


def draw_advice(scene: Scene, width: int, height: int) -> list[Line]:
    """The most important advice, its reason below it if need be; then the next ones."""
    if not scene.advised:
        return page([[(" … working out what to do next", FAINT)]], width, height)
    advice = scene.view.advice
    if not advice:
        return page([[(" · nothing to say", FAINT)]], width, height)
    first = _one_line(advice[0], first=True)
    lines = [first]
    if length(first) > width and height > 1:
        lines = _folded(first, width)
    lines += [_one_line(one, first=False) for one in advice[1:SHOWN]]
    return page(lines, width, height)


def draw_entry(scene: Scene, width: int, height: int) -> list[Line]:
    """What has been typed, and what Enter will take."""
    typed: Line = [(" ▸ ", strong(ACTION)), (scene.typed, BOLD), ("▏", ACTION)]
    if not scene.typed:
        waits: Part = (f"  ◈ {scene.preview}", strong(ACTION))
        hint = waits if scene.preview else (f"  {scene.keys_hint}", FAINT)
        return page([[*typed, hint]], width, height)
    mark: Part = ("  = ", ACTION) if scene.in_order else ("  … ", WARNING)
    style = strong(PLAIN) if scene.in_order else WARNING
    return page([[*typed, mark, (scene.preview, style)]], width, height)


def draw_message(scene: Scene, width: int, height: int) -> list[Line]:
    """The last thing the bench said."""
    message = scene.message
    first, *more = wrap(message.text, width - 3)
    lines: list[Line] = [[(f" {message.symbol} ", strong(message.style)), (first, message.style)]]
    lines += [[(f"   {text}", message.style)] for text in more]
    return page(lines, width, height)


def message_rows(scene: Scene, width: int) -> int:
    """Rows the message wants, two at most."""
    return min(2, len(wrap(scene.message.text, width - 3)))


def draw_links(scene: Scene, width: int, height: int) -> list[Line]:
    """The link lights, and the keys for help and for leaving."""
    lights: Line = [(" ", PLAIN)]
    for link in scene.links:
        lights += [_light(link), ("  ", PLAIN)]
    keys: Line = [("F1 help  ^Q leave ", FAINT)]
    if length(lights) + length(keys) > width:
        keys = [("F1 help ", FAINT)]
    return page([apart(lights, keys, width)], width, height)


def _light(link: Link) -> Part:
    style = _LIGHT_STYLES[link.light]
    return link.text, block(style) if link.light is Light.BROKEN else style


def _one_line(advice: Advice, *, first: bool) -> Line:
    style = _SEVERITY_STYLES[advice.severity]
    word = f" {advice.severity.symbol} {advice.severity.value.upper()} "
    if not first:
        return [(word, style), (f" {advice.do}", PLAIN), (f"  {advice.why}", FAINT)]
    return [(word, block(style)), (f" {advice.do}", strong(style)), (f"  {advice.why}", PLAIN)]


def _folded(line: Line, width: int) -> list[Line]:
    """An advice on two rows: what to do as far as it goes, then the rest of it and why."""
    word, (do, style), (why, _) = line
    begin, *rest = wrap(do, width - length([word]) - 1)
    more = " ".join(rest)
    return [
        [word, (f" {begin}", style)],
        [("   ", PLAIN), (f"{more} " if more else "", style), (why.strip(), PLAIN)],
    ]


def _timer(view: View) -> Line:
    timer = view.state.timer
    if timer is None:
        return []
    left_s = timer.left_s(view.now_s)
    if left_s == 0:
        return [(f"✓ {timer.stage.label} wait over", strong(NORMAL))]
    return [(f"◷ {timer.stage.label} {minutes_and_seconds(left_s)} left", strong(WARNING))]


def _time_of_day(view: View) -> str:
    """Local time of the moment shown: the last event's wall clock, and the time since."""
    recent = view.state.window.recent
    if not recent:
        return ""
    moment = datetime.fromisoformat(recent[-1].utc)
    since = timedelta(seconds=view.now_s - view.state.at_s)
    return f"{(moment + since).astimezone():%H:%M}"
