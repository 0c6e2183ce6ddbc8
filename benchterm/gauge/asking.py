"""Asks for values at the terminal: keyed, said and written down, or taken from the gauge."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

import click

from benchterm.gauge.wire import Wire

WIRE_WAIT_S = 20.0
"""How long an Enter waits for the gauge to stand still."""


class Wish(Enum):
    """Something else than a value."""

    BACK = "back"
    STOP = "stop"


@dataclass(frozen=True, slots=True)
class Given:
    """A value, N/cm, with where it came from word for word."""

    n_cm: float
    heard: str


class Asker:
    """Asks for one value after the other."""

    def __init__(self, wire: Wire | None, number: Callable[[str], float | None]) -> None:
        """Read text by ``number``, which knows figures and number words."""
        self._wire = wire
        self._number = number

    @property
    def keys(self) -> str:
        """What can be answered."""
        enter = "Enter takes the gauge's value, or key it" if self._wire else "key the value"
        return f"{enter}; - takes the last one back, . stops."

    def value(self, prompt: str, *, can_stop: bool = True) -> Given | Wish:
        """Ask until there is a value or a wish."""
        while True:
            text = click.prompt(prompt, default="", show_default=False).strip()
            if text == "-":
                return Wish.BACK
            if text == "." and can_stop:
                return Wish.STOP
            given = self._from_wire() if not text else self._keyed(text)
            if given is not None:
                return given

    def _from_wire(self) -> Given | None:
        if self._wire is None:
            return None
        reading = self._wire.settled(WIRE_WAIT_S)
        if reading is None:
            click.echo(f"  No value stood still. {self._wire.why_not}")
            return None
        click.echo(f"  {reading.n_cm:.2f} N/cm  ({reading.raw})")
        return Given(reading.n_cm, reading.raw)

    def _keyed(self, text: str) -> Given | None:
        number = self._number(text)
        if number is None:
            click.echo("  That is no number.")
            return None
        return Given(number, text)
