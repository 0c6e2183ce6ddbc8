"""The shop's table of numbers."""

from __future__ import annotations

from dataclasses import fields

import pytest

from benchterm.core.practice import COMMON_PRACTICE, OUR_CHOICE, SIMULATED, Practice, Row

ROWS = {row.name: row for row in Practice().rows()}


def test_every_number_is_a_row():
    assert list(ROWS) == [f.name for f in fields(Practice)]


@pytest.mark.parametrize("row", ROWS.values(), ids=lambda row: row.name)
def test_every_row_says_what_it_is_and_where_it_comes_from(row):
    assert row.low <= row.value <= row.high
    assert row.unit
    assert row.what
    assert row.source in (COMMON_PRACTICE, OUR_CHOICE, SIMULATED) or row.source.startswith("patent")


@pytest.mark.parametrize(
    ("name", "value", "unit"),
    [
        # Common practice, no source.
        ("raise_min_mm", 1.6, "mm"),
        ("raise_max_mm", 3.2, "mm"),
        ("groove_back_clicks_min", 2, "clicks"),
        ("groove_back_clicks_max", 3, "clicks"),
        ("past_roller_min_mm", 25, "mm"),
        ("past_roller_max_mm", 38, "mm"),
        ("heavy_frame_mm", 1220, "mm"),
        ("pair_balance_n_cm", 1, "N/cm"),
        ("range_n_cm", 2, "N/cm"),
        ("variation_pct", 5, "%"),
    ],
)
def test_trade_figures(name, value, unit):
    row = ROWS[name]
    assert (row.value, row.unit, row.source) == (value, unit, COMMON_PRACTICE)


def test_strength_of_the_yarn_is_the_low_end_of_a_patent():
    # EP 3 859 057 A1, polyester monofilament for screen cloth: 4.3 to 9.0 cN/dtex.
    row = ROWS["tenacity_cn_dtex"]
    assert row.value == 4.3
    assert "EP 3 859 057 A1" in row.source


def test_rows_show_the_values_in_force():
    row = next(r for r in Practice(raise_min_mm=2).rows() if r.name == "raise_min_mm")
    assert row == Row(
        "raise_min_mm", 2, "mm", 0, 10, "frame above the stretcher, at least", COMMON_PRACTICE
    )


def test_the_table_as_it_comes_has_no_problems():
    assert list(Practice().problems()) == []


@pytest.mark.parametrize(
    ("changed", "problems"),
    [
        ({"settle_min": -1}, ["settle_min = -1 is outside 0 to 2880 min"]),
        ({"tear_chance": 0.9}, ["tear_chance = 0.9 is outside 0.005 to 0.5 chance"]),
        ({"stale_min": float("nan")}, ["stale_min = nan is outside 1 to 2880 min"]),
        ({"cure_min": float("inf")}, ["cure_min = inf is outside 0 to 2880 min"]),
        ({"raise_min_mm": 3.3}, ["raise_min_mm is above raise_max_mm"]),
        ({"groove_back_clicks_max": 1}, ["groove_back_clicks_min is above groove_back_clicks_max"]),
        ({"past_roller_min_mm": 40}, ["past_roller_min_mm is above past_roller_max_mm"]),
        (
            {"raise_min_mm": 11, "clicks_max": 0},
            [
                "raise_min_mm = 11 is outside 0 to 10 mm",
                "clicks_max = 0 is outside 1 to 200 clicks",
                "raise_min_mm is above raise_max_mm",
            ],
        ),
    ],
)
def test_problems_are_named_all_at_once(changed, problems):
    assert list(Practice(**changed).problems()) == problems
