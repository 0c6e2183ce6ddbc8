"""Profiles: those that come with the program, and what is said of one that is wrong."""

from __future__ import annotations

import math

import pytest

from benchterm.errors import SettingsError
from benchterm.gauge.curve import Curve
from benchterm.gauge.profile import GaugeUnit, Sends, load_profile, profile_files, profile_from
from benchterm.tables import Problems, read_document


def loaded(tmp_path, text):
    file = tmp_path / "gauge.toml"
    file.write_text(text, encoding="utf-8")
    problems = Problems()
    return profile_from(read_document(file, problems), problems)


def refused(tmp_path, text):
    with pytest.raises(SettingsError) as error:
        loaded(tmp_path, text)
    return str(error.value)


def test_three_generic_profiles_come_with_the_program():
    hows = {name: load_profile(name).sends.how for name in ("number", "number-unit", "request")}
    assert hows == {
        "number": Sends.STREAM,
        "number-unit": Sends.BUTTON,
        "request": Sends.REQUEST,
    }
    assert all(load_profile(name).what for name in profile_files())


def test_a_shops_own_profile_replaces_one_of_the_same_name(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    own = tmp_path / "gauge-profiles"
    own.mkdir()
    (own / "number.toml").write_text('what = "ours"\n')
    (own / "bench-two.toml").write_text("[port]\nbaud = 4800\n")
    assert load_profile("number").what == "ours"
    assert load_profile("bench-two").port.baud == 4800


def test_a_file_can_be_named(tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text("[port]\nbaud = 19200\n")
    assert load_profile(str(file)).port.baud == 19200


def test_an_unknown_name_is_told_with_the_nearest():
    with pytest.raises(SettingsError, match=r"Did you mean 'number-unit'"):
        load_profile("number-units")


def test_a_missing_file_is_told():
    with pytest.raises(SettingsError, match="no such file"):
        load_profile("nowhere/gauge.toml")


def test_all_problems_are_told_at_once_with_file_line_and_nearest_spelling(tmp_path):
    said = refused(
        tmp_path,
        """
[port]
buad = 9600
parity = "evn"
bits = 9
[line]
pattern = "{vaule}"
unit = "N/cn"
[line.units]
N = "N/m"
[sends]
how = "request"
""",
    )
    assert "gauge.toml, line 3: port.buad: no such key" in said
    assert "Did you mean 'baud'?" in said
    assert "line 4: port.parity: must be one of none, even, odd" in said
    assert "Did you mean 'even'?" in said
    assert "port.bits: 9 is outside 7 to 8" in said
    assert "line 7: line.pattern: has {vaule}" in said
    assert "Did you mean {value}?" in said
    assert "line.unit: must be one of" in said
    assert "line.units.N" in said
    assert "is no unit of a gauge" in said
    assert "sends.request: is empty" in said
    assert "by keypad without a gauge" in said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[line]\nstable = ["ST"]\n', "of no use"),
        ('[line]\npattern = "{battery} {value}"\n', "no words for it"),
        (
            '[line]\npattern = "{stability} {value}"\nstable = ["A"]\nmoving = ["a"]\n',
            "in common",
        ),
        ('[line]\npattern = "{stability} {value}"\nstable = ["A B"]\n', "without blanks"),
        ('[line]\nunit = "mm"\n', "curve: is needed"),
        ('[line.units]\nd = "mm"\n', "curve: is needed"),
        ("[curve]\nmm = [1, 2]\nn_cm = [30, 20]\n", "3 or more"),
        ("[curve]\nmm = [1, 2, 3]\nn_cm = [30, 20]\n", "same length"),
        ("[curve]\nmm = [1, 3, 2]\nn_cm = [30, 20, 10]\n", "must rise"),
        ("[curve]\nmm = [1, 2, 3]\nn_cm = [10, 20, 30]\n", "must fall"),
        ("[curve]\nmm = [0, 2, 3]\nn_cm = [30, 20, 10]\n", "above 0"),
        ("[curve]\nmm = [1, 2, nan]\nn_cm = [30, 20, 10]\n", "above 0"),
        ("[settle]\nresolution = nan\n", "outside"),
        ('[line]\nends_with = "12345"\n', "4 ASCII"),
        ('[sends]\nrequest = "é"\n', "ASCII"),
        ("what = 3\n", "text in quotes"),
        ("[curve]\nmm = 3\n", "a list of numbers"),
        ("not toml", "is not TOML"),
    ],
)
def test_what_is_wrong_is_said(tmp_path, text, said):
    assert said in refused(tmp_path, text)


@pytest.mark.parametrize(
    ("number", "unit", "n_cm"),
    # NIST SP 811: 1 kgf = 9.80665 N, 1 lbf = 4.4482216152605 N, 1 in = 2.54 cm.
    [
        (22.5, GaugeUnit.N_PER_CM, 22.5),
        (2.549291, GaugeUnit.KGF_PER_CM, 25.0),
        (14.275368, GaugeUnit.LBF_PER_INCH, 25.0),
    ],
)
def test_units_become_newtons_a_centimetre(number, unit, n_cm):
    assert load_profile("number").n_cm(number, unit) == pytest.approx(n_cm, abs=1e-5)


def bar_gauge(mm: float) -> float:
    """T = f / (2 sin(atan(d/a))), statics: f 2 N/cm at mid-span of supports 40 mm either side."""
    return 2 / (2 * math.sin(math.atan(mm / 40)))


def test_deflection_in_mm_by_a_curve(tmp_path):
    points = [1.0, 1.4, 2.0, 3.0, 4.5]
    curve = Curve(tuple(points), tuple(bar_gauge(d) for d in points))
    assert bar_gauge(1.6) == pytest.approx(25.020, abs=5e-4)
    for hundredths in range(100, 451):
        d = hundredths / 100
        assert curve.n_cm_at(d) == pytest.approx(bar_gauge(d), rel=1e-3)
    assert curve.n_cm_at(0.99) is None
    assert curve.n_cm_at(4.51) is None
    assert curve.n_cm_at(math.nan) is None
    profile = loaded(
        tmp_path, '[line]\nunit = "mm"\n[curve]\nmm = [1, 2, 4]\nn_cm = [40, 20, 10]\n'
    )
    assert profile.n_cm(2, GaugeUnit.MM) == pytest.approx(20)
    assert profile.n_cm(9, GaugeUnit.MM) is None
