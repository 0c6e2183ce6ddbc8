"""A session played again on the same screen, with keys for the player."""

from __future__ import annotations

import time
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from benchterm.core.stages import Stage
from benchterm.screen.board import Board
from benchterm.screen.feed import ReplayFeed
from benchterm.screen.ink import NORMAL, PLAIN, WARNING
from benchterm.screen.keying import run_bound
from benchterm.screen.lists import last_entries
from benchterm.screen.pane import Message, Scene
from benchterm.training.player import Player
from benchterm.words import entry_words

BEAT_S = 0.2
"""Time passes on the screen in steps of so much."""
HINT = "5 pause  6 step  4 back  + faster  - slower  * stage  F1 help"


class ReplayScreen(Screen[None], inherit_bindings=False):
    """The bench screen, fed by a player."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("5,space", "pause", "pause, or go on", id="replay.pause"),
        Binding("6,right", "step", "to the next event", id="replay.step"),
        Binding("4,left", "back", "to the event before", id="replay.back"),
        Binding("plus,add", "faster", "faster", id="replay.faster"),
        Binding("minus,subtract", "slower", "slower", id="replay.slower"),
        Binding("asterisk,multiply", "jump", "to a stage by its number", id="replay.jump"),
        Binding("enter", "go", "to the stage typed", id="replay.go"),
        Binding("escape", "stay", "no jump after all", id="replay.stay"),
    ]
    AUTO_FOCUS = ""

    def __init__(self, player: Player, banner: str = "") -> None:
        super().__init__()
        self.player = player
        self._feed = ReplayFeed(player)
        self._banner = banner
        self._stage_typed: str | None = None
        """Digits of the stage to jump to; ``None``: no jump is being typed."""
        self._problem = ""
        self._beat_at_s = 0.0

    def compose(self) -> ComposeResult:
        """The board fills the screen."""
        yield Board()

    def on_mount(self) -> None:
        """Start the beat."""
        self._beat_at_s = time.monotonic()
        self.set_interval(BEAT_S, self._beat)

    def on_screen_resume(self) -> None:
        """Show it, also after help."""
        self.repaint()

    def on_resize(self) -> None:
        """Another size can mean other rows for the same words."""
        self.call_after_refresh(self.repaint)

    async def on_key(self, event: events.Key) -> None:
        """While a stage is being typed, digits are its number."""
        self._problem = ""
        if self._stage_typed is None or not event.key.isdigit():
            await run_bound(self, event)
            return
        event.stop()
        event.prevent_default()
        self._stage_typed = (self._stage_typed + event.key)[-2:]
        self.repaint()

    def advance(self, dt_s: float) -> None:
        """Play on for so many seconds of watching."""
        self._feed.advance(dt_s)
        self.repaint()

    def repaint(self) -> None:
        """Show everything at the moment the player is at."""
        self.query_one(Board).show(self._scene())

    def action_pause(self) -> None:
        """Stand still, or go on."""
        self.player.pause()
        self.repaint()

    def action_step(self) -> None:
        """To the next event."""
        self.player.step()
        self.repaint()

    def action_back(self) -> None:
        """To the event before."""
        self.player.back()
        self.repaint()

    def action_faster(self) -> None:
        """Faster."""
        self.player.faster()
        self.repaint()

    def action_slower(self) -> None:
        """Slower."""
        self.player.slower()
        self.repaint()

    def action_jump(self) -> None:
        """Begin to type a stage."""
        self._stage_typed = ""
        self.repaint()

    def action_stay(self) -> None:
        """No jump after all."""
        self._stage_typed = None
        self.repaint()

    def action_go(self) -> None:
        """To the stage typed."""
        if self._stage_typed is None:
            return
        number = int(self._stage_typed or 0)
        if number not in tuple(Stage):
            self._problem = f"Stages are numbered 1 to {len(Stage)}."
        elif not self.player.jump(Stage(number)):
            self._problem = f"This session never came to {Stage(number).label}."
        if self._problem:
            self.app.bell()
        self._stage_typed = None
        self.repaint()

    def _beat(self) -> None:
        now_s = time.monotonic()
        self.advance(now_s - self._beat_at_s)
        self._beat_at_s = now_s

    def _scene(self) -> Scene:
        view = self._feed.view()
        typed = preview = ""
        if self._stage_typed is not None:
            number = int(self._stage_typed or 0)
            known = number in tuple(Stage)
            typed = f"* {self._stage_typed}"
            preview = f"to {Stage(number).label}" if known else "to which stage? Enter goes there"
        return Scene(
            view,
            self._feed.links(),
            typed=typed,
            preview=preview,
            message=self._message(),
            keys_hint=HINT,
            takes=False,
        )

    def _message(self) -> Message:
        if self._problem:
            return Message(self._problem, "✗", WARNING)
        player = self.player
        entries = last_entries(player.state)
        words = entry_words(entries[0].events, player.state) if entries else ""
        place = f"event {player.place} of {player.length} at {player.speed:g}x"
        text = "  ".join(part for part in (self._banner, place, words) if part)
        return Message(text, "▷", NORMAL if self._banner else PLAIN)
