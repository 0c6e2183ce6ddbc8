"""Every key there is, and the name of any key that is pressed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from rich.table import Table
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from benchterm.phrases.grammar import Saying
from benchterm.phrases.keypad import KEYPAD_HELP
from benchterm.screen.ink import BOLD

ENTRY_LINE = (
    ("letters", "a phrase: far 3 clicks 22.5, note a thin place, undo"),
    ("0 0", "this page; 0 0 3 the set-up sheet, 0 0 4 the likely map, 0 0 6 other glue"),
    ("Enter", "takes the line; on a line just refused: clears it"),
)
NO_KEY_YET = "Press any key: its name is shown here."


class HelpScreen(Screen[None], inherit_bindings=False):
    """Lists the keys of the screen it was called from."""

    DEFAULT_CSS = """
    HelpScreen { background: $background; color: $foreground; }
    HelpScreen #heading, HelpScreen #key { height: 1; background: $bench-bar; }
    HelpScreen VerticalScroll { height: 1fr; padding: 0 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("2,down", "scroll('scroll_down')", "down a line", id="help.down"),
        Binding("8,up", "scroll('scroll_up')", "up a line", id="help.up"),
        Binding(
            "3,pagedown,space", "scroll('scroll_page_down')", "down a page", id="help.page-down"
        ),
        Binding("9,pageup", "scroll('scroll_page_up')", "up a page", id="help.page-up"),
        Binding("enter,escape,0", "close", "back", id="help.close"),
    ]
    AUTO_FOCUS = ""

    def __init__(
        self, bindings: Iterable[Binding], *, entries: bool, sayings: Iterable[Saying] = ()
    ) -> None:
        super().__init__()
        self._sayings = tuple(sayings)
        self._listed = list(bindings)
        self._with_entries = entries

    def compose(self) -> ComposeResult:
        """Heading, the list, the name of the last key."""
        yield Static(
            Content.assemble((" Every key", BOLD), "   2 8 line   3 9 page   Enter: back"),
            id="heading",
        )
        with VerticalScroll():
            if self._with_entries:
                yield Static(self._entries())
            if self._sayings:
                yield Static(self._phrases())
            yield Static(self._keys())
        yield Static(NO_KEY_YET, id="key")

    def on_key(self, event: events.Key) -> None:
        """Show which key arrived."""
        char = f", character {event.character!r}" if event.is_printable else ""
        self.query_one("#key", Static).update(f" received: {event.key}{char}")

    def action_scroll(self, how: str) -> None:
        """Move the list."""
        getattr(self.query_one(VerticalScroll), how)(animate=False)

    def action_close(self) -> None:
        """Back to the screen beneath."""
        self.dismiss()

    def _entries(self) -> Table:
        table = _table("Entry", "what Enter makes of it")
        for keys, meaning in KEYPAD_HELP:
            table.add_row(keys, meaning)
        for keys, meaning in ENTRY_LINE:
            table.add_row(keys, meaning)
        return table

    def _phrases(self) -> Table:
        table = _table("Said or typed", "what it is for")
        for saying in self._sayings:
            first, *more = saying.examples or (saying.pattern,)
            table.add_row(first, saying.what)
            for example in more:
                table.add_row(example, "")
        return table

    def _keys(self) -> Table:
        table = _table("Keys", "", r"id in the settings, \[keys]")
        own = merged(b for b in HelpScreen.BINDINGS if isinstance(b, Binding))
        for binding in (*self._listed, *own):
            table.add_row(binding.key.replace(",", " "), binding.description, binding.id)
        return table


def _table(*heads: str) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="bold underline")
    for i, head in enumerate(heads):
        table.add_column(head, style="bold" if i == 0 else "", no_wrap=i == 0)
    return table


def merged(bindings: Iterable[Binding]) -> list[Binding]:
    """Bindings in force, with the keys of one id gathered in one."""
    by_id: dict[str, list[Binding]] = {}
    for binding in bindings:
        by_id.setdefault(binding.id or binding.action, []).append(binding)
    return [
        Binding(",".join(b.key for b in same), same[0].action, same[0].description, id=name)
        for name, same in by_id.items()
    ]
