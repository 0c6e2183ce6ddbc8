"""What the shop remembers of its meshes' settling."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from click.testing import CliRunner
from worked import at, moment, say

from benchterm.cli import cli
from benchterm.core.events import NoteMade, SessionOpened, Source, StageEntered
from benchterm.core.facts import Facts, Mesh
from benchterm.core.intents import Read, Turn
from benchterm.core.practice import Practice
from benchterm.core.settling import lost_later
from benchterm.core.stages import Stage
from benchterm.core.stations import ROLLERS, Axis, Station
from benchterm.desk import Desk
from benchterm.mechanics.settling import DAY_S, Likely
from benchterm.records.codec import encode
from benchterm.records.journal import read
from benchterm.records.memory import narrowed, recalled, remembered

ALONG, ACROSS = Axis
CENTRE = Station.CENTRE


def overnight(lost: float, *, mesh: Mesh | None = None, late_s: float = DAY_S, off: bool = False):
    """A bench at 22 N/cm, read at once and again later, which has lost this much of it."""
    bench = at(Stage.FINAL_TENSION, facts=Facts(mesh=mesh or Mesh()))
    for roller in ROLLERS:
        say(bench, Turn(roller, 8))
    for axis in Axis:
        say(bench, Read(CENTRE, 22, axis), 5)
    stage = Stage.READ_AGAIN if off else Stage.SETTLE
    bench.note((StageEntered(stage),), moment(bench.state.at_s), Source.BENCH)
    for axis in Axis:
        say(bench, Read(CENTRE, 22 * (1 - lost), axis), late_s if axis is ALONG else 5)
    return bench


def kept(folder: Path, *benches) -> Path:
    for number, bench in enumerate(benches):
        lines = b"".join(encode(event) for event in bench._recorder.events)
        (folder / f"s{number}.jsonl").write_bytes(lines)
    return folder


@pytest.mark.parametrize("lost", [0.07, 0.12, 0.17])
def test_a_night_tells_the_loss(lost: float):
    """A part of it had gone within the first quarter of an hour."""
    told = lost_later(overnight(lost).state)
    assert 0.3 * lost < told.value < 0.9 * lost
    assert told.sd < 0.03


def test_an_hour_tells_nothing():
    assert lost_later(overnight(0.05, late_s=3000).state) is None


def test_off_the_stretcher_the_frame_has_taken_its_part():
    assert lost_later(overnight(0.2, off=True).state) is None


def test_each_mesh_is_remembered(tmp_path: Path):
    fine = Mesh(120, 34)
    folder = kept(
        tmp_path,
        overnight(0.12),
        overnight(0.12),
        overnight(0.08, mesh=fine),
        overnight(0, late_s=9),
    )
    found = remembered(folder)
    assert [(one.mesh, one.screens) for one in found] == [(Mesh(), 2), (fine, 1)]
    assert found[1].lost < found[0].lost
    assert all(one.sd < 0.035 for one in found)


def test_narrowing_by_hand():
    """Screens 0.05 (0.01) and 0.08 (0.02), 0.01 between them: weights 1/(sd^2 + 0.01^2)."""
    one = narrowed(Mesh(), [Likely(0.05, 0.01), Likely(0.08, 0.02)])
    first, second = 1 / (0.01**2 + 0.01**2), 1 / (0.02**2 + 0.01**2)
    assert one.lost == pytest.approx((0.05 * first + 0.08 * second) / (first + second))
    assert one.sd == pytest.approx(math.sqrt(1 / (first + second) + 0.01**2))


def test_many_screens_leave_what_differs_between_them():
    assert narrowed(Mesh(), [Likely(0.10, 0.02)] * 400).sd == pytest.approx(0.01, rel=0.02)


def test_a_damaged_journal_is_passed_over(tmp_path: Path):
    folder = kept(tmp_path, overnight(0.12))
    (folder / "bad.jsonl").write_bytes(b"no line of ours\n{}\n")
    assert [one.screens for one in remembered(folder)] == [1]


def test_a_new_session_goes_by_the_screens_of_its_mesh(tmp_path: Path):
    """What narrowed it stands in its own journal: with the folder gone a replay is the same."""
    folder = kept(tmp_path, overnight(0.06), overnight(0.06))
    known = recalled(folder, Mesh())
    new = tmp_path / "new.jsonl"
    Desk.begin(Facts(mesh=Mesh(ceiling_n_cm=30)), Practice(), "s", "b", new, shop=folder).close()
    opened, note = (event.what for event in read(new))
    assert isinstance(opened, SessionOpened)
    assert opened.practice.lost_later == known.lost > 0
    assert opened.practice.lost_later_sd == known.sd < Practice().lost_later_sd
    assert isinstance(note, NoteMade)
    assert "from 2 screens of this mesh" in note.text


@pytest.mark.parametrize(
    "other", [Mesh(120, 34), Mesh(thread_um=48), Mesh(material="polyamide"), None]
)
def test_another_mesh_or_no_shop_leaves_the_settings(tmp_path: Path, other: Mesh | None):
    folder = kept(tmp_path, overnight(0.06))
    shop = folder if other else None
    new = tmp_path / "new.jsonl"
    Desk.begin(Facts(mesh=other or Mesh()), Practice(), "s", "b", new, shop=shop).close()
    (opened,) = (event.what for event in read(new))
    assert opened.practice == Practice()


def test_nothing_in_the_folder_keeps_a_session_from_opening(tmp_path: Path):
    folder = kept(tmp_path, overnight(0.06))
    whole = (folder / "s0.jsonl").read_bytes()
    (folder / "torn.jsonl").write_bytes(whole[:-9])
    (folder / "changed.jsonl").write_bytes(whole.replace(b"22", b"29"))
    (folder / "empty.jsonl").write_bytes(b"")
    (folder / "noise.jsonl").write_bytes(bytes(range(256)) * 40)
    (folder / "folder.jsonl").mkdir()
    assert recalled(folder, Mesh()).screens == 2
    assert recalled(tmp_path / "not there", Mesh()) is None


def test_the_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    nothing = CliRunner().invoke(cli, ["settling"]).output
    assert "Leave one on it overnight" in nothing
    folder = tmp_path / "sessions"
    folder.mkdir(exist_ok=True)
    kept(folder, overnight(0.12))
    said = CliRunner().invoke(cli, ["settling"]).output
    assert "77/cm 55 µm polyester: 1 screen" in said
    assert "goes by its line" in said


def test_the_command_for_one_session(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    bench = overnight(0.02, late_s=120)
    short = CliRunner().invoke(cli, ["settling", str(kept(tmp_path, bench) / "s0.jsonl")]).output
    assert "24 h after the last click" in short
    assert "not drawn: a line of settling wants 4 readings" in short
    for minutes, value in ((3, 21.3), (5, 21.1), (9, 20.9), (20, 20.6)):
        say(bench, Read(CENTRE, value, ALONG), 60 * minutes)
    long = CliRunner().invoke(cli, ["settling", str(kept(tmp_path, bench) / "s0.jsonl")]).output
    assert "for ten times the time" in long
    assert "say nothing of 1440" in long or "by that line after 24 h" in long
    empty = at(Stage.FINAL_TENSION)
    said = CliRunner().invoke(cli, ["settling", str(kept(tmp_path, empty) / "s0.jsonl")])
    assert said.exit_code == 1
    assert "no tension was read after the last click" in said.output
