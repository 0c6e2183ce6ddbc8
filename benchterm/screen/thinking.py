"""Advice is worked out beside the screen: what was entered is shown at once, what to do follows."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from threading import Condition, Thread

from benchterm.core.state import State
from benchterm.desk import View


class Thinking:
    """One thread that looks at the newest view it is given; older ones are passed over.

    The results are kept where they are worked out, so that whoever looks at the same state after it
    finds them there.
    """

    def __init__(self, done: Callable[[], None]) -> None:
        """``done`` is called from the thread, each time a view has been looked at."""
        self._done = done
        self._given: View | None = None
        self._wanted_seq = self._known_seq = 0
        self._ended = False
        self._changed = Condition()

    def start(self) -> None:
        """Begin."""
        Thread(target=self._run, name="advice", daemon=True).start()

    def stop(self) -> None:
        """End, after what is being looked at now."""
        with self._changed:
            self._ended = True
            self._changed.notify()

    def look(self, view: View) -> None:
        """Look at this next, unless it has been looked at or is about to be."""
        with self._changed:
            if view.state.last_seq != self._wanted_seq:
                self._wanted_seq = view.state.last_seq
                self._given = view
                self._changed.notify()

    def knows(self, state: State) -> bool:
        """Whether the advice for a state is at hand."""
        return state.last_seq == self._known_seq

    def _run(self) -> None:
        while (view := self._next()) is not None:
            with suppress(Exception):  # Whoever looks next meets it, in a thread that can show it.
                _ = view.advice
            self._known_seq = view.state.last_seq
            self._done()

    def _next(self) -> View | None:
        with self._changed:
            self._changed.wait_for(lambda: self._ended or self._given is not None)
            view, self._given = self._given, None
            return None if self._ended else view
