"""The bench at work: entries come in by keypad, everything that follows from them is shown."""

from __future__ import annotations

from dataclasses import replace

from textual.app import ComposeResult

from benchterm.answers import answer
from benchterm.core.decide import Refusal
from benchterm.core.events import Event, ReadingHeld, ReasonAsked, Source, Undone
from benchterm.core.intents import Ask, Choose, Intent, Listen, Read
from benchterm.core.state import State
from benchterm.desk import Unsaved, View
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.keypad import Keyed, read_keys
from benchterm.phrases.meanings import Bare
from benchterm.screen.board import Board
from benchterm.screen.feed import Feed
from benchterm.screen.ink import DANGER, NORMAL, PLAIN, WARNING
from benchterm.screen.keying import HELP_LINE, NUM_LOCK_OFF, TypingScreen
from benchterm.screen.pane import Message, Scene
from benchterm.screen.words import entry_words

BEAT_S = 1.0
"""Clocks, ages and timers are painted so often."""
HINT = "station, then its value: 8 22.5 is far 22.5   (F1: every key)"
NO_PLACE = "A number alone says nothing: name the station first."
NO_MICROPHONE = "There is no microphone. The keypad does everything."
CLOSED = "The session is closed. Enter: back to the beginning."


class BenchScreen(TypingScreen[None]):
    """One open session."""

    def __init__(self, feed: Feed, grammar: Grammar | None) -> None:
        super().__init__()
        self.feed = feed
        self.grammar = grammar
        self.message = Message()
        self._refused = ""
        """The line as it was refused last: Enter on it once more clears it."""
        self._announced = 0
        """``seq`` of the timer whose end has been told."""

    def compose(self) -> ComposeResult:
        """The board fills the screen."""
        yield Board()

    def on_mount(self) -> None:
        """Start the beat."""
        self.set_interval(BEAT_S, self.beat)

    def on_screen_resume(self) -> None:
        """Show it, also after help."""
        self.repaint()

    def on_resize(self) -> None:
        """Another size can mean other rows for the same words."""
        self.call_after_refresh(self.repaint)

    def on_unmount(self) -> None:
        """Let go of what feeds the screen."""
        self.feed.close()

    def beat(self) -> None:
        """A second has gone by."""
        view = self.feed.view()
        timer = view.state.timer
        over = timer is not None and timer.left_s(view.now_s) == 0
        if over and timer is not None and timer.seq != self._announced:
            self._announced = timer.seq
            self.app.bell()
            self.message = Message(f"The wait is over: {timer.stage.label}.", "✓", NORMAL)
        self.repaint()

    def repaint(self) -> None:
        """Show everything as it stands now."""
        self.query_one(Board).show(self._scene())

    async def action_take(self) -> None:
        """Take what has been typed; refused and unsaved entries stay on the line."""
        view = self.feed.view()
        if view.state.closed:
            self.dismiss()
            return
        if not self.typed:
            return
        if self.typed == HELP_LINE:
            self.typed = ""
            await self.app.run_action("help")
            return
        keyed = self._keyed(view)
        intent = keyed.intent
        if isinstance(intent, Bare):
            intent = _for_question(intent, view.state)
        refused_before, self._refused = self._refused, ""
        if intent is None:
            self._refuse(keyed.problem or NO_PLACE)
        else:
            self.take(intent, Source.KEYPAD, self.typed)
        if self._refused and self._refused == refused_before:
            self._refused = self.typed = ""
            self.message = Message("Cleared.")
        self.repaint()

    def farewell(self) -> str | None:
        """What to say when the program is left; nothing if the session is closed."""
        state = self.feed.view().state
        if state.closed:
            return None
        return f"{state.facts.screen_id}: the session stays open. Start again to resume it."

    def take(self, intent: Intent, source: Source, heard: str) -> None:
        """Take an intent from whatever source and say what became of it."""
        before = self.feed.view()
        taken = self.feed.take(intent, source, heard)
        if isinstance(taken, Refusal):
            self._refuse(taken.why)
        elif isinstance(taken, Unsaved):
            self.app.bell()
            self.message = Message(f"NOT SAVED: {taken.why}", "■", DANGER)
        else:
            self.typed = ""
            self.message = self._told(intent, taken, before)

    def typed_on(self) -> None:
        """Show what Enter would take."""
        self.query_one(Board).show_entry(self._scene())

    def say_num_lock(self) -> None:
        """The pad sends arrows: say what to do."""
        self._refuse(NUM_LOCK_OFF)
        self.repaint()

    def _refuse(self, why: str) -> None:
        self.app.bell()
        self._refused = self.typed
        again = "  (Enter: clear)" if self.typed else ""
        self.message = Message(f"{why}{again}", "✗", WARNING)

    def _told(self, intent: Intent, taken: tuple[Event, ...], before: View) -> Message:
        after = self.feed.view()
        if after.state.closed:
            return Message(CLOSED, "✓", NORMAL)
        if isinstance(intent, Ask):
            return Message(answer(after, intent.topic), "·", PLAIN)
        if isinstance(intent, Listen):
            return Message(NO_MICROPHONE, "·", PLAIN)
        if any(isinstance(e.what, ReadingHeld | ReasonAsked) for e in taken):
            self.app.bell()
            return Message("Nothing counts yet: answer the question above.", "?", WARNING)
        undone = [e.what.entry for e in taken if isinstance(e.what, Undone)]
        if undone:
            return Message(_undone_words(undone[0], before), "✓", NORMAL)
        return Message(entry_words(taken, after.state), "✓", NORMAL)

    def _keyed(self, view: View) -> Keyed:
        state = view.state
        asking = state.held is not None or state.way_on is not None
        return read_keys(self.typed, state.facts, asking, self.grammar)

    def _scene(self) -> Scene:
        view = self.feed.view()
        scene = Scene(view, self.feed.links(), message=self.message, typed=self.typed)
        if not self.typed:
            return replace(scene, keys_hint=CLOSED if view.state.closed else HINT)
        if self.typed == HELP_LINE:
            return replace(scene, preview="every key")
        keyed = self._keyed(view)
        taken = keyed.intent is not None
        return replace(scene, preview=keyed.preview or keyed.problem, in_order=taken)


def _for_question(number: Bare, state: State) -> Intent | None:
    """A number said alone, if the open question is one that a number answers."""
    if state.held is not None:
        return Read(state.held.station, number.value, number.axis)
    if state.way_on is not None and number.value.is_integer():
        return Choose(int(number.value))
    return None


def _undone_words(entry: int, before: View) -> str:
    """What an undo took away, or gave back."""
    events = before.state.window.recent
    of = tuple(e for e in events if e.entry == entry)
    first = of[0].what
    if isinstance(first, Undone):
        again = tuple(e for e in events if e.entry == first.entry)
        return f"counts again: {entry_words(again, before.state)}"
    return f"undone: {entry_words(of, before.state)}"
