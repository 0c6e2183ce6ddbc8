"""The pipe with a gauge: a station said alone is read by it."""

from __future__ import annotations

import json
import threading

import jsonschema
import pytest
from click.testing import CliRunner

from benchterm.cli import cli
from benchterm.core.events import GaugeChosen, ReadingTaken, Source
from benchterm.gauge import asked
from benchterm.gauge.profile import load_profile
from benchterm.gauge.pseudo import PtyGauge
from benchterm.gauge.simulated import Behaviour, Simulator
from benchterm.locations import schemas_folder
from benchterm.records.journal import read_all

SCHEMA = json.loads((schemas_folder() / "pipe.schema.json").read_text(encoding="utf-8"))


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    (tmp_path / "settings.toml").write_text(f'[gauge]\nport = "{tmp_path / "gauge"}"\n')
    return tmp_path


@pytest.fixture
def played(home):
    """A simulated gauge that is set down on one place after the other."""
    behaviour = Behaviour((12.0, 13.0), rest_s=1.5, lift_s=0.3, every_s=0.02)
    gauge = PtyGauge(home / "gauge")
    gauge.plug()
    stop = threading.Event()
    simulator = Simulator(load_profile("number"), behaviour, gauge, seed=1)
    thread = threading.Thread(target=simulator.run, args=(stop.is_set,))
    thread.start()
    yield
    stop.set()
    thread.join(5)


def piped(home, *phrases, code=0):
    words = ["pipe", "--with-gauge", "--session-file", str(home / "journal.jsonl")]
    result = CliRunner().invoke(cli, words, input="\n".join(phrases))
    assert result.exit_code == code, result.output
    answers = [json.loads(line) for line in result.stdout.splitlines() if line.startswith("{")]
    for answer in answers:
        jsonschema.Draft202012Validator(SCHEMA).validate(answer)
    return answers


@pytest.mark.usefixtures("played")
def test_stations_said_alone_are_read_by_the_gauge(home):
    piped(home, "go to stage 6", "1", "far", "near across")
    readings = [
        event
        for event in read_all(home / "journal.jsonl").events
        if isinstance(event.what, ReadingTaken | GaugeChosen)
    ]
    gauge, far, near = readings
    assert gauge.what == GaugeChosen(gauge.what.gauge, wired=True)
    assert gauge.what.gauge
    assert {far.what.value_n_cm, near.what.value_n_cm} == {12.0, 13.0}
    assert (far.source, far.heard) == (Source.GAUGE, f"{far.what.value_n_cm:.1f}")
    assert near.what.axis.value == "across"


def test_a_gauge_that_is_not_there_refuses_and_the_rest_goes_on(home, monkeypatch):
    monkeypatch.setattr(asked, "WAIT_S", 0.3)
    answers = piped(home, "go to stage 6", "1", "far", "far 12.5")
    assert "Gauge not there." in answers[-2]["refused"]
    assert answers[-1]["taken"]


def test_no_gauge_in_the_settings_is_told(home):
    (home / "settings.toml").write_text("")
    piped(home, "far", code=1)
