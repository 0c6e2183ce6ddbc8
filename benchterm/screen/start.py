"""The first screen: take up an unfinished session, or begin a new one."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from textual.app import ComposeResult

from benchterm.core.bench import NotSaved
from benchterm.core.facts import Facts
from benchterm.desk import Desk
from benchterm.errors import BenchError
from benchterm.records.sessions import Standing, Summary, unfinished
from benchterm.screen.bench_screen import BenchScreen
from benchterm.screen.feed import LiveFeed
from benchterm.screen.ink import (
    ACTION,
    BOLD,
    DANGER,
    FAINT,
    PLAIN,
    WARNING,
    Line,
    apart,
    page,
    strong,
    wrap,
)
from benchterm.screen.keying import HELP_LINE, NUM_LOCK_OFF, TypingScreen
from benchterm.screen.pane import Message, Pane
from benchterm.screen.setup_screen import SetupScreen
from benchterm.screen.shop import Shop
from benchterm.words import age

KEYS = "number Enter: resume   + Enter: a new screen   F1 help   ^Q leave"
NEW = "+"


class StartScreen(TypingScreen[None]):
    """Offers what can be done, all by keypad."""

    DEFAULT_CSS = """
    StartScreen { background: $background; color: $foreground; }
    StartScreen #heading, StartScreen #keys { height: 1; background: $bench-bar; }
    StartScreen #sessions { height: 1fr; padding: 1 2; }
    StartScreen #typed { height: 1; }
    StartScreen #said { height: 3; }
    """

    def __init__(
        self, shop: Shop, *, begin: Facts | None = None, resume: Path | None = None
    ) -> None:
        super().__init__()
        self.shop = shop
        self._begin_at_once = begin
        self._resume_at_once = resume
        self.said = Message()
        self.listed: list[Summary] = []
        """Unfinished sessions, the damaged ones among them."""
        self.is_first = True
        """No screen has been made here that a form could be filled in like."""

    def compose(self) -> ComposeResult:
        """Heading, the sessions, what is typed, what has been said, the keys."""
        yield Pane(_draw_heading, id="heading")
        yield Pane(_draw_sessions, id="sessions")
        yield Pane(_draw_typed, id="typed")
        yield Pane(_draw_said, id="said")
        yield Pane(_draw_keys, id="keys")

    def on_mount(self) -> None:
        """Go straight to the bench if that was asked for."""
        if self._resume_at_once is not None:
            self.resume(self._resume_at_once)
        elif self._begin_at_once is not None:
            self.begin(self._begin_at_once)

    def on_screen_resume(self) -> None:
        """Look again: a session may have been closed since."""
        self.listed = unfinished(self.shop.folder)
        self.is_first = self.shop.next_facts() == Facts()
        self.typed_on()

    @property
    def resumable(self) -> list[Summary]:
        """The sessions that can be taken up, as they are numbered."""
        return [one for one in self.listed if one.standing is Standing.UNFINISHED]

    def choice(self) -> Summary | str | None:
        """What Enter would do; with nothing typed, what is most likely wanted."""
        ready, text = self.resumable, self.typed.strip()
        if text == NEW or (not text and not ready):
            return NEW
        if not text:
            return ready[0]
        number = int(text) if text.isdecimal() else 0
        return ready[number - 1] if 1 <= number <= len(ready) else None

    async def action_take(self) -> None:
        """Resume the session chosen, or fill in the form for a new one."""
        match self.choice():
            case Summary(path):
                self.resume(path)
            case None if self.typed == HELP_LINE:
                self.typed = ""
                await self.app.run_action("help")
            case None:
                self.app.bell()
                self._say(f"There is no session {self.typed} to resume.", WARNING)
            case _:
                self.typed = ""
                form = SetupScreen(self.shop.next_facts(), self.shop.practice, self.shop.offers)
                self.app.push_screen(form, self._set_up)

    def begin(self, facts: Facts) -> None:
        """Open a new session and go to the bench."""
        self._sit_down(lambda: self.shop.begin(facts))

    def resume(self, path: Path) -> None:
        """Take a session up and go to the bench."""
        self._sit_down(lambda: self.shop.resume(path))

    def typed_on(self) -> None:
        """Show it all."""
        for pane in self.query(Pane):
            pane.show(self)

    def say_num_lock(self) -> None:
        """The pad sends arrows: say what to do."""
        self.app.bell()
        self._say(NUM_LOCK_OFF, WARNING)

    def _set_up(self, facts: Facts | None) -> None:
        if facts is not None:
            self.begin(facts)

    def _sit_down(self, open_desk: Callable[[], Desk]) -> None:
        self.typed = ""
        self.said = Message()
        try:
            desk = open_desk()
        except BenchError as error:
            self.app.bell()
            self._say(str(error), DANGER)
        except NotSaved as error:
            self.app.bell()
            self._say(f"NOT SAVED: {error}", DANGER)
        else:
            attached, opening = self.shop.attach_to(desk)
            feed = LiveFeed(desk, attached, self.shop.talk(desk.view().state.facts.operator))
            self.app.push_screen(BenchScreen(feed, self.shop.grammar, opening))

    def _say(self, text: str, style: str) -> None:
        self.said = Message(text, "✗", style)
        self.typed_on()


def _draw_heading(screen: StartScreen, width: int, height: int) -> list[Line]:
    return page([[(" benchterm", BOLD), (f"  {screen.shop.name}", PLAIN)]], width, height)


def _draw_sessions(screen: StartScreen, width: int, height: int) -> list[Line]:
    ready = screen.resumable
    lines: list[Line] = []
    if ready:
        lines += [[("Unfinished: resume by number", strong(ACTION))], []]
    room = height - 7 - (len(screen.listed) - len(ready))
    for number, one in enumerate(ready[: max(1, room)], 1):
        who = f"  {one.operator}" if one.operator else ""
        left: Line = [(f"{number:3d}  ", strong(ACTION)), (one.screen_id, BOLD)]
        left += [(f"  {int(one.stage)} {one.stage.label}", PLAIN), (who, FAINT)]
        lines.append(apart(left, [(f"last entry {_ago(screen, one)} ago", FAINT)], width))
    if len(ready) > max(1, room):
        lines.append([(f"     and {len(ready) - max(1, room)} more", FAINT)])
    lines += [
        [],
        [
            (f"  {NEW}  ", strong(ACTION)),
            ("a new screen", BOLD),
            ("" if screen.is_first else "  filled in like the last one", FAINT),
        ],
        [],
    ]
    for one in screen.listed:
        if one.standing is Standing.DAMAGED:
            lines.append([(f"  ■ damaged: {one.path.name}  {one.problem}", DANGER)])
    return page(lines, width, height)


def _ago(screen: StartScreen, one: Summary) -> str:
    last = datetime.fromisoformat(one.last_utc)
    return age((screen.shop.clock.utc() - last).total_seconds())


def _draw_typed(screen: StartScreen, width: int, height: int) -> list[Line]:
    match screen.choice():
        case Summary() as one:
            would, style = f"resume {one.screen_id}, {one.stage.label}", PLAIN
        case None if screen.typed == HELP_LINE:
            would, style = "every key", PLAIN
        case None:
            would, style = "no session has this number", WARNING
        case _:
            would, style = "begin a new screen", PLAIN
    typed: Line = [(" ▸ ", strong(ACTION)), (screen.typed, BOLD), ("▏", ACTION)]
    return page([[*typed, ("  = ", ACTION), (would, style)]], width, height)


def _draw_said(screen: StartScreen, width: int, height: int) -> list[Line]:
    said = screen.said
    first, *more = wrap(said.text, width - 3)
    lines: list[Line] = [[(f" {said.symbol} ", said.style), (first, said.style)]]
    return page([*lines, *([(f"   {text}", said.style)] for text in more)], width, height)


def _draw_keys(_: StartScreen, width: int, height: int) -> list[Line]:
    return page([[(f" {KEYS}", FAINT)]], width, height)
