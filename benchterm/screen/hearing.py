"""The voice in a bench screen: what is heard is taken or asked back, what is taken is said."""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic
from typing import Protocol

from textual.message import Message as Posted

from benchterm.answers import answer
from benchterm.core.advice import Severity
from benchterm.core.decide import Refusal, decide
from benchterm.core.events import Event, Heard, ReadingHeld, Source
from benchterm.core.gates import open_checks
from benchterm.core.intents import Answer, Ask, Intent, Listen
from benchterm.desk import Unsaved, View
from benchterm.gauge.offer import Place
from benchterm.screen.feed import Feed, Taken
from benchterm.screen.ink import DANGER, FAINT, WARNING
from benchterm.screen.pane import Message
from benchterm.voice import conversation as talks
from benchterm.voice.conversation import Act, Conversation, Name, Said, Show, Take
from benchterm.voice.saying import Spoken
from benchterm.voice.talk import Talk
from benchterm.voice.wire import Problem, Uttered

STANDS_S = 5.0
"""A warning stands so long before talk that was not believed may take its place."""
_AT_ONCE = (Severity.STOP, Severity.CARE)
"""Advice that is said aloud without being asked for."""


class VoiceNews(Posted):
    """The voice has something to be fetched."""


class SpokenTo(Protocol):
    """The screen that is spoken to."""

    feed: Feed
    message: Message

    def take_aside(self, intent: Intent, source: Source, heard: str) -> Taken:
        """Take an intent without touching what is being typed."""
        ...

    def name_place(self, place: Place) -> None:
        """Name a place for the gauge's value."""
        ...


class Hearing:
    """Goes between one talk and one screen; all of it in the screen's own thread."""

    def __init__(self, talk: Talk, screen: SpokenTo) -> None:
        self._talk = talk
        self._screen = screen
        self._conversation = Conversation()
        self._advised = ""
        """The caution, or the code of other advice, that was said last."""
        self._stood: tuple[Message, float] = (Message(), 0.0)

    def start(self, wake: Callable[[], None]) -> None:
        """Begin to listen; ``wake`` is called, from another thread, when there is news."""
        self.expect()
        self._talk.start(wake)

    @property
    def asking(self) -> bool:
        """Whether a phrase waits for yes or no."""
        return self._conversation.asked is not None

    def news(self) -> bool:
        """Fetch what came; whether more than the light has changed."""
        fetched = self._talk.fetch()
        for one in fetched:
            if isinstance(one, Uttered):
                self._uttered(one)
            elif isinstance(one, Problem):
                text = " ".join(part for part in (one.what, one.works, one.todo) if part)
                self._screen.message = Message(text, "!", WARNING)
        return any(isinstance(one, Uttered | Problem) for one in fetched)

    def pass_time(self) -> None:
        """A second has gone by."""
        now_s = monotonic()
        self._talk.pass_time(now_s)
        if self._screen.message is not self._stood[0]:
            self._stood = (self._screen.message, now_s)
        self._follow(talks.pass_time(self._conversation, now_s))

    def press(self) -> None:
        """The key to talk was pressed."""
        self._talk.press(monotonic())

    def hush(self) -> None:
        """A key was pressed: the person does not want to listen."""
        self._talk.hush()

    def answer(self, intent: Intent) -> bool:
        """Take yes or no by hand for the phrase that waits, if one does."""
        if not isinstance(intent, Answer) or self._conversation.asked is None:
            return False
        self._follow(talks.answer(self._conversation, yes=intent.yes))
        return True

    def tell(self, text: str) -> None:
        """Say a sentence that the screen shows as well."""
        self._talk.say(Spoken("advice", text))

    def advise(self, view: View) -> None:
        """Say advice that needs an action now, once while it stands; not over a question."""
        if view.state.held is not None or view.state.way_on is not None:
            return
        advice = view.advice
        first = advice[0] if advice and advice[0].severity in _AT_ONCE else None
        said = "" if first is None else first.do if first.code == "caution" else first.code
        if first is not None and said != self._advised:
            self._talk.say(Spoken("advice", first.do))
        self._advised = said

    def taken(self, intent: Intent, source: Source, taken: Taken, before: View) -> None:
        """Something was taken or refused: read it back, unless the eyes were on the keys."""
        if isinstance(intent, Listen):
            self._talk.mute(on=not intent.on)
        if source is not Source.KEYPAD or isinstance(intent, Ask):
            view = self._screen.feed.view()
            answered = answer(view, intent.topic) if isinstance(intent, Ask) else ""
            wording = self._talk.wording
            self._talk.say(talks.reply(intent, _outcome(taken), answered, before.state, wording))
        self.expect()

    def _uttered(self, said: Uttered) -> None:
        self._talk.heard()
        view = self._screen.feed.view()
        if view.state.closed:
            return
        station, _ = talks.waits_for(view.state, self._conversation, view.now_s)
        bench = talks.Bench(
            view.state.facts,
            monotonic(),
            station,
            question=view.state.held is not None or view.state.way_on is not None,
            caution=any(check.caution for check in open_checks(view.state)[:1]),
            gauge=self._gauge,
            asks_back=lambda intent: _asks_back(view, intent),
        )
        self._follow(talks.hear(self._conversation, said, bench, self._talk.wording))

    def _follow(self, said: Said) -> None:
        before = self._conversation
        self._conversation, acts = said
        for act in acts:
            self._do(act)
        if before != self._conversation:
            self.expect()

    def _do(self, act: Act) -> None:
        match act:
            case Take(intent, words, noted):
                taken = self._screen.take_aside(intent, Source.VOICE, words)
                became = talks.became(_outcome(taken))
                self._note(Heard(noted.words, noted.decision, noted.score, noted.became or became))
            case Name(station, axis, noted):
                self._note(noted)
                self._screen.name_place(Place(station, axis))
            case Show(text, True):
                self._screen.message = Message(text, "?", WARNING)
            case Show(text):
                self._show_aside(text)
            case Spoken():
                self._talk.say(act)
            case Heard():
                self._note(act)

    def _note(self, heard: Heard) -> None:
        self._screen.feed.note_heard(heard)

    def _show_aside(self, text: str) -> None:
        """Talk that was not believed does not push aside what must be read."""
        stands = self._screen.message
        grave = stands.style in (WARNING, DANGER) and stands.symbol != "?"
        since_s = self._stood[1] if stands is self._stood[0] else monotonic()
        if not grave or monotonic() - since_s >= STANDS_S:
            self._screen.message = Message(text, "·", FAINT)

    @property
    def _gauge(self) -> bool:
        """Whether a gauge can give a value."""
        attached = self._screen.feed.attached
        return attached is not None and attached.ready

    def expect(self) -> None:
        """Tell the ear what the bench waits for now."""
        view = self._screen.feed.view()
        self._talk.expect(view.state, self._conversation, view.now_s, gauge=self._gauge)


def _outcome(taken: Taken) -> tuple[Event, ...] | Refusal | None:
    return None if isinstance(taken, Unsaved) else taken


def _asks_back(view: View, intent: Intent) -> bool:
    happening = decide(view.state, intent, view.now_s)
    return not isinstance(happening, Refusal) and any(
        isinstance(what, ReadingHeld) for what in happening
    )
