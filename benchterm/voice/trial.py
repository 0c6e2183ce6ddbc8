"""A trial of microphone and place: phrases are asked for, what was heard is compared. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count as count_up
from statistics import median

from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import Slots, fill
from benchterm.phrases.numbers import NumberWords
from benchterm.voice.wire import Uttered

QUIET_SNR_DB = 15.0
"""Below this numbers begin to be misheard; from the benchmark of the ear."""
CLIPPED_DB = -3.0
FAINT_DB = -45.0
"""Speech this faint is lost in the noise of the microphone itself; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Try:
    """One phrase that was asked for."""

    wanted: str
    heard: Uttered | None
    """``None``: nothing was heard in time."""
    right: bool

    @property
    def line(self) -> str:
        """How it was heard."""
        if self.heard is None:
            return "○ nothing was heard"
        one = self.heard
        mark = "●" if self.right and one.decision == "sure" else "◐" if self.right else "■"
        what = one.words or "not understood"
        return (
            f"{mark} {what}: {_WORDS[one.decision]}, confidence {one.confidence:.2f}; "
            f"voice {one.speech_db:.0f} dB, noise {one.noise_db:.0f} dB, {one.behind_s:.1f} s"
        )


_ENDS = ("mute", "listen", "close")
_WORDS = {"sure": "taken", "ask": "asked back", "reject": "not believed"}


def phrases(grammar: Grammar, count: int) -> tuple[str, ...]:
    """Phrases to say: the examples of what can be said, but for those that end the trial."""
    examples = (example for saying in grammar.sayings for example in saying.examples)
    spoken = [
        example
        for example in examples
        if set(example.split()) <= set(grammar.words)
        and not any(slots.do in _ENDS for slots in _meanings(example, grammar))
    ]
    return tuple(dict.fromkeys(spoken))[:count]


def readings(grammar: Grammar) -> Iterator[str]:
    """Readings to say, without end: every station, values all over the gauge, digit by digit."""
    numbers = NumberWords(grammar)
    for i in count_up():
        station = grammar.station_names[i % len(grammar.station_names)]
        tenths = 100 + 37 * i % 300
        yield f"{station} {numbers.reading(tenths / 10).partition(',')[0]}"


def phrases_to_fit(grammar: Grammar, count: int) -> tuple[str, ...]:
    """Phrases that tell enough to fit to: two readings, then another phrase, and so on."""
    others = phrases(grammar, count)
    mixed: list[str] = []
    spoken = readings(grammar)
    for other in (*others, *[""] * count):
        mixed += [next(spoken), next(spoken), *([other] if other else [])]
    return tuple(mixed[:count])


def tried(wanted: str, heard: Uttered | None, grammar: Grammar) -> Try:
    """Compare what was heard with what was asked for; by meaning, not by word."""
    if heard is None:
        return Try(wanted, None, False)
    return Try(wanted, heard, heard.slots in _meanings(wanted, grammar))


def _meanings(words: str, grammar: Grammar) -> Sequence[Slots]:
    return [fill(tags) for tags in grammar.parse(words.split()).meanings]


def advice(tries: Sequence[Try]) -> Iterator[str]:
    """Plain advice about microphone and place."""
    heard = [one.heard for one in tries if one.heard is not None]
    taken = sum(
        one.right and one.heard is not None and one.heard.decision == "sure" for one in tries
    )
    asked = sum(
        one.right and one.heard is not None and one.heard.decision == "ask" for one in tries
    )
    wrong = sum(
        not one.right and one.heard is not None and one.heard.decision == "sure" for one in tries
    )
    yield f"{taken} of {len(tries)} taken at once, {asked} rightly asked back, {wrong} taken wrong."
    if not heard:
        yield "Nothing was heard: see benchterm voice for the microphone in use, and its volume."
        return
    speech, noise = median(h.speech_db for h in heard), median(h.noise_db for h in heard)
    if speech > CLIPPED_DB:
        yield "Your voice is too loud for the microphone: turn it down or move it away."
    elif speech < FAINT_DB:
        yield "Your voice is faint: turn the microphone up, or bring it nearer."
    if speech - noise < QUIET_SNR_DB:
        yield (
            f"The shop is loud: your voice stands only {speech - noise:.0f} dB above it. Bring the "
            "microphone nearer to the mouth, turn it away from the noise, or use a headset; "
            "push_to_talk = true keeps other talk out."
        )
    if wrong:
        yield "Watch the screen for a while: what is taken is read back, and undo takes it away."
    if taken == len(tries):
        yield "This place and this microphone will do."
