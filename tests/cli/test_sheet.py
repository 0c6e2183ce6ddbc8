"""The sheet of a screen, from sessions worked through the pipe."""

from __future__ import annotations

import json
import statistics
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner, Result

from benchterm.cli import cli
from benchterm.core.cautions import CAVEAT, VERSION
from benchterm.locations import demo_products_folder, demo_sessions_folder, schemas_folder
from benchterm.sheet_page import WIDTH, local

DEMOS = sorted(demo_sessions_folder().glob("*.jsonl"))
SCHEMA = json.loads((schemas_folder() / "sheet.schema.json").read_text(encoding="utf-8"))
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
Work = Callable[..., Path]


@pytest.fixture(autouse=True)
def home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    folder = tmp_path / "home"
    monkeypatch.setenv("BENCHTERM_HOME", str(folder))
    return folder


def run(*args: str, stdin: str = "") -> Result:
    return CliRunner().invoke(cli, args, input=stdin)


@pytest.fixture
def work(tmp_path: Path) -> Work:
    """Work a session by phrases; its journal."""

    def worked(*phrases: str, name: str = "s", options: tuple[str, ...] = ()) -> Path:
        file = tmp_path / f"{name}.jsonl"
        done = run("pipe", "--session-file", str(file), *options, stdin="\n".join(phrases))
        assert done.exit_code == 0, done.output
        for line in done.output.splitlines():
            said = json.loads(line)
            assert "refused" not in said, said
        return file

    return worked


def flat(text: str) -> str:
    return " ".join(text.split())


TO_TENSION = ("go to final tensioning", "1")


def test_it_says_what_was_measured_and_how_even(work: Work):
    file = work(*TO_TENSION, "far 21.5", "near 22.5", "centre 22", "far left relieved 4 mm")
    sheet = json.loads(run("sheet", str(file), "--json").output)["on_stretcher"]
    assert sheet["along"]["mean"] == pytest.approx(statistics.mean([21.5, 22.5, 22]))
    assert sheet["along"]["s"] == pytest.approx(statistics.stdev([21.5, 22.5, 22]))
    assert sheet["across"] is None
    page = flat(run("sheet", str(file)).output)
    assert "far less near -1.0" in page
    assert "let back in at corners: far left 4 mm" in page


def test_a_reading_before_the_last_clicks_is_marked_and_left_out(work: Work):
    file = work(*TO_TENSION, "far 10", "far 3 clicks", "near 14")
    page = flat(run("sheet", str(file)).output)
    assert "far (10.0)" in page
    assert "along 14.0 at one station" in page
    assert "net clicks since tension began: far +3" in page


def test_a_stage_passed_over_stands_there_with_its_reason(work: Work):
    page = flat(run("sheet", str(work(*TO_TENSION))).output)
    assert "final tensioning passed over, because" in page
    reason = json.loads(run("sheet", "--json", str(work(*TO_TENSION, name="t"))).output)
    assert reason["visits"][0]["reason"]
    assert "take out the slack" in " ".join(reason["visits"][0]["passed_over"])


def test_cautions_stand_there_with_who_when_how_and_which_words(work: Work):
    file = work("go to adhesive", "1", "yes", options=("--set", "operator=Ada"))
    (said_yes,) = json.loads(run("sheet", str(file), "--json").output)["acknowledged"]
    assert (said_yes["operator"], said_yes["source"]) == ("Ada", "pipe")
    assert said_yes["version"] == VERSION
    assert flat(said_yes["text"]) in flat(run("sheet", str(file)).output)


def test_a_gate_passed_with_a_reason_shows_every_caution_left(work: Work):
    file = work("go to adhesive", "1", "go to cure", "1")
    sheet = json.loads(run("sheet", str(file), "--json").output)
    assert sheet["acknowledged"] == []
    assert len(sheet["visits"][-1]["passed_over"]) > 5
    page = flat(run("sheet", str(file)).output)
    assert "no caution was acknowledged" in page
    assert all(flat(left) in page for left in sheet["visits"][-1]["passed_over"])


def test_what_was_taken_back_is_listed_and_does_not_count(work: Work):
    file = work(*TO_TENSION, "far 22", "near 9", "undo", "note all well")
    page = flat(run("sheet", str(file)).output)
    assert "along 22.0 at one station" in page
    assert "near 9.0" in page.partition("TAKEN BACK")[2]
    assert "all well" in page.partition("NOTES")[2]


def test_what_is_taken_back_after_the_cut_out_does_not_count_either(work: Work):
    file = work(*TO_TENSION, "far 22", "near 21", "go to cut out", "1", "undo 3 back")
    sheet = json.loads(run("sheet", str(file), "--json").output)
    (back,) = sheet["taken_back"]
    read = {p["station"]: p["along"]["n_cm"] for p in sheet["on_stretcher"]["places"] if p["along"]}
    assert back[0]["value_n_cm"] == 21.0
    assert read == {8: 22.0}


def test_after_cut_out_the_same_stations_are_compared(work: Work):
    file = work(
        *(*TO_TENSION, "far 22", "near 22", "left 21"),
        *("go to read off the stretcher", "1", "far 20", "right 19"),
    )
    page = flat(run("sheet", str(file)).output)
    assert "along: -2.0 since on the stretcher (far)" in page
    assert "across:" not in page.partition("TENSION OFF IT")[2]


def test_one_session_that_stopped_in_mid_line_is_told(work: Work):
    file = work(*TO_TENSION, "far 22")
    with file.open("ab") as journal:
        journal.write(b'{"half a line')
    made = run("sheet", str(file))
    assert made.exit_code == 0
    assert "13 bytes that never counted" in made.stdout
    assert "far 22.0" in flat(made.stdout)
    assert "not finished, now at final tensioning" in made.stdout


@pytest.mark.parametrize("demo", DEMOS, ids=lambda path: path.stem)
def test_every_page_fits_is_cautious_and_claims_no_safety(demo: Path):
    text = run("sheet", str(demo)).stdout
    assert max(map(len, text.splitlines())) <= WIDTH
    assert flat(text).endswith(flat(CAVEAT))
    assert "safe" not in text.lower().replace("safety data sheet", "")


def test_as_json_it_is_what_the_schema_says(work: Work):
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    made = [run("sheet", str(demo), "--json").stdout for demo in DEMOS]
    made.append(run("sheet", str(work(*TO_TENSION, "far 22", "near 21", "undo")), "--json").stdout)
    for text in made:
        VALIDATOR.validate(json.loads(text))
    sheet = json.loads(made[-1])
    gone = [event for entry in sheet["taken_back"] for event in entry]
    assert [(one["type"], one["value_n_cm"]) for one in gone] == [("reading_taken", 21)]
    with pytest.raises(jsonschema.ValidationError):
        VALIDATOR.validate({**sheet, "verdict": "good"})
    del sheet["caveat"]
    with pytest.raises(jsonschema.ValidationError):
        VALIDATOR.validate(sheet)


def test_each_product_stands_there_with_the_date_of_its_data_sheet(work: Work):
    file = work(options=("--set", 'products=["demo-bond","demo-spray"]'))
    (glue,) = json.loads(run("sheet", str(file), "--json").output)["glue"]
    page = flat(run("sheet", str(file)).output)
    for name, product in zip(glue["names"], ("demo-bond", "demo-spray"), strict=True):
        written = tomllib.loads(
            (demo_products_folder() / f"{product}.toml").read_text(encoding="utf-8")
        )
        assert name == written["name"]
        assert f"{name} (data sheet: {written['sheet_date']})" in page


def test_tension_to_come_is_told_as_worked_out(work: Work):
    file = work(*TO_TENSION, "far 4 clicks", "near 4 clicks", "centre along 12")
    (settled,) = json.loads(run("sheet", str(file), "--json").output)["settled"]
    assert settled["axis"] == "along"
    assert settled["low_n_cm"] < settled["n_cm"] < settled["high_n_cm"] < 14
    assert "along worked out for 24 h after the last click" in flat(run("sheet", str(file)).output)


def test_the_list_tells_even_from_uneven(work: Work, home: Path):
    (home / "sessions").mkdir(parents=True)
    told = {"even": ("far 22", "near 21"), "uneven": ("far 24", "near 21"), "": ("far 22",)}
    for number, (expected, readings) in enumerate(told.items()):
        file = work(*TO_TENSION, *readings, name=f"e{number}")
        (home / "sessions" / file.name).write_bytes(file.read_bytes())
        _, line = run("sheet", "--all").stdout.splitlines()
        assert line.endswith(f"on stretcher{expected and ', '}{expected}, not finished")
        (home / "sessions" / file.name).unlink()


def test_a_long_name_does_not_widen_the_page(work: Work):
    file = work(options=("--set", "operator=" + "Ada-of-the-second-shift " * 3))
    assert max(map(len, run("sheet", str(file)).output.splitlines())) <= WIDTH


def test_the_latest_session_unless_one_is_named_and_all_in_a_list(home: Path):
    (home / "sessions").mkdir(parents=True)
    for demo in DEMOS:
        (home / "sessions" / demo.name).write_bytes(demo.read_bytes())
    (home / "sessions" / "bad.jsonl").write_bytes(b"not a journal\n")
    assert "SCREEN A-105" in run("sheet").stdout
    assert "SCREEN B-017" in run("sheet", "B-017").stdout
    listed = run("sheet", "--all")
    heading, *lines = listed.stdout.splitlines()
    assert "mean" in heading
    assert [line.split()[1] for line in lines] == ["A-105", "C-230", "B-017", "A-104"]
    assert "bad.jsonl is left out" in listed.stderr


# The gauge.


GAUGE = ("--set", "gauge=gauge 1")
POINTS = {10: 10.4, 15: 15.3, 20: 20.5, 25: 25.2, 30: 30.6, 35: 35.3}


def calibrate(operator: str = "Ada", points: dict[int, float] = POINTS) -> None:
    given = [f"--point={reference}={reading}" for reference, reading in points.items()]
    words = ["--gauge", "gauge 1", "--operator", operator, "--keep", *given]
    assert run("gauge", "calibrate", *words).exit_code == 0


def sheet_json(file: Path) -> dict[str, Any]:
    sheet: dict[str, Any] = json.loads(run("sheet", str(file), "--json").output)
    VALIDATOR.validate(sheet)
    return sheet


def test_a_mean_stands_there_with_its_uncertainty_and_what_that_rests_on(work: Work):
    """Points and 24.8, which stands for 24.41557 +- 0.178174 (1 s), as in tests/core/test_trust.py,
    where the same is worked out by hand."""
    calibrate()
    file = work(*TO_TENSION, "far 24.8", "left 8", options=GAUGE)
    sheet = sheet_json(file)
    trusted = sheet["on_stretcher"]["along_trust"]
    assert trusted["mean_n_cm"] == pytest.approx(24.41557, abs=5e-5)
    u = {part["name"]: part["u_n_cm"] for part in trusted["parts"]}
    assert u["line"] ** 2 + u["repeatability"] ** 2 == pytest.approx(0.178174**2, rel=1e-4)
    assert trusted["expanded_n_cm"] == pytest.approx(2 * (0.178174**2 + 0.1**2 / 12) ** 0.5, 1e-4)
    assert sheet["on_stretcher"]["across_trust"] is None
    (gauge,) = sheet["gauges"]
    assert gauge["calibration"]["readings_n_cm"] == list(POINTS.values())
    page = flat(run("sheet", str(file)).output)
    assert "24.42 ± 0.36 (U, k = 2) by the calibration of " in page
    assert "references taken as exact; reading = 1.0006 x tension + 0.370" in page
    assert "no ± U: the gauge was calibrated from 10.4 to 35.3 only" in page


def test_without_a_calibration_it_says_so_and_no_uncertainty(work: Work):
    told = {
        (): "no calibration is on record; readings stand as they came",
        GAUGE: "gauge 1, read by eye: not calibrated here; readings stand as they came",
    }
    for number, (options, words) in enumerate(told.items()):
        file = work(*TO_TENSION, "far 22", name=f"{number}", options=options)
        page = flat(run("sheet", str(file)).output)
        assert words in page
        assert "no ± U: no calibration is on record" in page
        assert "k = 2" not in page


def test_only_a_calibration_that_is_new_is_written_down_when_a_session_is_taken_up_again(
    work: Work,
):
    calibrate()
    work(*TO_TENSION, "far 22", options=GAUGE)
    file = work("near 22")
    assert len(sheet_json(file)["gauges"]) == 1
    assert sheet_json(file)["on_stretcher"]["along_trust"]
    calibrate("Tomek")
    work("centre 22")
    sheet = sheet_json(file)
    assert [one["calibration"]["operator"] for one in sheet["gauges"]] == ["Ada", "Tomek"]
    assert sheet["on_stretcher"]["along_trust"] is None
    assert sheet["on_stretcher"]["along_no_trust"] == "they were read under different calibrations"


# The clock on the wall.


@pytest.fixture
def quarter_to_six_ahead(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A shop 5 h 45 min ahead of UTC; POSIX writes that with the sign turned round."""
    monkeypatch.setenv("TZ", "SHOP-5:45")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("quarter_to_six_ahead")
def test_times_are_those_of_the_shop_and_say_how_far_from_utc():
    """ISO 8601, 2026-03-02T08:40Z + 5:45."""
    good = demo_sessions_folder() / "good.jsonl"
    page = run("sheet", str(good)).output
    assert "opened 2026-03-02 14:25+05:45, last entry 2026-03-02 " in page
    assert sheet_json(good)["opened_utc"].startswith("2026-03-02T08:40")


@pytest.mark.usefixtures("quarter_to_six_ahead")
def test_past_midnight_in_the_shop_is_the_next_day():
    assert local("2026-03-02T18:30:00.000Z") == "2026-03-03 00:15+05:45"
    assert local("by hand") == "by hand"


def test_what_cannot_be_done_is_said(work: Work, tmp_path: Path):
    assert "There is no session yet." in run("sheet").stderr
    assert "No session is called Z-1." in run("sheet", "Z-1").stderr
    refused = run("sheet", str(work()), "--output", str(tmp_path / "no" / "such.txt"))
    assert refused.exit_code != 0
    assert "cannot be written" in refused.stderr
    written = tmp_path / "sheet.txt"
    assert run("sheet", str(work(name="w")), "--output", str(written)).exit_code == 0
    assert written.read_text(encoding="utf-8").startswith("SCREEN ")
