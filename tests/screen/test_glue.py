"""Glue chosen by keypad: in the set-up form and at the bench, where its cautions are asked anew."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from screen.rig import FACTS, Rig, bench, desk, rig, shop

from benchterm.core.bench import NotSaved
from benchterm.core.gates import open_checks
from benchterm.core.stages import Stage
from benchterm.desk import Desk
from benchterm.screen.bench_screen import BenchScreen
from benchterm.screen.form import FIELDS
from benchterm.screen.glue_screen import GlueScreen
from benchterm.screen.setup_screen import SetupScreen
from benchterm.screen.start import StartScreen

GLUE_FIELD = [field.names for field in FIELDS].index(True)
GLUED = replace(FACTS, products=("demo-bond", "demo-spray"))


@pytest.fixture(autouse=True)
def home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def number_of(at: Rig, name: str) -> str:
    return str([offer.name for offer in at.screen.offers].index(name) + 1)


def texts(at: Desk) -> list[str]:
    return [check.text for check in open_checks(at.bench.state) if check.caution]


async def to_the_glue_field(at: Rig) -> None:
    await at.enter("+", *[""] * GLUE_FIELD)
    assert at.screen.form.field.names


async def test_the_form_asks_for_the_glue_and_takes_it_from_a_list(tmp_path: Path):
    async with rig(lambda: StartScreen(shop(tmp_path))) as at:
        await to_the_glue_field(at)
        assert "none named" in at.pane("fields")
        await at.enter("*")
        assert isinstance(at.screen, GlueScreen)
        assert "Demo thick bond, adhesive, data sheet 20" in at.pane("offers")
        assert "…" not in at.pane("offers") + at.pane("keys")
        await at.enter(number_of(at, "demo-bond"))
        await at.enter(number_of(at, "demo-spray"))
        await at.enter("+")
        assert "demo-bond, demo-spray" in at.pane("fields")
        await at.enter("+")
        await at.pilot.press("enter")
        assert isinstance(at.screen, BenchScreen)
        assert at.state.facts.products == ("demo-bond", "demo-spray")
        assert at.state.briefing.cautions


async def test_chosen_twice_is_not_chosen_and_escape_leaves_all_as_it_was(tmp_path: Path):
    async with rig(
        lambda: SetupScreen(GLUED, shop(tmp_path).practice, shop(tmp_path).offers)
    ) as at:
        at.screen.form.at = GLUE_FIELD
        await at.enter("*")
        bond = number_of(at, "demo-bond")
        assert "✓" in at.pane("offers")
        await at.enter(bond)
        assert "1 chosen" in at.pane("heading")
        await at.enter("/")
        assert "none chosen" in at.pane("heading")
        await at.enter("99")
        assert "There is no number 99." in at.pane("said")
        await at.pilot.press("escape")
        assert at.screen.form.values["products"] == GLUED.products


async def test_other_glue_at_the_bench_asks_its_own_cautions_anew():
    at = desk(stage=Stage.ADHESIVE, facts=GLUED)
    async with bench(at) as opened:
        before = texts(at)
        for _ in before:
            await opened.enter("*")
        assert not texts(at)
        await opened.pilot.press("f6")
        await opened.enter("/")
        await opened.enter(number_of(opened, "demo-two-part"))
        await opened.enter("+")
        assert isinstance(opened.screen, BenchScreen)
        assert opened.state.facts.products == ("demo-two-part",)
        assert "glue: Demo two-part" in opened.pane("message")
        assert texts(at)
        assert texts(at) != before


async def test_the_same_glue_or_none_taken_changes_nothing():
    at = desk(stage=Stage.ADHESIVE, facts=GLUED)
    async with bench(at) as opened:
        seq = at.bench.state.last_seq
        await opened.pilot.press("f6")
        await opened.enter("+")
        await opened.pilot.press("f6", "escape")
        assert isinstance(opened.screen, BenchScreen)
        assert at.bench.state.last_seq == seq


async def test_a_file_that_cannot_be_read_is_shown_as_such_and_closes_the_gate(home: Path):
    folder = home / "products"
    folder.mkdir(parents=True)
    (folder / "broken.toml").write_text("name = [", encoding="utf-8")
    at = desk(stage=Stage.ADHESIVE, facts=GLUED)
    async with bench(at) as opened:
        await opened.pilot.press("f6")
        assert "■ broken" in opened.pane("offers")
        assert "cannot be used" in opened.pane("offers")
        await opened.enter(number_of(opened, "broken"))
        await opened.enter("+")
        assert at.bench.state.briefing.closed
        await opened.enter("+")
        assert opened.state.stage is Stage.ADHESIVE, "there is no way on with a closed gate"


async def test_glue_that_cannot_be_written_down_is_not_used(monkeypatch: pytest.MonkeyPatch):
    def full(*_: object) -> None:
        raise NotSaved("no space left on the disk")

    at = desk(stage=Stage.ADHESIVE, facts=GLUED)
    async with bench(at) as opened:
        monkeypatch.setattr(at.bench, "note", full)
        await opened.pilot.press("f6")
        await opened.enter("/")
        await opened.enter("+")
        assert opened.state.facts.products == GLUED.products
        assert "NOT SAVED: no space left on the disk" in opened.pane("message")
        assert "■ NOT SAVED" in opened.pane("links")
