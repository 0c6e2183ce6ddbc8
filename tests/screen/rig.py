"""A bench on a screen without a terminal: a clock that is jumped, keys that are pressed."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from textual.pilot import Pilot

from benchterm.core.checklists import TURNING, caution_prefix
from benchterm.core.events import Event, Source
from benchterm.core.facts import Facts
from benchterm.core.gates import open_checks
from benchterm.core.intents import Go, Tick
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.desk import Desk, View
from benchterm.locations import grammar_file
from benchterm.phrases.grammar import Grammar
from benchterm.screen.app import BenchApp
from benchterm.screen.bench_screen import BenchScreen
from benchterm.screen.feed import LiveFeed
from benchterm.screen.pane import Pane, Scene
from benchterm.screen.shop import Shop

SMALL = (80, 24)
GRAMMAR = Grammar.load(grammar_file("en"))
FACTS = Facts(screen_id="S-041")
NAMES = {"+": "plus", "-": "minus", "*": "asterisk", "/": "slash", ".": "full_stop", " ": "space"}
OTHER_NAMES = {
    "+": "add",
    "-": "subtract",
    "*": "multiply",
    "/": "divide",
    ".": "decimal",
    " ": "space",
}
"""What the operator keys are called in most terminals, and by those with a newer protocol."""


class Clock:
    """Stands still until it is moved."""

    def __init__(self) -> None:
        self.s = 0.0

    def utc(self) -> datetime:
        return datetime(2026, 3, 2, 9, 0, tzinfo=UTC) + timedelta(seconds=self.s)

    def monotonic(self) -> float:
        return self.s


def desk(path: Path | None = None, stage: Stage = Stage.PREPARE, facts: Facts = FACTS) -> Desk:
    """A desk with a new session, taken straight to a stage.

    Beyond the first stage that turns rollers, what is warned of there has been acknowledged.
    """
    opened = Desk.begin(facts, Practice(), "s", "bench", path, Clock())
    if stage is not Stage.PREPARE:
        opened.take(Go(stage, "set up by a test"), Source.PIPE)
    while stage > TURNING and _is_warned(opened.bench.state):
        opened.take(Tick(), Source.PIPE)
    return opened


def _is_warned(state: State) -> bool:
    return any(c.id.startswith(caution_prefix(TURNING)) for c in open_checks(state))


def shop(folder: Path, **more: Any) -> Shop:
    return Shop(folder, GRAMMAR, "by the door", clock=Clock(), **more)


class Rig:
    """The app with a hand on its keys."""

    def __init__(self, app: BenchApp, pilot: Pilot[None]) -> None:
        self.app = app
        self.pilot = pilot
        self.bells = 0
        app.bell = self._ring  # type: ignore[method-assign]

    def _ring(self) -> None:
        self.bells += 1

    @property
    def screen(self) -> Any:
        return self.app.screen

    @property
    def view(self) -> View:
        return self.screen.feed.view()

    @property
    def state(self) -> State:
        return self.view.state

    async def keys(self, text: str, names: dict[str, str] = NAMES) -> None:
        """Press the keys of a text."""
        await self.pilot.press(*(names.get(char, char) for char in text))
        await self.pilot.pause()

    async def enter(self, *lines: str, names: dict[str, str] = NAMES) -> None:
        """Key lines, each with its Enter."""
        for line in lines:
            await self.pilot.press(*(names.get(char, char) for char in line), "enter")
            await self.pilot.pause()

    async def advised(self) -> None:
        """Wait until the advice on the entries so far is worked out and shown."""
        while not self.screen.advised:
            await self.pilot.pause(0.01)
        await self.pilot.pause()

    def pane(self, name: str) -> str:
        """What a part of the screen shows."""
        return self.screen.query_one(f"#{name}", Pane).text

    def shown(self) -> str:
        """Everything that is on the screen, as it stands there."""
        panes = [p for p in self.screen.query(Pane) if p.display and p.region.area]
        return "\n".join(pane.text for pane in panes)


@asynccontextmanager
async def rig(
    first: Callable[[], Any], size: tuple[int, int] = SMALL, **more: Any
) -> AsyncIterator[Rig]:
    app = BenchApp(first, **more)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        yield Rig(app, pilot)


@asynccontextmanager
async def bench(at: Desk, size: tuple[int, int] = SMALL, **more: Any) -> AsyncIterator[Rig]:
    async with rig(lambda: BenchScreen(LiveFeed(at), GRAMMAR), size, **more) as opened:
        yield opened


def scene(at: Desk, **more: Any) -> Scene:
    """What a board would be given to show."""
    feed = LiveFeed(at)
    return Scene(feed.view(), feed.links(), **more)


def events(at: Desk) -> tuple[Event, ...]:
    return at.bench.state.window.recent
