"""The JSpeech Grammar Format. Precedence and syntax: W3C Note 5 June 2000, sections 2 to 5."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchterm.phrases import jsgf
from benchterm.phrases.jsgf import (
    Alternatives,
    GrammarError,
    Node,
    Null,
    Option,
    Repeat,
    RuleRef,
    Sequence,
    Tag,
    Tagged,
    Token,
    Void,
)
from benchterm.phrases.soundness import check

HEAD = "#JSGF V1.0 UTF-8 en;\ngrammar test;\n"


def body(expansion: str) -> Node:
    return jsgf.parse(f"{HEAD}public <a> = {expansion};").rules["a"].body


A, B, C = Token("a"), Token("b"), Token("c")


@pytest.mark.parametrize(
    ("expansion", "tree"),
    [
        ("a", A),
        ("a b", Sequence((A, B))),
        ("a | b c", Alternatives((A, Sequence((B, C))), (1, 1))),
        ("/10/ a | /.25/ b | c", Alternatives((A, B, C), (10, 0.25, 1))),
        ("(a | b) c", Sequence((Alternatives((A, B), (1, 1)), C))),
        ("[a b] c", Sequence((Option(Sequence((A, B))), C))),
        ("a b*", Sequence((A, Repeat(B, 0)))),
        ("(a b)+", Repeat(Sequence((A, B)), 1)),
        ("a b {x}", Sequence((A, Tagged(B, Tag("x"))))),
        ("a {x} {y}", Tagged(Tagged(A, Tag("x")), Tag("y"))),
        ("a* {x}", Tagged(Repeat(A, 0), Tag("x"))),
        ("(a | b) {x}", Tagged(Alternatives((A, B), (1, 1)), Tag("x"))),
        (r"a { two words \} }", Tagged(A, Tag("two words }"))),
        (r'"say \"a\""', Token('say "a"', quoted=True)),
        ("<other> a", Sequence((RuleRef("other"), A))),
        ("<test.other>", RuleRef("other")),
        ("<NULL> {x} | <VOID>", Alternatives((Tagged(Null(), Tag("x")), Void()), (1, 1))),
        ("a // to the end\n b", Sequence((A, B))),
        ("a /* over\n lines */ b", Sequence((A, B))),
        ("what's n/cm", Sequence((Token("what's"), Token("n/cm")))),
        ("왼쪽", Token("왼쪽")),
    ],
)
def test_an_expansion_becomes_a_tree(expansion: str, tree: Node) -> None:
    assert body(expansion) == tree


def test_a_file_has_a_name_a_language_and_documented_rules() -> None:
    text = f"""{HEAD}
    /**
     * Both of them.
     * @example a b
     */
    public <pair> = a <b>;
    <b> = b;
    """
    grammar = jsgf.parse(text)
    assert (grammar.name, grammar.locale) == ("test", "en")
    assert [(rule.name, rule.public) for rule in grammar.rules.values()] == [
        ("pair", True),
        ("b", False),
    ]
    assert grammar.rules["pair"].doc == "Both of them.\n@example a b"


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ("grammar x;", 1, 1, "expected the header"),
        (" #JSGF V1.0;", 1, 1, "expected the header"),
        ("#JSGF V1.0;\nrules x;", 2, 1, "expected 'grammar name;'"),
        ("#JSGF V1.0;\ngrammar;", 2, 8, "expected the grammar's name, found ';'"),
        ("#JSGF V1.0;\ngrammar x\n<a> = b;", 3, 1, "expected ';' after the grammar's name"),
        ("#JSGF V1.0;\ngrammar x;", 2, 11, "expected at least one public rule"),
        (f"{HEAD}<a> = b;", 3, 9, "expected at least one public rule"),
        (f"{HEAD}import <other.*>;", 3, 1, "imports are not read"),
        (f"{HEAD}public a = b;", 3, 8, "expected a rule as in '<name> = words;', found 'a'"),
        (f"{HEAD}public <a> b;", 3, 12, "expected '=' after <a>, found 'b'"),
        (f"{HEAD}public <a> = b\n<c> = d;", 4, 5, "expected ';' or more words of <a>, found '='"),
        (f"{HEAD}public <a> = ;", 3, 14, "expected a word, a rule, '(' or '[', found ';'"),
        (f"{HEAD}public <a> = b | | c;", 3, 18, "found '|'"),
        (f"{HEAD}public <a> = ();", 3, 15, "found ')'"),
        (f"{HEAD}public <a> = (b | c;", 3, 20, "expected ')' for the '(' of line 3, column 14"),
        (f"{HEAD}public <a> = [b);", 3, 16, "expected ']'"),
        (f"{HEAD}public <a> = b", 3, 15, "found the end of the file"),
        (f"{HEAD}public <a> = b {{x;", 3, 16, "expected '}' at the end of the tag"),
        (f"{HEAD}public <a> = {{x}} b;", 3, 14, "found 'x'"),
        (f'{HEAD}public <a> = "b;\n', 3, 14, "expected closing quotation mark"),
        (f"{HEAD}public <a> = <b;", 3, 14, "a rule's name between '<' and '>'"),
        (f"{HEAD}public <a> = b > c;", 3, 16, "'>' opens nothing"),
        (f"{HEAD}public <a> = b; /* no end", 3, 17, "'*/' at the end of the comment"),
        (f"{HEAD}public <a> = /x/ b;", 3, 14, "a weight as in /2.5/"),
        (f"{HEAD}public <a> = * b;", 3, 14, "found '*'"),
        (f"{HEAD}public <a> = b;\n<a> = c;", 4, 1, "<a> is defined a second time"),
        (f"{HEAD}public <NULL> = b;", 3, 8, "<NULL> has its meaning already"),
        (f"{HEAD}public <a> = {'(' * 99}b{')' * 99};", 3, 74, "brackets more than 60 deep"),
    ],
)
def test_a_mistake_is_named_with_its_place(text: str, line: int, column: int, words: str) -> None:
    with pytest.raises(GrammarError) as caught:
        jsgf.parse(text, "shop.jsgf")
    error = caught.value
    assert (error.line, error.column) == (line, column), error
    assert words in error.why
    assert str(error).startswith(f"shop.jsgf, line {line}, column {column}: ")


@pytest.mark.parametrize(
    ("rules", "line", "column", "words"),
    [
        ("public <a> = <numbr>;\n<number> = one;", 3, 14, "no rule <numbr>; did you mean <number>"),
        ("public <a> = b <zzz>;", 3, 16, "there is no rule <zzz>"),
        ("public <a> = <a> b | c;", 3, 14, "endless: <a> -> <a> without a word between"),
        ("public <a> = [x] <b>;\n<b> = y* <a>;", 4, 10, "endless: <a> -> <b> -> <a>"),
        ("public <a> = <n> <a> | b;\n<n> = <NULL>;", 3, 18, "endless: <a> -> <a>"),
        ("public <a> = x <a>;", 3, 8, "<a> never comes to an end"),
        ("public <a> = <VOID>;", 3, 8, "<a> never comes to an end"),
        ("public <a> = c;\n<b> = x (<b> | y <b>);", 4, 1, "<b> never comes to an end"),
    ],
)
def test_a_rule_that_leads_nowhere_is_refused(
    rules: str, line: int, column: int, words: str
) -> None:
    with pytest.raises(GrammarError) as caught:
        check(jsgf.parse(HEAD + rules))
    assert (caught.value.line, caught.value.column) == (line, column)
    assert words in caught.value.why


def test_recursion_after_a_word_is_in_order() -> None:
    check(jsgf.parse(f"{HEAD}public <a> = x <a> | x <a> y | z;"))


def test_a_file_is_read_in_the_encoding_its_header_names(tmp_path: Path) -> None:
    path = tmp_path / "x.jsgf"
    path.write_bytes("#JSGF V1.0 EUC-KR ko;\ngrammar x;\npublic <a> = 왼쪽;".encode("euc-kr"))
    assert jsgf.load(path).rules["a"].body == Token("왼쪽")


@pytest.mark.parametrize(
    ("data", "line", "column", "words"),
    [
        (HEAD.encode() + b"public <a> = \xff;", 3, 14, "a byte that is not UTF-8"),
        (b"#JSGF V1.0 morse en;\n", 1, 1, "no encoding is called 'morse'"),
        (b"\x00\x01\x02", 1, 1, "expected the header"),
        (b"", 1, 1, "expected the header"),
    ],
)
def test_a_file_that_is_no_text_is_refused(
    tmp_path: Path, data: bytes, line: int, column: int, words: str
) -> None:
    path = tmp_path / "x.jsgf"
    path.write_bytes(data)
    with pytest.raises(GrammarError, match=words) as caught:
        jsgf.load(path)
    assert (caught.value.line, caught.value.column) == (line, column)


def test_a_missing_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(GrammarError, match="cannot be read"):
        jsgf.load(tmp_path / "none.jsgf")
