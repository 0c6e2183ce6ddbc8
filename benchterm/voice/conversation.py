"""What becomes of what is heard: taken, asked back, or let go; and what is said about it. Pure.

Sure is taken at once, but for the end of the session. What is not quite clear is asked back and
waits for yes or no, from voice or keypad; said again instead, it is as good as a yes unless there
is a figure in it, which could be misheard the same way twice. The rest is shown and not believed.
Everything heard is noted, whatever became of it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from benchterm.core.decide import Refusal
from benchterm.core.events import Event, Heard, ReadingHeld, ReasonAsked, Undone
from benchterm.core.facts import Facts
from benchterm.core.gates import REASONS
from benchterm.core.intents import Answer, Ask, Close, Go, Intent, Listen, Read, Tick, Undo
from benchterm.core.state import State, Turned
from benchterm.core.stations import Axis, Station
from benchterm.phrases.meanings import NO_GAUGE, Bare, Named, Nonsense, mean
from benchterm.phrases.wording import preview
from benchterm.voice.saying import Spoken, Wording
from benchterm.voice.wire import Uttered

PATIENCE_S = 15.0
"""A question from the hearing that is not answered for so long is let go."""
AFTER_CLICKS_S = 30.0
"""So long after clicks, a number alone is taken for the reading they gave."""
_PLAIN = (Go, Tick, Undo)
"""What may be said again in place of a yes."""
SURPRISING = "a surprising value"
"""Why the hearing asks about a value that it heard well."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A phrase that waits for yes or no."""

    intent: Intent
    words: str
    confidence: float
    shown: str
    since_s: float


@dataclass(frozen=True, slots=True)
class Conversation:
    """How it stands between the person and the bench."""

    asked: Asked | None = None
    raised: bool = False
    """Whether what was heard last made the bench itself ask, though it may yet go on."""


@dataclass(frozen=True, slots=True)
class Take:
    """Take this, as said by voice; then say what ``reply`` gives and note it."""

    intent: Intent
    words: str
    noted: Heard


@dataclass(frozen=True, slots=True)
class Name:
    """The gauge's value, the one it offers or its next, belongs here."""

    station: Station
    axis: Axis | None
    noted: Heard


@dataclass(frozen=True, slots=True)
class Show:
    """A line for the eye."""

    text: str
    asks: bool = False
    """Whether it is a question; if not, it is of little weight."""


Act = Take | Name | Show | Spoken | Heard
Said = tuple[Conversation, tuple[Act, ...]]


@dataclass(frozen=True, slots=True)
class Bench:
    """What the conversation must know of the bench."""

    facts: Facts
    now_s: float
    station: Station | None = None
    """Where a number alone would count."""
    question: bool = False
    """Whether the bench itself has a question open."""
    caution: bool = False
    """Whether a caution is the next line to be done."""
    gauge: bool = False
    """Whether a gauge on a wire can give a value."""
    asks_back: Callable[[Intent], bool] = lambda _: False
    """Whether the bench would itself ask back, if it were given this."""


def waits_for(state: State, talk: Conversation, now_s: float) -> tuple[Station | None, bool]:
    """Where a number alone would count, and whether yes and no would."""
    if talk.asked is not None:
        return getattr(talk.asked.intent, "station", None), True
    if state.held is not None:
        return state.held.station, True
    if state.way_on is not None:
        return None, True
    last = state.trail[-1] if state.trail else None
    if isinstance(last, Turned) and now_s - last.at_s <= AFTER_CLICKS_S:
        return last.station, False
    return None, False


def hear(talk: Conversation, said: Uttered, bench: Bench, wording: Wording | None) -> Said:
    """Something was heard. What goes on with a phrase takes back whatever was asked about it."""
    raised = talk.raised and bench.question
    talk = Conversation(None if said.goes_on else talk.asked)
    talk, acts = _hear(talk, said, bench, wording)
    if said.goes_on and raised and not _is_reading(acts[0]):  # A reading takes it back by itself.
        noted = _noted(said, "takes back the question before it")
        acts = (Take(Answer(yes=False), said.words, noted), *acts)
    return talk, acts


def _hear(talk: Conversation, said: Uttered, bench: Bench, wording: Wording | None) -> Said:
    intent, why = _meant(said, bench)
    if intent is None or said.decision == "reject":
        return talk, _let_go(said, why or said.why)
    if isinstance(intent, Named):
        # Nothing is said about it: the person may be about to say its value.
        noted = _noted(said, "named for the gauge")
        return replace(talk, asked=None), (Name(intent.station, intent.axis, noted),)
    if isinstance(intent, Answer) and talk.asked is not None:
        return _answered(talk, talk.asked, said, intent)
    sure = said.decision == "sure" and not isinstance(intent, Close)
    if sure or isinstance(intent, Ask):
        return replace(talk, asked=None), (_take(intent, said),)
    if talk.asked is not None and talk.asked.intent == intent and _counts_again(intent, bench):
        return replace(talk, asked=None), (Take(intent, said.words, _noted(said, "said again")),)
    if said.why == SURPRISING and bench.asks_back(intent):
        return Conversation(raised=True), (_take(intent, said),)
    shown = preview(intent, bench.facts, question_open=bench.question)
    asked = Asked(intent, said.words, said.confidence, shown, bench.now_s)
    text = "" if wording is None else wording.asked(intent, bench.facts)
    why_shown = f" ({said.why})" if said.why == SURPRISING else ""
    return replace(talk, asked=asked), (
        Show(f"Heard: {shown}{why_shown}. Yes or no?", asks=True),
        Spoken("ask", text, _language(wording)),
        _noted(said, "asked"),
    )


def answer(talk: Conversation, *, yes: bool) -> Said:
    """The question of the hearing is answered by hand; there must be one."""
    asked = talk.asked
    assert asked is not None
    talk = replace(talk, asked=None)
    if not yes:
        return talk, (Show(f"Not taken: {asked.shown}."),)
    noted = Heard(asked.words, "ask", asked.confidence, "yes by hand")
    return talk, (Take(asked.intent, asked.words, noted),)


def pass_time(talk: Conversation, now_s: float) -> Said:
    """Time goes by; nobody may have answered."""
    asked = talk.asked
    if asked is None or now_s - asked.since_s < PATIENCE_S:
        return talk, ()
    return replace(talk, asked=None), (Show(f"Not answered, not taken: {asked.shown}."),)


def reply(
    intent: Intent,
    outcome: tuple[Event, ...] | Refusal | None,
    answered: str,
    before: State,
    wording: Wording | None,
) -> Spoken:
    """What is said aloud about something taken, refused, or (``None``) not saved."""
    if outcome is None:
        return Spoken("refused", "not saved")
    if isinstance(outcome, Refusal):
        return Spoken("refused", outcome.why)
    if isinstance(intent, Ask):
        return Spoken("", answered)
    if isinstance(intent, Listen):
        return Spoken("taken" if intent.on else "refused", "listening" if intent.on else "muted")
    events = [event.what for event in outcome]
    if any(isinstance(what, ReasonAsked) for what in events):
        return Spoken("ask", f"A reason is needed: choice one to {len(REASONS)}, or no.")
    tone = "ask" if any(isinstance(what, ReadingHeld) for what in events) else "taken"
    if wording is None:
        return Spoken(tone)
    return Spoken(
        tone, wording.taken(outcome, before.window.recent, before.facts), wording.language
    )


def became(outcome: tuple[Event, ...] | Refusal | None) -> str:
    """What was done about it, for the record."""
    if outcome is None:
        return "not saved"
    if isinstance(outcome, Refusal):
        return f"refused: {outcome.why}"
    if any(isinstance(event.what, Undone) for event in outcome):
        return "undone"
    return "taken"


def _meant(said: Uttered, bench: Bench) -> tuple[Intent | Named | None, str]:
    slots = said.slots
    if slots is None:
        return None, "not understood"
    try:
        intent = mean(slots, bench.station)
    except Nonsense as error:
        return None, str(error)
    if isinstance(intent, Bare):
        return None, "nothing waits for a number alone"
    if isinstance(intent, Named) and not bench.gauge:
        return None, NO_GAUGE
    return intent, ""


def _counts_again(intent: Intent, bench: Bench) -> bool:
    """Whether this, said again, stands for a yes: a caution is to be acknowledged clearly."""
    return isinstance(intent, _PLAIN) and not (isinstance(intent, Tick) and bench.caution)


def _is_reading(act: Act) -> bool:
    return isinstance(act, Take) and isinstance(act.intent, Read)


def _answered(talk: Conversation, asked: Asked, said: Uttered, intent: Answer) -> Said:
    """Yes must be clear; no need not, for nothing is lost by it."""
    if intent.yes and said.decision != "sure":
        return talk, (
            Show(f"Heard: {asked.shown}. Yes or no?", asks=True),
            Spoken("ask", "yes or no?"),
            _noted(said, "asked again"),
        )
    talk = replace(talk, asked=None)
    if not intent.yes:
        return talk, (
            Show(f"Not taken: {asked.shown}."),
            Spoken("refused"),
            _noted(said, f"dropped: {asked.words}"),
        )
    noted = Heard(asked.words, "ask", asked.confidence, "yes by voice")
    return talk, (_noted(said, f"yes to: {asked.words}"), Take(asked.intent, asked.words, noted))


def _take(intent: Intent, said: Uttered) -> Take:
    return Take(intent, said.words, _noted(said, ""))


def _let_go(said: Uttered, why: str) -> tuple[Act, ...]:
    shown = f"heard '{said.words}': {why}" if said.words else f"heard something: {why}"
    return Show(shown), _noted(said, f"not taken: {why}")


def _noted(said: Uttered, became: str) -> Heard:
    return Heard(said.words, said.decision, said.confidence, became)


def _language(wording: Wording | None) -> str:
    return "en" if wording is None else wording.language
