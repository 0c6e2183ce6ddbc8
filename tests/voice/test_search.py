"""The search on a network that one can read: the pieces of a word are its letters' codes."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, log

import numpy as np
import pytest

from benchterm.phrases.grammar import Grammar
from benchterm.voice.search import Effort, Marks, search
from benchterm.voice.spelling import Pieces, Spelling

END, STOP, COMMA = 0, 1, 2
WORDS = {
    "far": (10,),
    "left": (11,),
    "two": (12,),
    "three": (13,),
    "click": (14,),
    "clicks": (14, 15),
    "nine": (16,),
    "niner": (16, 17),
    "point": (18,),
}
SIZE = 30


class Lines:
    """What can be said, as a list of sentences."""

    start = 0

    def __init__(self, *sentences: str) -> None:
        self._all = [tuple(s.split()) for s in sentences]
        self._prefixes = sorted({s[:i] for s in self._all for i in range(len(s) + 1)})

    def words(self, state: int) -> tuple[str, ...]:
        here = self._prefixes[state]
        n = len(here)
        return tuple({s[n]: None for s in self._all if s[:n] == here and len(s) > n})

    def next(self, state: int, word: str) -> int | None:
        there = (*self._prefixes[state], word)
        return self._prefixes.index(there) if there in self._prefixes else None

    def final(self, state: int) -> bool:
        return self._prefixes[state] in self._all


class Told:
    """A network that gives each piece the probability it is told, wherever it comes."""

    def __init__(self, after: dict[Pieces, dict[int, float]]) -> None:
        self._after = after
        self.calls: list[list[Pieces]] = []

    def log_probs(self, prefixes: Sequence[Pieces]) -> list[np.ndarray]:
        self.calls.append(list(prefixes))
        rows = []
        for prefix in prefixes:
            row = np.full(SIZE, log(1e-6), np.float32)
            for piece, p in self._after.get(prefix, {}).items():
                row[piece] = log(p)
            rows.append(row)
        return rows


def found(
    lines: Lines, told: Told, effort: Effort | None = None, floor: float = -inf
) -> dict[str, float]:
    spelling = Spelling(lines, WORDS.__getitem__)
    marks = Marks(comma=COMMA, ends=(END, STOP))
    result = search(told, spelling, marks, effort or Effort(), floor)
    assert [h.score for h in result] == sorted((h.score for h in result), reverse=True)
    return {" ".join(h.words): h.score for h in result}


def test_only_sentences_of_the_grammar_are_found():
    told = Told({(): {10: 0.1, 12: 0.9}, (10,): {12: 0.8, END: 0.2}, (10, 12): {END: 1.0}})
    assert next(iter(found(Lines("far two", "far three"), told))) == "far two"
    assert "two" not in found(Lines("far two", "far three"), told)


def test_the_score_is_the_probability_of_the_whole():
    told = Told({(): {10: 0.5}, (10,): {12: 0.5}, (10, 12): {END: 0.25}})
    scores = found(Lines("far two"), told)
    assert scores["far two"] == pytest.approx(log(0.5 * 0.5 * 0.25), abs=1e-4)


def test_two_ways_to_end_are_added_up():
    told = Told({(): {12: 1.0}, (12,): {END: 0.25, STOP: 0.5}})
    assert found(Lines("two"), told)["two"] == pytest.approx(log(0.75), abs=1e-4)


def test_with_a_comma_or_without_it_is_the_same_sentence():
    told = Told(
        {
            (): {10: 1.0},
            (10,): {12: 0.5, COMMA: 0.5},
            (10, COMMA): {12: 1.0},
            (10, 12): {END: 1.0},
            (10, COMMA, 12): {END: 1.0},
        }
    )
    assert found(Lines("far two"), told)["far two"] == pytest.approx(0.0, abs=1e-4)


def test_a_sentence_does_not_end_with_a_comma():
    told = Told({(): {12: 1.0}, (12,): {COMMA: 1.0}, (12, COMMA): {END: 1.0}})
    assert found(Lines("two"), told)["two"] == pytest.approx(log(2e-6), abs=0.01)


def test_a_word_of_several_pieces_is_walked_piece_by_piece():
    told = Told({(): {14: 1.0}, (14,): {15: 0.7, END: 0.3}, (14, 15): {END: 1.0}})
    scores = found(Lines("click", "clicks"), told)
    assert scores["clicks"] == pytest.approx(log(0.7), abs=1e-4)
    assert scores["click"] == pytest.approx(log(0.3), abs=1e-4)


def test_a_word_that_begins_another_may_be_followed_by_a_third():
    told = Told(
        {(): {16: 1.0}, (16,): {17: 0.4, 12: 0.6}, (16, 12): {END: 1.0}, (16, 17): {END: 1.0}}
    )
    scores = found(Lines("nine two", "niner"), told)
    assert list(scores) == ["nine two", "niner"]


def test_beams_that_fall_far_behind_are_let_go():
    told = Told({(): {10: 0.999, 11: 1e-5}, (10,): {END: 1.0}, (11,): {END: 1.0}})
    assert list(found(Lines("far", "left"), told, Effort(width=7.0))) == ["far"]
    assert list(found(Lines("far", "left"), told, Effort(width=20.0))) == ["far", "left"]


def test_what_scores_below_the_floor_is_given_up():
    told = Told({(): {10: 1e-4}, (10,): {12: 1e-4}, (10, 12): {END: 1.0}})
    assert list(found(Lines("far two"), told, floor=-19.0)) == ["far two"]
    assert found(Lines("far two"), told, floor=-13.0) == {}


def test_no_more_sentences_than_beams():
    told = Told({(): {10: 0.4, 11: 0.3, 12: 0.3}, **{(p,): {END: 1.0} for p in (10, 11, 12)}})
    assert len(found(Lines("far", "left", "two"), told, Effort(beams=2))) == 2


def test_beginnings_asked_for_together_are_as_long_and_differ():
    told = Told({(): {10: 0.5, 11: 0.5}, (10,): {12: 1.0}, (11,): {12: 1.0}})
    found(Lines("far two", "left two"), told)
    for prefixes in told.calls:
        assert len({len(p) for p in prefixes}) == 1
        assert len(set(prefixes)) == len(prefixes)


def test_a_grammar_with_nothing_so_short_gives_nothing():
    told = Told({(): {10: 1.0}})
    assert found(Lines("far two three"), told, Effort(longest=1)) == {}


def test_whatever_the_network_says_the_words_are_a_sentence(english: Grammar):
    rng = np.random.default_rng(4)
    numbers = {word: (i,) for i, word in enumerate(english.words, 3)}

    class Noise:
        def log_probs(self, prefixes: Sequence[Pieces]) -> list[np.ndarray]:
            return [rng.normal(-3, 2, 3 + len(numbers)).astype(np.float32) for _ in prefixes]

    spelling = Spelling(english.automaton, numbers.__getitem__)
    for _ in range(20):
        result = search(Noise(), spelling, Marks(2, (0, 1)), Effort(longest=12))
        assert result
        for hypothesis in result:
            assert english.parse(hypothesis.words).complete
