"""What the bench says of an entry that was taken. Pure."""

from __future__ import annotations

from benchterm.answers import answer
from benchterm.core.events import Event, ReadingHeld, ReasonAsked, Undone
from benchterm.core.intents import Ask, Intent, Listen
from benchterm.desk import View
from benchterm.phrases.wording import preview
from benchterm.screen.ink import NORMAL, PLAIN, WARNING
from benchterm.screen.pane import Message
from benchterm.words import entry_words

CLOSED = "The session is closed; its page: benchterm sheet. Enter: back to the beginning."
NO_MICROPHONE = "Voice is switched off in the settings. The keypad does everything."
_ASKED = "Nothing counts yet: answer the question above."


def told(
    intent: Intent, taken: tuple[Event, ...], before: View, after: View, *, listens: bool
) -> Message:
    """The message on an intent that became these events; ``listens``: voice is on."""
    if after.state.closed:
        return Message(CLOSED, "✓", NORMAL)
    if isinstance(intent, Ask):
        return Message(answer(after, intent.topic), "·", PLAIN)
    if isinstance(intent, Listen):
        text = preview(intent, after.state.facts, question_open=False)
        return Message(text if listens else NO_MICROPHONE, "·", PLAIN)
    if asks(taken):
        return Message(_ASKED, "?", WARNING)
    undone = [event.what.entry for event in taken if isinstance(event.what, Undone)]
    if undone:
        return Message(_undone_words(undone[0], before), "✓", NORMAL)
    text = entry_words(taken, after.state)
    symbol, _, rest = text.partition(" ")
    has_own = symbol in ("✓", "▸")
    return Message(rest, symbol, NORMAL) if has_own else Message(text, "✓", NORMAL)


def asks(taken: tuple[Event, ...]) -> bool:
    """Whether an entry opened a question instead of counting."""
    return any(isinstance(event.what, ReadingHeld | ReasonAsked) for event in taken)


def _undone_words(entry: int, before: View) -> str:
    """What an undo took away, or gave back."""
    events = before.state.window.recent
    of = tuple(e for e in events if e.entry == entry)
    first = of[0].what
    if isinstance(first, Undone):
        again = tuple(e for e in events if e.entry == first.entry)
        return f"counts again: {entry_words(again, before.state)}"
    return f"undone: {entry_words(of, before.state)}"
