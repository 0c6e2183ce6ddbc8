"""What the glue of a session asks for, and how it comes into the record."""

from __future__ import annotations

import ast
import re
import zlib
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

import benchterm
from benchterm.core.cautions import ADHESIVE, GENERAL, VERSION, Briefing, Danger
from benchterm.core.checklists import checks
from benchterm.core.events import ProductsChosen, SessionOpened, Source
from benchterm.core.facts import Facts, Mesh
from benchterm.core.gates import open_checks
from benchterm.core.intents import Go, Tick
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.desk import Desk
from benchterm.mechanics import air
from benchterm.records.journal import read
from benchterm.safety.briefing import brief, briefing_for
from benchterm.safety.products import Ingredient, Product, ProductKind, SheetLimit

TODAY = date(2026, 3, 2)
PRACTICE = Practice()
CYANOACRYLATE, METHYL = "7085-85-0", "137-05-3"
ACETONE, HEPTANE, DICHLOROMETHANE, MMA = "67-64-1", "142-82-5", "75-09-2", "80-62-6"
MDI, HDI, DMPT = "101-68-8", "822-06-0", "99-97-8"


def product(*cas, name="Tin", kind=ProductKind.ADHESIVE, sheet=TODAY, **more):
    parts = tuple((one, Ingredient(0.1)) for one in cas)
    return Product(name, kind, sheet, ingredients=parts, **more)


def asked(*products):
    return [c.id for c in brief(products, PRACTICE, TODAY).cautions]


ALWAYS = {"sheets", "first", "help", "air", "eyes", "gloves", "thin"}


@pytest.mark.parametrize(
    ("cas", "besides"),
    [
        (CYANOACRYLATE, {"cotton", "skin", "fire"}),
        (METHYL, {"cotton", "skin", "fire"}),
        (ACETONE, {"fire"}),
        (HEPTANE, {"fire"}),
        (MMA, {"fire", "rash"}),
        (MDI, {"wheeze", "rash"}),
        (HDI, {"wheeze", "rash"}),
        (DMPT, {"poison", "fire"}),
    ],
)
def test_each_ingredient_brings_its_own_cautions(cas, besides):
    assert set(asked(product(cas))) == ALWAYS | besides


def test_every_danger_is_brought_by_something():
    together = product(CYANOACRYLATE, MDI, DMPT)
    general = {name for name, _, _ in ADHESIVE}
    assert set(asked(together)) == general | {"first"}
    assert {danger for _, danger, _ in ADHESIVE} == set(Danger)


def test_the_most_serious_come_first():
    order = asked(product(CYANOACRYLATE, MDI, DMPT, cautions=("Shake it first.",)))
    ranked = ["sheets", "first", "own-1-1", "help", "wheeze", "fire", "eyes", "gloves", "skin"]
    assert [one for one in order if one in ranked] == ranked


def test_an_old_data_sheet_is_said():
    """The shop's limit is 3 years."""
    for sheet, said in ((date(2023, 3, 4), []), (date(2023, 2, 27), ["old-1"])):
        assert [one for one in asked(product(ACETONE, sheet=sheet)) if "old" in one] == said
    (line,) = [
        c.text
        for c in brief([product(ACETONE, sheet=date(2016, 3, 1))], PRACTICE, TODAY).cautions
        if c.id == "old-1"
    ]
    assert line == "Safety data sheet of Tin is 10 years old: get the present one."


def test_an_unknown_ingredient_is_said_and_everything_is_asked():
    strange = Product("Tin", ingredients=(("7732-18-5", Ingredient(0.9, name="water")),),
                      sheet_date=TODAY)  # fmt: skip
    briefing = brief([strange], PRACTICE, TODAY)
    texts = {c.id: c.text for c in briefing.cautions}
    assert texts["unknown-1-1"] == (
        "Tin holds water: unknown here, go by its safety data sheet alone."
    )
    assert {name for name, _, _ in ADHESIVE} <= set(texts)
    assert briefing.closed == ()


def test_dichloromethane_closes_the_gate():
    """EPA, 89 FR 39254: not warned of, but blocked."""
    (reason,) = brief([product(DICHLOROMETHANE)], PRACTICE, TODAY).closed
    assert reason.startswith("Tin holds dichloromethane: the EPA has restricted it")


def test_times_come_from_the_data_sheets():
    """Two parts: it sets no sooner than the slower, and is workable no longer than the faster."""
    two = (product(ACETONE, open_min=4, cure_min=20), product(ACETONE, open_min=9, cure_min=45))
    briefing = brief(two, PRACTICE, TODAY)
    assert (briefing.open_min, briefing.cure_min) == (4, 45)
    none = brief([product(ACETONE)], PRACTICE, TODAY)
    assert (none.open_min, none.cure_min) == (None, None)


def test_vapour_of_a_screen():
    """8 g of which a tenth is acetone: 24.45 x 0.8 / 58.08 L; the sheet's 40 ppm alarms."""
    parts = ((ACETONE, Ingredient(0.1, limit=SheetLimit(40, "ppm"))), (DMPT, Ingredient(0.1)))
    spray = Product("Spray", ProductKind.ACTIVATOR, TODAY, grams=8, ingredients=parts)
    (vapour,) = brief([spray], PRACTICE, TODAY).vapours
    assert vapour.litres == pytest.approx(24.45 * 0.8 / 58.08)
    assert (vapour.limit_ppm, vapour.limit_of, vapour.lel_pct) == (40, "data sheet", 2.5)


@pytest.mark.parametrize(("kind", "grams"), [(ProductKind.ADHESIVE, 20), (ProductKind.ACTIVATOR, 8),
                                             (ProductKind.HARDENER, 5)])  # fmt: skip
def test_without_grams_the_shops_table_counts(kind, grams):
    (vapour,) = brief([product(ACETONE, kind=kind)], PRACTICE, TODAY).vapours
    assert vapour.litres == pytest.approx(air.vapour_litres(0.1 * grams, 58.08))


def test_one_vapour_of_two_products_is_counted_together_by_the_stricter_limit():
    with_limit = ((ACETONE, Ingredient(0.1, limit=SheetLimit(100, "ppm"))),)
    both = (product(ACETONE), Product("Other", sheet_date=TODAY, ingredients=with_limit))
    for order in (both, both[::-1]):
        (vapour,) = brief(order, PRACTICE, TODAY).vapours
        assert vapour.litres == pytest.approx(2 * air.vapour_litres(2, 58.08))
        assert vapour.limit_ppm == 100


def test_a_share_that_evaporates_as_the_sheet_says():
    parts = ((CYANOACRYLATE, Ingredient(0.9, evaporates=0.02)),)
    bond = Product("Bond", sheet_date=TODAY, grams=10, ingredients=parts)
    (vapour,) = brief([bond], PRACTICE, TODAY).vapours
    assert vapour.litres == pytest.approx(air.vapour_litres(10 * 0.9 * 0.02, 125.13))


@pytest.mark.parametrize("spoilt", ["", "=", 'name = "x"\n', None, b"\xff"])
def test_a_file_that_cannot_be_read_closes_the_gate_and_asks_everything(
    spoilt, tmp_path, monkeypatch
):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    (tmp_path / "products").mkdir()
    if spoilt is not None:
        file = tmp_path / "products" / "mine.toml"
        file.write_bytes(spoilt if isinstance(spoilt, bytes) else spoilt.encode())
    briefing = briefing_for(["demo-bond", "mine"], PRACTICE, TODAY)
    (reason,) = briefing.closed
    assert reason.startswith("The product mine cannot be used:")
    assert "\n" not in reason
    assert {name for name, _, _ in ADHESIVE} <= {c.id for c in briefing.cautions}


def test_no_product_named_is_the_general_briefing():
    assert briefing_for([], PRACTICE, TODAY) == Briefing()


# In the record.


class Hand:
    """A clock moved by hand."""

    def __init__(self):
        self.s = 0.0

    def utc(self):
        return datetime(2026, 3, 2, 8, tzinfo=UTC) + timedelta(seconds=self.s)

    def monotonic(self):
        return self.s


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    (tmp_path / "products").mkdir()
    (tmp_path / "products" / "mine.toml").write_text(MINE, encoding="utf-8")
    return tmp_path


MINE = (
    'name = "Own bond"\nkind = "adhesive"\nsheet_date = 2025-12-01\ncure_min = 30\n'
    "[ingredients.7085-85-0]\nfraction = 0.9\n"
)


def begin(shop, *products):
    facts = Facts(operator="Ada", products=products)
    return Desk.begin(facts, PRACTICE, "s", "b", shop / "s.jsonl", Hand())


def kinds(shop):
    return [type(event.what).__name__ for event in read(shop / "s.jsonl")]


def test_a_session_opens_with_what_its_products_ask_for(shop):
    desk = begin(shop, "mine")
    desk.close()
    (opened,) = (event.what for event in read(shop / "s.jsonl"))
    assert isinstance(opened, SessionOpened)
    assert opened.facts.products == ("mine",)
    assert opened.briefing == briefing_for(["mine"], PRACTICE, TODAY)
    assert opened.briefing.products == ("Own bond",)
    assert opened.briefing.version == VERSION


def test_the_files_are_not_read_again_while_it_is_replayed(shop):
    begin(shop, "mine").close()
    (shop / "products" / "mine.toml").unlink()
    (event,) = read(shop / "s.jsonl")
    assert event.what.briefing.closed == ()


def test_resuming_with_the_same_files_changes_nothing(shop):
    begin(shop, "mine").close()
    Desk.resume(shop / "s.jsonl", Hand()).close()
    assert kinds(shop) == ["SessionOpened", "SessionResumed"]


@pytest.mark.parametrize("changed", [MINE.replace("= 30", "= 45"), "spoilt", None])
def test_resuming_with_other_files_is_written_down_and_asked_again(shop, changed):
    begin(shop, "mine").close()
    file = shop / "products" / "mine.toml"
    if changed is None:
        file.unlink()
    else:
        file.write_text(changed, encoding="utf-8")
    desk = Desk.resume(shop / "s.jsonl", Hand())
    assert kinds(shop) == ["SessionOpened", "SessionResumed", "ProductsChosen"]
    briefing = desk.bench.state.briefing
    assert bool(briefing.closed) == (changed in ("spoilt", None))
    assert briefing.cure_min == (45 if changed and "45" in changed else None)
    desk.close()


def test_other_glue_in_a_session(shop):
    desk = begin(shop, "mine")
    desk.take(Go(Stage.ADHESIVE, "told to"), Source.KEYPAD)
    while any(c.caution for c in open_checks(desk.bench.state)):
        desk.take(Tick(), Source.KEYPAD)
    (event,) = desk.use(("demo-two-part", "demo-hardener"), Source.KEYPAD)
    assert isinstance(event.what, ProductsChosen)
    assert desk.bench.state.facts.products == ("demo-two-part", "demo-hardener")
    waiting = [c.text for c in open_checks(desk.bench.state) if c.caution]
    assert waiting == [c.text for c in desk.bench.state.briefing.cautions]
    desk.close()


def test_the_view_asks_again_after_a_break(shop):
    desk = begin(shop)
    desk.take(Go(Stage.ADHESIVE, "told to"), Source.KEYPAD)
    desk.take(Tick(), Source.KEYPAD)
    assert len(open_checks(desk.view().state)) == len(open_checks(desk.bench.state))
    desk._clock.s += 60 * PRACTICE.caution_break_min + 1
    assert len(open_checks(desk.view().state)) == len(open_checks(desk.bench.state)) + 1
    desk.close()


# The words.


def test_general_cautions_can_be_read_across_a_bench():
    assert len(GENERAL) <= 12
    assert len({c.id for c in GENERAL}) == len(GENERAL)
    assert all(len(c.text) <= 90 for c in GENERAL)


def test_they_defer_to_those_who_know_better_and_to_help():
    words = " ".join(c.text for c in GENERAL)
    for who in (
        *("safety data sheets", "local codes", "fire code"),
        *("Licensed professionals", "emergency help"),
    ):
        assert who in words


def test_stored_energy_and_pull_are_of_this_very_screen():
    """Default facts: 22 N/cm on 840 mm is 1848 N. Stiffness 77 x pi/4 x 0.055 mm^2 x 7.4 GPa is
    1353.8 N/cm. Energy 0.5 x 2200 N/m x 22/1353.8 x (0.58 x 0.96 + 0.84 x 0.70) m2 = 20.5 J."""
    plane, pawl = (c.text for c in checks(Stage.SLACK, Facts(), PRACTICE) if c.caution)
    assert plane.endswith("it holds 20 J, 2.1 kg falling 1 m.")
    assert "a side pulls 1848 N." in pawl
    steel = Facts(mesh=Mesh(material="steel"))
    plane, pawl = (c.text for c in checks(Stage.SLACK, steel, PRACTICE) if c.caution)
    assert plane == "Eye protection on, face out of the mesh's plane."
    assert "a side pulls 1848 N." in pawl


PACKAGE = Path(benchterm.__file__).parent


def sentences(path):
    """Every text in a file of code that is no docstring and no module's name."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    bare = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in bare:
            yield node.value


def promises(text):
    return re.findall(r"\bsafe\w*\b(?! data sheet)", text, re.IGNORECASE)


def test_no_text_of_the_program_says_that_anything_is_safe():
    """The word stands in "safety data sheet" and nowhere else."""
    for path in sorted(PACKAGE.rglob("*.py")):
        for text in sentences(path):
            if not re.fullmatch(r"[a-z_.]+", text):  # A name in the code, as of a folder.
                assert not promises(text), f"{path.name}: {text!r}"


@pytest.mark.parametrize("path", sorted((PACKAGE / "safety").rglob("*.toml")), ids=lambda p: p.name)
def test_no_file_of_data_says_so_either(path):
    assert not promises(path.read_text(encoding="utf-8"))


def test_the_search_for_promises_finds_them():
    for text in ("This is safe.", "Safely done", "safety glasses", "a safer way"):
        assert promises(text)
    assert not promises("Read the safety data sheet. Safety data sheets differ.")


def test_changed_words_get_a_new_version():
    """When this fails because words were changed: raise ``VERSION``, then renew the digest."""
    assert (VERSION, digest()) == ("3", DIGEST)


DIGEST = "c6626c42"


def digest():
    words = "\n".join(c.text for c in GENERAL)
    for stage in (Stage.SLACK, Stage.CUT_OUT, Stage.RELEASE):
        words += "\n".join(c.text for c in checks(stage, Facts(), PRACTICE) if c.caution)
    strange = Product("Tin", ingredients=(("7732-18-5", Ingredient(0.9, name="water")),),
                      sheet_date=date(2016, 3, 1))  # fmt: skip
    words += "\n".join(c.text for c in brief([strange], PRACTICE, TODAY).cautions)
    return f"{zlib.crc32(words.encode()):08x}"
