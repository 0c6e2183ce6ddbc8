"""Intents back to words: the phrase that means them, and plain English for the entry line."""

from __future__ import annotations

from decimal import Decimal

from benchterm.core.facts import Facts
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
from benchterm.core.stations import Axis
from benchterm.phrases.meanings import Bare, Meant, Named

_QUESTIONS = {
    "next": "what's next",
    "apart": "how far apart",
    "time": "time left",
    "again": "repeat",
}


def figure(value: float) -> str:
    """A number in the fewest figures that give it back, never with an exponent: ``22.5``."""
    text = f"{Decimal(repr(value)):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def write(intent: Meant) -> str:  # noqa: C901, PLR0912 - a case a kind of intent
    """The phrase of the English grammar which means the intent."""
    match intent:
        case Read():
            return _join(intent.station.label, _axis(intent.axis), figure(intent.value_n_cm))
        case Bare():
            return _join(_axis(intent.axis), figure(intent.value))
        case Named():
            return _join(intent.station.label, _axis(intent.axis))
        case Turn():
            back = "back" if intent.clicks < 0 else ""
            then = "" if intent.then_n_cm is None else figure(intent.then_n_cm)
            clicks = _clicks(intent.clicks)
            return _join(intent.station.label, clicks, back, _axis(intent.then_axis), then)
        case Relieve():
            by = "" if intent.mm is None else f"by {figure(intent.mm)} mm"
            return _join(intent.station.label, "relieved", by)
        case Undo():
            station = intent.station.label if intent.station else ""
            return _join("undo", station, f"{intent.back} back" if intent.back > 1 else "")
        case Redo():
            return "redo"
        case Tick():
            return _join("done", _number(intent.item))
        case Answer():
            return "yes" if intent.yes else "no"
        case Choose():
            return f"choice {intent.number}"
        case Go():
            where = "next" if intent.to is None else f"go to {intent.to.label}"
            return _join(where, _because(intent.reason))
        case GoBack():
            return "previous"
        case Note():
            return f"note {intent.text}"
        case Mark():
            return _join("mark", _number(intent.number))
        case StartTimer():
            minutes = intent.minutes
            return "timer" if minutes is None else f"timer {figure(minutes)} minutes"
        case StopTimer():
            return "stop timer"
        case Aim():
            return _join("target", figure(intent.value_n_cm), _axis(intent.axis))
        case Close():
            return _join("close the session", _because(intent.reason))
        case Ask():
            return _QUESTIONS[intent.topic]
        case Listen():
            return "listen" if intent.on else "mute"


def preview(intent: Intent | Bare, facts: Facts, *, question_open: bool) -> str:  # noqa: C901, PLR0912
    """What would be taken, in plain words: ``far, along: 22.5 N/cm``."""
    match intent:
        case Read():
            axis = intent.axis or facts.usual_axis(intent.station)
            return f"{intent.station.label}, {axis.value}: {figure(intent.value_n_cm)} N/cm"
        case Turn():
            way = "tighter" if intent.clicks > 0 else "back"
            text = f"{intent.station.label}: {_clicks(intent.clicks)} {way}"
            if intent.then_n_cm is None:
                return text
            return _join(f"{text}, then", _axis(intent.then_axis), figure(intent.then_n_cm), "N/cm")
        case Relieve():
            how_much = "the usual amount" if intent.mm is None else f"{figure(intent.mm)} mm"
            return f"{intent.station.label}: relieved, {how_much} let back in"
        case Undo():
            where = f"at {intent.station.label}" if intent.station else ""
            return _join("undo the last entry" if intent.back == 1 else _nth(intent.back), where)
        case Redo():
            return "redo: what was undone counts again"
        case Tick():
            return "tick the next check" if intent.item is None else f"tick check {intent.item}"
        case Answer():
            return _answer(intent, question_open=question_open)
        case Choose():
            return f"choice {intent.number}"
        case Go() | GoBack():
            return _way(intent)
        case Mark():
            return "mark" if intent.number is None else f"mark {intent.number}"
        case StartTimer():
            minutes = "" if intent.minutes is None else f": {figure(intent.minutes)} minutes"
            return f"start the timer{minutes}"
        case Aim():
            which = "along and across" if intent.axis is None else intent.axis.value
            return f"target {which}: {figure(intent.value_n_cm)} N/cm"
        case Listen():
            return "hearing on" if intent.on else "hearing off"
        case _:
            return write(intent)


def _nth(back: int) -> str:
    return f"undo the entry {back - 1} before the last"


def _answer(answer: Answer, *, question_open: bool) -> str:
    if answer.yes:
        return "yes" if question_open else "tick the next check"
    return "no"


def _way(intent: Go | GoBack) -> str:
    if isinstance(intent, GoBack):
        return "to the previous stage"
    where = "the next stage" if intent.to is None else f"stage {intent.to}, {intent.to.label}"
    return _join(f"to {where}", _because(intent.reason))


def _join(*parts: str) -> str:
    return " ".join(part for part in parts if part)


def _axis(axis: Axis | None) -> str:
    return "" if axis is None else axis.value


def _clicks(clicks: int) -> str:
    return f"{abs(clicks)} {'click' if abs(clicks) == 1 else 'clicks'}"


def _number(number: int | None) -> str:
    return "" if number is None else str(number)


def _because(reason: str) -> str:
    return f"because {reason}" if reason else ""
