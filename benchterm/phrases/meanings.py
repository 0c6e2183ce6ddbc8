"""The one table of meanings: from the tags of a phrase, or the keys of an entry, to an intent.

The tags of a grammar, in the order of the words:

=====================  ===========================================================================
``20``, ``0.5``        added to the number being said
``value``, ``clicks``  the number said so far is a tension, a count of clicks,
``mm``, ``minutes``    a length let back in, a time,
``number``             the number of a choice, a check, a stage, a mark, an entry back
``station=8``          a station by its number on the keypad
``axis=along``         or ``across``
``back``               the clicks were let back
``stage=9``            a stage by its place in the order
``topic=next``         or ``apart``, ``time``, ``again``: what is asked
``do=read``            what to do: a row of ``MEANINGS``
=====================  ===========================================================================
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal

from benchterm.core.intents import (
    Aim,
    Answer,
    Ask,
    Choose,
    Close,
    Go,
    GoBack,
    Intent,
    Listen,
    Mark,
    Note,
    Read,
    Redo,
    Relieve,
    StartTimer,
    StopTimer,
    Tick,
    Turn,
    Undo,
)
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Station


@dataclass(frozen=True, slots=True)
class Bare:
    """A number said alone. It counts only while a station or a question waits for one.

    Whoever asked the question decides: a reading at the station in question, or a numbered choice.
    """

    value: float
    axis: Axis | None = None


@dataclass(frozen=True, slots=True)
class Named:
    """A place said alone. It counts only with a gauge on a wire, which then gives the value."""

    station: Station
    axis: Axis | None = None


Meant = Intent | Bare | Named
"""What a phrase amounts to."""

NO_GAUGE = "A place alone wants a gauge on a wire; without one, say its value or its clicks too."


@dataclass(slots=True)
class Slots:
    """What the words or keys of one phrase say, before it is known whether it makes sense."""

    do: str = ""
    station: Station | None = None
    axis: Axis | None = None
    stage: Stage | None = None
    topic: str = ""
    text: str = ""
    back: bool = False
    value: Decimal | None = None
    clicks: Decimal | None = None
    mm: Decimal | None = None
    minutes: Decimal | None = None
    number: Decimal | None = None


class Nonsense(Exception):
    """Each word is in order, but what they say together is not. The message is one clear line."""


_AMOUNTS = ("value", "clicks", "mm", "minutes", "number")
_TOPICS = ("next", "apart", "time", "again")
_NUMBER = re.compile(r"[0-9]*\.?[0-9]+|#.+")
_ENOUGH = Decimal(100_000)
"""No amount at the bench comes near; beyond it a figure is a slip of the hand."""


def fill(tags: Iterable[str]) -> Slots:
    """The slots which the tags of a phrase fill."""
    slots = Slots()
    said: Decimal | None = None
    for tag in tags:
        name, _, value = tag.partition("=")
        part = amount(tag)
        if part is not None:
            said = part if said is None else said + part
        elif name in _AMOUNTS:
            setattr(slots, name, said)
            said = None
        elif name == "back":
            slots.back = True
        elif name in _VALUES:
            setattr(slots, name, _VALUES[name](value))
    return slots


def amount(tag: str) -> Decimal | None:
    """What a tag adds to the number being said; ``None``: it is no number."""
    return Decimal(tag.removeprefix("#")) if _NUMBER.fullmatch(tag) else None


def tag_problem(tag: str) -> str | None:
    """What is wrong with a tag in a grammar file, if anything."""
    name, equals, value = tag.partition("=")
    if amount(tag) is not None or tag in _AMOUNTS or tag == "back":
        return None
    known = {"do": MEANINGS, "topic": _TOPICS, "axis": ("along", "across")}.get(name)
    if known is not None and equals:
        return None if value in known else f"{name}= takes one of {', '.join(known)}"
    limit = {"station": 9, "stage": len(Stage)}.get(name)
    if limit is not None and equals:
        in_order = value.isascii() and value.isdecimal() and 1 <= int(value) <= limit
        return None if in_order else f"{name}= takes a number from 1 to {limit}"
    names = (*_AMOUNTS, "back", "station=", "axis=", "stage=", "topic=", "do=")
    return f"'{tag}' is no tag: expected a number or one of {', '.join(names)}"


def mean(slots: Slots, pending: Station | None = None) -> Meant:
    """The intent, the bare number or the place alone, which the slots amount to.

    Args:
        slots: what was said or keyed.
        pending: the station meant when none is named.

    Raises:
        Nonsense: they amount to nothing; says why in one line.
    """
    if slots.do not in MEANINGS:
        raise Nonsense("The grammar gives these words no meaning: a do= tag is missing.")
    return MEANINGS[slots.do](slots, pending)


def _tension(value: Decimal | None) -> float:
    if value is None:
        raise Nonsense("A tension is missing.")
    if value.is_signed() and value:
        raise Nonsense(f"A tension is never negative: {_figure(value)}.")
    return _amount(value, "tension in N/cm")


def _amount(value: Decimal, what: str) -> float:
    if not value.is_finite() or not 0 <= value < _ENOUGH:
        raise Nonsense(f"'{_figure(value)}' is no {what}.")
    return abs(float(value))


def _count(value: Decimal | None, what: str) -> int | None:
    if value is None:
        return None
    if not value.is_finite() or value != value.to_integral_value():
        raise Nonsense(f"{what} are counted whole: {_figure(value)}.")
    if not 1 <= value < _ENOUGH:
        raise Nonsense(f"{what} are counted from 1: {_figure(value)}.")
    return int(value)


def _figure(value: Decimal) -> str:
    text = f"{value:f}".lower()
    return text if len(text) <= 12 else f"{text[:11]}…"


def _read(slots: Slots, pending: Station | None) -> Intent | Bare:
    value = _tension(slots.value)
    station = slots.station or pending
    if station is None:
        return Bare(value, slots.axis)
    return Read(station, value, slots.axis)


def _name(slots: Slots, _: Station | None) -> Named:
    if slots.station is None:
        raise Nonsense("Which station?")
    return Named(slots.station, slots.axis)


def _turn(slots: Slots, pending: Station | None) -> Intent:
    clicks = _count(slots.clicks, "Clicks") or 1
    station = slots.station or pending
    if station is None:
        raise Nonsense("Clicks of which roller? Its name comes first, as in 'far 3 clicks'.")
    then = None if slots.value is None else _tension(slots.value)
    return Turn(station, -clicks if slots.back else clicks, then, slots.axis)


def _relieve(slots: Slots, pending: Station | None) -> Intent:
    station = slots.station
    if station is None and pending is not None and pending.is_corner:
        station = pending
    if station is None:
        raise Nonsense("Which corner? Its name comes first, as in 'far left relieved'.")
    if slots.mm is None:
        return Relieve(station)
    mm = _amount(slots.mm, "length in mm")
    if mm == 0:
        raise Nonsense("A relief of 0 mm is none.")
    return Relieve(station, mm)


def _go(slots: Slots, _: Station | None) -> Intent:
    number = _count(slots.number, "Stages")
    if number is not None and number > len(Stage):
        raise Nonsense(f"Stages are numbered 1 to {len(Stage)}: {number}.")
    return Go(slots.stage if number is None else Stage(number), slots.text)


def _choose(slots: Slots, _: Station | None) -> Intent:
    number = _count(slots.number, "Choices")
    if number is None:
        raise Nonsense("The number of the choice is missing.")
    return Choose(number)


def _note(slots: Slots, _: Station | None) -> Intent:
    if not slots.text:
        raise Nonsense("The note is empty.")
    return Note(slots.text)


def _ask(slots: Slots, _: Station | None) -> Intent:
    if not slots.topic:
        raise Nonsense("The grammar does not say what is asked: a topic= tag is missing.")
    return Ask(slots.topic)


def _start_timer(slots: Slots, _: Station | None) -> Intent:
    if slots.minutes is None:
        return StartTimer()
    minutes = _amount(slots.minutes, "time in minutes")
    if minutes == 0:
        raise Nonsense("A timer of 0 minutes is over before it begins.")
    return StartTimer(minutes)


Meaning = Callable[[Slots, Station | None], Meant]

MEANINGS: dict[str, Meaning] = {
    "read": _read,
    "name": _name,
    "turn": _turn,
    "relieve": _relieve,
    "undo": lambda s, _: Undo(_count(s.number, "Entries") or 1, s.station),
    "redo": lambda _, __: Redo(),
    "tick": lambda s, _: Tick(_count(s.number, "Checks")),
    "yes": lambda _, __: Answer(yes=True),
    "no": lambda _, __: Answer(yes=False),
    "choose": _choose,
    "go": _go,
    "go-back": lambda _, __: GoBack(),
    "note": _note,
    "mark": lambda s, _: Mark(_count(s.number, "Marks")),
    "start-timer": _start_timer,
    "stop-timer": lambda _, __: StopTimer(),
    "aim": lambda s, _: Aim(_tension(s.value), s.axis),
    "close": lambda s, _: Close(s.text),
    "ask": _ask,
    "listen": lambda _, __: Listen(on=True),
    "mute": lambda _, __: Listen(on=False),
}

_VALUES: dict[str, Callable[[str], object]] = {
    "do": str,
    "topic": str,
    "text": lambda text: "".join(c for c in text if c.isprintable()),
    "station": lambda text: Station(int(text)),
    "stage": lambda text: Stage(int(text)),
    "axis": Axis,
}
