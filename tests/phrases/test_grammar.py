"""A shop's own grammar: words changed, a language added, mistakes found."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchterm.core.intents import Read, Turn
from benchterm.core.stations import Station
from benchterm.phrases import jsgf
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.jsgf import GrammarError
from benchterm.phrases.meanings import Bare
from benchterm.phrases.numbers import NumberWords
from benchterm.phrases.phrase import Misheard, parse

KOREAN = """#JSGF V1.0 UTF-8 ko;
grammar ko;
public <command> = <reading> | <turn>;
<reading> = [<station>] <number> {value} {do=read};
<turn> = <station> <whole> {clicks} 칸 [뒤로 {back}] {do=turn};
<station> = 먼 쪽 {station=8} | 가까운 쪽 {station=2};
<number> = (<whole> | "#") [<point> <tenth>];
<whole> = <digit> | 십 {10} [<digit>] | <tens> 십 [<digit>];
<tens> = 이 {20} | 삼 {30};
<digit> = 영 {0} | 일 {1} | 이 {2} | 삼 {3} | 사 {4} | 오 {5} | 육 {6} | 칠 {7} | 팔 {8} | 구 {9};
<tenth> = 영 {0} | 오 {0.5};
<point> = 점;
"""


def test_a_shop_renames_a_side(english_file: Path) -> None:
    text = english_file.read_text(encoding="utf-8")
    shop = Grammar(jsgf.parse(text.replace("| far [side]", "| wall [side]")))
    assert parse("wall twenty two", shop) == Read(Station.FAR, 22)
    assert "wall" in shop.words
    assert "wall" in shop.station_names
    found = parse("far twenty two", shop)
    assert isinstance(found, Misheard)


def test_a_second_language_is_a_second_file() -> None:
    korean = Grammar(jsgf.parse(KOREAN))
    assert korean.locale == "ko"
    assert parse("먼 쪽 이 십 이 점 오", korean) == Read(Station.FAR, 22.5)
    assert parse("먼 쪽 십 오", korean) == Read(Station.FAR, 15)
    assert parse("가까운 쪽 삼 칸 뒤로", korean) == Turn(Station.NEAR, -3)
    assert parse("22", korean) == Bare(22)


def test_a_language_that_lacks_numbers_is_still_heard_but_not_spoken() -> None:
    with pytest.raises(Exception, match="no word for 40 in its rule <whole>"):
        NumberWords(Grammar(jsgf.parse(KOREAN)))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("{station=8}", "{station=10}", "station= takes a number from 1 to 9"),
        ("{do=turn}", "{do=trun}", "do= takes one of read, name, "),
        ("{back}", "{bakc}", "'bakc' is no tag: expected a number or one of value, "),
        ("{value}", "{axis}", "'axis' is no tag"),
        ("{value}", "{axis=up}", "axis= takes one of along, across"),
        ('"#"', '"# #"', "one word only between quotation marks"),
        ("<station> <whole>", "<staton> <whole>", "did you mean <station>?"),
    ],
)
def test_a_mistake_in_a_shop_s_grammar_is_named_with_its_place(
    old: str, new: str, words: str
) -> None:
    text = KOREAN.replace(old, new, 1)
    before = text[: text.index(new)].splitlines()
    with pytest.raises(GrammarError) as caught:
        Grammar(jsgf.parse(text, "ko.jsgf"))
    error = caught.value
    assert (error.path, error.line, error.column) == ("ko.jsgf", len(before), len(before[-1]) + 1)
    assert words in error.why


def test_a_grammar_has_the_rules_the_bench_speaks_with() -> None:
    text = KOREAN.replace("<point> = 점;", "").replace("<point> <tenth>", "<tenth>")
    with pytest.raises(GrammarError, match="the rule <point> is missing"):
        Grammar(jsgf.parse(text))


def test_words_that_are_only_typed_are_no_words_to_be_heard(english: Grammar) -> None:
    assert "far" in english.words
    assert "niner" in english.words
    for typed in ("8", "#", "...", "mm", "n/cm"):
        assert typed not in english.words
    assert list(english.words) == sorted(set(english.words))


def test_sentences_of_a_rule_come_in_the_order_of_the_file(english: Grammar) -> None:
    words = [" ".join(words) for words, _ in english.sentences("axis")]
    assert words == ["along", "across"]


def test_an_endless_repeat_is_walked_only_as_far_as_asked(english_file: Path) -> None:
    text = english_file.read_text(encoding="utf-8")
    again = text.replace("<mute> = mute {do=mute};", "<mute> = mute (please | [now])* {do=mute};")
    assert again != text
    grammar = Grammar(jsgf.parse(again))
    found = grammar.parse(["mute", *["please", "now"] * 200])
    assert found.meanings == (("do=mute",),)


@pytest.mark.parametrize(
    ("rule", "why"),
    [
        ("hello", "The grammar gives these words no meaning: a do= tag is missing."),
        ("hello {do=ask}", "The grammar does not say what is asked: a topic= tag is missing."),
        ("hello {do=choose}", "The number of the choice is missing."),
        ("hello {do=aim}", "A tension is missing."),
        (
            "hello [<NULL> {do=mute}] {do=listen} | hello {do=mute}",
            "'hello' can mean more than one thing.",
        ),
    ],
)
def test_words_to_which_a_grammar_gives_no_meaning_are_refused(rule: str, why: str) -> None:
    grammar = Grammar(jsgf.parse(KOREAN.replace("<turn>;", f"<turn> | {rule};", 1)))
    assert parse("hello", grammar) == Misheard("hello", why)
