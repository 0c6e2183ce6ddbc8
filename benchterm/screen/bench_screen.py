"""The bench at work: entries come in by keypad, everything that follows from them is shown."""

from __future__ import annotations

from dataclasses import replace
from time import monotonic
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message as Posted

from benchterm.core.decide import Refusal
from benchterm.core.events import Source
from benchterm.core.intents import Choose, Close, Intent, Read
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.desk import Unsaved, View
from benchterm.gauge.attached import Attached, Said
from benchterm.gauge.offer import Place
from benchterm.gauge.offer import Taken as FromGauge
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.keypad import Keyed, read_keys
from benchterm.phrases.meanings import Bare
from benchterm.screen.board import Board
from benchterm.screen.feed import Feed, Taken
from benchterm.screen.glue_screen import GlueScreen
from benchterm.screen.hearing import Hearing, VoiceNews
from benchterm.screen.ink import DANGER, NORMAL, PLAIN, WARNING
from benchterm.screen.keying import CLEARS, HELP_LINE, NUM_LOCK_OFF, TypingScreen
from benchterm.screen.likely_map_screen import LikelyMapScreen
from benchterm.screen.outcome import CLOSED, NO_MICROPHONE, asks, told
from benchterm.screen.pane import Message, Scene
from benchterm.screen.plan_screen import PlanScreen
from benchterm.screen.thinking import Thinking
from benchterm.screen.wired import Bell, GaugeNews, place_named, place_preview
from benchterm.words import entry_words

BEAT_S = 1.0
"""Clocks, ages and timers are painted so often."""
GLANCE_S = 0.1
"""What the gauge shows is painted no more often."""
HOLD_S = 0.1
"""Advice about the entry before stands no longer while the next one is worked out."""
ASKED_HINT = "answer the question above with * or /   (F1: every key)"
GIVES_UP = "give this screen up for good: it cannot be resumed"
HINT = "station, then its value: 8 22.5 is far 22.5   (F1: every key)"
NO_PLACE = "A number alone says nothing: name the station first."


class Advised(Posted):
    """What to do now has been worked out."""


PAGES = {
    HELP_LINE: ("app.help", "every key"),
    "003": ("plan", "the set-up sheet"),
    "004": ("likely_map", "the likely map of the mesh"),
    "006": ("glue", "other glue from here on"),
}
"""Pages with a function key, for a pad that has none: the action and what it shows."""


class BenchScreen(TypingScreen[None]):
    """One open session."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9", "talk", "talk: one phrase is heard", id="voice.talk", show=False),
        Binding("f3", "plan", "the set-up sheet", id="bench.plan", show=False),
        Binding("f4", "likely_map", "the likely map of the mesh", id="bench.map", show=False),
        Binding("f6", "glue", "other glue from here on", id="bench.glue", show=False),
    ]

    def __init__(self, feed: Feed, grammar: Grammar | None, opening: Message | None = None) -> None:
        """Begin with a message, if there is something to be told on opening."""
        super().__init__()
        self.feed = feed
        self.grammar = grammar
        self.message = opening or Message()
        self._announced = 0
        """``seq`` of the timer whose end has been told."""
        self._advice_bell = Bell(self.post_message, Advised)
        self._thinking = Thinking(self._advice_bell.ring)
        self._gauge_bell = Bell(self.post_message, GaugeNews)
        self._voice_bell = Bell(self.post_message, VoiceNews)
        self._hearing = None if feed.talk is None else Hearing(feed.talk, self)
        self._glanced_s = 0.0

    def compose(self) -> ComposeResult:
        """The board fills the screen."""
        yield Board()

    def on_mount(self) -> None:
        """Start the beat, and listen to the gauge and to whoever speaks."""
        self.set_interval(BEAT_S, self.beat)
        self._thinking.start()
        if self.feed.attached is not None:
            self.feed.attached.start(self._gauge_bell.ring)
        if self._hearing is not None:
            # After the first picture: two processes that load would hold it up.
            self.call_after_refresh(self._hearing.start, self._voice_bell.ring)

    def on_screen_resume(self) -> None:
        """Show it, also after help."""
        self.repaint()

    def on_resize(self) -> None:
        """Another size can mean other rows for the same words."""
        self.call_after_refresh(self.repaint)

    def on_unmount(self) -> None:
        """Let go of what feeds the screen."""
        self._thinking.stop()
        self.feed.close()

    def beat(self) -> None:
        """A second has gone by."""
        view = self.feed.view()
        timer = view.state.timer
        over = timer is not None and timer.left_s(view.now_s) == 0
        if over and timer is not None and timer.seq != self._announced:
            self._announced = timer.seq
            self.app.bell()
            over_words = f"The wait is over: {timer.stage.label}."
            if self._hearing is None or not self._hearing.asking:
                self.message = Message(over_words, "✓", NORMAL)
            if self._hearing is not None:
                self._hearing.tell(over_words)
        if self._hearing is not None:
            self._hearing.pass_time()
        self.repaint()
        self._say_advice(self._scene())

    def on_advised(self) -> None:
        """Show what to do, and say it if it cannot wait."""
        self._advice_bell.answer()
        scene = self._scene()
        if scene.advised:
            self.query_one(Board).show_advice(scene)
            self._say_advice(scene)

    def on_gauge_news(self) -> None:
        """Take what met its place, tell what there is to tell."""
        attached = self.feed.attached
        if attached is None:
            return
        self._gauge_bell.answer()
        before = (attached.state, attached.waiting)
        news = list(attached.fetch(monotonic()))
        for one in news:
            if isinstance(one, Said):
                self._told_of_gauge(one)
            else:
                self._take_from_gauge(attached, one)
        changed = bool(news) or before != (attached.state, attached.waiting)
        if changed and self._hearing is not None:
            self._hearing.expect()
        if changed or monotonic() - self._glanced_s >= GLANCE_S:
            self._glanced_s = monotonic()
            self.repaint()

    def on_voice_news(self) -> None:
        """Take what was said, tell what there is to tell, show how loud it is."""
        self._voice_bell.answer()
        if self._hearing is not None and self._hearing.news():
            self.repaint()
        else:
            self.query_one(Board).show_links(self._scene())

    async def on_key(self, event: events.Key) -> None:
        """A key: whoever presses one does not want to be talked at."""
        if self._hearing is not None:
            self._hearing.hush()
        await super().on_key(event)

    def action_talk(self) -> None:
        """The key to talk."""
        if self._hearing is not None:
            self._hearing.press()
        else:
            self.message = Message(NO_MICROPHONE, "·", PLAIN)
        self.repaint()

    @property
    def advised(self) -> bool:
        """Whether the advice on what has been entered is worked out."""
        return self._thinking.knows(self.feed.view().state)

    def action_glue(self) -> None:
        """Choose the glue used from here on; its own cautions are asked then."""
        state = self.feed.view().state
        if not state.closed:
            chosen = state.facts.products
            self.app.push_screen(GlueScreen(self.feed.offers(chosen), chosen), self._use)

    def action_plan(self) -> None:
        """The set-up sheet of this job."""
        state = self.feed.view().state
        self.app.push_screen(PlanScreen(state.facts, state.practice, at_work=True))

    def action_likely_map(self) -> None:
        """The likely tension all over the mesh."""
        self.app.push_screen(LikelyMapScreen(lambda: self.feed.view().state))

    def repaint(self) -> None:
        """Show everything as it stands now; advice that is not known yet follows."""
        scene = self._scene()
        self.query_one(Board).show(scene, advice=scene.advised)
        if not scene.advised:
            self.call_after_refresh(self._thinking.look, scene.view)
            self.set_timer(HOLD_S, self.show_thinking)

    def show_thinking(self) -> None:
        """Say that what to do is being worked out, if it still is."""
        scene = self._scene()
        if not scene.advised:
            self.query_one(Board).show_advice(scene)

    async def action_take(self) -> None:
        """Take what has been typed; refused and unsaved entries stay on the line."""
        view = self.feed.view()
        if view.state.closed:
            self.dismiss()
            return
        if not self.typed:
            return
        if (page := PAGES.get(self.typed.replace(" ", ""))) is not None:
            self.typed = ""
            await self.app.run_action(page[0], self)
            return
        keyed = self._keyed(view)
        intent = keyed.intent
        if isinstance(intent, Bare):
            intent = _for_question(intent, view.state)
        place = self._place(view)
        if place is not None:
            self.typed = ""
            self.name_place(place)
        elif intent is None:
            self._refuse(keyed.problem or NO_PLACE, whole=False)
        elif self._hearing is not None and self._hearing.answer(intent):
            self.typed = ""
        else:
            self.take(intent, Source.KEYPAD, self.typed)
        self.repaint()

    def action_clear(self) -> None:
        """Nothing typed; with nothing typed, the gauge is not waited for."""
        if not self.typed and self.feed.attached is not None:
            self.feed.attached.cancel()
        super().action_clear()

    def farewell(self) -> str | None:
        """What to say when the program is left; nothing if the session is closed."""
        state = self.feed.view().state
        if state.closed:
            return None
        return f"{state.facts.screen_id}: the session stays open. Start again to resume it."

    def take(self, intent: Intent, source: Source, heard: str) -> Taken:
        """Take an intent from whatever source and say what became of it."""
        before = self.feed.view()
        taken = self.feed.take(intent, source, heard)
        if isinstance(taken, Refusal):
            self._refuse(taken.why, whole=True)
        elif isinstance(taken, Unsaved):
            self.app.bell()
            self.message = Message(f"NOT SAVED: {taken.why}", "■", DANGER)
        else:
            self.typed = ""
            after, listens = self.feed.view(), self._hearing is not None
            self.message = told(intent, taken, before, after, listens=listens)
            if asks(taken):
                self.app.bell()
            if isinstance(intent, Read) and source is not Source.GAUGE and self.feed.attached:
                self.feed.attached.cancel()  # Read by eye: the gauge is not waited for as well.
        if self._hearing is not None:
            self._hearing.taken(intent, source, taken, before)
        return taken

    def take_aside(self, intent: Intent, source: Source, heard: str) -> Taken:
        """Take an intent without touching what is being typed."""
        line = (self.typed, self.refused, self._whole)
        self.typed = ""
        taken = self.take(intent, source, heard)
        self.typed, self.refused, self._whole = line
        return taken

    def typed_on(self) -> None:
        """Show what Enter would take."""
        self.query_one(Board).show_entry(self._scene())

    def say_num_lock(self) -> None:
        """The pad sends arrows: say what to do."""
        self.app.bell()
        self.message = Message(NUM_LOCK_OFF, "✗", WARNING)
        self.repaint()

    def _use(self, products: tuple[str, ...] | None) -> None:
        if products is None or products == self.feed.view().state.facts.products:
            return
        taken = self.feed.use(products)
        if isinstance(taken, tuple):
            self.message = Message(entry_words(taken, self.feed.view().state), "✓", NORMAL)
        else:
            self.app.bell()
            self.message = Message(f"NOT SAVED: {taken.why}", "■", DANGER)
        self.repaint()

    def _say_advice(self, scene: Scene) -> None:
        if scene.advised and self._hearing is not None:
            self._hearing.advise(scene.view)

    def name_place(self, place: Place) -> None:
        """A place is named for the gauge's value: the one it offers, else its next one."""
        attached = self.feed.attached
        taken = None if attached is None else attached.name(place, monotonic())
        if attached is not None and taken is not None:
            self._take_from_gauge(attached, taken)

    def _take_from_gauge(self, attached: Attached, one: FromGauge) -> None:
        """Take a value that met its place, without touching what is being typed."""
        taken = self.take_aside(one.read, Source.GAUGE, one.reading.raw)
        if isinstance(taken, Unsaved):
            attached.give_back(one, monotonic())

    def _told_of_gauge(self, said: Said) -> None:
        if said.trouble:
            self.app.bell()
            self.message = Message(said.text, "!", WARNING)
        else:
            self.message = Message(said.text)

    def _place(self, view: View) -> Place | None:
        """The place that is typed without a value, if a gauge can give it one."""
        if self.feed.attached is None or not self.feed.attached.ready:
            return None
        return place_named(self.typed, view.state.facts, self.grammar)

    def _refuse(self, why: str, *, whole: bool) -> None:
        self.app.bell()
        if self.refuse_line(whole=whole):
            self.message = Message("Cleared.")
        else:
            self.message = Message(f"{why}{CLEARS if self.typed else ''}", "✗", WARNING)

    def _keyed(self, view: View) -> Keyed:
        state = view.state
        asking = state.held is not None or state.way_on is not None
        return read_keys(self.typed, state.facts, asking, self.grammar)

    def _scene(self) -> Scene:
        view = self.feed.view()
        scene = Scene(
            view,
            self.feed.links(),
            message=self.message,
            typed=self.typed,
            advised=self._thinking.knows(view.state),
        )
        if not self.typed:
            waiting = self.feed.attached.waiting if self.feed.attached else ""
            state = view.state
            asking = state.held is not None or state.way_on is not None
            hint = CLOSED if state.closed else ASKED_HINT if asking else HINT
            return replace(scene, preview=waiting, keys_hint=hint)
        if (page := PAGES.get(self.typed.replace(" ", ""))) is not None:
            return replace(scene, preview=page[1])
        place = self._place(view)
        if place is not None and self.feed.attached is not None:
            return replace(scene, preview=place_preview(place, self.feed.attached))
        keyed = self._keyed(view)
        taken = keyed.intent is not None
        if isinstance(keyed.intent, Close) and view.state.stage is not Stage.DONE:
            return replace(scene, preview=GIVES_UP)
        return replace(scene, preview=keyed.preview or keyed.problem, in_order=taken)


def _for_question(number: Bare, state: State) -> Intent | None:
    """A number said alone, if the open question is one that a number answers."""
    if state.held is not None:
        return Read(state.held.station, number.value, number.axis)
    if state.way_on is not None and number.value.is_integer():
        return Choose(int(number.value))
    return None
