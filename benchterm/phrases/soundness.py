"""What makes a grammar unusable although every bracket is closed.

A rule that is not there, a rule that calls itself before any word (left recursion), a rule that
never comes to an end.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from difflib import get_close_matches
from typing import assert_never

from benchterm.phrases.jsgf import (
    Alternatives,
    Jsgf,
    Node,
    Null,
    Option,
    Repeat,
    Rule,
    RuleRef,
    Sequence,
    Tagged,
    Token,
    Void,
)


def check(grammar: Jsgf) -> None:
    """Look for what would make the grammar unusable.

    Raises:
        GrammarError: the first such thing, with its place.
    """
    for rule in grammar.rules.values():
        for node in walk(rule.body):
            if isinstance(node, RuleRef) and node.name not in grammar.rules:
                near = get_close_matches(node.name, grammar.rules, n=1, cutoff=0.5)
                hint = f"; did you mean <{near[0]}>?" if near else ""
                raise grammar.error(node.at, f"there is no rule <{node.name}>{hint}".rstrip("."))
    _check_left_edge(grammar)
    ending = rules_that_end(grammar.rules, written=True)
    for rule in grammar.rules.values():
        if rule.name not in ending:
            raise grammar.error(rule.at, f"<{rule.name}> never comes to an end")


def walk(node: Node) -> Iterator[Node]:
    """A node and everything inside it, in order; rules referred to are not entered."""
    yield node
    match node:
        case Sequence() | Alternatives():
            for item in node.items:
                yield from walk(item)
        case Option() | Repeat() | Tagged():
            yield from walk(node.item)


def rules_that_end(rules: Mapping[str, Rule], *, written: bool) -> frozenset[str]:
    """The rules by which a whole sentence can be said, or, if ``written``, said or typed."""
    return _least(rules, lambda body, known: can_end(body, known, written=written))


def can_end(node: Node, ending: frozenset[str], *, written: bool) -> bool:
    """Whether a node can be matched to its end, given the rules that can."""
    match node:
        case Token():
            return written or not node.quoted
        case Null() | Option():
            return True
        case Void():
            return False
        case RuleRef():
            return node.name in ending
        case Sequence():
            return all(can_end(item, ending, written=written) for item in node.items)
        case Alternatives():
            return any(can_end(item, ending, written=written) for item in node.items)
        case Repeat():
            return node.at_least == 0 or can_end(node.item, ending, written=written)
        case Tagged():
            return can_end(node.item, ending, written=written)
        case _:
            assert_never(node)


def _least(
    rules: Mapping[str, Rule], holds: Callable[[Node, frozenset[str]], bool]
) -> frozenset[str]:
    """The least set of rules for which a property holds that rests on other rules having it."""
    known: frozenset[str] = frozenset()
    while True:
        more = frozenset(name for name, rule in rules.items() if holds(rule.body, known))
        if more == known:
            return known
        known = more


def _can_be_empty(node: Node, empty: frozenset[str]) -> bool:
    match node:
        case Token() | Void():
            return False
        case Null() | Option():
            return True
        case RuleRef():
            return node.name in empty
        case Sequence():
            return all(_can_be_empty(item, empty) for item in node.items)
        case Alternatives():
            return any(_can_be_empty(item, empty) for item in node.items)
        case Repeat():
            return node.at_least == 0 or _can_be_empty(node.item, empty)
        case Tagged():
            return _can_be_empty(node.item, empty)
        case _:
            assert_never(node)


def _left_edge(node: Node, empty: frozenset[str]) -> Iterator[RuleRef]:
    """The rules that may begin before any word of the node is matched."""
    match node:
        case RuleRef():
            yield node
        case Sequence():
            for item in node.items:
                yield from _left_edge(item, empty)
                if not _can_be_empty(item, empty):
                    break
        case Alternatives():
            for item in node.items:
                yield from _left_edge(item, empty)
        case Option() | Repeat() | Tagged():
            yield from _left_edge(node.item, empty)


def _check_left_edge(grammar: Jsgf) -> None:
    empty = _least(grammar.rules, _can_be_empty)
    edges = {name: list(_left_edge(r.body, empty)) for name, r in grammar.rules.items()}
    cleared: set[str] = set()
    for name in grammar.rules:
        _descend(grammar, edges, [name], cleared)


def _descend(
    grammar: Jsgf, edges: Mapping[str, list[RuleRef]], trail: list[str], cleared: set[str]
) -> None:
    if trail[-1] in cleared:
        return
    for ref in edges[trail[-1]]:
        if ref.name in trail:
            ring = " -> ".join(f"<{name}>" for name in [*trail[trail.index(ref.name) :], ref.name])
            raise grammar.error(ref.at, f"endless: {ring} without a word between")
        _descend(grammar, edges, [*trail, ref.name], cleared)
    cleared.add(trail[-1])
