"""A shop's product files: read whole or not at all, every problem with file and key."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from benchterm.errors import SettingsError
from benchterm.locations import demo_products_folder
from benchterm.safety.products import (
    ProductKind,
    SheetLimit,
    find_product,
    load_product,
    read_limit,
)

TODAY = date(2026, 3, 2)
ACETONE = "[ingredients.67-64-1]\nfraction = 0.7\n"
HEAD = 'name = "Quick mist"\nkind = "activator"\nsheet_date = 2025-06-17\n'


def write(folder: Path, text: str) -> Path:
    path = folder / "quick-mist.toml"
    path.write_text(text, encoding="utf-8")
    return path


def problems(folder: Path, text: str) -> list[str]:
    """What is said of a file that cannot be used, line by line, without the folder's name."""
    with pytest.raises(SettingsError) as told:
        load_product(write(folder, text), TODAY)
    return [line.strip().replace(f"{folder}/", "") for line in told.value.what.splitlines()[1:]]


def test_a_whole_file(tmp_path):
    product = load_product(
        write(
            tmp_path,
            'name = "Quick mist"\nkind = "activator"\nsheet_date = "2025-06-17"\n'
            'grams = 9\nopen_min = 2\ncure_min = 30\ncautions = ["Shake it first."]\n'
            '[ingredients.67-64-1]\nfraction = 0.7\nlimit = "480 mg/m3"\nevaporates = 0.9\n'
            '[ingredients.7732-18-5]\nfraction = 0.3\nname = "water"\n',
        ),
        TODAY,
    )
    assert (product.name, product.kind) == ("Quick mist", ProductKind.ACTIVATOR)
    assert product.sheet_date == date(2025, 6, 17)
    assert (product.grams, product.open_min, product.cure_min) == (9, 2, 30)
    assert product.cautions == ("Shake it first.",)
    ((acetone, part),) = product.known()
    assert (acetone.name, part.fraction, part.evaporates) == ("acetone", 0.7, 0.9)
    assert part.limit == SheetLimit(480, "mg/m3")
    assert product.unknown() == ["water"]
    assert product.sheet_age_years(TODAY) == pytest.approx(0.706, abs=0.001)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            HEAD + "[ingredients.67-64-2]\nfraction = 0.7\n",
            "quick-mist.toml, line 4: ingredients.67-64-2: is no CAS number: its last digit would "
            "be 1, so one digit is wrong.",
        ),
        (
            HEAD + "[ingredients.142-82-4]\nfraction = 0.7\n",
            "quick-mist.toml, line 4: ingredients.142-82-4: is no CAS number: its last digit would "
            "be 5, so one digit is wrong.",
        ),
        (
            HEAD + "[ingredients.64-17-5]\nfraction = 0.7\n",
            "quick-mist.toml, line 4: ingredients.64-17-5: nothing is known here of this CAS "
            "number. If it is right, add its name.",
        ),
        (
            HEAD + ACETONE + "[ingredients.142-82-5]\nfraction = 0.4\n",
            "quick-mist.toml: ingredients: the fractions add up to 1.1, which is more "
            "than 1.",
        ),
        (
            HEAD + "[ingredients.67-64-1]\nfraction = 70\n",
            "quick-mist.toml, line 5: ingredients.67-64-1.fraction: must be above 0 and at most "
            "1, by mass.",
        ),
        (
            HEAD + "[ingredients.67-64-1]\nname = 'acetone'\n",
            "quick-mist.toml, line 4: ingredients.67-64-1.fraction: must be above 0 and at most "
            "1, by mass.",
        ),
        (
            HEAD + ACETONE + 'limit = "0.05 %"\n',
            'quick-mist.toml, line 6: ingredients.67-64-1.limit: "%" is no unit of a limit: write '
            "ppm or mg/m3.",
        ),
        (
            HEAD + ACETONE + "limit = 250\n",
            "quick-mist.toml, line 6: ingredients.67-64-1.limit: 250 is no limit: write it as "
            '"200 ppm" or "480 mg/m3".',
        ),
        (
            HEAD.replace("2025-06-17", '"2025-02-30"') + ACETONE,
            'quick-mist.toml, line 3: sheet_date: "2025-02-30" is no date: write it as 2025-11-03.',
        ),
        (
            HEAD.replace("2025-06-17", "2026-03-03") + ACETONE,
            "quick-mist.toml, line 3: sheet_date: 2026-03-03 has not come yet.",
        ),
        (
            HEAD.replace('kind = "activator"\n', "") + ACETONE,
            "quick-mist.toml: kind: is missing.",
        ),
        (
            HEAD.replace("activator", "thinner") + ACETONE,
            'quick-mist.toml, line 2: kind: must be one of adhesive, activator, hardener, not '
            '"thinner".',
        ),
        (HEAD, "quick-mist.toml: ingredients: is missing: one table for each, "
               "[ingredients.67-64-1]."),
        (
            "grams = -1\n" + HEAD + ACETONE,
            "quick-mist.toml, line 1: grams: -1 is outside 0 to 1000.",
        ),
        (
            "cure_min = nan\n" + HEAD + ACETONE,
            "quick-mist.toml, line 1: cure_min: nan is outside 0 to 2880.",
        ),
        (
            "cure_time = 20\n" + HEAD + ACETONE,
            "quick-mist.toml, line 1: cure_time: no such key; known here: name, kind, sheet_date, "
            "open_min, cure_min, grams, cautions, ingredients. Did you mean 'cure_min'?",
        ),
        (
            'cautions = ["Quite safe."]\n' + HEAD + ACETONE,
            'quick-mist.toml, line 1: cautions: "Quite safe." promises too much: say what to do.',
        ),
    ],
)  # fmt: skip
def test_each_problem_is_told_with_file_line_and_key(tmp_path, text, said):
    assert problems(tmp_path, text) == [said]


@pytest.mark.parametrize("text", ['name = "', "sheet_date = 2025-02-30\n", "\x00", "= 3"])
def test_a_file_that_is_no_toml_is_told_as_such(tmp_path, text):
    (said,) = problems(tmp_path, text)
    assert said.startswith("quick-mist.toml")
    assert "is not TOML" in said


def test_every_problem_is_told_at_once(tmp_path):
    text = 'name = ""\nkind = 3\nsheet_date = 7\n[ingredients.1-2-3]\nfraction = 2\n'
    assert len(problems(tmp_path, text)) == 5


def test_an_ingredient_that_is_no_table_is_told(tmp_path):
    said = problems(tmp_path, HEAD + "[ingredients]\n67-64-1 = 0.7\n")
    assert said == [
        "quick-mist.toml, line 5: ingredients.67-64-1: must be a table, [ingredients.67-64-1], "
        "not 0.7."
    ]


def test_a_file_that_is_not_there_or_not_text(tmp_path):
    with pytest.raises(SettingsError, match="there is no such file"):
        load_product(tmp_path / "none.toml", TODAY)
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(SettingsError, match="is not text"):
        load_product(tmp_path / "bytes.toml", TODAY)
    with pytest.raises(SettingsError, match="cannot be read"):
        load_product(tmp_path, TODAY)


def test_fractions_that_add_up_to_one_in_floats(tmp_path):
    parts = [("67-64-1", 0.7), ("142-82-5", 0.2), ("99-97-8", 0.1)]
    text = HEAD + "".join(f"[ingredients.{cas}]\nfraction = {share}\n" for cas, share in parts)
    assert len(load_product(write(tmp_path, text), TODAY).ingredients) == 3


@pytest.mark.parametrize(
    ("written", "ppm"),
    [
        ("200 ppm", 200),
        # 25 C: 590 x 24.45 / 58.08, the figure printed beside 250 ppm for acetone by OSHA.
        ("590 mg/m3", 248.4),
    ],
)
def test_limits_of_a_sheet_are_brought_to_ppm(written, ppm):
    assert read_limit(written).in_ppm(58.08) == pytest.approx(ppm, abs=0.05)


@pytest.mark.parametrize("wrong", ["200", "ppm", "", "nan ppm", "-3 ppm", "0 ppm", "inf mg/m3",
                                   "2 3 ppm", "200 PPM", 200, True, ["200 ppm"]])  # fmt: skip
def test_what_is_no_limit(wrong):
    with pytest.raises(ValueError, match="is no"):
        read_limit(wrong)


def test_the_shops_own_file_comes_before_the_invented_one(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    assert find_product("demo-spray", TODAY).name == "Demo quick spray"
    (tmp_path / "products").mkdir()
    (tmp_path / "products" / "demo-spray.toml").write_text(HEAD + ACETONE, encoding="utf-8")
    assert find_product("demo-spray", TODAY).name == "Quick mist"
    (tmp_path / "products" / "demo-spray.toml").write_text("spoilt", encoding="utf-8")
    with pytest.raises(SettingsError):
        find_product("demo-spray", TODAY)


@pytest.mark.parametrize("name", ["", "../demo-bond", "a/b", "demo-bond.toml", "x" * 61])
def test_a_name_is_no_path(name):
    with pytest.raises(SettingsError, match="is no name of a product file"):
        find_product(name, TODAY)


@pytest.mark.parametrize(
    "path", sorted(demo_products_folder().glob("*.toml")), ids=lambda p: p.stem
)
def test_the_invented_products_can_be_read_and_say_that_they_are_invented(path):
    product = load_product(path, TODAY)
    assert product.name.startswith("Demo ")
    assert path.stem.startswith("demo-")
    assert "Invented" in path.read_text(encoding="utf-8").splitlines()[0]
