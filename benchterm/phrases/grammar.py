"""One grammar in use: what can be said, how it is heard, and what it means.

Besides JSGF, three conventions:

* What stands in quotation marks is written, never said: ``"8"``. ``"#"`` is any figure, ``"..."``
  the rest of the line.
* Tags are the small language of ``meanings``.
* The rules ``<station>``, ``<digit>``, ``<point>`` and ``<whole>`` are there: from them the bench
  takes the words with which it speaks back.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from benchterm.phrases import jsgf
from benchterm.phrases.automaton import Places, Tags, WordAutomaton
from benchterm.phrases.meanings import tag_problem
from benchterm.phrases.soundness import check, walk

FIGURE = "#"
REST = "..."
NEEDED = ("station", "digit", "point", "whole")
"""Rules every grammar has."""

_FIGURE = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)|[+-]?(?:nan|inf(?:inity)?)", re.ASCII)


@dataclass(frozen=True, slots=True)
class Saying:
    """One kind of thing that can be said, for a help page."""

    what: str
    """What it is for."""
    pattern: str
    """Its shape, as in ``<station> <number> [newtons]``."""
    examples: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Parsed:
    """How far a sequence of words was understood, and what it means."""

    meanings: tuple[Tags, ...]
    """The tags of each way to understand all of it; empty: not understood."""
    reached: int
    """How many words were followed."""
    expected: tuple[str, ...]
    """What could have come next, as in the grammar; empty: nothing."""
    complete: bool
    """Whether the words followed are a sentence."""


class Grammar:
    """A grammar file, read and checked once; immutable but for what it remembers of walks."""

    def __init__(self, source: jsgf.Jsgf) -> None:
        check(source)
        _check_conventions(source)
        self.name = source.name
        self.locale = source.locale
        """Language as in the header: ``en``, ``ko``."""
        self._rules = source.rules
        self._public = tuple(rule for rule in source.rules.values() if rule.public)
        refs = tuple(jsgf.RuleRef(rule.name) for rule in self._public)
        self._start = jsgf.Alternatives(refs, (1.0,) * len(refs))

    @classmethod
    def load(cls, path: Path) -> Grammar:
        """Read a grammar file.

        Raises:
            GrammarError: it cannot be used; says where and what was expected.
        """
        return cls(jsgf.load(path))

    def parse(self, words: Sequence[str]) -> Parsed:
        """What words mean, said or written; case and punctuation at a word's end do not count."""
        return _follow(self._written, words)

    def sentences(self, rule: str) -> Iterator[tuple[tuple[str, ...], Tags]]:
        """Every sentence of a rule that can be said, in the order of the file, with its tags."""
        places = Places(self._rules, jsgf.RuleRef(rule), written=False)
        return _sentences(places, places.start, (), ())

    @cached_property
    def _written(self) -> Places:
        return Places(self._rules, self._start, written=True)

    @cached_property
    def automaton(self) -> WordAutomaton:
        """What can be said, for a decoder to walk."""
        return WordAutomaton(Places(self._rules, self._start, written=False))

    @cached_property
    def words(self) -> tuple[str, ...]:
        """Every word that can be said, sorted."""
        tokens = self._tokens(rule.name for rule in self._public)
        return tuple(sorted({token.text for token in tokens if not token.quoted}))

    @cached_property
    def number_words(self) -> frozenset[str]:
        """The words of those rules which also take a figure."""
        named = [
            rule.name
            for rule in self._rules.values()
            if any(isinstance(n, jsgf.Token) and n.text == FIGURE for n in walk(rule.body))
        ]
        return frozenset(token.text for token in self._tokens(named))

    @cached_property
    def station_names(self) -> tuple[str, ...]:
        """The first name of each station, in the order of the file."""
        names: dict[Tags, str] = {}
        for words, tags in self.sentences("station"):
            names.setdefault(tags, " ".join(words))
        return tuple(names.values())

    @cached_property
    def sayings(self) -> tuple[Saying, ...]:
        """What can be said, for a help page, from the documentation comments in the file."""
        nodes = (node for rule in self._public for node in walk(rule.body))
        names = dict.fromkeys(node.name for node in nodes if isinstance(node, jsgf.RuleRef))
        return tuple(_saying(self._rules[name]) for name in names)

    def _tokens(self, names: Iterator[str] | list[str]) -> Iterator[jsgf.Token]:
        seen: set[str] = set()
        todo = list(names)
        while todo:
            name = todo.pop()
            if name in seen:
                continue
            seen.add(name)
            for node in walk(self._rules[name].body):
                if isinstance(node, jsgf.Token):
                    yield node
                elif isinstance(node, jsgf.RuleRef):
                    todo.append(node.name)


def key(word: str) -> str:
    """A word as the grammar knows it: lower case, without punctuation at its ends."""
    return word.replace("\u2019", "'").replace("\u2212", "-").strip(",;:!?").rstrip(".").casefold()


def is_figure(word: str) -> bool:
    """Whether a word is a number in figures."""
    return _FIGURE.fullmatch(key(word)) is not None


def _follow(places: Places, words: Sequence[str]) -> Parsed:
    paths: dict[tuple[int, Tags], None] = {(places.start, ()): None}
    meanings: dict[Tags, None] = {}
    for i, word in enumerate(words):
        further: dict[tuple[int, Tags], None] = {}
        wanted = key(word)
        figure = f"#{wanted.replace(',', '.')}" if is_figure(word) else ""
        for place, tags in paths:
            for arc in places[place].arcs:
                text = arc.token.text if arc.token.quoted else ""
                if text == REST:
                    rest = (*tags, *arc.tags, f"text={' '.join(words[i:])}")
                    meanings |= {rest + end: None for end in places[arc.place].ends}
                elif text == FIGURE and figure:
                    further[arc.place, (*tags, *arc.tags, figure)] = None
                elif arc.token.text.casefold() == wanted:
                    further[arc.place, tags + arc.tags] = None
        if not further:
            return _parsed(places, paths, meanings, len(words) if meanings else i)
        paths = further
    meanings |= {tags + end: None for place, tags in paths for end in places[place].ends}
    return _parsed(places, paths, meanings, len(words))


def _parsed(
    places: Places,
    paths: dict[tuple[int, Tags], None],
    meanings: dict[Tags, None],
    reached: int,
) -> Parsed:
    tokens = {
        arc.token.text: None
        for place, _ in paths
        for arc in places[place].arcs
        if not arc.token.quoted or arc.token.text in (FIGURE, REST)
    }
    complete = any(places[place].ends for place, _ in paths)
    return Parsed(tuple(meanings), reached, tuple(tokens), complete)


def _sentences(
    places: Places, place: int, words: tuple[str, ...], tags: Tags
) -> Iterator[tuple[tuple[str, ...], Tags]]:
    for end in places[place].ends:
        yield words, tags + end
    for arc in places[place].arcs:
        yield from _sentences(places, arc.place, (*words, arc.token.text), tags + arc.tags)


def _check_conventions(source: jsgf.Jsgf) -> None:
    for name in NEEDED:
        if name not in source.rules:
            raise source.error(0, f"the rule <{name}> is missing")
    for rule in source.rules.values():
        for node in walk(rule.body):
            if isinstance(node, jsgf.Token) and node.quoted and " " in node.text:
                raise source.error(node.at, "one word only between quotation marks")
            if isinstance(node, jsgf.Tagged) and (problem := tag_problem(node.tag.text)):
                raise source.error(node.tag.at, problem)


def _saying(rule: jsgf.Rule) -> Saying:
    lines = rule.doc.splitlines()
    examples = tuple(
        line.removeprefix("@example").strip() for line in lines if line.startswith("@example")
    )
    what = " ".join(line for line in lines if not line.startswith("@"))
    return Saying(what, _pattern(rule.body), examples)


def _pattern(node: jsgf.Node) -> str:
    match node:
        case jsgf.Token():
            return node.text
        case jsgf.RuleRef():
            return f"<{node.name}>"
        case jsgf.Sequence():
            return " ".join(_grouped(item) for item in node.items)
        case jsgf.Alternatives():
            return " | ".join(_pattern(item) for item in node.items)
        case jsgf.Option():
            return f"[{_pattern(node.item)}]"
        case jsgf.Repeat():
            return _grouped(node.item) + ("+" if node.at_least else "*")
        case jsgf.Tagged():
            return _pattern(node.item)
        case jsgf.Null() | jsgf.Void():
            return ""


def _grouped(node: jsgf.Node) -> str:
    inner = node
    while isinstance(inner, jsgf.Tagged):
        inner = inner.item
    text = _pattern(inner)
    return f"({text})" if isinstance(inner, jsgf.Alternatives) else text
