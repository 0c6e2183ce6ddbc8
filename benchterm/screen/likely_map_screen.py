"""The likely map of the mesh on the screen, drawn anew as readings come."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.binding import Binding, BindingType

from benchterm.core.state import State
from benchterm.screen.sheet_screen import SheetScreen

KEYS = " Enter: back to the bench   2 8 line   3 9 page   5 every column   F1 help"
LOOK_S = 1.0
_AROUND = (2, 1)
"""Columns and lines that are not the map's: padding and scroll bar; keys."""


class LikelyMapScreen(SheetScreen):
    """Shows both axes, from the readings so far."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("5", "every_column", "every column, one axis below the other", id="map.every"),
    ]

    def __init__(self, state: Callable[[], State]) -> None:
        """``state`` gives the bench as it stands."""
        super().__init__(KEYS)
        self._state = state
        self._drawn = state()
        self._in_full = False

    def on_mount(self) -> None:
        """Look for new readings."""
        self.set_interval(LOOK_S, self.look)

    def on_resize(self) -> None:
        """Draw it for the new size."""
        self.work()

    def look(self) -> None:
        """Draw it anew if something has happened."""
        now = self._state()
        if now is not self._drawn:
            self._drawn = now
            self.work()

    def action_every_column(self) -> None:
        """Every column, though it takes paging; again: both axes at once."""
        self._in_full = not self._in_full
        self.work()

    def text(self) -> str:
        """The map, or why there is none."""
        width, height = (most - taken for most, taken in zip(self.size, _AROUND, strict=True))
        return map_text(self._drawn, width, height, in_full=self._in_full)


def map_text(state: State, width: int, height: int, *, in_full: bool) -> str:
    """What ``benchterm map`` prints, or as much as can be seen at once; or why there is none."""
    # Here, not above: the mathematics take longer to load than the bench may to open.
    from benchterm.core.likely_map import likely_map  # noqa: PLC0415
    from benchterm.map_sheet import HEADING, page, rows  # noqa: PLC0415

    drawn = likely_map(state)
    if isinstance(drawn, str):
        return (
            f"There is no map of this mesh yet: {drawn}.\n"
            "Read the centre and the four corners, along and across."
        )
    target = state.facts.target
    if in_full:
        return "\n".join((HEADING, *rows(drawn, target, width)))
    return "\n".join(page(drawn, target, width, height))
