"""What a screen that is filled in by keypad does, whatever it asks for."""

from __future__ import annotations

from typing import TypeVar

from benchterm.screen.keying import NUM_LOCK_OFF, TypingScreen
from benchterm.screen.pane import Pane

Result = TypeVar("Result")
"""What the screen hands back."""


class FillingScreen(TypingScreen[Result | None]):
    """Panes that show the screen itself; hands back what was filled in, or ``None``: not now."""

    def __init__(self) -> None:
        super().__init__()
        self.said = ""
        """What was wrong with the last entry."""

    def on_screen_resume(self) -> None:
        """Show it, also after help."""
        self.typed_on()

    def action_clear(self) -> None:
        """Nothing typed; with nothing typed, back to where one came from."""
        if not self.typed:
            self.dismiss(None)
            return
        super().action_clear()

    def typed_on(self) -> None:
        """Show it all."""
        for pane in self.query(Pane):
            pane.show(self)

    def say_num_lock(self) -> None:
        """The pad sends arrows: say what to do."""
        self.app.bell()
        self.said = NUM_LOCK_OFF
        self.typed_on()
