"""The caution that waits to be acknowledged, as large as there is room for."""

from __future__ import annotations

from benchterm.core.gates import open_checks, stage_checks
from benchterm.screen.ink import BOLD, FAINT, WARNING, Line, block, page, strong, wrap
from benchterm.screen.letters import lettered
from benchterm.screen.pane import Scene

_MARGIN = 1


def draw_warning(scene: Scene, width: int, height: int) -> list[Line]:
    """Which of how many, then its words; nothing where none waits."""
    state = scene.view.state
    waiting = open_checks(state)
    if not waiting or not waiting[0].caution:
        return page([], width, height)
    cautions = [check for check in stage_checks(state) if check.caution]
    number = cautions.index(waiting[0]) + 1
    lines: list[Line] = [
        [
            (f" ▲ caution {number} of {len(cautions)} ", block(WARNING)),
            ("  * Enter: read and understood", FAINT),
        ]
    ]
    room = width - 2 * _MARGIN
    large = lettered(waiting[0].text, room, height - 1)
    style = strong(WARNING) if large else BOLD
    words = large or tuple(wrap(waiting[0].text, room))
    lines += [[(" " * _MARGIN + row, style)] for row in words]
    return page(lines, width, height)
