"""One widget for every part of a screen: it shows what a pure function draws."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

from textual.content import Content
from textual.widget import Widget

from benchterm.desk import View
from benchterm.screen.feed import Link
from benchterm.screen.ink import PLAIN


@dataclass(frozen=True, slots=True)
class Message:
    """The last thing the bench said, with a symbol and a style that say of what kind it is."""

    text: str = ""
    symbol: str = " "
    style: str = PLAIN


@dataclass(frozen=True, slots=True)
class Scene:
    """All that is on the screen at one moment."""

    view: View
    links: tuple[Link, ...]
    typed: str = ""
    preview: str = ""
    """What Enter would take, or why it would not."""
    in_order: bool = True
    """Whether Enter would be taken as far as the keys go."""
    message: Message = Message()
    keys_hint: str = ""


Shown = TypeVar("Shown")
"""What a pane shows part of: a ``Scene``, or a form, or a list."""


class Pane(Widget, Generic[Shown]):
    """Shows what its function draws into its columns and rows; repaints only what has changed."""

    def __init__(self, draw: Callable[[Shown, int, int], Content], *, id: str) -> None:  # noqa: A002
        super().__init__(id=id)
        self._draw = draw
        self._shown: Shown | None = None
        self._drawn = Content("")
        self._drawn_size = (0, 0)

    def show(self, shown: Shown) -> None:
        """Show this from now on."""
        self._shown = shown
        if self._redraw():
            self.refresh()

    def render(self) -> Content:
        """What is shown."""
        return self._drawn

    def on_resize(self) -> None:
        """Draw for the new size."""
        if self._redraw():
            self.refresh()

    def _redraw(self) -> bool:
        width, height = self.content_size
        if self._shown is None or width == 0 or height == 0:
            return False
        drawn = self._draw(self._shown, width, height)
        if drawn.is_same(self._drawn) and self._drawn_size == (width, height):
            return False
        self._drawn, self._drawn_size = drawn, (width, height)
        return True
