"""Advice is worked out beside the screen."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from queue import Queue
from threading import Event
from types import SimpleNamespace
from typing import Any

import pytest
from screen.rig import bench, desk

from benchterm.core.stages import Stage
from benchterm.desk import View
from benchterm.screen.thinking import Thinking

WITHIN_S = 10


@dataclass(frozen=True)
class Slow:
    """A view whose advice takes until it is let go."""

    seq: int
    looked: Queue[int]
    go: Event

    @cached_property
    def state(self) -> Any:
        return SimpleNamespace(last_seq=self.seq)

    @property
    def advice(self) -> tuple[()]:
        self.looked.put(self.seq)
        assert self.go.wait(WITHIN_S)
        if self.seq == 13:
            raise ArithmeticError("no advice on this")
        return ()


class Thinker:
    def __init__(self) -> None:
        self.done: Queue[None] = Queue()
        self.looked: Queue[int] = Queue()
        self.go = Event()
        self.thinking = Thinking(lambda: self.done.put(None))
        self.thinking.start()

    def look(self, seq: int) -> Any:
        view: Any = Slow(seq, self.looked, self.go)
        self.thinking.look(view)
        return view.state


@pytest.fixture
def thinker():
    one = Thinker()
    yield one
    one.go.set()
    one.thinking.stop()


def test_only_the_newest_of_those_that_wait_is_looked_at(thinker: Thinker):
    states = [thinker.look(1)]
    assert thinker.looked.get(timeout=WITHIN_S) == 1
    states += [thinker.look(seq) for seq in (2, 3, 4)]
    assert not any(thinker.thinking.knows(state) for state in states)
    thinker.go.set()
    assert thinker.looked.get(timeout=WITHIN_S) == 4
    thinker.done.get(timeout=WITHIN_S)
    thinker.done.get(timeout=WITHIN_S)
    assert [thinker.thinking.knows(state) for state in states] == [False, False, False, True]
    assert thinker.looked.empty()


def test_what_is_being_looked_at_is_not_asked_for_twice(thinker: Thinker):
    thinker.look(1)
    thinker.look(1)
    thinker.go.set()
    thinker.done.get(timeout=WITHIN_S)
    thinker.look(1)
    thinker.look(2)
    assert [thinker.looked.get(timeout=WITHIN_S) for _ in range(2)] == [1, 2]


def test_advice_that_fails_does_not_end_the_thread(thinker: Thinker):
    thinker.go.set()
    state = thinker.look(13)
    thinker.done.get(timeout=WITHIN_S)
    assert thinker.thinking.knows(state), "whoever looks meets the failure itself"
    thinker.look(14)
    assert [thinker.looked.get(timeout=WITHIN_S) for _ in range(2)] == [13, 14]


async def test_an_entry_is_shown_before_the_advice_on_it(monkeypatch: pytest.MonkeyPatch):
    go = Event()
    true_advice = View.__dict__["advice"].func

    def held_up(view: View) -> object:
        assert go.wait(WITHIN_S)
        return true_advice(view)

    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        await rig.advised()
        late = cached_property(held_up)
        late.__set_name__(View, "advice")
        monkeypatch.setattr(View, "advice", late)
        await rig.enter("8+3")
        assert "3" in rig.pane("message")
        assert rig.state.net_clicks(rig.state.run[0]) == 3
        assert not rig.screen.advised
        rig.screen.show_thinking()
        assert "working out" in rig.pane("advice")
        go.set()
        await rig.advised()
        assert rig.view.advice[0].do in " ".join(rig.pane("advice").split())
