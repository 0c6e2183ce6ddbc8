"""What the bench says when it is asked something; in words, for the ear as for the eye."""

from __future__ import annotations

from collections.abc import Callable

from benchterm.core.balance import PairBalance
from benchterm.core.gates import minutes_and_seconds
from benchterm.core.stations import Pair
from benchterm.desk import View


def answer(view: View, topic: str) -> str:
    """The answer to a question of an ``Ask``: ``next``, ``apart``, ``time`` or ``again``.

    Raises:
        KeyError: the bench knows of no such topic.
    """
    return _ANSWERS[topic](view)


def _next(view: View) -> str:
    if view.advice:
        first = view.advice[0]
        return f"{first.do.removesuffix('.')}: {first.why}"
    if view.state.closed:
        return "this session is closed"
    following = view.state.stage.next
    return f"nothing is open here; next stage: {following.label}" if following else "all is done"


def _apart(view: View) -> str:
    pairs = (_pair_apart(view.balance.pair(pair)) for pair in Pair)
    axes = view.balance.along_less_across_n_cm
    means = "" if axes is None else f"; along less across: {axes:+.1f}"
    return "; ".join(pairs) + means


def _pair_apart(pair: PairBalance) -> str:
    first, second = pair.first.label, pair.second.label
    clicks = f"{pair.clicks_apart:+d} clicks" if pair.clicks_apart else "clicks level"
    if pair.first_n_cm is None or pair.second_n_cm is None:
        missing = " and ".join(
            name
            for name, value in ((first, pair.first_n_cm), (second, pair.second_n_cm))
            if value is None
        )
        return f"{first} less {second}: {missing} not read, {clicks}"
    apart = pair.first_n_cm - pair.second_n_cm
    stale = "" if pair.fresh else " before the last clicks"
    return f"{first} less {second}: {apart:+.1f}{stale}, {clicks}"


def _time(view: View) -> str:
    timer = view.state.timer
    if timer is None:
        return "no timer is running"
    left_s = timer.left_s(view.now_s)
    if left_s > 0:
        return f"{timer.stage.label}: {minutes_and_seconds(left_s)} left"
    return f"{timer.stage.label}: the wait of {timer.minutes:g} min is over"


def _again(view: View) -> str:
    window = view.state.window
    for event in reversed(window.recent):
        if event.heard:
            gone = " (undone)" if event.entry in window.undone else ""
            return f"last taken: {event.heard}{gone}"
    return "nothing has been taken yet"


_ANSWERS: dict[str, Callable[[View], str]] = {
    "next": _next,
    "apart": _apart,
    "time": _time,
    "again": _again,
}
