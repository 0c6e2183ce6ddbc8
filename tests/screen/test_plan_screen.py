"""The set-up sheet: between form and bench, and from the bench by a key."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from screen.rig import FACTS, bench, desk, rig, shop
from textual.containers import VerticalScroll
from textual.widgets import Static

from benchterm.core.facts import Target
from benchterm.core.practice import Practice
from benchterm.records.sessions import unfinished
from benchterm.screen.bench_screen import BenchScreen
from benchterm.screen.plan_screen import PlanScreen, sheet_text
from benchterm.screen.setup_screen import SetupScreen
from benchterm.screen.start import StartScreen


def test_the_sheet_is_the_page_that_is_printed():
    text = sheet_text(FACTS, Practice())
    for told in ("cut the mesh", "gap to the corner", "one click adds", "can be promised"):
        assert told in text
    # The screen has a margin of one and a scroll bar of one.
    assert max(map(len, text.splitlines())) <= 78


def test_a_job_that_cannot_be_is_not_worked_out():
    facts = replace(FACTS, target=Target(along_n_cm=120.0, across_n_cm=120.0))
    assert "past 108" in sheet_text(facts, Practice())


def test_a_missing_product_is_told_and_the_rest_is_shown():
    text = sheet_text(replace(FACTS, products=("no-such-glue",)), Practice())
    assert "not known" in text
    assert "cut the mesh" in text


async def test_minus_goes_back_to_the_form_and_nothing_is_begun(tmp_path: Path):
    async with rig(lambda: StartScreen(shop(tmp_path))) as at:
        await at.enter("+", "+")
        assert isinstance(at.screen, PlanScreen)
        await at.app.workers.wait_for_complete()
        await at.pilot.pause()
        assert "SET-UP SHEET" in str(at.screen.query_one("#sheet", Static).content)
        await at.pilot.press("3")
        assert at.screen.query_one(VerticalScroll).scroll_y > 0
        await at.pilot.press("minus")
        assert isinstance(at.screen, SetupScreen)
        assert unfinished(tmp_path) == []
        await at.enter("+")
        await at.pilot.press("enter")
        assert isinstance(at.screen, BenchScreen)


async def test_a_key_opens_it_at_the_bench_and_what_is_typed_stays():
    async with bench(desk()) as at:
        await at.pilot.press("8", "f3")
        assert isinstance(at.screen, PlanScreen)
        await at.pilot.press("enter")
        assert isinstance(at.screen, BenchScreen)
        assert at.screen.typed == "8"
