"""``benchterm air`` and ``benchterm products``, and the figures behind them."""

from __future__ import annotations

import json
import math
from datetime import date

import pytest
from click.testing import CliRunner
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from benchterm.cli import cli
from benchterm.core.practice import Practice
from benchterm.safety.plot import plot
from benchterm.safety.products import Ingredient, Product, ProductKind, SheetLimit, find_product
from benchterm.safety.room import Room, Use, assess
from benchterm.safety.substances import Kind

TODAY = date(2026, 3, 2)
ROOM = Room(volume_m3=60, flow_m3_h=360, mixing=3, pocket_m3=1)
ACETONE, HEPTANE = "67-64-1", "142-82-5"


def spray(*ingredients, grams=8.0):
    return Product("Mist", ProductKind.ACTIVATOR, TODAY, grams=grams, ingredients=ingredients)


def pure(cas, **more):
    return (cas, Ingredient(1.0, **more))


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    monkeypatch.setenv("COLUMNS", "80")

    def say(*arguments):
        return CliRunner().invoke(cli, list(arguments))

    return say


def test_eight_grams_of_acetone_a_screen():
    """Computed by hand: 3.3678 L, 56.13 ppm in the room, 13.47 % LEL in 1 m3 by the bench."""
    found = assess([spray(pure(ACETONE))], Practice(), ROOM, Use(screens_h=1, hours=4))
    (acetone,) = found.vapours
    assert round(acetone.screen_ppm, 2) == 56.13
    assert round(found.pocket_lel_pct, 2) == 13.47
    # 3.3678 L an hour x K 3 / 360 m3/h = 28.065 ppm; over 250 ppm: 0.11226.
    assert round(acetone.steady_ppm, 3) == 28.065
    assert round(found.steady_index, 5) == 0.11226
    # The peak: (500 - 56.13) / 28.065 = 15.8 an hour; the mean: 1 / 0.11226 = 8.9.
    assert round(found.screens_h, 1) == 8.9
    # 3.3678 L x 1000 x 3 / 250 ppm.
    assert round(found.flow_needed_m3_h, 2) == 40.41


def test_thirty_grams_of_heptane_an_hour():
    """61.002 ppm steady, 38.561 ppm after 30 min."""
    found = assess([spray(pure(HEPTANE), grams=15)], Practice(), ROOM, Use(2, 0.5))
    (heptane,) = found.vapours
    assert heptane.steady_ppm == pytest.approx(61.002, abs=0.002)
    assert heptane.end_ppm == pytest.approx(38.561, abs=0.002)


def test_how_long_a_limit_is_passed():
    """100 g/h of heptane: steady 203.3 ppm, 85 reached after ln(1/(1-85/203.34))/2 h = 0.2706 h;
    after 4 h at 203.28 it takes ln(203.28/85)/2 h = 0.4359 h to fall below again."""
    found = assess([spray(pure(HEPTANE), grams=50)], Practice(), ROOM, Use(2, 4))
    (heptane,) = found.vapours
    limit = heptane.limits[0]
    assert (limit.of, limit.kind, limit.ppm) == ("NIOSH TWA 1994", Kind.TWA, 85)
    assert limit.reached_after_h == pytest.approx(0.2706, abs=2e-4)
    assert limit.over_h == pytest.approx(4 - 0.2706 + 0.4359, abs=5e-4)
    above = [one for one in heptane.limits if one.over_h > 0]
    assert [one.ppm for one in above] == [85]


def test_a_short_term_limit_is_held_against_the_peak():
    """440 ppm, never above: 203.28 ppm and one screen of 101.67 stay below, 40 g more do not."""
    product = spray(pure(HEPTANE), grams=50)
    (heptane,) = assess([product], Practice(), Room(30, 360, 3, 1), Use(2, 4)).vapours
    ceiling = next(one for one in heptane.limits if one.kind is Kind.CEILING)
    assert heptane.peak_ppm == pytest.approx(203.34 + 406.7, abs=0.1)
    assert ceiling.over_h > 0
    (heptane,) = assess([product], Practice(), Room(60, 360, 3, 1), Use(2, 4)).vapours
    assert heptane.peak_ppm == pytest.approx(203.28 + 203.3, abs=0.1)
    assert next(one for one in heptane.limits if one.kind is Kind.CEILING).over_h == 0


def test_the_mean_of_a_shift_takes_in_the_clearing():
    """All of 4 h of vapour breathed within 8 h: 4 x 28.065 / 8, less what is left at the end."""
    found = assess([spray(pure(ACETONE))], Practice(), ROOM, Use(1, 4))
    left = found.vapours[0].end_ppm * math.exp(-8) / 2
    assert found.vapours[0].shift_ppm == pytest.approx((4 * 28.0653 - left) / 8, rel=1e-4)


def test_two_products_with_one_vapour_add_up():
    once = assess([spray(pure(ACETONE))], Practice(), ROOM, Use(1, 4))
    twice = assess([spray(pure(ACETONE))] * 2, Practice(), ROOM, Use(1, 4))
    assert len(twice.vapours) == 1
    assert twice.steady_index == pytest.approx(2 * once.steady_index)


def test_the_limit_of_the_sheet_alarms_if_it_is_stricter():
    for sheet, ppm in (("40", 40), ("900", 250)):
        part = Ingredient(1.0, limit=SheetLimit(float(sheet), "ppm"))
        found = assess([spray((ACETONE, part))], Practice(), ROOM, Use(1, 4))
        assert found.vapours[0].shift_limit_ppm == ppm
        assert "data sheet TWA" in [one.of for one in found.vapours[0].limits]


def test_what_has_no_limit_is_named_not_forgotten():
    product = spray(("99-97-8", Ingredient(0.1)), ("7732-18-5", Ingredient(0.9, name="water")))
    found = assess([product], Practice(), ROOM, Use(1, 4))
    assert found.not_counted == ("water", "N,N-dimethyl-p-toluidine")
    assert found.vapours == ()
    assert found.screens_h == math.inf


amounts, screens, work = st.floats(0.1, 500), st.floats(0.1, 60), st.floats(0.1, 24)
flows, volumes, mixings = st.floats(0, 1e4), st.floats(3, 1e4), st.floats(1, 10)


@given(amounts, screens, work, flows, volumes, mixings)
def test_figures_hold_together(grams, screens_h, hours, flow, volume, mixing):
    room, use = Room(volume, flow, mixing, 1), Use(screens_h, hours)
    product = spray((ACETONE, Ingredient(0.7)), (HEPTANE, Ingredient(0.3)), grams=grams)
    found = assess([product], Practice(), room, use)
    assert 0 <= found.index <= found.steady_index * (1 + 1e-9)
    assert found.index_at(hours) == pytest.approx(found.index)
    assert found.index_at(hours + 5) <= found.index
    for vapour in found.vapours:
        assert 0 <= vapour.shift_ppm <= vapour.end_ppm * (1 + 1e-9)
    more = assess([spray(*product.ingredients, grams=2 * grams)], Practice(), room, use)
    assert more.index == pytest.approx(2 * found.index)
    assert more.screens_h <= found.screens_h


@given(amounts, screens, st.floats(1, 1e4), volumes, mixings)
def test_the_screens_an_hour_that_a_room_can_take_are_just_within_its_limits(
    grams, screens_h, flow, volume, mixing
):
    room, product = Room(volume, flow, mixing, 1), spray(pure(HEPTANE), grams=grams)
    most = assess([product], Practice(), room, Use(screens_h, 4)).screens_h
    assume(most > 1e-6)
    found = assess([product], Practice(), room, Use(most, 4))
    (heptane,) = found.vapours
    peak = (heptane.steady_ppm + heptane.screen_ppm) / heptane.short_limit_ppm
    assert max(found.steady_index, peak) == pytest.approx(1)


# The command.


def test_the_report(run):
    said = run("air", "--product", "demo-bond", "--product", "demo-spray", "--flow", "360",
               "--volume", "60", "--mixing", "3")  # fmt: skip
    assert said.exit_code == 0, said.output
    for words in (
        "The safety data sheets, local codes, the fire code and licensed professionals come first.",
        "Products: Demo thick bond, Demo quick spray",
        "Room 60 m3, fresh air 360 m3/h (6 changes an hour), mixing 3",
        "Taken as default, not told by you: pocket, screens, hours.",
        "Share taken to evaporate, a default where no product file tells:",
        "Not counted, no limit known here: N,N-dimethyl-p-toluidine.",
        "acetone (2.0 times as heavy as air): 39.3 ppm from one screen",
        "NIOSH TWA 1994",
        "ACGIH STEL, from memory",
        "Mixture index (1 is the limit):",
        "Lower explosive limit:",
        "Screens an hour that this air can take:",
        "Fresh air for this use:",
        "acetone, ppm; the line is at the strictest limit of a shift, 250 ppm:",
        "the line is at 1:",
    ):
        assert words in said.output
    assert all(len(line) <= 81 for line in said.output.splitlines()[-14:])


def test_a_share_that_a_product_file_gives_is_told_as_its_own_with_its_date(run, tmp_path):
    folder = tmp_path / "products"
    folder.mkdir()
    (folder / "slow.toml").write_text(
        'name = "Slow"\nkind = "activator"\nsheet_date = 2025-11-03\n'
        "[ingredients.67-64-1]\nfraction = 1.0\nevaporates = 0.25\n",
        encoding="utf-8",
    )
    said = run("air", "--product", "slow").output
    assert "evaporate, by the file of Slow, data sheet of 2025-11-03: acetone 25 %." in said
    assert "a default where no product file tells" not in said


def test_the_level_of_each_vapour_rises_while_at_work_and_falls_after():
    """Checked against the solution of dC/dt = G / V - (Q / K V) C, by scipy's solver."""
    products = [find_product(name, TODAY) for name in ("demo-bond", "demo-spray")]
    found = assess(products, Practice(), ROOM, Use(screens_h=2, hours=4))
    rate = ROOM.flow_m3_h / ROOM.mixing / ROOM.volume_m3
    for vapour in found.vapours:

        def rises(_, ppm, vapour=vapour):
            return 1000 * vapour.litres_h / ROOM.volume_m3 - rate * ppm

        end = solve_ivp(rises, (0, 4), [0.0], rtol=1e-9, atol=1e-9).y[0, -1]
        assert found.ppm_at(vapour, 4) == pytest.approx(end, rel=1e-5)
        assert found.ppm_at(vapour, 4) == pytest.approx(vapour.end_ppm)
        assert found.ppm_at(vapour, 5) == pytest.approx(end * math.exp(-rate), rel=1e-5)


def test_json(run):
    said = run("air", "--product", "demo-spray", "--changes", "0", "--json")
    figures = json.loads(said.output)
    assert figures["room"]["flow_m3_h"] == 0
    assert figures["steady_index"] is None
    assert figures["screens_h"] == 0
    assert figures["wait_h"] is None
    assert {v["name"] for v in figures["vapours"]} == {"acetone", "n-heptane"}
    assert figures["vapours"][0]["limits"][0]["kind"] == "TWA"
    assert "safety data sheets" in figures["caveat"]


def test_no_flow_is_no_ventilation(run):
    said = run("air", "--product", "demo-spray", "--flow", "0")
    assert said.exit_code == 0, said.output
    assert "NO VENTILATION: what gets into the air stays there." in said.output
    assert "steady without end" in said.output
    assert "no end without fresh air" in said.output


@pytest.mark.parametrize(
    ("option", "value"),
    [
        *(("--volume", v) for v in ("0", "-30", "nan", "inf", "1e9", "big")),
        *(("--flow", v) for v in ("-1", "nan", "inf")),
        *(("--mixing", v) for v in ("0", "0.5", "11")),
        *(("--screens", v) for v in ("0", "-2", "nan")),
        *(("--hours", v) for v in ("0", "25")),
        *(("--grams", v) for v in ("0", "-8", "nan")),
        ("--pocket", "0"),
        ("--changes", "-1"),
    ],
)
def test_what_cannot_be_is_refused_by_the_option_and_its_bounds(run, option, value):
    said = run("air", "--product", "demo-spray", option, value)
    assert said.exit_code == 2
    assert f"'{option}'" in said.output
    assert f"{value} is outside" in said.output


def test_options_that_contradict(run):
    twice = run("air", "--product", "demo-spray", "--flow", "9", "--changes", "2")
    assert "give one" in twice.output
    for_none = run("air", "--product", "demo-spray", "--grams", "9", "--grams", "2")
    assert "--grams is given 2 times for 1 products" in for_none.output


def test_no_product_named_says_where_they_are(run, tmp_path):
    said = run("air")
    assert said.exit_code == 1
    assert "No product is named." in said.output
    assert "demo-spray" in said.output
    assert str(tmp_path / "products") in said.output


def thinner(tmp_path):
    (tmp_path / "products").mkdir()
    (tmp_path / "products" / "thinner.toml").write_text(
        'name = "Old thinner"\nkind = "activator"\nsheet_date = 2020-01-07\n'
        "[ingredients.75-09-2]\nfraction = 0.8\n",
        encoding="utf-8",
    )


def test_dichloromethane_is_not_worked_out(run, tmp_path):
    thinner(tmp_path)
    said = run("air", "--product", "thinner")
    assert said.exit_code == 1
    assert "Old thinner holds dichloromethane" in said.output
    assert "Screens an hour" not in said.output


def test_a_product_shows_what_is_known_of_each_ingredient_and_from_where(run):
    """Acetone: H225, H319, H336, REL 250 ppm and flash point as NIOSH and ECHA publish them;
    vapour 58.08 / 28.96 = 2.0 times as heavy as air (computed here)."""
    said = " ".join(run("products", "demo-spray").output.split())
    for words in (
        "acetone 67-64-1",
        "H225 Highly flammable liquid and vapour",
        "NIOSH TWA 250 ppm (NIOSH",
        "lower explosive limit 2.5 %",
        "flash point",
        "vapour 2.0 times as heavy as air",
    ):
        assert words in said


def test_products_are_listed_and_checked(run, tmp_path):
    thinner(tmp_path)
    (tmp_path / "products" / "spoilt.toml").write_text('kind = "glue"\n', encoding="utf-8")
    said = run("products")
    assert said.exit_code == 1
    assert "demo-bond: Demo thick bond, adhesive, sheet of 2025-11-03" in said.output
    assert "spoilt: NOT USABLE" in said.output
    assert f"{tmp_path}/products/spoilt.toml, line 1: kind: must be one of adhesive" in said.output
    said = run("products", "thinner")
    assert "BLOCKED: Old thinner holds dichloromethane" in said.output
    assert "get the present one" in said.output


def test_a_settings_file_names_the_usual_products(run, tmp_path):
    (tmp_path / "settings.toml").write_text(
        '[session]\nproducts = ["demo-spray"]\n[practice]\nroom_m3 = 88\n', encoding="utf-8"
    )
    said = run("air")
    assert "Products: Demo quick spray" in said.output
    assert "Room 88 m3" in said.output


def test_the_plot_marks_the_limit_and_keeps_its_size():
    lines = plot(lambda t: t / 4, 8, 1.0, width=40, height=8)
    assert len(lines) == 10
    assert all(len(line) == 50 for line in lines)
    (marked,) = [line for line in lines if line.startswith("       1 |")]
    assert marked[10] == "-"
    assert marked[-1] == "█"
    assert lines[-1].split() == ["0", "8"]


def test_the_plot_of_nothing_and_without_blocks():
    assert not any("█" in line for line in plot(lambda _: 0.0, 8, 1.0))
    assert all(line.isascii() for line in plot(lambda t: t, 8, 1.0, ascii_only=True))
