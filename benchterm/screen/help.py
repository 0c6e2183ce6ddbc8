"""Every key there is, and the name of any key that is pressed."""

from __future__ import annotations

from collections.abc import Iterable

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from benchterm.phrases.keypad import KEYPAD_HELP
from benchterm.screen.ink import ACTION, BOLD, FAINT, PLAIN, Part, strong

NO_KEY_YET = "Press any key: its name is shown here."


class HelpScreen(Screen[None], inherit_bindings=False):
    """Lists the keys of the screen it was called from."""

    DEFAULT_CSS = """
    HelpScreen { background: $background; color: $foreground; }
    HelpScreen #heading, HelpScreen #key { height: 1; background: $bench-bar; }
    HelpScreen VerticalScroll { height: 1fr; padding: 0 1; }
    """
    BINDINGS = [
        Binding("2,down", "scroll('scroll_down')", "down a line", id="help.down"),
        Binding("8,up", "scroll('scroll_up')", "up a line", id="help.up"),
        Binding(
            "3,pagedown,space", "scroll('scroll_page_down')", "down a page", id="help.page-down"
        ),
        Binding("9,pageup", "scroll('scroll_page_up')", "up a page", id="help.page-up"),
        Binding("enter,escape,0", "close", "back", id="help.close"),
    ]
    AUTO_FOCUS = ""

    def __init__(self, bindings: Iterable[Binding], *, entries: bool) -> None:
        super().__init__()
        self._listed = list(bindings)
        self._entries = entries

    def compose(self) -> ComposeResult:
        """Heading, the list, the name of the last key."""
        yield Static(
            Content.assemble((" Every key", BOLD), "   2 and 8 scroll, Enter goes back"),
            id="heading",
        )
        with VerticalScroll():
            yield Static(self._text())
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

    def _text(self) -> Content:
        parts: list[str | Part] = []
        if self._entries:
            parts.append(("Entries: what is keyed before Enter\n", strong(ACTION)))
            for keys, meaning in KEYPAD_HELP:
                parts += [(f"  {keys:<16}", BOLD), (f"{meaning}\n", PLAIN)]
            parts.append("  Letters begin a phrase: far 3 clicks 22.5, note ..., undo\n\n")
        parts.append(("Keys, and their ids for the settings file ([keys])\n", strong(ACTION)))
        own = HelpScreen.BINDINGS
        for binding in (*self._listed, *(b for b in own if isinstance(b, Binding))):
            parts += [
                (f"  {binding.key.replace(',', ' '):<22}", BOLD),
                (f"{binding.description:<34}", PLAIN),
                (f"{binding.id}\n", FAINT),
            ]
        return Content.assemble(*parts)


def merged(bindings: Iterable[Binding]) -> list[Binding]:
    """Bindings in force, with the keys of one id gathered in one."""
    by_id: dict[str, list[Binding]] = {}
    for binding in bindings:
        by_id.setdefault(binding.id or binding.action, []).append(binding)
    return [
        Binding(",".join(b.key for b in same), same[0].action, same[0].description, id=name)
        for name, same in by_id.items()
    ]
