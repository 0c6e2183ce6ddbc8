"""``benchterm gauge``: every command, typed at and on a pseudo-terminal."""

from __future__ import annotations

import csv
import re
import threading
from pathlib import Path

import pytest
from click.testing import CliRunner

import benchterm.gauge
from benchterm.cli import cli
from benchterm.gauge import ports
from benchterm.gauge.calibrated import load_history
from benchterm.gauge.profile import load_profile
from benchterm.gauge.pseudo import PtyGauge
from benchterm.gauge.simulated import Behaviour, Simulator


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    return tmp_path


def run(*words, keys=None, code=0):
    result = CliRunner().invoke(cli, ["gauge", *words], input=keys)
    assert result.exit_code == code, result.output
    return result.output


@pytest.fixture
def played(tmp_path):
    """Starts simulated gauges, and ends them."""
    stop = threading.Event()
    threads = []

    def play(profile, **behaviour):
        gauge = PtyGauge(tmp_path / "simulated")
        gauge.plug()
        simulator = Simulator(load_profile(profile), Behaviour(**behaviour), gauge, seed=1)
        threads.append(threading.Thread(target=simulator.run, args=(stop.is_set,)))
        threads[-1].start()
        return gauge.path

    yield play
    stop.set()
    for thread in threads:
        thread.join(5)


class Info:
    device, vid, pid = "/dev/ttyUSB0", 0x1A2B, 0x3C4D
    serial_number, description = "A5", "serial adapter"


def test_list_prints_settings_that_can_be_pasted(home, monkeypatch):
    monkeypatch.setattr(ports, "_infos", lambda: [Info()])
    said = run("list")
    block = re.search(r"    \[gauge\]\n(    .*\n)+", said)[0]
    (home / "settings.toml").write_text(block)
    assert "usb:1a2b:3c4d:A5" in block
    monkeypatch.setattr(ports, "_infos", list)
    assert "No serial port" in run("list")
    said = run("try", "--seconds", "0.3")
    assert "Gauge not there. The keypad does everything." in said


def test_try_shows_lines_beside_values(played):
    said = run("try", "--port", played("number"), "--profile", "number", "--lines", "5")
    lines = [line for line in said.splitlines() if not line.startswith("--")]
    assert len(lines) == 5
    assert all(re.fullmatch(r"-?[\d.]+ +-?[\d.]+ N/cm = -?[\d.]+ N/cm", line) for line in lines)


def test_try_shows_why_a_line_cannot_be_read(played):
    path = played("number-unit", lift_s=0.1, rest_s=0.2)
    said = run("try", "--port", path, "--profile", "number", "--lines", "2")
    assert said.count("not read: it does not fit") == 2


def test_try_without_a_gauge_says_what_to_do():
    assert "gauge list" in run("try", code=1)


def test_a_profile_that_is_wrong_is_told_with_file_and_key(tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text("[port]\nbuad = 9600\n")
    said = run("try", "--port", "x", "--profile", str(file), code=2)
    assert "port.buad" in said
    assert "'baud'" in said


def test_simulate_and_try_meet(home):
    simulating = threading.Thread(target=run, args=("simulate", "--seconds", "3", "--seed", "1"))
    simulating.start()
    said = run("try", "--port", str(home / "simulated-gauge"), "--lines", "3")
    simulating.join(10)
    assert said.count("N/cm = ") == 3
    assert not (home / "simulated-gauge").exists()


POINTS = [(10, 10.4), (15, 15.3), (20, 20.5), (25, 25.2), (30, 30.6), (35, 35.3)]
"""Least-squares line computed independently: slope 1.000571, intercept 0.370476."""


def test_calibrate_from_the_command_line_and_use_it():
    points = [word for r, y in POINTS for word in ("--point", f"{r}={y}")]
    said = run(
        "calibrate",
        "--port",
        "usb:1a2b:3c4d:A5",
        "--operator",
        "Ada",
        "--plate",
        "0.4",
        *points,
        "--keep",
    )
    assert "1.000571" in said
    assert "0.370476" in said
    assert "Bias" in said
    kept = load_history("usb:1a2b:3c4d:A5").calibration
    assert (kept.operator, kept.gauge, kept.plate_n_cm) == ("Ada", "usb:1a2b:3c4d:A5", 0.4)
    assert kept.kept.corrected(24.8) == pytest.approx(24.41557, abs=5e-6)
    said = run("calibrate", "--port", "usb:1a2b:3c4d:A5", "--plate-only", "--plate", "1.2")
    assert "zero has moved by +0.80" in said


def test_calibrate_by_keypad_with_a_slip_taken_back():
    keys = "0,4\n10\n10.4\n15\n51.3\n-\n15\n15.3\n20\nx\n20.5\n.\ny\n"
    said = run("calibrate", "--gauge", "the old one", keys=keys)
    assert "That is no number." in said
    kept = load_history("the old one").calibration
    assert kept.readings_n_cm == (10.4, 15.3, 20.5)
    assert kept.plate_n_cm == 0.4


def test_calibrate_refuses_what_is_no_line():
    said = run("calibrate", "--gauge", "x", "--point", "10=10", "--point", "20=20", code=1)
    assert "3 points" in said
    run("calibrate", "--gauge", "x", "--point", "10", code=2)
    assert load_history("x").calibration is None


def test_calibrate_by_wire_corrects_what_try_shows(played):
    path = played("number", tensions_n_cm=(20.0,), lift_s=0.1, rest_s=60)
    keys = "0\n10\n10.5\n20\n\n30\n29.7\n.\ny\n"
    said = run("calibrate", "--port", path, keys=keys)
    assert "20.00 N/cm  (20.0)" in said
    assert "corrected" in run("try", "--port", path, "--lines", "3")


def test_a_study_by_keypad_is_kept_as_it_goes_and_taken_up_again(tmp_path):
    sheet = str(tmp_path / "study.csv")
    words = ["study", "--sheet", sheet, "--trials", "2"]
    names = ["--piece", "1", "--piece", "2", "--operator", "Ada", "--operator", "Ben"]
    said = run(*words, *names, keys="20.1\n99\n-\ntwenty two point five\n.\n")
    assert "Taken back" in said
    assert "6 readings are still wanted" in said
    assert "twenty two point five" in (tmp_path / "study.csv").read_text()
    said = run(*words, *names, keys="20.2\n22.4\n20.0\n22.6\n20.3\n22.5\n")
    assert "Method: analysis of variance" in said
    assert "%GRR" in said


def test_a_study_by_wire(played, tmp_path):
    usual = (Path(benchterm.gauge.__file__).parent / "profiles" / "number.toml").read_text()
    quick = tmp_path / "quick.toml"
    quick.write_text(usual.replace("for_s = 0.8", "for_s = 0.1"), encoding="utf-8")
    path = played(str(quick), tensions_n_cm=(20.0, 22.0), lift_s=0.15, rest_s=0.6, every_s=0.03)
    sheet = tmp_path / "study.csv"
    names = ["--piece", "1", "--piece", "2", "--operator", "Ada", "--operator", "Ben"]
    said = run(
        *("study", "--port", path, "--profile", str(quick), "--sheet", str(sheet)),
        *("--trials", "2", *names),
        keys="\n" * 8,
    )
    assert "%GRR" in said
    rows = list(csv.DictReader(sheet.read_text(encoding="utf-8").splitlines()))
    assert len(rows) == 8
    assert {row["n_cm"] for row in rows} <= {"20.0", "22.0"}
    assert all(row["heard"] == row["n_cm"] for row in rows), "the gauge's own line is kept"


def test_no_two_studies_come_in_the_same_order(tmp_path):
    names = [word for n in range(8) for word in ("--piece", str(n))]
    names += ["--operator", "Ada", "--operator", "Ben", "--trials", "2"]
    for sheet in ("one.csv", "other.csv"):
        run("study", "--sheet", str(tmp_path / sheet), *names, keys="20\n.\n")
    one, other = ((tmp_path / sheet).read_text() for sheet in ("one.csv", "other.csv"))
    assert [row.split(",")[0] for row in one.split()] != [
        row.split(",")[0] for row in other.split()
    ]


AIAG = """0.29 0.41 0.64 0.08 0.25 0.07 0.04 -0.11 -0.15
-0.56 -0.68 -0.58 -0.47 -1.22 -0.68 -1.38 -1.13 -0.96
1.34 1.17 1.27 1.19 0.94 1.34 0.88 1.09 0.67
0.47 0.50 0.64 0.01 1.03 0.20 0.14 0.20 0.11
-0.80 -0.92 -0.84 -0.56 -1.20 -1.28 -1.46 -1.07 -1.45
0.02 -0.11 -0.21 -0.20 0.22 0.06 -0.29 -0.67 -0.49
0.59 0.75 0.66 0.47 0.55 0.83 0.02 0.01 0.21
-0.31 -0.20 -0.17 -0.63 0.08 -0.34 -0.46 -0.56 -0.49
2.26 1.99 2.01 1.80 2.12 2.19 1.77 1.45 1.87
-1.36 -1.25 -1.31 -1.68 -1.62 -1.50 -1.49 -1.77 -2.16"""


def test_a_published_study_from_its_file(tmp_path):
    # AIAG MSA, 4th edition: published %GRR 27.86, 22.68 % of a tolerance of 8, ndc 4.
    rows = ["piece,operator,trial,n_cm"]
    for piece, line in enumerate(AIAG.splitlines(), 1):
        for place, value in enumerate(line.split()):
            rows.append(f"{piece},{'ABC'[place // 3]},{place % 3 + 1},{value}")
    sheet = tmp_path / "aiag.csv"
    sheet.write_text("\n".join(rows))
    said = run("study", "--sheet", str(sheet), "--tolerance", "8")
    assert "interaction pooled with the error" in said
    assert "%GRR 27.86 %" in said
    assert "22.68 % of a tolerance" in said
    assert "truncated 4" in said
    assert "depends on the use" in said
    assert "0.433721" in said
    assert "not looked for" in said
    assert "analysis of variance with interaction" in run(
        "study", "--sheet", str(sheet), "--method", "full"
    )
    assert "26.68 %" in run("study", "--sheet", str(sheet), "--method", "range")


def test_a_sheet_that_is_wrong_is_told_with_its_line(tmp_path):
    sheet = tmp_path / "s.csv"
    sheet.write_text("piece,operator,trial,n_cm\n1,A,1,20\n1,A,two,20\n")
    assert "line 3" in run("study", "--sheet", str(sheet), code=1)
    sheet.write_text("piece,operator,trial,n_cm\n1,A,1,20\n")
    assert "two or more pieces" in run("study", "--sheet", str(sheet), code=1)


def test_a_mean_with_its_uncertainty():
    # Type A and B as in JCGM 100; s of these is 0.418330, so U = 2 hypot(0.144338, 0.3, 0.187083).
    said = run("mean", "24.5", "24", "25", "24.5", "25", "--step", "0.5", "--certificate", "0.6")
    assert "24.60 ± 0.76 N/cm" in said
    assert "one reading" in run("mean", "24.5", code=1)
