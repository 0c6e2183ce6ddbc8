"""Reads the JSpeech Grammar Format (W3C Note, 5 June 2000) into an immutable tree.

Read: the header, the grammar's name, public and private rules, alternatives with weights,
sequences, groups, options, ``*`` and ``+``, tags, quoted tokens, ``<NULL>``, ``<VOID>``, comments.
Refused, with the place: imports, and whatever ``soundness`` finds.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple, NoReturn

from benchterm.errors import BenchError

MAX_DEPTH = 60
"""Groups inside groups; far above any real grammar, below the interpreter's own limit."""


class GrammarError(BenchError):
    """A grammar file cannot be used.

    Example scenarios: a bracket is not closed; a rule is misspelt; a rule never comes to an end.
    """

    exit_code = 2

    def __init__(self, path: str, line: int, column: int, why: str) -> None:
        super().__init__(
            f"{path}, line {line}, column {column}: {why}.",
            todo="Correct it there, or name another grammar in the settings.",
        )
        self.path = path
        self.line = line
        self.column = column
        self.why = why


@dataclass(frozen=True, slots=True)
class Token:
    """One word. In quotation marks in the file: ``quoted``."""

    text: str
    quoted: bool = False
    at: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class RuleRef:
    """A rule by its name."""

    name: str
    at: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Tag:
    """What stands between braces."""

    text: str
    at: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Sequence:
    """One after the other."""

    items: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Alternatives:
    """One of these; the weights are as written, 1 where none is."""

    items: tuple[Node, ...]
    weights: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Option:
    """This or nothing."""

    item: Node


@dataclass(frozen=True, slots=True)
class Repeat:
    """This any number of times: ``*``, or with ``at_least`` 1: ``+``."""

    item: Node
    at_least: int


@dataclass(frozen=True, slots=True)
class Tagged:
    """This, and what it means."""

    item: Node
    tag: Tag


@dataclass(frozen=True, slots=True)
class Null:
    """``<NULL>``: matched without a word."""


@dataclass(frozen=True, slots=True)
class Void:
    """``<VOID>``: never matched."""


Node = Token | RuleRef | Sequence | Alternatives | Option | Repeat | Tagged | Null | Void


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule and the documentation comment before it."""

    name: str
    public: bool
    body: Node
    doc: str = ""
    at: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Jsgf:
    """A whole file."""

    name: str
    locale: str
    rules: Mapping[str, Rule]
    path: str
    text: str = field(repr=False)

    def error(self, at: int, why: str) -> GrammarError:
        """The error for something at an offset in the text."""
        return _error(self.path, self.text, at, why)


def load(path: Path) -> Jsgf:
    """Read a grammar file in the encoding its header names (UTF-8 if none).

    Raises:
        GrammarError: it is not a JSGF file, or not a correct one.
    """
    try:
        data = path.read_bytes()
    except OSError as e:
        raise GrammarError(str(path), 1, 1, f"cannot be read ({e.strerror})") from e
    data = data.removeprefix(codecs.BOM_UTF8)
    head = _HEADER.match(data[:200].decode("latin-1"))
    encoding = (head["encoding"] if head else None) or "utf-8"
    try:
        text = data.decode(encoding)
    except LookupError:
        raise GrammarError(str(path), 1, 1, f"no encoding is called '{encoding}'") from None
    except UnicodeDecodeError as e:
        before = data[: e.start]
        line, column = before.count(b"\n") + 1, e.start - before.rfind(b"\n")
        raise GrammarError(str(path), line, column, f"a byte that is not {encoding}") from e
    return parse(text, str(path))


def parse(text: str, path: str = "grammar") -> Jsgf:
    """Read the text of a grammar.

    Raises:
        GrammarError: it is not a correct one.
    """
    return _Parser(text, path).document()


_HEADER = re.compile(
    r"#JSGF[ \t]+V1\.0(?:[ \t]+(?P<encoding>[\w.:-]+))?(?:[ \t]+(?P<locale>[\w-]+))?[ \t]*;"
)
_NAME = r"[\w$.+:,=|/\\()\[\]@#%!^&~-]+"
_LEXER = re.compile(
    rf"""
      (?P<space>\s+ | //[^\n]* | /\*(?!\*).*?\*/ | /\*\*/)
    | (?P<doc>/\*\*.*?\*/)
    | (?P<rule><{_NAME}\*?>)
    | "(?P<quoted>(?:[^"\\\n]|\\.)+)"
    | \{{(?P<tag>(?:[^}}\\]|\\.)*)\}}
    | (?P<weight>/[ \t]*(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?[ \t]*/)
    | (?P<mark>[;=|*+()\[\]])
    | (?P<word>[^\s;=|*+<>()\[\]{{}}"/](?:[^\s;=|*+<>()\[\]{{}}"/]|/(?![*/]))*)
    """,
    re.VERBOSE | re.DOTALL,
)
_UNFINISHED = {
    "<": "a rule's name between '<' and '>'",
    "{": "'}' at the end of the tag",
    '"': "closing quotation mark on the same line",
    "/": "'*/' at the end of the comment, or a weight as in /2.5/",
}


class _Lexeme(NamedTuple):
    kind: str
    text: str
    at: int


class _Parser:
    def __init__(self, text: str, path: str) -> None:
        self._text = text
        self._path = path
        self._docs: dict[int, str] = {}
        """Documentation comments by the number of the lexeme they stand before."""
        self._next = 0
        self._depth = 0
        self._grammar = ""

    def document(self) -> Jsgf:
        head = _HEADER.match(self._text)
        if head is None:
            self._fail(0, "expected the header '#JSGF V1.0 UTF-8 en;' as the first thing")
        self._lexemes = self._scan(head.end())
        if self._take("word", "'grammar name;' after the header").text != "grammar":
            self._fail(self._lexemes[0].at, "expected 'grammar name;' after the header")
        self._grammar = self._take("word", "the grammar's name").text
        self._mark(";", "';' after the grammar's name")
        rules: dict[str, Rule] = {}
        while self._peek().kind != "end":
            rule = self._rule()
            if rule.name in rules:
                self._fail(rule.at, f"<{rule.name}> is defined a second time")
            rules[rule.name] = rule
        if not any(rule.public for rule in rules.values()):
            self._fail(self._peek().at, "expected at least one public rule")
        locale = head["locale"] or ""
        return Jsgf(self._grammar, locale, MappingProxyType(rules), self._path, self._text)

    def _scan(self, at: int) -> list[_Lexeme]:
        lexemes: list[_Lexeme] = []
        while at < len(self._text):
            found = _LEXER.match(self._text, at)
            if found is None:
                what = self._text[at]
                wanted = _UNFINISHED.get(what)
                self._fail(at, f"expected {wanted}" if wanted else f"'{what}' opens nothing")
            kind = str(found.lastgroup)
            if kind == "doc":
                self._docs[len(lexemes)] = found["doc"]
            elif kind != "space":
                lexemes.append(_Lexeme(kind, found[kind], at))
            at = found.end()
        lexemes.append(_Lexeme("end", "the end of the file", at))
        return lexemes

    def _rule(self) -> Rule:
        doc = _plain_doc(self._docs.get(self._next, ""))
        first = self._peek()
        if (first.kind, first.text) == ("word", "import"):
            self._fail(first.at, "imports are not read: put the rules into this file")
        public = (first.kind, first.text) == ("word", "public")
        if public:
            self._next += 1
        head = self._take("rule", "a rule as in '<name> = words;'")
        name = self._local(head)
        if name in ("NULL", "VOID"):
            self._fail(head.at, f"<{name}> has its meaning already")
        self._mark("=", f"'=' after <{name}>")
        body = self._alternatives()
        self._mark(";", f"';' or more words of <{name}>")
        return Rule(name, public, body, doc, head.at)

    def _alternatives(self) -> Node:
        items: list[Node] = []
        weights: list[float] = []
        while True:
            weight = 1.0
            if self._peek().kind == "weight":
                weight = float(self._advance().text.strip("/ \t"))
            items.append(self._sequence())
            weights.append(weight)
            if self._peek().text != "|" or self._peek().kind != "mark":
                break
            self._next += 1
        return items[0] if len(items) == 1 else Alternatives(tuple(items), tuple(weights))

    def _sequence(self) -> Node:
        items = [self._item()]
        while self._peek().kind in ("word", "quoted", "rule") or self._at_mark("(["):
            items.append(self._item())
        return items[0] if len(items) == 1 else Sequence(tuple(items))

    def _item(self) -> Node:
        node = self._atom()
        while True:
            if self._peek().kind == "tag":
                tag = self._advance()
                node = Tagged(node, Tag(_unescaped(tag.text).strip(), tag.at))
            elif self._at_mark("*+"):
                node = Repeat(node, at_least=1 if self._advance().text == "+" else 0)
            else:
                return node

    def _atom(self) -> Node:
        if self._at_mark("(["):
            return self._group()
        lexeme = self._advance()
        if lexeme.kind == "word":
            return Token(lexeme.text, at=lexeme.at)
        if lexeme.kind == "quoted":
            return Token(_unescaped(lexeme.text), quoted=True, at=lexeme.at)
        if lexeme.kind == "rule":
            name = self._local(lexeme)
            return _SPECIAL.get(name) or RuleRef(name, lexeme.at)
        return self._fail(lexeme.at, f"expected a word, a rule, '(' or '[', found {_shown(lexeme)}")

    def _group(self) -> Node:
        opened = self._advance()
        self._depth += 1
        if self._depth > MAX_DEPTH:
            self._fail(opened.at, f"brackets more than {MAX_DEPTH} deep")
        inner = self._alternatives()
        self._depth -= 1
        closing = ")" if opened.text == "(" else "]"
        self._mark(closing, f"'{closing}' for the '{opened.text}' of {self._place(opened.at)}")
        return inner if closing == ")" else Option(inner)

    def _peek(self) -> _Lexeme:
        return self._lexemes[self._next]

    def _advance(self) -> _Lexeme:
        lexeme = self._peek()
        if lexeme.kind != "end":
            self._next += 1
        return lexeme

    def _at_mark(self, marks: str) -> bool:
        lexeme = self._peek()
        return lexeme.kind == "mark" and lexeme.text in marks

    def _take(self, kind: str, wanted: str) -> _Lexeme:
        lexeme = self._advance()
        if lexeme.kind != kind:
            self._fail(lexeme.at, f"expected {wanted}, found {_shown(lexeme)}")
        return lexeme

    def _mark(self, mark: str, wanted: str) -> None:
        lexeme = self._advance()
        if (lexeme.kind, lexeme.text) != ("mark", mark):
            self._fail(lexeme.at, f"expected {wanted}, found {_shown(lexeme)}")

    def _local(self, lexeme: _Lexeme) -> str:
        return lexeme.text[1:-1].removeprefix(f"{self._grammar}.")

    def _place(self, at: int) -> str:
        line, column = _line_column(self._text, at)
        return f"line {line}, column {column}"

    def _fail(self, at: int, why: str) -> NoReturn:
        raise _error(self._path, self._text, at, why)


_SPECIAL: dict[str, Node] = {"NULL": Null(), "VOID": Void()}


def _unescaped(text: str) -> str:
    return re.sub(r"\\(.)", r"\1", text, flags=re.DOTALL)


def _shown(lexeme: _Lexeme) -> str:
    return lexeme.text if lexeme.kind == "end" else f"'{lexeme.text}'"


def _plain_doc(comment: str) -> str:
    lines = (line.strip().removeprefix("*").strip() for line in comment[3:-2].splitlines())
    return "\n".join(line for line in lines if line)


def _line_column(text: str, at: int) -> tuple[int, int]:
    return text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at)


def _error(path: str, text: str, at: int, why: str) -> GrammarError:
    return GrammarError(path, *_line_column(text, at), why)
