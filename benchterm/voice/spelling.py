"""Walks what can be said piece by piece, as a network writes it: a word is one piece or several."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple, Protocol

Pieces = tuple[int, ...]


class Sayable(Protocol):
    """What can be said, word by word, as an automaton."""

    start: int

    def next(self, state: int, word: str) -> int | None:
        """The state after a word; ``None``: the word is not allowed there."""
        ...

    def words(self, state: int) -> tuple[str, ...]:
        """The words allowed in a state."""
        ...

    def final(self, state: int) -> bool:
        """Whether the sentence may end here."""
        ...


class Spot(NamedTuple):
    """A place in a sentence that is being spelled."""

    state: int
    """Of the automaton, after the last whole word."""
    begun: Pieces = ()
    """Pieces of a word that is not yet whole."""


class Step(NamedTuple):
    """One piece further."""

    piece: int
    word: str | None
    """The word that the piece makes whole, if any."""
    to: Spot


class Spelling:
    """The pieces that may follow in each place; worked out as places are met."""

    def __init__(self, sayable: Sayable, spell: Callable[[str], Pieces]) -> None:
        self._sayable = sayable
        self._spell = spell
        self._spelled: dict[str, Pieces] = {}
        self._steps: dict[Spot, tuple[Step, ...]] = {}
        self.start = Spot(sayable.start)

    def steps(self, spot: Spot) -> tuple[Step, ...]:
        """Every way on from a place; the same piece may lead two ways."""
        steps = self._steps.get(spot)
        if steps is None:
            steps = self._steps[spot] = self._work_out(spot)
        return steps

    def final(self, spot: Spot) -> bool:
        """Whether the sentence may end here."""
        return not spot.begun and self._sayable.final(spot.state)

    def _work_out(self, spot: Spot) -> tuple[Step, ...]:
        done = len(spot.begun)
        steps: dict[Step, None] = {}
        for word in self._sayable.words(spot.state):
            pieces = self._pieces(word)
            if pieces[:done] != spot.begun or len(pieces) == done:
                continue
            if len(pieces) > done + 1:
                steps[Step(pieces[done], None, Spot(spot.state, pieces[: done + 1]))] = None
                continue
            after = self._sayable.next(spot.state, word)
            if after is not None:
                steps[Step(pieces[done], word, Spot(after))] = None
        return tuple(steps)

    def _pieces(self, word: str) -> Pieces:
        pieces = self._spelled.get(word)
        if pieces is None:
            pieces = self._spelled[word] = self._spell(word)
        return pieces
