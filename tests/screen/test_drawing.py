"""The drawing functions: figures, bars, map, lists, in columns and rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import pytest
from gauge.test_calibrated import calibration
from hypothesis import given
from hypothesis import strategies as st
from screen.rig import FACTS, desk, scene

from benchterm.core.estimate import expectation
from benchterm.core.events import GaugeChosen, Source
from benchterm.core.facts import Facts
from benchterm.core.gates import open_checks
from benchterm.core.intents import Read, Relieve, Tick, Turn, Undo
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Pair, Station
from benchterm.desk import Desk
from benchterm.screen.bars import bar, draw_bars
from benchterm.screen.digits import figures
from benchterm.screen.ink import Line, apart, fit, length, wrap
from benchterm.screen.lists import draw_checks, draw_entries
from benchterm.screen.map import draw_map
from benchterm.screen.top import draw_advice, draw_title
from benchterm.screen.value import draw_value
from benchterm.words import age, clock


def text(lines: list[Line]) -> str:
    return "\n".join("".join(part for part, _ in line) for line in lines)


def at_work() -> Desk:
    """Four sides, a corner and the centre read; far is three clicks on since."""
    at = desk(stage=Stage.FIRST_TENSION)
    for station, value in ((8, 12.5), (2, 11.0), (4, 13.0), (6, 13.0), (5, 12.0), (7, 14.0)):
        at.take(Read(Station(station), value), Source.KEYPAD)
    at.take(Read(Station.CENTRE, 11.5, Axis.ACROSS), Source.KEYPAD)
    at.take(Relieve(Station.FAR_LEFT, 5), Source.KEYPAD)
    at.take(Turn(Station.FAR, 3), Source.KEYPAD)
    return at


# -- figures ---------------------------------------------------------------------------------------


def strokes(char: str) -> set[str]:
    """Which of the seven strokes are lit in a figure of five rows."""
    rows = figures(char, 40, 5)
    width = len(rows[0])
    lit = {
        "top": rows[0][width // 2],
        "middle": rows[2][width // 2],
        "bottom": rows[4][width // 2],
        "left": rows[1][0],
        "right": rows[1][-1],
        "low-left": rows[3][0],
        "low-right": rows[3][-1],
    }
    return {name for name, dot in lit.items() if dot == "█"}


def test_every_figure_looks_different():
    drawn = {figures(char, 40, 5) for char in "0123456789"}
    assert len(drawn) == 10


def test_figures_have_the_strokes_of_a_seven_segment_display():
    # Counts of lit segments, from memory of the usual display: 0 to 9.
    counts = [len(strokes(char)) for char in "0123456789"]
    assert counts == [6, 2, 5, 5, 4, 5, 6, 3, 7, 6]


@pytest.mark.parametrize(("width", "rows"), [(39, 5), (20, 5), (95, 14), (60, 7)])
def test_a_value_is_at_least_five_rows_high(width: int, rows: int):
    drawn = figures("22.5", width, rows)
    assert 5 <= len(drawn) <= rows
    assert {len(row) for row in drawn} == {len(drawn[0])}
    assert len(drawn[0]) <= width


@given(
    value=st.floats(0, 99).map(lambda v: f"{v:.1f}"),
    width=st.integers(0, 120),
    height=st.integers(0, 20),
)
def test_figures_never_leave_their_room(value: str, width: int, height: int):
    drawn = figures(value, width, height)
    assert len(drawn) <= height
    assert all(len(row) <= width for row in drawn)


# -- bars ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "drawn"),
    [
        (0.0, "···╎··┃··╎···"),
        (0.5, "···╎▐█┃··╎···"),
        (1.0, "···███┃··╎···"),
        (-1.0, "···╎··┃███···"),
        (2.0, "██████┃··╎···"),
        (2.5, "◀█████┃··╎···"),
        (-9.0, "···╎··┃█████▶"),
    ],
)
def test_a_bar_leans_to_the_tighter_side(value: float, drawn: str):
    assert bar(value, 1.0, 13) == drawn


@given(st.floats(-100, 100), st.floats(0.1, 10), st.integers(2, 60).map(lambda n: 2 * n + 1))
def test_a_bar_keeps_its_length_and_its_centre(value: float, limit: float, cells: int):
    drawn = bar(value, limit, cells)
    assert len(drawn) == cells
    assert drawn[cells // 2] == "┃"


def test_bars_show_both_pairs_with_numbers_and_a_verdict():
    at = desk(stage=Stage.FIRST_TENSION)
    for station, value in ((8, 12.5), (2, 11.0), (4, 13.0), (6, 13.2)):
        at.take(Read(Station(station), value), Source.KEYPAD)
    drawn = text(draw_bars(scene(at), 39, 6)).splitlines()
    assert drawn[0].startswith("far  12.5")
    assert "11.0 near" in drawn[0]
    assert drawn[0].rstrip().endswith("1.5▲")
    assert drawn[2].startswith("left 13.0")
    assert drawn[2].rstrip().endswith("0.2=")
    assert "along  2: mean 11.8 range 1.5" in drawn[4]


def test_what_was_read_before_the_last_clicks_is_marked():
    drawn = text(draw_bars(scene(at_work()), 39, 6)).splitlines()
    assert drawn[0].rstrip().endswith("1.5~")
    assert drawn[1].rstrip().endswith("3▲")


def test_with_room_the_means_by_the_gauges_calibration_stand_below():
    """24.8 stands for 24.42 ± 0.36, as worked out in tests/core/test_trust.py."""
    at = desk(stage=Stage.FINAL_TENSION)
    at.use_gauge(GaugeChosen("g", wired=False, calibration=calibration().kept))
    at.take(Read(Station.FAR, 24.8), Source.KEYPAD)
    assert "calibrated: along 24.42 ± 0.36 (U, k = 2)" in text(draw_bars(scene(at), 60, 10))
    assert "calibrated" not in text(draw_bars(scene(at), 39, 6))
    not_yet = replace(scene(at), advised=False)
    assert "calibrated" not in text(draw_bars(not_yet, 60, 10))
    assert "calibrated" not in text(draw_bars(scene(at_work()), 60, 10))


# -- map -------------------------------------------------------------------------------------------


def cells(drawn: list[Line], width: int) -> Iterator[str]:
    """The nine cells from far left to near right, each as one text."""
    rows = text(drawn).splitlines()
    edges = [i for i, row in enumerate(rows) if row[0] in "┌├└"]
    cell = (width - 4) // 3
    for upper, lower in pairwise(edges):
        for column in range(3):
            begin = 1 + column * (cell + 1)
            yield " ".join(row[begin : begin + cell] for row in rows[upper + 1 : lower])


def test_the_map_lies_as_the_keypad_does():
    names = [cell.strip()[:12].strip() for cell in cells(draw_map(scene(desk()), 40, 13), 40)]
    assert [name[0] for name in names] == list("789456123")
    assert names[0].startswith("7 far left")
    assert names[8].startswith("3 near right")


@pytest.mark.parametrize(("width", "height"), [(40, 13), (95, 33), (60, 20)])
def test_a_station_shows_value_axis_clicks_and_relief(width: int, height: int):
    drawn = list(cells(draw_map(scene(at_work()), width, height), width))
    by_station = dict(zip((7, 8, 9, 4, 5, 6, 1, 2, 3), drawn, strict=True))
    assert "↕" in by_station[8]
    assert "+3" in by_station[8]
    assert "↔" in by_station[4]
    assert "5 mm" in by_station[7] or "-5mm" in by_station[7]
    assert "11.5↔" in by_station[5]
    assert "--" in by_station[9]


def test_the_station_touched_last_is_marked():
    drawn = draw_map(scene(at_work()), 40, 13)
    marked = [part for line in drawn for part, style in line if "reverse" in style]
    assert [name.strip() for name in marked] == ["8 far"]


def test_arrows_turn_with_the_roll():
    at = desk(stage=Stage.FIRST_TENSION, facts=Facts(screen_id="x", along_pair=Pair.LEFT_RIGHT))
    at.take(Read(Station.LEFT, 12.0, Axis.ALONG), Source.KEYPAD)
    assert "12.0↔" in text(draw_map(scene(at), 40, 13))


def test_the_tilt_is_in_the_lower_edge():
    at = at_work()
    assert "tilt along" not in text(draw_map(scene(at), 40, 13))  # Far has turned since.
    at.take(Undo(), Source.KEYPAD)
    assert "tilt along" not in text(draw_map(scene(at), 40, 13))  # Far left has been eased since.
    at.take(Read(Station.NEAR_RIGHT, 11.5), Source.KEYPAD)
    assert "tilt along" in text(draw_map(scene(at), 40, 13)).splitlines()[-1]


def test_a_stale_reading_says_so():
    at = at_work()
    at._clock.s += 21 * 60  # the shop's table: stale after 20 minutes
    assert "stale" in text(draw_map(scene(at), 40, 13))


# -- value -----------------------------------------------------------------------------------------


def test_the_value_is_the_one_touched_last_with_what_it_is_against():
    at = desk(stage=Stage.FIRST_TENSION)
    at.take(Read(Station.FAR, 12.5), Source.KEYPAD)
    drawn = text(draw_value(scene(at), 39, 7)).splitlines()
    assert drawn[0].startswith("8 far ↕ along")
    assert drawn[0].endswith("N/cm")
    assert tuple(row.rstrip() for row in drawn[1:6]) == tuple(
        row.rstrip() for row in figures("12.5", 39, 5)
    )
    assert drawn[6].strip() == "< under: -9.5 of 22 ±1"


def test_after_clicks_it_says_what_to_expect():
    drawn = text(draw_value(scene(at_work()), 39, 7)).splitlines()
    assert "+3 clicks since, expect" in drawn[6]


def test_what_to_expect_is_what_a_reading_is_judged_by_and_not_known_before_the_advice():
    seen = scene(at_work())
    likely = expectation(seen.view.state, Station.FAR, Axis.ALONG, seen.view.now_s)
    assert f"expect {likely.value_n_cm:.1f}" in text(draw_value(seen, 39, 7))
    assert "expect" not in text(draw_value(replace(seen, advised=False), 39, 7))


def test_before_anything_is_read_it_says_the_target():
    drawn = text(draw_value(scene(desk()), 39, 7)).splitlines()
    assert drawn[0].strip() == "nothing read yet"
    assert drawn[-1].strip() == "target 22 ±1"


# -- lists and lines -------------------------------------------------------------------------------


def test_the_key_to_go_on_is_told_of_where_it_is_taken():
    seen = scene(desk(stage=Stage.DONE))
    assert "+ goes on" in text(draw_checks(seen, 46, 5))
    assert "+ goes on" not in text(draw_checks(replace(seen, takes=False), 46, 5))


def test_the_next_open_check_is_shown_in_full_cautions_first():
    at = desk(stage=Stage.ADHESIVE)
    drawn = text(draw_checks(scene(at), 46, 5)).splitlines()
    assert drawn[0].startswith("checks 0 of")
    assert drawn[1].startswith("▸ ! 1 caution: ")


@pytest.mark.parametrize("stage", [s for s in Stage if s is not Stage.DONE])
@pytest.mark.parametrize(("width", "height"), [(46, 5), (60, 4)], ids=["80x24", "60x20"])
def test_every_line_of_every_check_list_is_whole_when_its_turn_comes(
    stage: Stage, width: int, height: int
):
    at = desk(stage=stage)
    while waiting := open_checks(at.bench.state):
        shown = " ".join(text(draw_checks(scene(at), width, height)).split())
        if waiting[0].caution or width == 46:
            assert waiting[0].text in shown
        at.take(Tick(), Source.KEYPAD)


def test_entries_have_source_and_number_the_latest_first():
    at = at_work()
    at.take(Undo(2), Source.VOICE)
    drawn = text(draw_entries(scene(at), 33, 6)).splitlines()
    assert drawn[1].startswith(" 1 far +3")
    assert drawn[1].endswith("keypad")
    assert drawn[2].startswith(" - far left relief 5 mm")
    assert drawn[2].endswith("undone")
    assert drawn[3].startswith(" 2 centre 11.5 ↔")


def test_the_title_names_screen_stage_mesh_and_clock():
    drawn = text(draw_title(scene(desk(facts=FACTS)), 80, 1))
    for part in ("screen S-041", "1/15 prepare frame", "77/cm 55 µm", "0:00:00"):
        assert part in drawn


def test_advice_has_symbol_word_what_and_why():
    view = scene(desk()).view
    drawn = text(draw_advice(scene(desk()), 80, 2))
    first = view.advice[0]
    assert f"{first.severity.symbol} {first.severity.value.upper()}" in drawn
    assert first.do in " ".join(drawn.split())
    assert first.why in " ".join(drawn.split())


@given(st.text(max_size=30), st.text(max_size=30), st.integers(0, 40))
def test_a_line_is_exactly_as_wide_as_it_should_be(left: str, right: str, width: int):
    plain = "".join(c for c in left + right if c.isprintable())
    half = len(plain) // 2
    assert length(fit([(plain[:half], ""), (plain[half:], "bold")], width)) == width


def test_two_ends_of_a_line():
    assert text([apart([("left", "")], [("right", "")], 12)]) == "left   right"
    assert text([apart([("a long left", "")], [("right", "")], 10)]) == "a lo…right"


@given(st.text(alphabet="abc 界", max_size=60), st.integers(2, 20))
def test_wrapped_text_fits(words: str, width: int):
    assert all(length([(line, "")]) <= width for line in wrap(words, width))


@pytest.mark.parametrize(
    ("seconds", "shown"),
    [(0, "0s"), (59.9, "59s"), (60, "1m"), (3599, "59m"), (3600, "1h"), (1e7, "99h"), (-5, "0s")],
)
def test_ages(seconds: float, shown: str):
    assert age(seconds) == shown


def test_session_time():
    assert clock(3725.9) == "1:02:05"
