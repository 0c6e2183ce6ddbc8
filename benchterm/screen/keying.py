"""Typing with one hand on the keypad: what every screen that takes entries has in common."""

from __future__ import annotations

from typing import Any, TypeVar

from textual import events
from textual.binding import Binding, BindingType
from textual.screen import Screen

NUM_LOCK_KEYS = frozenset(
    {
        *("home", "up", "pageup", "left", "kp_begin", "right"),
        *("end", "down", "pagedown", "insert", "delete"),
    }
)
"""What the keypad's digits and point send while Num Lock is off."""
NUM_LOCK_OFF = "Num Lock is off: press it once. (The digit row works all the same.)"
HELP_LINE = "00"
"""With Enter: help, for a hand that has no function keys."""
PAD = "0123456789+-*/."
CLEARS = "  (Enter: clear)"
"""Said of a line that was refused."""
LONGEST = 400
"""Characters an entry can have: a long note."""

_NAMES = {
    "+": ("plus,add", "plus"),
    "-": ("minus,subtract", "minus"),
    "*": ("asterisk,multiply", "star"),
    "/": ("slash,divide", "slash"),
    ".": ("full_stop,decimal", "point"),
}
"""Terminals have two names for each key of the pad that is no digit."""


def _typing() -> list[BindingType]:
    keys: list[BindingType] = [
        Binding(digit, f"type('{digit}')", f"type {digit}", id=f"type.{digit}", show=False)
        for digit in PAD[:10]
    ]
    keys += [
        Binding(names, f"type('{char}')", f"type {char}", id=f"type.{word}", show=False)
        for char, (names, word) in _NAMES.items()
    ]
    keys += [
        Binding("enter", "take", "take the entry", id="entry.take", show=False),
        Binding("backspace", "rub_out", "rub out one character", id="entry.rub-out", show=False),
        Binding("escape", "clear", "clear the entry", id="entry.clear", show=False),
    ]
    return keys


Result = TypeVar("Result")
"""What a screen hands back."""


async def run_bound(screen: Screen[Any], event: events.Key) -> bool:
    """Run what a key is bound to, if anything, and let the key go no further.

    Textual would run bindings in the app's queue and other keys in the screen's, so that fast
    typing could come out of order; here every key is done with before the next.
    """
    event.stop()
    event.prevent_default()
    bound = screen.active_bindings.get(event.key)
    if bound is None:
        return False
    await screen.app.run_action(bound.binding.action, bound.node)
    return True


class TypingScreen(Screen[Result], inherit_bindings=False):
    """A screen with one line of typed text; what Enter does is the subclass's business."""

    BINDINGS = _typing()
    AUTO_FOCUS = ""

    def __init__(self) -> None:
        super().__init__()
        self.typed = ""
        self.refused = ""
        """The line as it was refused last, if it still stands so."""
        self._whole = False
        """Whether that was an entry to its end, only not one that could be taken."""

    def refuse_line(self, *, whole: bool) -> bool:
        """Leave the line to be mended; refused twice running it is cleared, and this is true.

        ``whole``: nothing is missing at its end. A key of the pad, which has none to rub out with,
        then begins a new line.
        """
        again = bool(self.typed) and self.typed == self.refused
        if again:
            self.typed = ""
        self.refused, self._whole = self.typed, whole
        return again

    def action_type(self, char: str) -> None:
        """One more character."""
        if self.refused and self._whole and char in PAD:
            self.typed = ""
        self.refused = ""
        if len(self.typed) < LONGEST:
            self.typed += char
        self.typed_on()

    def action_rub_out(self) -> None:
        """One character less."""
        self.typed, self.refused = self.typed[:-1], ""
        self.typed_on()

    def action_clear(self) -> None:
        """Nothing typed."""
        self.typed = self.refused = ""
        self.typed_on()

    async def action_take(self) -> None:
        """Enter was pressed."""
        raise NotImplementedError

    def typed_on(self) -> None:
        """The typed text has changed; show it."""
        raise NotImplementedError

    def say_num_lock(self) -> None:
        """Num Lock is off; say so."""
        raise NotImplementedError

    async def on_key(self, event: events.Key) -> None:
        """Bound keys, then letters for a phrase; a pad without Num Lock is told."""
        if await run_bound(self, event):
            return
        if event.key in NUM_LOCK_KEYS:
            self.say_num_lock()
        elif event.is_printable and event.character:
            self.action_type(event.character)

    def on_paste(self, event: events.Paste) -> None:
        """Pasted text is typed text, up to the end of its first line."""
        event.stop()
        for char in event.text.splitlines()[0] if event.text else "":
            if char.isprintable():
                self.action_type(char)
