"""What a grammar accepts, against Python's regular expressions and another JSGF compiler."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.phrases import jsgf
from benchterm.phrases.automaton import Places, WordAutomaton
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.jsgf import Alternatives, Node, Option, Repeat, Sequence, Tag, Tagged, Token

HEAD = "#JSGF V1.0 UTF-8 en;\ngrammar test;\n"


def automaton(rules: str) -> WordAutomaton:
    grammar = jsgf.parse(HEAD + rules)
    return WordAutomaton(Places(grammar.rules, grammar.rules["a"].body, written=False))


def accepts(walk: WordAutomaton, words: list[str]) -> bool:
    state: int | None = walk.start
    for word in words:
        state = walk.next(state, word)
        if state is None:
            return False
    return walk.final(state)


def test_a_decoder_walks_word_by_word() -> None:
    walk = automaton("public <a> = far (left | right) | near;")
    assert walk.words(walk.start) == ("far", "near")
    far = walk.next(walk.start, "far")
    assert far is not None
    assert walk.words(far) == ("left", "right")
    assert not walk.final(far)
    left = walk.next(far, "left")
    assert left is not None
    assert walk.final(left)
    assert walk.next(walk.start, "left") is None


def test_ways_with_the_same_words_are_one_state() -> None:
    walk = automaton("public <a> = x y | x z | x;")
    after = walk.next(walk.start, "x")
    assert after is not None
    assert walk.words(after) == ("y", "z")
    assert walk.final(after)


def test_what_is_only_written_is_never_offered() -> None:
    walk = automaton('public <a> = note "..." | far ("8" | left) | stop [because "..."];')
    assert walk.words(walk.start) == ("far", "stop")
    stop = walk.next(walk.start, "stop")
    assert stop is not None
    assert walk.words(stop) == ()
    assert walk.final(stop)


def test_a_rule_that_calls_itself_at_its_end_needs_no_more_states() -> None:
    walk = automaton("public <a> = x <a> | y;")
    state: int | None = walk.start
    seen = set()
    for _ in range(50):
        state = walk.next(state, "x")
        assert state is not None
        seen.add(state)
    assert len(seen) == 1


def test_a_rule_that_calls_itself_in_the_middle_counts() -> None:
    walk = automaton("public <a> = x <a> y | z;")
    assert accepts(walk, ["x"] * 20 + ["z"] + ["y"] * 20)
    assert not accepts(walk, ["x"] * 20 + ["z"] + ["y"] * 19)


trees: st.SearchStrategy[Node] = st.recursive(
    st.sampled_from("abc").map(Token),
    lambda inner: st.one_of(
        st.lists(inner, min_size=2, max_size=3).map(lambda items: Sequence(tuple(items))),
        st.lists(inner, min_size=2, max_size=3).map(
            lambda items: Alternatives(tuple(items), (1.0,) * len(items))
        ),
        inner.map(Option),
        st.builds(Repeat, inner, st.integers(0, 1)),
        inner.map(lambda item: Tagged(item, Tag("x"))),
    ),
    max_leaves=8,
)


def as_regex(node: Node) -> str:
    match node:
        case Token():
            return node.text
        case Sequence():
            return "".join(as_regex(item) for item in node.items)
        case Alternatives():
            return f"(?:{'|'.join(as_regex(item) for item in node.items)})"
        case Option():
            return f"(?:{as_regex(node.item)})?"
        case Repeat():
            return f"(?:{as_regex(node.item)}){'+' if node.at_least else '*'}"
        case Tagged():
            return as_regex(node.item)
    raise AssertionError(node)


@given(trees, st.lists(st.sampled_from("abc"), max_size=6))
def test_a_grammar_accepts_what_the_same_regular_expression_matches(
    tree: Node, words: list[str]
) -> None:
    walk = WordAutomaton(Places({}, tree, written=False))
    assert accepts(walk, words) == bool(re.fullmatch(as_regex(tree), "".join(words)))


def test_the_english_grammar_accepts_what_another_compiler_makes_of_it(
    english: Grammar, english_file: Path, tmp_path: Path
) -> None:
    """Word for word, over all states, against pocketsphinx's own JSGF reader."""
    pocketsphinx = pytest.importorskip("pocketsphinx")
    source = pocketsphinx.Jsgf(str(english_file))
    fsg = source.build_fsg(source.get_rule("en.command"), pocketsphinx.LogMath(), 1.0)
    fsg.writefile(str(tmp_path / "en.fsg"))
    other = FiniteStateGrammar((tmp_path / "en.fsg").read_text())
    ours = english.automaton

    todo = [(other.start, ours.start)]
    seen = set(todo)
    while todo:
        theirs, state = todo.pop()
        assert other.final(theirs) == ours.final(state)
        # It does not know that words in quotation marks are typed only, and so goes on to
        # places from which nothing can be said.
        typed_only = {"note", "because"}
        words = other.words(theirs) - typed_only
        assert words == set(ours.words(state))
        for word in words:
            pair = (other.next(theirs, word), ours.next(state, word))
            assert pair[1] is not None
            if pair not in seen:
                seen.add(pair)
                todo.append(pair)
    assert len(seen) > 500


class FiniteStateGrammar:
    """A grammar as pocketsphinx writes it: numbered states, transitions with or without a word."""

    def __init__(self, text: str) -> None:
        self._arcs: dict[int, list[tuple[int, str]]] = {}
        for line in text.splitlines():
            match line.split():
                case ["TRANSITION", start, end, _, *word]:
                    self._arcs.setdefault(int(start), []).append((int(end), "".join(word)))
                case ["START_STATE", state]:
                    first = int(state)
                case ["FINAL_STATE", state]:
                    self._last = int(state)
        self.start = self._closed({first})

    def final(self, states: frozenset[int]) -> bool:
        return self._last in states

    def words(self, states: frozenset[int]) -> set[str]:
        words = {word for state in states for _, word in self._arcs.get(state, ())}
        return {word for word in words if word and not word.startswith('"')}

    def next(self, states: frozenset[int], word: str) -> frozenset[int]:
        arcs = (arc for state in states for arc in self._arcs.get(state, ()))
        return self._closed({end for end, said in arcs if said == word})

    def _closed(self, states: set[int]) -> frozenset[int]:
        found, todo = set(states), list(states)
        while todo:
            for end, word in self._arcs.get(todo.pop(), ()):
                if not word and end not in found:
                    found.add(end)
                    todo.append(end)
        return frozenset(found)
