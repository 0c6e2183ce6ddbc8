"""The parts of the bench screen and where each stands, for a small terminal and a large one."""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.containers import Container, Horizontal, Vertical

from benchterm.core.gates import open_checks
from benchterm.screen.bars import draw_bars
from benchterm.screen.lists import draw_checks, draw_entries, draw_question
from benchterm.screen.map import draw_map
from benchterm.screen.pane import Pane, Scene
from benchterm.screen.top import (
    draw_advice,
    draw_entry,
    draw_links,
    draw_message,
    draw_title,
    message_rows,
)
from benchterm.screen.value import draw_value
from benchterm.screen.warning import draw_warning

NARROW_BELOW, WIDE_FROM = 78, 120
"""Columns."""
SHORT_BELOW, TALL_FROM = 23, 40
"""Rows."""


class Board(Container):
    """Everything a scene shows."""

    DEFAULT_CSS = """
    Board { layout: vertical; background: $background; color: $foreground; }
    Board #title, Board #links { height: 1; background: $bench-bar; }
    Board #advice { height: 2; }
    Board #entry, Board #message { height: 1; }
    Board #body { height: 13; }
    Board #map { width: 40; }
    Board #beside { margin-left: 1; }
    Board #value { height: 7; }
    Board #bars { height: 1fr; }
    Board #lists { height: 1fr; }
    Board #checks { width: 3fr; }
    Board #entries { width: 2fr; margin-left: 1; }
    Board #question { display: none; height: 1fr; }
    Board.-asking #lists { display: none; }
    Board.-asking #question { display: block; }
    Board #warning { display: none; height: 1fr; }
    Board.-caution #warning { display: block; }
    Board.-caution #body, Board.-caution #lists { display: none; }
    Board.-caution.-asking #warning { display: none; }
    Board.-short #body { height: 10; }
    Board.-wide #map { width: 1fr; }
    Board.-wide #beside { width: 1fr; margin-left: 3; }
    Board.-tall #advice { height: 4; }
    Board.-tall #body { height: 3fr; margin-top: 1; }
    Board.-tall #lists, Board.-tall #question { height: 2fr; margin-top: 1; }
    Board.-tall.-caution #warning { height: 3fr; margin-top: 1; }
    Board.-tall.-caution #lists { display: block; }
    Board.-tall #value { height: 1fr; }
    Board.-tall #bars { height: 10; margin-top: 1; }
    Board.-tall #entry { margin-bottom: 1; }
    """

    def compose(self) -> ComposeResult:
        """Title, advice, map and value and balance or a caution, lists, entry, message, lights."""
        yield Pane(draw_title, id="title")
        yield Pane(draw_advice, id="advice")
        with Horizontal(id="body"):
            yield Pane(draw_map, id="map")
            with Vertical(id="beside"):
                yield Pane(draw_value, id="value")
                yield Pane(draw_bars, id="bars")
        yield Pane(draw_warning, id="warning")
        with Horizontal(id="lists"):
            yield Pane(draw_checks, id="checks")
            yield Pane(draw_entries, id="entries")
        yield Pane(draw_question, id="question")
        yield Pane(draw_entry, id="entry")
        yield Pane(draw_message, id="message")
        yield Pane(draw_links, id="links")

    def on_mount(self) -> None:
        """Find the panes once."""
        self._panes = list(self.query(Pane))

    def on_resize(self, event: events.Resize) -> None:
        """Stand as the room allows."""
        width, height = event.size
        self.set_class(width < NARROW_BELOW, "-narrow")
        self.set_class(width >= WIDE_FROM, "-wide")
        self.set_class(height < SHORT_BELOW, "-short")
        self.set_class(height >= TALL_FROM, "-tall")

    def show(self, scene: Scene, *, advice: bool = True) -> None:
        """Show a scene, or all but its advice; only what differs from the last one is painted."""
        state = scene.view.state
        width = self.size.width
        self.set_class(state.held is not None or state.way_on is not None, "-asking")
        waiting = open_checks(state)
        self.set_class(bool(waiting) and waiting[0].caution, "-caution")
        rows = message_rows(scene, width) if width else 1
        styles = self.query_one("#message").styles
        if styles.height is None or styles.height.value != rows:
            styles.height = rows
        for pane in self._panes:
            if advice or pane.id != "advice":
                pane.show(scene)

    def show_advice(self, scene: Scene) -> None:
        """Show what to do and what to expect, which are worked out together."""
        for pane in ("#advice", "#value"):
            self.query_one(pane, Pane).show(scene)

    def show_links(self, scene: Scene) -> None:
        """Show the link lights; nothing else has changed."""
        self.query_one("#links", Pane).show(scene)

    def show_entry(self, scene: Scene) -> None:
        """Show what has been typed; nothing else has changed."""
        self.query_one("#entry", Pane).show(scene)
