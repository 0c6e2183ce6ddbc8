"""A caution that waits is shown in letters to be read across the room."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from screen.rig import FACTS, bench, desk

from benchterm.core.cautions import GENERAL
from benchterm.core.gates import open_checks
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.safety.briefing import briefing_for
from benchterm.screen.letters import lettered

GLUES = (("demo-bond", "demo-spray"), ("demo-two-part", "demo-hardener"))
GLUED = replace(FACTS, products=GLUES[0])


def every_caution() -> list[str]:
    texts = [caution.text for caution in GENERAL]
    for names in GLUES:
        texts += [c.text for c in briefing_for(names, Practice(), date(2026, 3, 2)).cautions]
    return texts


def plain(dots: tuple[str, ...]) -> list[str]:
    """Half blocks as dots, two rows of dots to a row of text."""
    upper, lower = {"█", "▀"}, {"█", "▄"}
    return [
        "".join("#" if c in half else "." for c in row) for row in dots for half in (upper, lower)
    ]


def test_letters_are_drawn_as_dots():
    assert plain(lettered("t.", 5, 3)) == ["###..", ".#...", ".#...", ".#...", ".#..#", "....."]


def test_no_two_letters_look_alike():
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    assert len({lettered(letter, 20, 3) for letter in letters}) == len(letters)


@pytest.mark.parametrize("text", every_caution())
def test_every_caution_of_the_program_is_large_in_the_smallest_usual_terminal(text: str):
    assert lettered(text, 78, 15)


@given(st.text("abc DEF.,:-12", max_size=90), st.integers(1, 120), st.integers(1, 40))
def test_what_is_drawn_fits(text: str, width: int, height: int):
    rows = lettered(text, width, height)
    assert len(rows) <= height
    assert all(len(row) <= width for row in rows)


def test_larger_letters_where_there_is_room_and_none_where_there_is_no_glyph():
    assert len(lettered("glue", 200, 40)) == 12
    assert lettered("풀", 200, 40) == ()
    assert lettered("a word-that-does-not-fit-on-one-line", 40, 40) == ()


@pytest.mark.parametrize("size", [(80, 24), (200, 60)], ids=str)
async def test_the_gate_shows_each_caution_large_until_all_are_acknowledged(size: tuple[int, int]):
    at = desk(stage=Stage.ADHESIVE, facts=GLUED)
    async with bench(at, size) as opened:
        cautions = [check for check in open_checks(at.bench.state) if check.caution]
        for number, check in enumerate(cautions, 1):
            shown = opened.pane("warning")
            assert f"caution {number} of {len(cautions)}" in shown
            large = lettered(check.text, size[0] - 2, len(shown.splitlines()) - 1)
            assert large
            assert all(row.rstrip() in shown for row in large)
            assert not opened.screen.query_one("#body").display
            await opened.enter("*")
        assert opened.screen.query_one("#body").display
        assert not opened.screen.query_one("#warning").display


async def test_a_question_takes_the_place_of_the_caution():
    async with bench(desk(stage=Stage.ADHESIVE, facts=GLUED)) as opened:
        await opened.enter("+")
        assert opened.screen.query_one("#question").display
        assert not opened.screen.query_one("#warning").display
