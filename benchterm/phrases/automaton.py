"""Walks a grammar word by word, without building more of it than is asked for.

A place in a sentence is what may still follow: a chain of nodes yet to be matched. Places are
numbered as they are met, so a rule that calls itself at its end needs no more of them, and one
that calls itself in the middle needs only as many as the sentence is deep.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from benchterm.phrases.jsgf import (
    Alternatives,
    Node,
    Null,
    Option,
    Repeat,
    Rule,
    RuleRef,
    Sequence,
    Tagged,
    Token,
)
from benchterm.phrases.soundness import can_end, rules_that_end

Tags = tuple[str, ...]


class Arc(NamedTuple):
    """One word further."""

    tags: Tags
    """Tags passed before the word."""
    token: Token
    place: int
    """Where it leads."""


@dataclass(frozen=True, slots=True)
class Place:
    """What may come next."""

    arcs: tuple[Arc, ...]
    ends: tuple[Tags, ...]
    """The sentence may end here: the tags still passed, once for each way."""


@dataclass(frozen=True, slots=True)
class _Emit:
    """A tag to be passed on the way."""

    tag: str


_END = 0


class Places:
    """The places of a grammar from one node on: several ways at once, with their tags."""

    def __init__(self, rules: Mapping[str, Rule], start: Node, *, written: bool) -> None:
        self._rules = rules
        self._written = written
        self._ending = rules_that_end(rules, written=written)
        self._cells: list[tuple[Node | _Emit, int] | None] = [None]
        self._numbers: dict[tuple[int, int], int] = {}
        self._emits: dict[int, _Emit] = {}
        self._stars: dict[int, Repeat] = {}
        self._places: dict[int, Place] = {}
        self._from = start
        """Cells know nodes by identity, so the first one must stay alive too."""
        self.start = self._cell(start, _END)

    def __getitem__(self, number: int) -> Place:
        place = self._places.get(number)
        if place is None:
            place = self._places[number] = self._expand(number)
        return place

    def _cell(self, node: Node | _Emit, rest: int) -> int:
        key = (id(node), rest)
        number = self._numbers.get(key)
        if number is None:
            number = self._numbers[key] = len(self._cells)
            self._cells.append((node, rest))
        return number

    def _expand(self, number: int) -> Place:
        arcs: dict[Arc, None] = {}
        ends: dict[Tags, None] = {}
        todo: list[tuple[int, Tags, frozenset[int]]] = [(number, (), frozenset())]
        while todo:
            at, tags, looped = todo.pop()
            cell = self._cells[at]
            if cell is None:
                ends[tags] = None
                continue
            node, rest = cell
            if isinstance(node, _Emit):
                todo.append((rest, (*tags, node.tag), looped))
            elif isinstance(node, Token):
                if self._written or not node.quoted:
                    arcs[Arc(tags, node, rest)] = None
            elif isinstance(node, Repeat):
                if at not in looped:
                    ways = self._repeat(node, rest)
                    todo += [(way, tags, looped | {at}) for way in reversed(ways)]
            elif can_end(node, self._ending, written=self._written):
                todo += [(way, tags, looped) for way in reversed(self._ways(node, rest))]
        return Place(tuple(arcs), tuple(ends))

    def _ways(self, node: Node, rest: int) -> list[int]:
        match node:
            case RuleRef():
                return [self._cell(self._rules[node.name].body, rest)]
            case Sequence():
                for item in reversed(node.items):
                    rest = self._cell(item, rest)
                return [rest]
            case Alternatives():
                return [self._cell(item, rest) for item in node.items]
            case Option():
                return [self._cell(node.item, rest), rest]
            case Tagged():
                emit = self._emits.setdefault(id(node), _Emit(node.tag.text))
                return [self._cell(node.item, self._cell(emit, rest))]
            case Null():
                return [rest]
        return []

    def _repeat(self, node: Repeat, rest: int) -> list[int]:
        star = node
        if node.at_least:
            star = self._stars.setdefault(id(node), Repeat(node.item, at_least=0))
        ways = []
        if can_end(node.item, self._ending, written=self._written):
            ways.append(self._cell(node.item, self._cell(star, rest)))
        if star is node:
            ways.append(rest)
        return ways


class WordAutomaton:
    """What can be said, as a deterministic automaton for a decoder; states are numbers."""

    start = 0

    def __init__(self, places: Places) -> None:
        self._places = places
        self._members: list[frozenset[int]] = [frozenset([places.start])]
        self._states = {self._members[0]: self.start}
        self._steps: dict[int, dict[str, int]] = {}

    def next(self, state: int, word: str) -> int | None:
        """The state after a word; ``None``: the word is not allowed there."""
        return self._from(state).get(word)

    def words(self, state: int) -> tuple[str, ...]:
        """The words allowed in a state, each of which leads to some sentence's end."""
        return tuple(self._from(state))

    def final(self, state: int) -> bool:
        """Whether the sentence may end here."""
        return any(self._places[place].ends for place in self._members[state])

    def _from(self, state: int) -> dict[str, int]:
        steps = self._steps.get(state)
        if steps is None:
            ways: dict[str, set[int]] = {}
            for place in sorted(self._members[state]):
                for arc in self._places[place].arcs:
                    ways.setdefault(arc.token.text, set()).add(arc.place)
            steps = {word: self._number(frozenset(to)) for word, to in ways.items()}
            self._steps[state] = steps
        return steps

    def _number(self, members: frozenset[int]) -> int:
        number = self._states.setdefault(members, len(self._members))
        if number == len(self._members):
            self._members.append(members)
        return number
