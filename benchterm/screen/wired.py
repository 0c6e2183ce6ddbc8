"""The gauge's part in a bench screen: its news, and the places that are named for its values."""

from __future__ import annotations

from collections.abc import Callable
from threading import Event

from textual.message import Message as Posted

from benchterm.core.facts import Facts
from benchterm.core.intents import Read
from benchterm.gauge.attached import Attached
from benchterm.gauge.offer import Place
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.keypad import read_keys


class GaugeNews(Posted):
    """The gauge has something to be fetched."""


class Bell:
    """Calls the screen from another thread, once until the screen has come."""

    def __init__(self, post: Callable[[Posted], object], news: Callable[[], Posted]) -> None:
        self._post = post
        self._news = news
        self._rung = Event()

    def ring(self) -> None:
        """There is news."""
        if not self._rung.is_set():
            self._rung.set()
            self._post(self._news())

    def answer(self) -> None:
        """The screen comes: whatever is put in from here on rings anew."""
        self._rung.clear()


def place_named(typed: str, facts: Facts, grammar: Grammar | None) -> Place | None:
    """The place that an entry without its value names, as ``8``, ``8 /`` or ``far along``."""
    if read_keys(typed, facts, grammar=grammar).intent is not None:
        return None
    whole = read_keys(f"{typed} 1", facts, grammar=grammar).intent
    if isinstance(whole, Read) and whole.value_n_cm == 1:
        return Place(whole.station, whole.axis)
    return None


def place_preview(place: Place, attached: Attached) -> str:
    """What Enter would do for a place that is named."""
    axis = f" {place.axis.value}" if place.axis else ""
    value = attached.offered_n_cm
    gauge = "the gauge's next value" if value is None else f"{value:.1f} from the gauge"
    return f"{place.station.label}{axis}: {gauge}"
