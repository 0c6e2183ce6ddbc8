"""A page of text that is worked out beside the screen and scrolled by keypad."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static
from textual.worker import get_current_worker

from benchterm.screen.keying import NUM_LOCK_KEYS, NUM_LOCK_OFF, run_bound

WORKING = "Working it out ..."


class SheetScreen(Screen[bool], inherit_bindings=False):
    """Shows a page; hands back whether to go on."""

    DEFAULT_CSS = """
    SheetScreen { background: $background; color: $foreground; }
    SheetScreen VerticalScroll { height: 1fr; scrollbar-size-vertical: 1; }
    SheetScreen #sheet { padding: 0 0 0 1; }
    SheetScreen #keys { height: 1; background: $bench-bar; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "go_on", "on to the bench", id="sheet.go-on"),
        Binding("minus,subtract,escape", "go_back", "back", id="sheet.back"),
        Binding("2,down", "scroll('scroll_down')", "down a line", id="sheet.down"),
        Binding("8,up", "scroll('scroll_up')", "up a line", id="sheet.up"),
        Binding(
            "3,pagedown,space", "scroll('scroll_page_down')", "down a page", id="sheet.page-down"
        ),
        Binding("9,pageup", "scroll('scroll_page_up')", "up a page", id="sheet.page-up"),
    ]
    AUTO_FOCUS = ""

    def __init__(self, keys: str) -> None:
        """``keys`` is the line at the foot."""
        super().__init__()
        self._keys = keys

    def text(self) -> str:
        """The page; called in a thread of its own."""
        raise NotImplementedError

    def compose(self) -> ComposeResult:
        """The sheet and the keys."""
        with VerticalScroll():
            yield Static(WORKING, id="sheet", markup=False)
        yield Static(self._keys, id="keys", markup=False)

    def on_mount(self) -> None:
        """Begin to work it out."""
        self.work()

    def work(self) -> None:
        """Work it out beside the screen: the first time loads the mathematics."""
        self.run_worker(self._work, thread=True, exclusive=True)

    async def on_key(self, event: events.Key) -> None:
        """Bound keys; a pad without Num Lock scrolls all the same where it can."""
        if not await run_bound(self, event) and event.key in NUM_LOCK_KEYS:
            self.query_one("#keys", Static).update(f" {NUM_LOCK_OFF}")

    def action_go_on(self) -> None:
        """On to the bench."""
        self.dismiss(True)

    def action_go_back(self) -> None:
        """Back to where one came from."""
        self.dismiss(False)

    def action_scroll(self, how: str) -> None:
        """Move the sheet."""
        move: Callable[..., None] = getattr(self.query_one(VerticalScroll), how)
        move(animate=False)

    def _work(self) -> None:
        text = self.text()
        if not get_current_worker().is_cancelled:  # A later one is under way.
            self.app.call_later(self._show, text)

    def _show(self, text: str) -> None:
        if self.is_attached:
            self.query_one("#sheet", Static).update(text)
