"""Values said aloud: what becomes of what is heard while a value is asked for."""

from __future__ import annotations

from dataclasses import dataclass

from benchterm.core.intents import Answer, Ask, Close, Intent, Listen, Undo
from benchterm.core.stations import Station
from benchterm.gauge.given import Given, Wish
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import Bare, Named, Nonsense, mean
from benchterm.phrases.numbers import NumberWords
from benchterm.voice.talk import Talk
from benchterm.voice.wire import Problem, Ready, Uttered, Waits

WAITS = Waits(int(Station.FAR), question=True)
"""So that the ear believes a number alone, yes and no; which station it is does not matter."""
HINT = "Say the value, 'undo', 'repeat', or 'close the session'."


@dataclass(frozen=True, slots=True)
class Reply:
    """What becomes of one thing that was heard."""

    answer: Given | Wish | None = None
    """What was answered; ``None``: nothing yet."""
    asked: Given | None = None
    """What waits for yes or no from now on."""
    shown: str = ""
    tone: str = ""
    repeat: bool = False
    """The prompt is to be said again."""
    listen: bool | None = None
    """Hear again, or nothing but the word that ends this."""


def reply(said: Uttered, asked: Given | None) -> Reply:  # noqa: C901 - a case a kind of intent
    """What becomes of it, while ``asked`` waits for yes or no; pure."""
    meant = _meant(said)
    if meant is None or said.decision == "reject":
        why = said.why or "not understood"
        return Reply(None, asked, f"heard '{said.words or '?'}': {why}", "refused")
    sure = said.decision == "sure"
    match meant:
        case Bare(value):
            given = Given(value, said.words)
            if sure:
                return Reply(given)
            return Reply(None, given, f"heard {value:g}: yes or no?", "ask")
        case Answer(yes=True) if asked is not None and sure:
            return Reply(asked)
        case Answer(yes=True) if asked is not None:
            return Reply(None, asked, f"heard {asked.n_cm:g}: yes or no?", "ask")
        case Answer(yes=False):
            return Reply(shown="not taken" if asked else "'undo' takes the last one back")
        case Undo() if sure:
            return Reply(Wish.BACK)
        case Close() if sure:
            return Reply(Wish.STOP)
        case Ask("again"):
            return Reply(None, asked, repeat=True)
        case Listen(on):
            return Reply(None, asked, "listening" if on else "muted: say 'listen'", listen=on)
    return Reply(None, asked, f"heard '{said.words}': {HINT}", "refused")


class Voice:
    """Hears answers, and says prompts and values; fetched from by one thread only."""

    def __init__(self, talk: Talk, grammar: Grammar) -> None:
        """Speak in the words of a grammar.

        Raises:
            BenchError: it lacks a number.
        """
        self.talk = talk
        self._numbers = NumberWords(grammar)
        self._language = grammar.locale
        self._asked: Given | None = None
        talk.microphone.expect(WAITS)

    def fetch(self) -> list[Reply]:
        """What became of what was heard, and trouble, since the last time."""
        return [one for news in self.talk.fetch() if (one := self._reply(news)) is not None]

    def say(self, text: str, tone: str = "") -> None:
        """Say words after a tone."""
        self.talk.mouth.say(tone, text, self._language)

    def number(self, value: float) -> str:
        """A value digit by digit, so that fifteen and fifty cannot be taken for each other."""
        try:
            return self._numbers.reading(value)
        except ValueError:
            return f"{value:g}"

    def _reply(self, news: object) -> Reply | None:
        match news:
            case Ready(_, device):
                return Reply(shown=f"listening on {device}. {HINT}")
            case Problem(_, what, works, todo):
                return Reply(None, self._asked, " ".join(p for p in (what, works, todo) if p))
            case Uttered():
                became = reply(news, self._asked)
                self._asked = became.asked
                if became.listen is not None:
                    self.talk.mute(on=not became.listen)
                if became.asked is not None and became.tone == "ask":
                    self.say(f"{self.number(became.asked.n_cm)}?", "ask")
                elif became.tone:
                    self.say("", became.tone)
                return became
        return None


def _meant(said: Uttered) -> Intent | Bare | Named | None:
    if said.slots is None:
        return None
    try:
        return mean(said.slots)
    except Nonsense:
        return None
