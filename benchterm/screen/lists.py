"""The stage's check-list, the last entries, and a question where one is open."""

from __future__ import annotations

from dataclasses import dataclass

from benchterm.core.checklists import Check
from benchterm.core.decide import undoable
from benchterm.core.events import Event, Source, Undone
from benchterm.core.gates import open_checks, open_items, reasons, stage_checks
from benchterm.core.stages import Stage
from benchterm.core.state import Held, State, WayOn
from benchterm.screen.ink import (
    ACTION,
    BOLD,
    FAINT,
    NORMAL,
    PLAIN,
    WARNING,
    Line,
    apart,
    page,
    strong,
    wrap,
)
from benchterm.screen.pane import Scene
from benchterm.words import arrow, entry_words


def draw_checks(scene: Scene, width: int, height: int) -> list[Line]:
    """Check-list of the stage, scrolled so that the next open item is on it, in full."""
    state, now_s = scene.view.state, scene.view.now_s
    listed, waiting = stage_checks(state), open_checks(state)
    following = waiting[0] if waiting else None
    blocks = [_check(i, c, state, c is following, width) for i, c in enumerate(listed, 1)]
    texts = {c.text for c in listed}
    blocks += [[[(f"  ○ {item}", PLAIN)]] for item in open_items(state, now_s) if item not in texts]
    place = listed.index(following) if following else 0
    done = len(listed) - len(waiting)
    head = f"checks {done} of {len(listed)}" if listed else "checks: none here"
    way_on = "+ goes on" if scene.takes and not open_items(state, now_s) else ""
    title = apart([(head, BOLD)], [(way_on, NORMAL)], width)
    return page([title, *_around(blocks, place, height - 1)], width, height)


def _check(number: int, check: Check, state: State, following: bool, width: int) -> list[Line]:
    word = "caution: " if check.caution else ""
    if check.id in state.ticked:
        return [[(f"  ✓ {number} ", NORMAL), (f"{word}{check.text}", FAINT)]]
    style = WARNING if check.caution else PLAIN
    if not following:
        return [[(f"  ○ {number} ", PLAIN), (f"{word}{check.text}", style)]]
    mark = f"▸ {'!' if check.caution else '○'} {number} "
    first, *more = wrap(f"{word}{check.text}", width - len(mark))
    indent = " " * len(mark)
    return [
        [(mark, strong(ACTION)), (first, strong(style))],
        *([(indent + text, strong(style))] for text in more),
    ]


def _around(blocks: list[list[Line]], place: int, height: int) -> list[Line]:
    """As many blocks as fit, the one at ``place`` among them, one before it if there is room."""
    if sum(len(b) for b in blocks) <= height:
        return [line for b in blocks for line in b]
    after = sum(len(b) for b in blocks[place:])
    start = place
    while start > 0 and after + len(blocks[start - 1]) <= height:
        start -= 1
        after += len(blocks[start])
    if start == place and place > 0 and len(blocks[place]) + 1 < height:
        start -= 1
    return [line for b in blocks[start:] for line in b][:height]


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry in the list."""

    events: tuple[Event, ...]
    number: int | None
    """To undo it by; ``None``: it cannot be undone."""
    undone: bool


def last_entries(state: State) -> list[Entry]:
    """Entries the latest first, those that no longer count among them; without the undos."""
    numbers = {events[0].entry: i for i, events in enumerate(undoable(state), 1)}
    groups: dict[int, list[Event]] = {}
    for event in state.window.recent:
        if not isinstance(event.what, Undone):
            groups.setdefault(event.entry, []).append(event)
    return [
        Entry(tuple(events), numbers.get(entry), entry in state.window.undone)
        for entry, events in reversed(groups.items())
    ]


def draw_entries(scene: Scene, width: int, height: int) -> list[Line]:
    """The last entries, each with its source and the number to undo it by."""
    state = scene.view.state
    hint: Line = [("- and number undoes", FAINT)] if width >= 32 and scene.takes else []
    lines = [apart([("last entries", BOLD)], hint, width)]
    for entry in last_entries(state)[: height - 1]:
        words = entry_words(entry.events, state)
        source = entry.events[0].source
        beside: Line = [(f" {source.value}", FAINT)]
        if entry.undone:
            left: Line = [(" - ", FAINT), (words, f"strike {FAINT}")]
            beside = [(" undone", FAINT)]
        elif entry.number is None:
            left = [("   ", FAINT), (words, FAINT)]
        else:
            left = [(f"{entry.number:2d} ", strong(ACTION)), (words, PLAIN)]
        lines.append(apart(left, beside if source is not Source.BENCH else [], width))
    return page(lines, width, height)


def draw_question(scene: Scene, width: int, height: int) -> list[Line]:
    """The open question with its numbered choices."""
    state = scene.view.state
    if state.held is not None:
        return page(_held(state.held, state), width, height)
    if state.way_on is not None:
        return page(_way_on(state.way_on, reasons(state), width, height), width, height)
    return page([], width, height)


def _held(held: Held, state: State) -> list[Line]:
    where = f"{held.value_n_cm:.1f} at {held.station.label} {arrow(state.facts, held.axis)}"
    return [
        [(f"? {where}: expected about {held.expected_n_cm:.0f}. Keep it?", strong(WARNING))],
        [],
        [("   *  ", strong(ACTION)), ("yes, it is what the gauge shows", PLAIN)],
        [("   /  ", strong(ACTION)), ("no, drop it (or read again)", PLAIN)],
    ]


def _way_on(way_on: WayOn, offered: tuple[str, ...], width: int, height: int) -> list[Line]:
    to = Stage(way_on.to).label
    asked = f"? To {to}: {len(way_on.open_items)} still open. Why pass over?"
    stay: Line = [(" / ", strong(ACTION)), ("stays", PLAIN)]
    choices: list[Line] = [
        [(f" * {i} ", strong(ACTION)), (reason, PLAIN)] for i, reason in enumerate(offered, 1)
    ]
    lines: list[Line] = [apart([(asked, strong(WARNING))], stay, width)]
    if height < len(choices) + 2:
        count = len(way_on.open_items)
        more = f" (and {count - 1} more)" if count > 1 else ""
        open_line: Line = apart([(f"   {way_on.open_items[0]}", PLAIN)], [(more, FAINT)], width)
        columns = _two_columns(choices, width)
        return [*lines, *([open_line] if height > len(columns) + 1 else []), *columns]
    items = [f"   · {item}" for item in way_on.open_items]
    room = height - len(choices) - 1
    if len(items) > room:
        items = [*items[: room - 1], f"   · and {len(items) - room + 1} more"]
    return [*lines, *([(item, FAINT)] for item in items), *choices]


def _two_columns(lines: list[Line], width: int) -> list[Line]:
    half = -(-len(lines) // 2)
    rest = [*lines[half:], []]
    left_width = width // 2
    return [
        [*apart(left, [], left_width), *right]
        for left, right in zip(lines[:half], rest, strict=False)
    ]
