"""``benchterm map``: a map drawn from a journal."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from worked import at, moment, say

from benchterm.cli import cli
from benchterm.core.cloth import stiffness_n_cm
from benchterm.core.events import Source, StageEntered
from benchterm.core.facts import Facts, Frame, Pair, Stretcher, Target
from benchterm.core.intents import Read, Relieve, Turn
from benchterm.core.likely_map import LikelyMap, held, likely_map
from benchterm.core.stages import Stage
from benchterm.core.stations import CORNERS, Axis, Station
from benchterm.locations import demo_sessions_folder
from benchterm.map_sheet import SHADES, page, rows, shade
from benchterm.mechanics.tension_map import Spot

ALONG, ACROSS = Axis
CENTRE, FAR = Station.CENTRE, Station.FAR


@pytest.fixture(autouse=True)
def home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))


def run(*args: str) -> Result:
    return CliRunner().invoke(cli, ["map", *args])


def read_all_over(*, across: bool = True, facts: Facts | None = None):
    """Centre and corners: far ones 2 above the near ones along."""
    bench = at(Stage.FINAL_TENSION, Turn(FAR, 4), facts=facts)
    for axis in (ALONG, ACROSS) if across else (ALONG,):
        say(bench, Read(CENTRE, 22, axis))
        for corner in CORNERS:
            say(bench, Read(corner, 22 + (corner.row if axis is ALONG else 0), axis))
    return bench


def drawn(bench) -> LikelyMap:
    made = likely_map(bench.state)
    assert isinstance(made, LikelyMap)
    return made


def test_far_is_on_top():
    along = drawn(read_all_over()).along
    assert len(along) == 11
    assert {len(row) for row in along} == {9}
    assert along[0][0].likely > along[-1][0].likely + 1


def test_left_is_left():
    bench = at(Stage.FINAL_TENSION, Turn(FAR, 4), Read(CENTRE, 22, ALONG))
    say(bench, Read(Station.FAR_LEFT, 24, ALONG))
    say(bench, Read(Station.FAR_RIGHT, 20, ALONG))
    far_row = drawn(bench).along[0]
    assert far_row[0].likely > far_row[-1].likely + 1


def test_axes_go_by_how_the_roll_lies():
    """With the roll from left to right, along is what the left and right rollers pull."""
    upright = drawn(read_all_over())
    turned = drawn(read_all_over(facts=Facts(along_pair=Pair.LEFT_RIGHT)))
    assert turned.along != upright.along
    assert turned.along[0][0].likely == pytest.approx(23, abs=1)


def test_an_axis_that_was_not_read_is_said_so():
    made = drawn(read_all_over(across=False))
    assert made.across is None
    lines = [line.strip() for line in rows(made, Target())]
    assert "ACROSS: not read, so nothing is known of it." in lines


def test_clicks_make_readings_old():
    bench = read_all_over()
    say(bench, Turn(FAR, 1))
    made = drawn(bench)
    assert made.turned_since
    assert "Rollers have been turned since: read again." in rows(made, Target())
    assert not made.left_out


def test_what_was_read_before_the_last_click_is_left_out_and_told():
    bench = read_all_over()
    say(bench, Turn(FAR, 1))
    say(bench, Read(CENTRE, 24, ALONG))
    made = drawn(bench)
    assert [r.value_n_cm for r in made.readings] == [24]
    assert rows(made, Target())[:2] == [
        "Left out, as read before the last clicks or easing: the four corners, centre",
        "across. Read them again.",
    ]
    say(bench, Read(Station.NEAR_LEFT, 23, ALONG))
    assert "near left across, near right, centre across, far left" in " ".join(
        rows(drawn(bench), Target())[:2]
    )


def test_off_the_stretcher_nothing_is_to_be_read_again():
    bench = read_all_over()
    say(bench, Turn(FAR, 1))
    say(bench, Read(CENTRE, 24, ALONG))
    bench.note((StageEntered(Stage.READ_AGAIN),), moment(bench.state.at_s), Source.BENCH)
    assert not drawn(bench).left_out
    assert len(drawn(bench).readings) == 1


def test_an_eased_corner_is_to_be_read_again():
    bench = read_all_over()
    say(bench, Relieve(Station.FAR_LEFT, 6))
    made = drawn(bench)
    assert len(made.readings) == 8
    assert {r.station for r in made.left_out} == {Station.FAR_LEFT}
    assert "Left out" in rows(made, Target())[0]
    for axis in Axis:
        say(bench, Read(Station.FAR_LEFT, 20, axis))
    assert not drawn(bench).left_out


def test_how_the_mesh_is_held():
    """Default frame 580 x 840, tube 40, span 120 beyond it; 16 mm eased in all.

    Take-up of a roller at 22 N/cm both ways, e = 22 (1 - 0.2) / E:
    e (700 + 960 + 4 x 30) / 4 mm, as a mean of the four.
    """
    bench = read_all_over()
    for corner in CORNERS:
        say(bench, Relieve(corner, 4))
    hold = held(bench.state, [Spot(d, 5, 4, 22) for d in (0, 1)])
    stiffness = stiffness_n_cm(bench.state)
    assert hold.span_mm == (960, 700)
    assert (hold.inset_mm, hold.gap_mm) == (100, 100)
    assert hold.gap_sd_mm > 0
    assert hold.eased == pytest.approx(4 / (22 * 0.8 / stiffness * 1780 / 4))


def test_both_axes_are_seen_at_once():
    """On 80 x 24 every second column of both; on a large terminal all of them."""
    made = drawn(read_all_over())
    small, tall, wide = (page(made, Target(), *size) for size in ((78, 23), (78, 59), (198, 59)))
    assert len(small) <= 23
    assert max(map(len, small)) <= 78
    assert any(line.count("N/cm   target") == 2 for line in small)
    assert f"{made.along[0][2].likely:4.1f}" in next(x for x in small if x.startswith("far"))
    assert tall[1:] == rows(made, Target())
    assert [one[0] for one in (small, tall, wide)] == [
        "LIKELY TENSION, every second column",
        "LIKELY TENSION",
        "LIKELY TENSION",
    ]
    assert any(line.count("N/cm   target") == 2 for line in wide)
    far = next(x for x in wide if x.startswith("far"))
    assert all(f"{cell.likely:4.1f}" in far for cell in (*made.along[0], *made.across[0]))


def test_a_mesh_unlike_those_simulated_is_said_to_be():
    huge = Facts(frame=Frame(width_mm=2000, depth_mm=2400))
    assert "No mesh of this size" in rows(drawn(read_all_over(facts=huge)), Target())[-1]
    assert "No mesh of this size" not in rows(drawn(read_all_over()), Target())[-1]


def test_readings_off_the_stretcher_do_not_count():
    bench = read_all_over()
    bench.note((StageEntered(Stage.READ_AGAIN),), moment(bench.state.at_s), Source.BENCH)
    say(bench, Read(CENTRE, 19, ALONG))
    assert drawn(bench).readings == drawn(read_all_over()).readings


@pytest.mark.parametrize(("gap", "taken"), [(None, 100), (3, 3), (40, 40)])
def test_rods(gap: float | None, taken: float):
    """Not measured: (580 + 120 - 500) / 2 mm, cut to the inside of the frame."""
    made = drawn(read_all_over(facts=Facts(stretcher=Stretcher(rod_gap_mm=gap))))
    assert (made.rod_gap_mm, made.gap_measured) == (taken, gap is not None)


def test_no_reading_no_map():
    assert likely_map(at(Stage.FINAL_TENSION, Turn(FAR, 1)).state).startswith("nothing has been")
    slack = at(Stage.SLACK, Read(CENTRE, 0, ALONG))
    assert likely_map(slack.state) == "the mesh is slack wherever it was read"


@pytest.mark.parametrize(
    ("n_cm", "word"),
    [
        (18.9, "slack"),
        (20, "low"),
        (21.5, "even"),
        (23, "even"),
        (24.5, "tight"),
        (26, "very tight"),
    ],
)
def test_a_shade_has_a_word(n_cm: float, word: str):
    assert shade(n_cm, 22, 1)[1] == word
    assert len({symbol for symbol, _ in SHADES}) == len(SHADES)


def test_rows_fit_a_narrow_terminal():
    lines = rows(drawn(read_all_over()), Target())
    assert max(map(len, lines)) <= 80
    assert any(line.startswith("far") for line in lines)
    assert not re.search(r"\bnan\b|\bsafe", "\n".join(lines))


def test_a_demo_session():
    file = str(demo_sessions_folder() / "good.jsonl")
    said = run(file)
    assert said.exit_code == 0
    assert "ALONG N/cm   target 22" in said.output
    whole = json.loads(run("--json", file).output)
    assert len(whole["along"]) == 11


def test_a_journal_without_readings_is_refused(tmp_path: Path):
    source = (demo_sessions_folder() / "good.jsonl").read_bytes().splitlines(keepends=True)
    file = tmp_path / "short.jsonl"
    file.write_bytes(b"".join(source[:3]))
    said = run(str(file))
    assert said.exit_code == 1
    assert "There is no map of this mesh" in said.output
