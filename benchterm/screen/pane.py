"""One widget for every part of a screen: it shows what a pure function draws, line by line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

from rich.segment import Segment
from rich.style import Style as RichStyle
from textual.geometry import Region
from textual.strip import Strip
from textual.style import Style
from textual.widget import Widget

from benchterm.desk import View
from benchterm.screen.feed import Link
from benchterm.screen.ink import PLAIN, Line, length


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
    takes: bool = True
    """Whether entries are taken: a replay takes none."""
    advised: bool = True
    """Whether the advice is worked out; looking at it before would hold up the screen."""


Shown = TypeVar("Shown")
"""What a pane shows part of: a ``Scene``, or a form, or a list."""


class Pane(Widget, Generic[Shown]):
    """Shows what its function draws into its columns and rows; repaints only changed lines."""

    def __init__(self, draw: Callable[[Shown, int, int], list[Line]], *, id: str) -> None:  # noqa: A002
        super().__init__(id=id)
        self._draw = draw
        self._shown: Shown | None = None
        self._lines: list[Line] = []
        self._strips: list[Strip] = []
        self._inks: dict[str, RichStyle] = {}

    @property
    def text(self) -> str:
        """What stands in the pane, without its styles."""
        return "\n".join("".join(text for text, _ in line) for line in self._lines)

    def show(self, shown: Shown) -> None:
        """Show this from now on."""
        self._shown = shown
        self._redraw()

    def render_line(self, y: int) -> Strip:
        """One line as it was drawn last."""
        if y < len(self._strips):
            return self._strips[y]
        return Strip.blank(self.content_size.width, self._ink(PLAIN))

    def on_resize(self) -> None:
        """Draw for the new size."""
        self._redraw()

    def notify_style_update(self) -> None:
        """Another theme has other inks."""
        super().notify_style_update()
        self._inks.clear()
        self._strips = [self._strip(line) for line in self._lines]

    def _redraw(self) -> None:
        width, height = self.content_size
        if self._shown is None or width == 0 or height == 0:
            return
        before, self._lines = self._lines, self._draw(self._shown, width, height)
        kept = zip(before, self._lines, self._strips, strict=False)
        same = [strip if old == new else None for old, new, strip in kept]
        same += [None] * (len(self._lines) - len(same))
        self._strips = [
            strip or self._strip(line) for line, strip in zip(self._lines, same, strict=True)
        ]
        changed = [Region(0, y, width, 1) for y, strip in enumerate(same) if strip is None]
        if len(before) > len(self._lines):
            changed.append(Region(0, len(self._lines), width, len(before) - len(self._lines)))
        if changed:
            self.refresh(*changed)

    def _strip(self, line: Line) -> Strip:
        return Strip([Segment(text, self._ink(style)) for text, style in line], length(line))

    def _ink(self, style: str) -> RichStyle:
        ink = self._inks.get(style)
        if ink is None:
            own = Style.parse(style, self.app.theme_variables) if style else Style()
            ink = self._inks[style] = (self.visual_style + own).rich_style
        return ink
