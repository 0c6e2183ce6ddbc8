"""``benchterm plan``: the page, the JSON, what it refuses."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from benchterm.cli import cli


@pytest.fixture(autouse=True)
def home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    return tmp_path


def run(*args: str) -> Result:
    return CliRunner().invoke(cli, ["plan", *args])


JOBS = (
    (),
    ("--mesh", "195/in", "--thread", "48", "--target", "20"),
    ("--set", "stretcher.rod_gap_mm=2", "--set", "frame.depth_mm=1400", "--target", "37.5"),
    ("--set", "frame.material=wood", "--set", "mesh.material=steel"),
)


@pytest.mark.parametrize("job", JOBS)
def test_the_page_fits_a_narrow_terminal(job: tuple[str, ...]):
    said = run(*job)
    assert said.exit_code == 0
    assert all(len(line) <= 80 for line in said.output.splitlines())
    for part in ("MESH", "STRETCHING", "CORNERS", "FRAME", "adhesive", "time"):
        assert re.search(rf"^ *{part}\b", said.output, re.MULTILINE)


@pytest.mark.parametrize("job", JOBS)
def test_no_page_promises_too_much(job: tuple[str, ...]):
    words = run(*job).output.replace("safety data sheet", "").replace("safety data\nsheet", "")
    assert not re.search(r"\bsafe", words)
    assert not re.search(r"\b(nan|inf|None)\b", words)


def test_every_figure_in_json():
    sheet = json.loads(run("--json", "--target", "25").output)
    assert sheet["axes"][0]["target_n_cm"] == 25
    assert round(sheet["frame"]["stress_mpa"], 2) == 31.66
    assert (sheet["adhesive_g"], sheet["adhesive_by"][:16]) == (20, "the shop's table")


def test_facts_from_a_file(tmp_path: Path):
    file = tmp_path / "job.toml"
    file.write_text('screen_id = "41"\n[mesh]\ncount = "54/cm"\nthread_um = 64\n')
    assert "54/cm (137.2/in), 64 µm" in run("--setup", str(file)).output


def test_grams_of_the_glue_named(home: Path):
    folder = home / "products"
    folder.mkdir()
    (folder / "thick.toml").write_text(
        'name = "Thick"\nkind = "adhesive"\nsheet_date = 2025-11-03\ngrams = 12\n'
        "[ingredients.7085-85-0]\nfraction = 0.9\n"
    )
    assert "12 g, by thick.toml" in run("--set", 'products=["thick"]').output


def test_what_cannot_be_is_refused_with_figure_and_reason():
    said = run("--mesh", "77/cm", "--thread", "34", "--target", "42")
    assert said.exit_code == 2
    assert "42 N/cm along is past 41.5" in str(said.output)
    said = run("--set", "mesh.ceiling_n_cm=20", "--target", "25")
    assert said.exit_code == 2
    assert "above the maker's highest working tension" in said.output
