"""The likely map of the mesh on the screen, drawn anew as readings come."""

from __future__ import annotations

from collections.abc import Callable

from benchterm.core.state import State
from benchterm.screen.sheet_screen import SheetScreen

KEYS = " Enter: back to the bench   2 8 line   3 9 page   F1 help"
LOOK_S = 1.0


class LikelyMapScreen(SheetScreen):
    """Shows both axes, from the readings so far."""

    def __init__(self, state: Callable[[], State]) -> None:
        """``state`` gives the bench as it stands."""
        super().__init__(KEYS)
        self._state = state
        self._drawn = state()

    def on_mount(self) -> None:
        """Look for new readings."""
        self.set_interval(LOOK_S, self.look)

    def look(self) -> None:
        """Draw it anew if something has happened."""
        now = self._state()
        if now is not self._drawn:
            self._drawn = now
            self.work()

    def text(self) -> str:
        """The map, or why there is none."""
        return map_text(self._drawn)


def map_text(state: State) -> str:
    """The sheet that ``benchterm map`` prints, or why there is none."""
    # Here, not above: the mathematics take longer to load than the bench may to open.
    from benchterm.core.likely_map import likely_map  # noqa: PLC0415
    from benchterm.map_sheet import rows  # noqa: PLC0415

    drawn = likely_map(state)
    if isinstance(drawn, str):
        return (
            f"There is no map of this mesh yet: {drawn}.\n"
            "Read the centre and the four corners, along and across."
        )
    return "\n".join(("LIKELY TENSION", "", *rows(drawn, state.facts.target)))
