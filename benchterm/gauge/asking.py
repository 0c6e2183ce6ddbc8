"""Asks for values at the terminal: the one door for what is keyed, said, or sent by the gauge."""

from __future__ import annotations

import queue
import sys
import termios
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from benchterm.gauge.given import Given, Wish
from benchterm.gauge.wire import Wire

if TYPE_CHECKING:
    from benchterm.gauge.spoken import Reply, Voice

WIRE_WAIT_S = 20.0
"""How long an Enter waits for the gauge to stand still."""
_HEARD = None
"""In the queue of lines: the voice has news."""


class Asker:
    """Asks for one value after the other."""

    def __init__(
        self,
        wire: Wire | None,
        number: Callable[[str], float | None],
        voice: Voice | None = None,
    ) -> None:
        """Read text by ``number``, which knows figures and number words."""
        self._wire = wire
        self._number = number
        self._voice = voice
        self._lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._reading = False
        if voice is not None:
            voice.talk.start(lambda: self._lines.put(_HEARD))

    def close(self) -> None:
        """Hear and speak no more."""
        if self._voice is not None:
            self._voice.talk.stop()

    @property
    def keys(self) -> str:
        """What can be answered."""
        enter = "Enter takes the gauge's value, or key it" if self._wire else "key the value"
        return f"{enter}; - takes the last one back, . stops."

    def value(self, prompt: str, *, can_stop: bool = True) -> Given | Wish:
        """Ask until there is a value or a wish.

        Raises:
            click.Abort: there are no more lines, and it may not stop.
        """
        self._ask(prompt)
        self._say(prompt)
        while True:
            line = self._next_line()
            if line is _HEARD:
                answer = self._heard(prompt)
            else:
                answer = self._typed(line.strip()) if line else Wish.STOP
            if answer is Wish.STOP and not can_stop:
                if not line:
                    raise click.Abort
                click.echo("  It cannot stop here: - goes back.")
                answer = None
            if answer is not None:
                return answer
            if line is not _HEARD:
                self._ask(prompt)

    def tell(self, shown: str, spoken: str = "", tone: str = "taken") -> None:
        """Say what became of an answer, once it is on disk."""
        click.echo(f"  {shown}")
        if self._voice is not None:
            self._voice.say(spoken, tone)

    def taken(self, given: Given) -> None:
        """Read back a value that is on disk."""
        spoken = "" if self._voice is None else self._voice.number(given.n_cm)
        self.tell(f"{given.n_cm:.2f} N/cm  ({given.heard})", spoken)

    def _ask(self, prompt: str) -> None:
        click.echo(f"{prompt}: ", nl=False)

    def _say(self, prompt: str) -> None:
        if self._voice is not None:
            self._voice.say(prompt)

    def _next_line(self) -> str | None:
        """A line with its end, empty at the end of all; or ``_HEARD``."""
        if not self._reading and self._lines.empty():
            self._reading = True
            threading.Thread(target=self._read, daemon=True).start()
        line = self._lines.get()
        if line is not _HEARD:
            self._reading = False
        return line

    def _read(self) -> None:
        self._lines.put(sys.stdin.readline())

    def _typed(self, text: str) -> Given | Wish | None:
        if text == "-":
            return Wish.BACK
        if text == ".":
            return Wish.STOP
        return self._keyed(text) if text else self._from_wire()

    def _heard(self, prompt: str) -> Given | Wish | None:
        assert self._voice is not None
        for reply in self._voice.fetch():
            if reply.answer is not None:
                _drop_half_a_line()
                click.echo("")
                return reply.answer
            self._show(reply, prompt)
        return None

    def _show(self, reply: Reply, prompt: str) -> None:
        if reply.shown:
            click.echo(f"\n  {reply.shown}")
            self._ask(prompt)
        if reply.repeat:
            self._say(prompt)

    def _from_wire(self) -> Given | None:
        if self._wire is None:
            return None
        reading = self._wire.settled(WIRE_WAIT_S)
        if reading is None:
            click.echo(f"  No value stood still. {self._wire.why_not}")
            return None
        return Given(reading.n_cm, reading.raw)

    def _keyed(self, text: str) -> Given | None:
        number = self._number(text)
        if number is None:
            click.echo("  That is no number.")
            return None
        return Given(number, text)


def _drop_half_a_line() -> None:
    """What is half keyed when a value comes by voice must not become part of the next one."""
    if sys.stdin.isatty():
        termios.tcflush(sys.stdin, termios.TCIFLUSH)
