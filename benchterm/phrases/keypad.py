"""The keypad's entry line: ``0`` to ``9``, ``.``, ``+``, ``-``, ``*`` and ``/``, for one hand.

A first digit from 1 to 9 is a station. ``+`` is on: tighter, the next stage. ``-`` is back: let
back, undo. ``*`` is yes, or leads to a reading; ``/`` is no, or the other way round. ``0`` is the
clock, the target and the hearing. A line that begins with a letter is a phrase.

Only the shape of an entry is judged here; whether it can be so at the bench, ``core.decide`` says.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from benchterm.core.facts import Facts
from benchterm.core.intents import Intent
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Station
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import NO_GAUGE, Bare, Meant, Named, Nonsense, Slots, mean
from benchterm.phrases.phrase import Misheard, parse
from benchterm.phrases.wording import preview, write

KEYPAD_HELP: tuple[tuple[str, str], ...] = (
    ("8 22.5", "far reads 22.5 N/cm; 1 to 9 are the stations as they lie on the keypad"),
    ("8 / 22.5", "far, read the other way: across if usually along"),
    ("8 + 3", "far, 3 clicks tighter; 8 + is one click"),
    ("8 - 2", "far, 2 clicks back; 8 - is one click back"),
    ("8 + 3 * 22.5", "far, 3 clicks tighter, then it reads 22.5; / for * : read the other way"),
    ("7 -", "corner far left relieved by the usual amount"),
    ("7 - 6", "corner far left relieved by 6 mm"),
    ("*", "yes; with no question open: the next check is done"),
    ("* 3", "choice 3; with no question open: check 3 is done"),
    ("/", "no"),
    ("/ 1", "what's next?  / 2 how far apart?  / 3 time left?  / 4 say again"),
    ("+", "next stage"),
    ("+ 8", "to stage 8"),
    ("+ -", "previous stage"),
    ("-", "undo the last entry"),
    ("- 3", "undo the third last entry"),
    ("- * 8", "undo the last entry at far; - 2 * 8 the one before it"),
    ("- -", "redo"),
    (".", "mark with the next number"),
    (". 4", "mark 4"),
    ("0", "start the stage's timer"),
    ("0 10", "start a timer of 10 minutes"),
    ("0 -", "stop the timer"),
    ("0 + 24", "target 24 N/cm; 0 + 24 * along only, 0 + 24 / across only"),
    ("0 *", "hearing on"),
    ("0 /", "hearing off"),
    ("0 . .", "close the session for good: given up, unless the screen is done"),
)
"""Every kind of entry, with an example; blanks are for the eye."""


@dataclass(frozen=True, slots=True)
class Keyed:
    """What an entry line amounts to, before Enter."""

    preview: str = ""
    """What would be taken, in plain words."""
    phrase: str = ""
    """The same as a phrase of the English grammar."""
    intent: Intent | Bare | None = None
    problem: str = ""
    """One line on what is wrong or missing, if there is no intent."""


def read_keys(
    text: str,
    facts: Facts,
    question_open: bool = False,
    grammar: Grammar | None = None,
    pending_station: Station | None = None,
) -> Keyed:
    """Read an entry line, finished or not.

    Args:
        text: the keys so far; blanks do not count, a comma is a point.
        facts: the session's, for the usual way of reading at a station.
        question_open: whether the bench waits for an answer.
        grammar: for a line that begins with a letter; keys are read without one.
        pending_station: as in ``phrase.parse``, for a line that begins with a letter.
    """
    if text.lstrip()[:1].isalpha():
        if grammar is None:
            return Keyed(problem="No words are taken: no grammar is loaded. Keys still work.")
        found = parse(text, grammar, pending_station)
        if isinstance(found, Misheard):
            return Keyed(problem=found.why)
        return _keyed(found, facts, question_open=question_open)
    keys = "".join(text.split()).replace(",", ".")
    if not keys:
        return Keyed(problem="Nothing keyed yet.")
    try:
        intent = mean(_slots(keys, facts, question_open=question_open))
    except Nonsense as e:
        return Keyed(problem=str(e))
    return _keyed(intent, facts, question_open=question_open)


def _keyed(intent: Meant, facts: Facts, *, question_open: bool) -> Keyed:
    if isinstance(intent, Named):
        return Keyed(problem=NO_GAUGE)
    return Keyed(preview(intent, facts, question_open=question_open), write(intent), intent)


_AMOUNT = r"[0-9]+(?:\.[0-9]*)?|\.[0-9]+"
_STATION = re.compile(
    rf"""(?P<station>[1-9])
    (?: (?P<plain>{_AMOUNT})
      | (?:(?P<turn>[+-])(?P<amount>{_AMOUNT})?)? (?:(?P<how>[*/])(?P<value>{_AMOUNT})?)? )""",
    re.VERBOSE,
)


def _slots(keys: str, facts: Facts, *, question_open: bool) -> Slots:
    if keys[0] in "123456789":
        return _station(keys, facts)
    for pattern, fill in _OTHERS:
        if found := pattern.fullmatch(keys):
            return fill(found, question_open)
    raise Nonsense(_HINTS.get(keys[0], f"'{_short(keys[0])}' is no key of the entry line."))


def _station(keys: str, facts: Facts) -> Slots:
    station = Station(int(keys[0]))
    name = station.label
    found = _STATION.fullmatch(keys)
    if found is None:
        shown = "a value, - relieved" if station.is_corner else "a value, + or - clicks, * reading"
        raise Nonsense(f"'{_short(keys)}' is no entry; after {keys[0]} ({name}): {shown}.")
    turn, how = found["turn"], found["how"]
    value = _decimal(found["plain"] or found["value"])
    if value is None and (how or not turn):
        raise Nonsense(f"{name} needs a value.")
    axis = facts.usual_axis(station).other if how == "/" else None
    if not turn:
        return Slots("read", station, axis, value=value)
    amount = _decimal(found["amount"])
    if station.is_roller:
        back = turn == "-"
        return Slots("turn", station, axis, back=back, clicks=amount, value=value)
    if turn == "-" and station.is_corner:
        if how:
            raise Nonsense(f"{name}: the relief and the reading go in two entries.")
        return Slots("relieve", station, mm=amount)
    place = "the centre" if station is Station.CENTRE else f"the {name} corner"
    raise Nonsense(f"{keys[0]} is {place}: no roller there.")


def _decimal(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)


def _answer_or_tick(found: re.Match[str], question_open: bool) -> Slots:
    return Slots("choose" if question_open else "tick", number=Decimal(found[1]))


def _timer(found: re.Match[str], _: bool) -> Slots:
    return Slots("start-timer", minutes=_decimal(found[1]))


def _stage(found: re.Match[str], _: bool) -> Slots:
    return Slots("go", number=_decimal(found[1]))


def _undo(found: re.Match[str], _: bool) -> Slots:
    station = Station(int(found[2])) if found[2] else None
    return Slots("undo", station, number=_decimal(found[1]))


def _aim(found: re.Match[str], _: bool) -> Slots:
    axis = {"*": Axis.ALONG, "/": Axis.ACROSS}.get(found[2])
    return Slots("aim", axis=axis, value=Decimal(found[1]))


def _ask(found: re.Match[str], _: bool) -> Slots:
    return Slots("ask", topic=("next", "apart", "time", "again")[int(found[1]) - 1])


def _mark(found: re.Match[str], _: bool) -> Slots:
    return Slots("mark", number=_decimal(found[1]))


def _plain(do: str) -> Callable[[re.Match[str], bool], Slots]:
    return lambda _, __: Slots(do)


_OTHERS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str], bool], Slots]], ...] = (
    (re.compile(r"\*"), _plain("yes")),
    (re.compile(r"\*([0-9]+)"), _answer_or_tick),
    (re.compile(r"/"), _plain("no")),
    (re.compile(r"/([1-4])"), _ask),
    (re.compile(r"\+([0-9]+)?"), _stage),
    (re.compile(r"\+-"), _plain("go-back")),
    (re.compile(r"-([0-9]+)?(?:\*([1-9]))?"), _undo),
    (re.compile(r"--"), _plain("redo")),
    (re.compile(r"\.([0-9]+)?"), _mark),
    (re.compile(rf"0({_AMOUNT})?"), _timer),
    (re.compile(r"0-"), _plain("stop-timer")),
    (re.compile(rf"0\+({_AMOUNT})([*/])?"), _aim),
    (re.compile(r"0\*"), _plain("listen")),
    (re.compile(r"0/"), _plain("mute")),
    (re.compile(r"0\.\."), _plain("close")),
)
_HINTS = {
    "*": "After * comes the number of a choice or a check, or nothing.",
    "/": "After / comes 1 next, 2 apart, 3 time, 4 again, or nothing.",
    "+": f"After + comes a stage, 1 to {len(Stage)}, - for the one before, or nothing.",
    "-": "After - comes how many entries back, * and a station, another - for redo, or nothing.",
    ".": "After . comes the number of the mark, or nothing.",
    "0": "After 0: minutes, - stops the timer, + target, * hearing on, / off, .. closes.",
}


def _short(keys: str) -> str:
    keys = "".join(c if c.isprintable() else "?" for c in keys)
    return keys if len(keys) <= 20 else f"{keys[:19]}…"
