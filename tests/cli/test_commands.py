"""The commands, run in this process: what they print, what they refuse and how."""

from __future__ import annotations

import json
import subprocess
import sys
import tomllib
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner, Result

import benchterm.pipe
from benchterm.cli import cli
from benchterm.config import Settings, settings_from
from benchterm.core.bench import NotSaved
from benchterm.core.practice import Practice
from benchterm.core.rules import RULES
from benchterm.core.stages import Stage
from benchterm.locations import demo_sessions_folder, schemas_folder
from benchterm.records.journal import read_all
from benchterm.tables import Document, Problems

ROOT = Path(__file__).parents[2]
GOOD = demo_sessions_folder() / "good.jsonl"
SCHEMA = json.loads((schemas_folder() / "pipe.schema.json").read_text(encoding="utf-8"))
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


@pytest.fixture(autouse=True)
def home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    folder = tmp_path / "home"
    monkeypatch.setenv("BENCHTERM_HOME", str(folder))
    return folder


def run(*args: str, stdin: str = "") -> Result:
    return CliRunner().invoke(cli, args, input=stdin)


def settings(home: Path, text: str) -> None:
    home.mkdir(exist_ok=True)
    (home / "settings.toml").write_text(text, encoding="utf-8")


def test_help_names_every_command():
    said = run("--help").output
    for command in ("pipe", "replay", "demo", "rules", "settings", "sessions"):
        assert f"\n  {command} " in said


@pytest.mark.parametrize("command", ["pipe", "replay", "demo", "rules", "settings", "sessions"])
def test_every_command_and_option_is_described(command: str):
    found = cli.commands[command]
    assert found.help
    for option in found.params:
        assert getattr(option, "help", None) or option.param_type_name == "argument", option.name


def test_rules_prints_each_with_its_limits_and_sources():
    said = run("rules").output
    for rule in RULES:
        assert f"{rule.code}\n    when {rule.speaks_when}" in said
    assert "pair_balance_n_cm = 1 N/cm (common practice, no source)" in said


def test_rules_goes_by_the_shops_settings(home: Path):
    settings(home, '[rules]\noff = ["spread"]\n[practice]\nrange_n_cm = 3\n')
    said = run("rules").output
    assert "spread  (switched off)" in said
    assert "range_n_cm = 3 N/cm" in said


def test_settings_prints_the_table_with_sources(home: Path):
    settings(home, "[practice]\nsettle_min = 30\n")
    said = run("settings").output
    for row in Practice().rows():
        assert f"{row.name} = " in said
        assert f"    {row.what}; {row.source}\n" in said
    assert "settle_min = 30 min (default 15)" in said


def test_settings_says_where_everything_is(home: Path):
    said = run("settings", "--locate").output
    assert str(home / "settings.toml") in said
    assert str(home / "sessions") in said


def test_settings_prints_an_example_that_can_be_used():
    values = tomllib.loads(run("settings", "--example").output)
    assert settings_from(Document("example", values), Problems()) == Settings()


def test_broken_settings_are_told_once_with_what_works_and_what_to_do(home: Path):
    settings(home, 'theme = "x"\nbenhc = 3\n')
    said = run("rules")
    assert said.exit_code == 2
    assert "line 1: theme" in said.stderr
    assert "line 2: benhc" in said.stderr
    assert "Sessions on disk are untouched." in said.stderr
    assert said.stdout == ""


def test_pipe_takes_phrases_and_keeps_a_journal(tmp_path: Path):
    file = tmp_path / "s.jsonl"
    said = run(
        *("pipe", "--session-file", str(file), "--screen", "A-7", "--mesh", "195/in"),
        *("--thread", "48", "--target", "24", "--set", "frame.width_mm=600", "--operator", "K"),
        stdin="@10 mark\n@20 next\n",
    )
    assert said.exit_code == 0
    lines = [json.loads(line) for line in said.stdout.splitlines()]
    for line in lines:
        VALIDATOR.validate(line)
    assert [line["at"] for line in lines] == [0, 10, 20]
    facts = read_all(file).events[0].what.facts
    assert (facts.screen_id, facts.operator, facts.mesh.thread_um) == ("A-7", "K", 48)
    assert facts.mesh.threads_cm == pytest.approx(76.77, abs=0.005)
    assert (facts.target.along_n_cm, facts.target.across_n_cm) == (24, 24)
    assert facts.frame.width_mm == 600


def test_pipe_takes_its_set_up_from_a_file(tmp_path: Path):
    setup = tmp_path / "job.toml"
    setup.write_text('screen_id = "B-1"\n[mesh]\ncount = "120/cm"\nthread_um = 34\n')
    file = tmp_path / "s.jsonl"
    assert run("pipe", "--setup", str(setup), "--session-file", str(file)).exit_code == 0
    facts = read_all(file).events[0].what.facts
    assert (facts.screen_id, facts.mesh.threads_cm) == ("B-1", 120)


def test_pipe_says_that_a_resumed_session_keeps_its_set_up(tmp_path: Path):
    file = tmp_path / "s.jsonl"
    command = ("pipe", "--session-file", str(file), "--screen")
    assert run(*command, "A-1").stderr == ""
    said = run(*command, "A-2")
    assert said.exit_code == 0
    assert "the set-up is the one it was opened with" in said.stderr
    assert read_all(file).events[0].what.facts.screen_id == "A-1"
    assert run("pipe", "--session-file", str(file)).stderr == ""


def test_pipe_refuses_a_bare_count_and_begins_nothing(tmp_path: Path):
    file = tmp_path / "s.jsonl"
    said = run("pipe", "--session-file", str(file), "--mesh", "77")
    assert said.exit_code == 2
    assert "77 has no unit" in said.stderr
    assert said.stdout == ""
    assert not file.exists()


def test_pipe_names_what_is_no_key_and_value():
    said = run("pipe", "--set", "frame")
    assert said.exit_code == 2
    assert "KEY=VALUE" in said.stderr


def test_pipe_refuses_a_session_that_is_closed(tmp_path: Path):
    file = tmp_path / "s.jsonl"
    run("pipe", "--session-file", str(file), stdin="close the session\n")
    said = run("pipe", "--session-file", str(file), stdin="mark\n")
    assert said.exit_code == 1
    assert said.stderr.splitlines() == [
        f"benchterm: The session in {file} is closed (given up).",
        "It can be replayed.",
        "Name another file for a new session.",
    ]


def test_pipe_that_cannot_begin_its_journal_says_so(tmp_path: Path):
    said = run("pipe", "--session-file", str(tmp_path / "no" / "\0" / "s.jsonl"))
    assert said.exit_code != 0
    assert "Traceback" not in said.stderr


def test_a_disk_that_fails_at_the_first_line_is_told(monkeypatch: pytest.MonkeyPatch):
    def full(*_: object) -> None:
        raise NotSaved("The disk is full.")

    monkeypatch.setattr(benchterm.pipe, "open_desk", full)
    said = run("pipe")
    assert said.exit_code == 1
    assert said.stderr.startswith("benchterm: NOT SAVED: The disk is full.\n")


def test_what_nobody_expected_is_one_plain_message_and_a_traceback_in_the_log(
    monkeypatch: pytest.MonkeyPatch, home: Path
):
    def broken(*_: object) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr(benchterm.pipe, "open_desk", broken)
    said = run("pipe")
    assert said.exit_code == 1
    assert "Traceback" not in said.stderr
    assert "ZeroDivisionError: by nothing" in said.stderr
    assert "is in the journal on disk" in said.stderr
    assert str(home / "benchterm.log") in said.stderr
    log = (home / "benchterm.log").read_text(encoding="utf-8")
    assert "Traceback" in log
    assert "in broken" in log


def test_a_log_that_cannot_be_written_is_no_second_error(
    monkeypatch: pytest.MonkeyPatch, home: Path
):
    (home / "benchterm.log").mkdir(parents=True)
    monkeypatch.setattr(benchterm.pipe, "open_desk", lambda *_: 1 / 0)
    said = run("pipe")
    assert said.exit_code == 1
    assert "could not be written" in said.stderr


def timeline(*args: str) -> list[dict]:
    said = run("replay", "--json", *args)
    assert said.exit_code == 0, said.stderr
    lines = [json.loads(line) for line in said.stdout.splitlines()]
    for line in lines:
        VALIDATOR.validate(line)
    return lines


def test_replay_prints_a_moment_for_each_event():
    moments = timeline(str(GOOD))
    events = read_all(GOOD).events
    assert [moment["event"]["seq"] for moment in moments] == [event.seq for event in events]
    assert [moment["heard"] for moment in moments] == [event.heard for event in events]
    assert moments[-1]["state"]["finished"]


def test_replay_of_one_in_so_many_has_the_last_as_well():
    events = len(read_all(GOOD).events)
    every = timeline(str(GOOD), "--every", "10")
    whole = timeline(str(GOOD))
    assert every == [*whole[9::10], *([whole[-1]] if events % 10 else [])]
    assert timeline(str(GOOD), "--every", str(events + 1)) == whole[-1:]


def test_replay_of_the_end_only():
    assert timeline(str(GOOD), "--summary") == timeline(str(GOOD))[-1:]


@pytest.mark.parametrize("stage", ["8", "final tensioning", "Final_Tension"])
def test_replay_of_one_stage(stage: str):
    moments = timeline(str(GOOD), "--stage", stage)
    assert moments
    assert {moment["state"]["stage"] for moment in moments} == {Stage.FINAL_TENSION}
    assert moments[0]["event"]["type"] == "stage_entered"


def test_replay_goes_by_the_rules_switched_off(home: Path):
    given = {one["code"] for moment in timeline(str(GOOD)) for one in moment["advice"]}
    assert "next-side" in given
    settings(home, '[rules]\noff = ["next-side"]\n')
    given = {one["code"] for moment in timeline(str(GOOD)) for one in moment["advice"]}
    assert "next-side" not in given


def test_replay_of_no_stage_names_them_all():
    said = run("replay", "--json", "--stage", "99", str(GOOD))
    assert said.exit_code == 1
    assert "14 read off the stretcher or 15 done" in said.stderr


def test_replay_of_a_damaged_journal_names_the_line(tmp_path: Path):
    file = tmp_path / "s.jsonl"
    lines = GOOD.read_bytes().splitlines(keepends=True)
    file.write_bytes(b"".join([*lines[:4], lines[4].replace(b":", b";", 1), *lines[5:]]))
    said = run("replay", "--json", str(file))
    assert said.exit_code == 4
    assert "line 5" in said.stderr
    assert len(said.stdout.splitlines()) == 4


@pytest.mark.parametrize(
    ("args", "instead"),
    [
        ([], "benchterm pipe"),
        (["--new"], "benchterm pipe"),
        (["replay", str(GOOD)], "--json"),
        (["demo"], "replay --json"),
    ],
)
def test_without_a_terminal_the_screen_says_what_to_do(args: list[str], instead: str):
    said = run(*args)
    assert said.exit_code == 1
    assert "needs a terminal" in said.stderr
    assert instead in said.stderr


def test_demo_lists_what_there_is_to_play():
    names = run("demo", "--list").output.split()
    assert names == sorted(path.stem for path in demo_sessions_folder().glob("*.jsonl"))
    assert len(names) >= 4


def test_a_demo_that_is_not_there_is_refused_with_those_that_are():
    said = run("demo", "nothing")
    assert said.exit_code == 1
    assert "good" in said.stderr


def test_sessions_lists_how_each_stands(home: Path):
    folder = home / "sessions"
    assert run("sessions").output == f"No sessions in {folder}.\n"
    run("pipe", "--session-file", str(folder / "one.jsonl"), "--screen", "A-1", stdin="mark\n")
    run("pipe", "--session-file", str(folder / "two.jsonl"), stdin="close the session\n")
    (folder / "three.jsonl").write_text("{}\n")
    said = run("sessions").output
    assert "one  unfinished  A-1  stage: prepare frame and stretcher" in said
    assert "two  given up" in said
    assert "three  damaged" in said
    listed = [json.loads(line) for line in run("sessions", "--json").output.splitlines()]
    assert {one["standing"] for one in listed} == {"unfinished", "given up", "damaged"}


def test_an_unknown_session_is_refused_with_those_that_are_open(home: Path):
    run("pipe", "--session-file", str(home / "sessions" / "one.jsonl"), "--screen", "A-1")
    said = run("--resume", "A-9")
    assert said.exit_code == 1
    assert "No unfinished session is called A-9." in said.stderr
    assert json.loads(run("sessions", "--json").output)["session"] in said.stderr


@pytest.mark.parametrize(
    ("args", "why"),
    [
        (["--new", "--resume", "x"], "two different things"),
        (["--theme", "pink"], "bench-dark"),
        (["--mesh", "77/cm", "pipe"], "put them after it"),
        (["--mesh", "77"], "77 has no unit"),
        (["replay"], "FILE"),
        (["replay", "--speed", "0", str(GOOD)], "--speed"),
        (["nothing"], "No such command"),
    ],
)
def test_what_makes_no_sense_is_refused(args: list[str], why: str):
    said = run(*args)
    assert said.exit_code == 2
    assert why in said.stderr


def test_nobody_reading_the_answers_ends_the_pipe_quietly(tmp_path: Path):
    process = subprocess.Popen(
        [sys.executable, "-m", "benchterm", "pipe", "--session-file", str(tmp_path / "s.jsonl")],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdin
    assert process.stdout
    assert process.stderr
    process.stdout.readline()
    process.stdout.close()
    process.stdin.write(b"mark\n" * 10)
    process.stdin.close()
    assert process.stderr.read() == b""
    process.stderr.close()
    process.wait()
    # The entry whose answer could not be told is kept all the same: it was on the disk first.
    assert len(read_all(tmp_path / "s.jsonl").events) == 2
