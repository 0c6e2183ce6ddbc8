"""The app: themes, keys that work everywhere, and the two ways in."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, ClassVar

from textual.app import App
from textual.binding import Binding, BindingType
from textual.screen import Screen

from benchterm.core.facts import Facts
from benchterm.core.stages import Stage
from benchterm.errors import TerminalLost
from benchterm.screen import terminal
from benchterm.screen.bench_screen import BenchScreen
from benchterm.screen.help import HelpScreen, merged
from benchterm.screen.replay import ReplayScreen
from benchterm.screen.shop import Shop
from benchterm.screen.start import StartScreen
from benchterm.screen.themes import THEMES, theme_after
from benchterm.training.player import Player

TERMINAL_S = 0.5
"""So often it is looked whether the terminal is still there."""


class BenchApp(App[None], inherit_bindings=False):
    """Shows one screen after another; what they show is their own business."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "help", "every key", id="app.help"),
        Binding("f2", "theme", "the next theme", id="app.theme"),
        Binding("ctrl+q", "leave", "leave the program", id="app.leave"),
        Binding("ctrl+c", "how_to_leave", "say how to leave", id="app.how-to-leave"),
    ]
    ENABLE_COMMAND_PALETTE = False

    def __init__(
        self,
        first: Callable[[], Screen[Any]],
        *,
        theme: str = "bench-dark",
        keys: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__()
        self._first = first
        for one in THEMES:
            self.register_theme(one)
        self.theme = theme
        self.set_keymap(dict(keys or {}))

    def on_mount(self) -> None:
        """Show the first screen, for as long as there is a terminal to show it on."""
        self.push_screen(self._first())
        if not self.is_headless:
            self.set_interval(TERMINAL_S, self.leave_lost_terminal)

    def leave_lost_terminal(self) -> None:
        """Leave when the terminal has gone away; Textual would go on without it."""
        if terminal.is_lost():
            self.exit()

    def run_to_end(self, *, mouse: bool) -> None:
        """Run until it is left; an error nobody expected is raised here, after the screen is gone.

        Raises:
            TerminalLost: there is nobody to show anything to.
            Exception: whatever went wrong inside. Textual would print it over the terminal, where
                only a programmer could read it.
        """
        self.run(mouse=mouse)
        if terminal.is_lost():
            raise TerminalLost from self._exception
        if self._exception is not None:
            raise self._exception

    def _fatal_error(self) -> None:
        self._close_messages_no_wait()

    def action_help(self) -> None:
        """Every key of the screen that is up."""
        if isinstance(self.screen, HelpScreen):
            self.screen.dismiss()
            return
        bindings = merged(active.binding for active in self.screen.active_bindings.values())
        bench = self.screen if isinstance(self.screen, BenchScreen) else None
        grammar = None if bench is None else bench.grammar
        sayings = () if grammar is None else grammar.sayings
        self.push_screen(HelpScreen(bindings, entries=bench is not None, sayings=sayings))

    def action_theme(self) -> None:
        """The next theme."""
        self.theme = theme_after(self.theme)

    def action_leave(self) -> None:
        """Leave; what stays open is said."""
        open_ones = [s for s in self.screen_stack if isinstance(s, BenchScreen)]
        self.exit(message=open_ones[0].farewell() if open_ones else None)

    def action_how_to_leave(self) -> None:
        """Ctrl+C is for copying in a terminal; it must not end a job."""
        self.notify("Ctrl+Q leaves; the session can be resumed.", timeout=5)


def run_live(
    shop: Shop,
    *,
    begin: Facts | None = None,
    resume: Path | None = None,
    theme: str = "bench-dark",
    keys: Mapping[str, str] | None = None,
    mouse: bool = True,
) -> None:
    """Open the bench; at once with new facts or at an unfinished session, if one is given."""

    def first() -> StartScreen:
        return StartScreen(shop, begin=begin, resume=resume)

    BenchApp(first, theme=theme, keys=keys).run_to_end(mouse=mouse)


def run_replay(
    player: Player,
    *,
    stage: Stage | None = None,
    banner: str = "",
    theme: str = "bench-dark",
    keys: Mapping[str, str] | None = None,
    mouse: bool = True,
) -> None:
    """Play a session, from a stage if one is given; a banner says what it is."""
    if stage is not None:
        player.jump(stage)
    app = BenchApp(lambda: ReplayScreen(player, banner), theme=theme, keys=keys)
    app.run_to_end(mouse=mouse)
