"""``benchterm map``: a map drawn from a journal."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from worked import at, moment, say

from benchterm.cli import cli
from benchterm.core.events import Source, StageEntered
from benchterm.core.facts import Facts, Pair, Stretcher, Target
from benchterm.core.intents import Read, Turn
from benchterm.core.likely_map import LikelyMap, likely_map
from benchterm.core.stages import Stage
from benchterm.core.stations import CORNERS, Axis, Station
from benchterm.locations import demo_sessions_folder
from benchterm.map_sheet import SHADES, rows, shade

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
    assert "ACROSS: not read, so nothing is known of it." in rows(made, Target())


def test_clicks_make_readings_old():
    bench = read_all_over()
    say(bench, Turn(FAR, 1))
    made = drawn(bench)
    assert made.turned_since
    assert "Rollers have been turned since: read again." in rows(made, Target())
    say(bench, Read(CENTRE, 24, ALONG))
    assert len(drawn(bench).readings) == 1


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
