"""The replay player: a session's events, and a moment in it that moves at the viewer's wish.

It has no clock and reads no file: whoever owns one passes on how much time went by. What it shows
is made by the same fold and the same rules as live work.
"""

from __future__ import annotations

from collections.abc import Iterable

from benchterm.core.events import Event, StageEntered
from benchterm.core.fold import fold
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.desk import View, view

SPEEDS = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0)
"""Session seconds to a second of watching."""
_KEEP_EVERY = 64
"""One state in so many is kept: going back folds no more than these again."""


class Player:
    """Plays events. The first has always happened: without it there is no session to show.

    Time passes at ``speed``, and faster where nothing happens for long: with ``longest_wait_s``
    set, the time between two events is over in at most that many seconds of watching. Timers are
    then seen to run faster too. Without it 1x is true time.
    """

    def __init__(
        self,
        events: Iterable[Event],
        speed: float = 1.0,
        longest_wait_s: float | None = None,
        rules_off: frozenset[str] = frozenset(),
    ) -> None:
        """Stand at the first event.

        Raises:
            ValueError: there are no events, or the speed or the longest wait is not above 0.
        """
        self._events = tuple(events)
        if not self._events:
            raise ValueError("there is nothing to play")
        if not speed > 0 or (longest_wait_s is not None and not longest_wait_s > 0):
            raise ValueError("a speed and a longest wait are above 0")
        self.speed = speed
        self.paused = False
        self.now_s = self._events[0].at_s
        """The moment in session time."""
        self._longest_wait_s = longest_wait_s
        self._rules_off = rules_off
        self._place = 1
        self._state = fold(State(), self._events[0])
        self._kept = [State()]
        """``_kept[k]`` is the state after ``k * _KEEP_EVERY`` events, as far as was played."""

    @property
    def place(self) -> int:
        """How many events have happened."""
        return self._place

    @property
    def length(self) -> int:
        """How many events the session has."""
        return len(self._events)

    @property
    def ends_s(self) -> float:
        """Session time of the last event."""
        return self._events[-1].at_s

    @property
    def finished(self) -> bool:
        """Whether every event has happened."""
        return self._place == len(self._events)

    @property
    def state(self) -> State:
        """The state at this moment."""
        return self._state

    def view(self) -> View:
        """What is shown at this moment."""
        return view(self._state, self.now_s, self._rules_off)

    def events_so_far(self) -> tuple[Event, ...]:
        """The events that have happened."""
        return self._events[: self._place]

    def pause(self) -> None:
        """Stand still, or go on."""
        self.paused = not self.paused

    def faster(self) -> None:
        """The next higher speed, if there is one."""
        self.speed = next((s for s in SPEEDS if s > self.speed), self.speed)

    def slower(self) -> None:
        """The next lower speed, if there is one."""
        self.speed = next((s for s in reversed(SPEEDS) if s < self.speed), self.speed)

    def step(self) -> None:
        """To the next event, and stand still there."""
        self.paused = True
        self._go_to(min(self._place + 1, len(self._events)))

    def back(self) -> None:
        """To the event before, and stand still there."""
        self.paused = True
        self._go_to(max(self._place - 1, 1))

    def jump(self, stage: Stage) -> bool:
        """To where a stage was entered; False, and no move, if it never was.

        A stage that was entered more than once is gone through entry by entry, the first again
        after the last. The stage at the beginning counts as entered by the first event.
        """
        places = [1] if stage is Stage.PREPARE else []
        for place, event in enumerate(self._events, 1):
            if isinstance(event.what, StageEntered) and event.what.stage is stage:
                places.append(place)
        if not places:
            return False
        later = [place for place in places if place > self._place]
        in_it = self._state.stage is stage
        self._go_to(later[0] if later and in_it else places[0])
        return True

    def advance(self, dt_s: float) -> None:
        """Let so many seconds of watching go by; nothing moves while paused or at the end."""
        if self.paused:
            return
        left_s = dt_s
        while left_s > 0 and not self.finished:
            due_s = self._events[self._place].at_s
            rate = self._rate()
            needs_s = (due_s - self.now_s) / rate
            if needs_s > left_s:
                self.now_s = min(self.now_s + left_s * rate, due_s)
                return
            left_s -= max(needs_s, 0.0)
            self._go_to(self._place + 1)

    def _rate(self) -> float:
        """Session seconds to a second of watching, up to the next event."""
        if self._longest_wait_s is None:
            return self.speed
        wait_s = self._events[self._place].at_s - self._events[self._place - 1].at_s
        return max(self.speed, wait_s / self._longest_wait_s)

    def _go_to(self, place: int) -> None:
        if place < self._place:
            kept = place // _KEEP_EVERY
            self._place, self._state = kept * _KEEP_EVERY, self._kept[kept]
        for event in self._events[self._place : place]:
            self._state = fold(self._state, event)
            self._place += 1
            if self._place == len(self._kept) * _KEEP_EVERY:
                self._kept.append(self._state)
        self.now_s = self._events[place - 1].at_s
