"""The first screen and the set-up form, by keypad."""

from __future__ import annotations

from pathlib import Path

import pytest
from screen.rig import FACTS, rig, shop

from benchterm.core.events import Source
from benchterm.core.facts import Facts, Mesh
from benchterm.core.intents import Note
from benchterm.core.practice import Practice
from benchterm.core.stations import Pair
from benchterm.core.units import CountUnit
from benchterm.screen.bench_screen import BenchScreen
from benchterm.screen.form import FIELDS, Form
from benchterm.screen.plan_screen import PlanScreen
from benchterm.screen.setup_screen import SetupScreen
from benchterm.screen.shop import next_id
from benchterm.screen.start import StartScreen


def form(facts: Facts = FACTS) -> Form:
    return Form(facts, Practice())


def at(filled: Form, key: str) -> Form:
    """The form with the hand at a field."""
    filled.at = [field.key for field in FIELDS].index(key)
    return filled


def test_what_is_not_touched_stays_as_it_was():
    assert form().finish() == FACTS
    odd = Facts(screen_id="x", mesh=Mesh(threads_cm=195 / 2.54, ceiling_n_cm=31.0))
    assert form(odd).finish() == odd


@pytest.mark.parametrize(
    ("key", "typed", "shown"),
    [
        ("screen_id", "41", "41"),
        ("mesh.thread_um", "48", "48 µm"),
        ("target.along_n_cm", "24,5", "24.5 N/cm"),
        ("stretcher.teeth", "18", "18 teeth"),
        ("along_pair", "2", "left to right"),
        ("mesh.ceiling_n_cm", "31", "31 N/cm"),
        ("stretcher.locking", "2", "two round rods"),
    ],
)
def test_a_value_is_entered_and_the_next_field_is_up(key: str, typed: str, shown: str):
    filled = at(form(), key)
    field = filled.field
    assert filled.take(typed) == ""
    assert filled.shown(field) == shown
    assert filled.at == FIELDS.index(field) + 1


def test_values_end_up_in_the_facts():
    filled = at(form(), "along_pair")
    filled.take("2")
    filled = at(filled, "frame.width_mm")
    filled.take("640")
    facts = filled.finish()
    assert facts
    assert facts.along_pair is Pair.LEFT_RIGHT
    assert facts.frame.width_mm == 640


def test_a_new_count_wants_its_unit():
    filled = at(form(), "mesh.count")
    assert filled.take("195") == ""
    assert filled.field.key == "mesh.unit"
    assert "per cm or per inch" in filled.take("")
    assert filled.finish() is None
    assert filled.take("2") == ""
    facts = filled.finish()
    assert facts
    # 1 in = 2.54 cm exactly (NIST SP 811).
    assert facts.mesh.threads_cm == pytest.approx(195 / 2.54)


def test_a_count_can_be_typed_with_its_unit():
    filled = at(form(), "mesh.count")
    assert filled.take("195/in") == ""
    assert filled.values["mesh.unit"] is CountUnit.PER_CM
    facts = filled.finish()
    assert facts
    assert facts.mesh.threads_cm == pytest.approx(195 / 2.54)


@pytest.mark.parametrize(
    ("key", "typed", "why"),
    [
        ("mesh.thread_um", "thick", "no number"),
        ("mesh.thread_um", "nan", "no number"),
        ("stretcher.teeth", "18.5", "whole number"),
        ("along_pair", "3", "Choose 1 far to near, 2 left to right"),
        ("mesh.thread_um", "/", "no number"),
        ("operator", "*", "no name"),
    ],
)
def test_what_is_no_value_is_told(key: str, typed: str, why: str):
    filled = at(form(), key)
    before = dict(filled.values)
    assert why in filled.take(typed)
    assert filled.values == before
    assert filled.field.key == key


def test_what_cannot_be_is_told_at_its_field():
    filled = at(form(), "frame.width_mm")
    filled.take("12")
    assert filled.finish() is None
    assert filled.field.key == "frame.width_mm"
    assert "outside" in filled.problems["frame.width_mm"]


def test_an_optional_field_can_be_emptied():
    filled = at(form(Facts(screen_id="x", mesh=Mesh(ceiling_n_cm=30))), "mesh.ceiling_n_cm")
    filled.take("/")
    facts = filled.finish()
    assert facts
    assert facts.mesh.ceiling_n_cm is None


@pytest.mark.parametrize(
    ("last", "following"), [("S-041", "S-042"), ("9", "10"), ("A", "A"), ("2026-099", "2026-100")]
)
def test_the_next_screen_has_the_next_number(last: str, following: str):
    assert next_id(last) == following


async def test_the_form_goes_from_field_to_field_and_says_what_is_wrong(tmp_path: Path):
    async with rig(lambda: StartScreen(shop(tmp_path))) as at:
        await at.enter("+")
        assert isinstance(at.screen, SetupScreen)
        assert f"field 1 of {len(FIELDS)}" in at.pane("heading")
        await at.enter("41", "", "", "", "120")
        assert "1 cm, 2 inch" in at.pane("fields")
        await at.enter("")
        assert "per cm or per inch" in at.pane("said")
        assert at.bells == 1
        await at.enter("1", "thick")
        assert "no number" in at.pane("said")
        assert at.screen.typed == "thick"
        await at.enter("")  # The pad has no key to rub out with.
        assert (at.screen.typed, at.pane("said").strip()) == ("", "")
        await at.enter("thick", "31", "-")
        assert at.screen.form.field.key == "mesh.thread_um"
        await at.enter("+")
        assert isinstance(at.screen, PlanScreen)
        await at.pilot.press("enter")
        assert isinstance(at.screen, BenchScreen)
        assert at.state.facts.screen_id == "41"
        assert at.state.facts.mesh.threads_cm == 120


async def test_the_first_screen_is_like_no_other(tmp_path: Path):
    async with rig(lambda: StartScreen(shop(tmp_path))) as at:
        assert "filled in like the last one" not in at.pane("sessions")
    shop(tmp_path).begin(FACTS).close()
    async with rig(lambda: StartScreen(shop(tmp_path))) as at:
        assert "filled in like the last one" in at.pane("sessions")


async def test_enter_through_every_field_begins(tmp_path: Path):
    async with rig(lambda: StartScreen(shop(tmp_path))) as at:
        await at.enter("+", "41")
        for field in FIELDS[1:]:
            assert field.label in at.pane("typed")
            await at.enter("")
        assert isinstance(at.screen, PlanScreen)
        await at.pilot.press("enter")
        assert isinstance(at.screen, BenchScreen)


async def test_the_form_begins_with_the_last_screens_facts(tmp_path: Path):
    facts = Facts(screen_id="S-041", operator="AB", mesh=Mesh(threads_cm=54.0, thread_um=64.0))
    shop(tmp_path).begin(facts).close()
    async with rig(lambda: StartScreen(shop(tmp_path))) as at:
        await at.enter("+")
        assert "S-042" in at.pane("fields")
        assert "AB" in at.pane("fields")
        assert "54 threads" in at.pane("fields")
        await at.pilot.press("escape")
        assert isinstance(at.screen, StartScreen)


async def test_a_damaged_session_is_named_and_cannot_be_chosen(tmp_path: Path):
    desk = shop(tmp_path).begin(FACTS)
    desk.take(Note("x"), Source.PIPE)
    desk.close()
    path = desk.journal.path
    path.write_bytes(path.read_bytes().replace(b'"x"', b'"y"'))
    async with rig(lambda: StartScreen(shop(tmp_path))) as at:
        assert "■ damaged" in at.pane("sessions")
        assert path.name in at.pane("sessions")
        await at.enter("1")
        assert "no session 1" in at.pane("said")
        assert isinstance(at.screen, StartScreen)


async def test_a_session_another_program_writes_is_told(tmp_path: Path):
    desk = shop(tmp_path).begin(FACTS)
    async with rig(lambda: StartScreen(shop(tmp_path))) as at:
        await at.enter("1")
        assert isinstance(at.screen, StartScreen)
        assert "✗" in at.pane("said")
        assert at.bells == 1
    desk.close()


async def test_a_session_asked_for_is_opened_at_once(tmp_path: Path):
    async with rig(lambda: StartScreen(shop(tmp_path), begin=FACTS)) as at:
        assert isinstance(at.screen, BenchScreen)
        path = at.screen.feed.desk.journal.path
    async with rig(lambda: StartScreen(shop(tmp_path), resume=path)) as at:
        assert isinstance(at.screen, BenchScreen)
        assert at.state.facts == FACTS


async def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path):
    (tmp_path / "sessions").write_text("a file where a folder should be")
    async with rig(lambda: StartScreen(shop(tmp_path / "sessions"), begin=FACTS)) as at:
        assert isinstance(at.screen, StartScreen)
        assert "✗" in at.pane("said")


async def test_num_lock_off_is_said_here_too(tmp_path: Path):
    async with rig(lambda: StartScreen(shop(tmp_path))) as at:
        await at.pilot.press("end")
        assert "Num Lock is off" in at.pane("said")
        await at.enter("+")
        await at.pilot.press("end")
        assert "Num Lock is off" in at.pane("said")
