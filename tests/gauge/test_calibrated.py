"""Calibrations kept, used, out of date, and with a zero that has moved."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from benchterm.errors import BenchError
from benchterm.gauge.calibrated import (
    Calibration,
    History,
    Plate,
    history_file,
    keep,
    load_history,
    reminders,
)

GAUGE = "usb:1a2b:3c4d:A5"
NOW = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)


def calibration(days_ago=1, **changes):
    facts = {
        "utc": (NOW - timedelta(days=days_ago)).isoformat(),
        "operator": "Ada",
        "gauge": GAUGE,
        "references_n_cm": (10.0, 15.0, 20.0, 25.0, 30.0, 35.0),
        "readings_n_cm": (10.4, 15.3, 20.5, 25.2, 30.6, 35.3),
        "step_n_cm": 0.1,
        "plate_n_cm": 0.4,
        "slope": 1.000571,
        "intercept": 0.370476,
        "s": 0.164462,
        "verdict": "bias",
    }
    return Calibration(**(facts | changes))


def plate(reading, days_ago=0):
    utc = (NOW - timedelta(days=days_ago)).isoformat()
    return Plate(utc=utc, operator="Ada", gauge=GAUGE, reading_n_cm=reading)


def said(history, valid_days=180):
    return list(reminders(history, NOW, valid_days))


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))


def test_what_is_kept_comes_back_and_the_latest_counts():
    assert load_history(GAUGE) == History()
    keep(calibration(days_ago=30, intercept=0.1))
    keep(plate(0.5))
    keep(calibration())
    assert load_history(GAUGE) == History(calibration(), plate(0.5))
    assert history_file(GAUGE).read_bytes().count(b"\n") == 3


def test_each_gauge_has_its_own_file():
    keep(calibration())
    assert load_history("usb:1a2b:3c4d:A6") == History()
    assert history_file("usb:a/b") != history_file("usb:a:b")


def test_a_reading_is_corrected_by_the_line():
    # (24.8 - 0.370476) / 1.000571, computed here.
    assert History(calibration()).corrected(24.8) == pytest.approx(24.41557, abs=2e-5)
    assert History().corrected(24.8) == 24.8


def test_a_line_that_cannot_be_read_is_told_and_the_rest_counts():
    keep(calibration())
    with history_file(GAUGE).open("ab") as file:
        file.write(b'{"type":"plate"\n\xff\n')
    history = load_history(GAUGE)
    assert history.calibration == calibration()
    assert history.unreadable == (2, 3)
    assert "line 2, 3" in said(history)[0]


def test_a_fresh_calibration_needs_no_reminder():
    assert said(History(calibration(), plate(0.5))) == []


def test_no_calibration_is_told():
    assert "not been calibrated" in said(History())[0]


def test_an_old_one_is_out_of_date():
    assert said(History(calibration(days_ago=180))) == []
    assert "181 days old (limit 180)" in said(History(calibration(days_ago=181)))[0]


def test_a_zero_that_has_moved_is_told():
    # Limit 2 s = 0.33 N/cm.
    assert said(History(calibration(), plate(0.7))) == []
    assert "moved by +0.40 N/cm" in said(History(calibration(), plate(0.8)))[0]
    assert "moved by -0.40 N/cm" in said(History(calibration(), plate(0.0)))[0]


def test_a_zero_seen_before_the_calibration_says_nothing():
    assert said(History(calibration(days_ago=1), plate(5.0, days_ago=2))) == []


def test_what_cannot_be_written_is_not_kept(tmp_path):
    (tmp_path / "calibrations").write_text("in the way")
    with pytest.raises(BenchError, match="NOT SAVED"):
        keep(calibration())
