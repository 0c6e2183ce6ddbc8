"""What a session is opened with: units, bounds, contradictions, and the way there and back."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.core.facts import (
    Facts,
    Frame,
    Locking,
    Mesh,
    Pair,
    Stretcher,
    StretcherKind,
    Target,
)
from benchterm.core.practice import Practice
from benchterm.errors import SettingsError
from benchterm.setup import (
    facts_from,
    facts_problems,
    facts_to_toml,
    option,
    read_count,
    set_up,
    written_count,
)

UNITS = pint.UnitRegistry()


def told(values: dict[str, object]) -> list[str]:
    """The problems of a set-up, one line each."""
    with pytest.raises(SettingsError) as caught:
        facts_from(values)
    return [line.strip() for line in caught.value.what.splitlines()[1:]]


@pytest.mark.parametrize(
    ("written", "per_cm"),
    [
        ("77/cm", 77.0),
        ("77 / cm", 77.0),
        ("195/in", UNITS.Quantity(195, "1/inch").to("1/cm").magnitude),
        ("110/IN", UNITS.Quantity(110, "1/inch").to("1/cm").magnitude),
        ("43.5/cm", 43.5),
    ],
)
def test_a_count_has_a_unit(written: str, per_cm: float):
    assert read_count(written) == pytest.approx(per_cm, rel=1e-12)


@pytest.mark.parametrize("bare", [77, 77.0, "77"])
def test_a_bare_count_is_refused_and_told_why(bare: object):
    with pytest.raises(ValueError, match=r'77 has no unit.*"77/cm" or "77/in".*30\.3/cm'):
        read_count(bare)


@pytest.mark.parametrize(
    ("written", "why"),
    [
        ("77/mm", "'mm' is no unit"),
        ("77/", "'' is no unit"),
        ("fine/cm", "is no count"),
        ("nan/cm", "is no count"),
        ("inf/in", "is no count"),
        ("", "is no count"),
        (True, "is no count"),
        ([77], "is no count"),
        ("-77/cm", "outside 4 to 250"),
        ("0/in", "outside 4 to 250"),
        ("770/cm", "outside 4 to 250"),
    ],
)
def test_what_is_no_count_is_refused(written: object, why: str):
    with pytest.raises(ValueError, match=why):
        read_count(written)


def test_the_facts_of_a_file_are_the_shops_but_for_what_it_says(tmp_path: Path):
    file = tmp_path / "job.toml"
    file.write_text(
        """
        screen_id = "A-101"
        along_pair = "left-right"
        [mesh]
        count = "120/cm"
        thread_um = 34
        [stretcher]
        locking = "two rods"
        rod_gap_mm = 12.5
        """
    )
    shops = Facts(operator="K", frame=Frame(600, 900))
    assert set_up(shops, Practice(), file) == Facts(
        "A-101",
        "K",
        Frame(600, 900),
        Mesh(120, 34),
        Stretcher(locking=Locking.TWO_RODS, rod_gap_mm=12.5),
        along_pair=Pair.LEFT_RIGHT,
    )


def test_the_command_line_goes_over_the_file(tmp_path: Path):
    file = tmp_path / "job.toml"
    file.write_text('screen_id = "A-101"\n[target]\nalong_n_cm = 20\nacross_n_cm = 21\n')
    options = {"screen_id": "A-102", "operator": None, "target.across_n_cm": 24}
    facts = set_up(Facts(), Practice(), file, options)
    assert (facts.screen_id, facts.operator) == ("A-102", "")
    assert facts.target == Target(20, 24)


@pytest.mark.parametrize(
    ("text", "key", "value"),
    [
        ("frame.width_mm=580", "frame.width_mm", 580),
        ("mesh.count=77/cm", "mesh.count", "77/cm"),
        ('mesh.count = "77/cm"', "mesh.count", "77/cm"),
        ("operator=Kim at the door", "operator", "Kim at the door"),
        ("operator=", "operator", ""),
        ("operator=x\nsession=3", "operator", "x\nsession=3"),
    ],
)
def test_an_option_is_a_key_and_a_value(text: str, key: str, value: object):
    assert option(text) == (key, value)


@pytest.mark.parametrize("text", ["", "frame.width_mm", "=3"])
def test_an_option_without_key_or_value_is_refused(text: str):
    with pytest.raises(ValueError, match="KEY=VALUE"):
        option(text)


@pytest.mark.parametrize("key", ["", ".", "frame", "frame.", ".frame", "frame.width_mm.x", "x.y.z"])
def test_an_option_whose_key_is_nothing_is_a_problem_not_a_crash(key: str):
    with pytest.raises(SettingsError):
        set_up(Facts(), Practice(), options={key: 3, "frame.width_mm": 600})


def test_every_problem_is_told_at_once_with_file_line_key_and_nearest_spelling(tmp_path: Path):
    file = tmp_path / "job.toml"
    file.write_text(
        """\
screen_id = 7
operater = "K"
[frame]
width_mm = 58

[mesh]
count = 77
[stretcher]
kind = "ajustable"
"""
    )
    with pytest.raises(SettingsError) as caught:
        set_up(Facts(), Practice(), file, {"target.along_n_cm": "high"})
    lines = [line.strip() for line in caught.value.what.splitlines()[1:]]
    assert [line.split(": ")[:2] for line in lines] == [
        [f"{file}, line 1", "screen_id"],
        [f"{file}, line 2", "operater"],
        [f"{file}, line 7", "mesh.count"],
        [f"{file}, line 9", "stretcher.kind"],
        ["command line", "target.along_n_cm"],
        [f"{file}, line 4", "frame.width_mm"],
    ]
    assert lines[1].endswith("Did you mean 'operator'?")
    assert lines[3].endswith("Did you mean 'adjustable'?")
    assert caught.value.exit_code == 2


@pytest.mark.parametrize(
    ("values", "figure_and_reason"),
    [
        ({"frame": {"width_mm": 50_000}}, "50000 mm is outside 100 to 5000: no frame"),
        ({"frame": {"width_mm": float("nan")}}, "nan mm is outside"),
        ({"frame": {"depth_mm": float("inf")}}, "inf mm is outside"),
        ({"frame": {"width_mm": 100, "tube_mm": 50}}, "100 mm with tubes of 50 mm leaves no"),
        ({"frame": {"wall_mm": 30}}, "walls of 30 mm do not fit a tube of 40 mm"),
        ({"mesh": {"thread_um": 130}}, "threads of 130 um leave no opening at 77/cm"),
        ({"mesh": {"thread_um": 0}}, "0 µm is outside 10 to 1000"),
        ({"mesh": {"ceiling_n_cm": 20}}, "22 N/cm is above the maker's highest"),
        ({"stretcher": {"teeth": 0}}, "0 teeth is outside 3 to 360"),
        ({"stretcher": {"teeth": 24.5}}, "must be a whole number, not 24.5"),
        ({"stretcher": {"rod_gap_mm": -1}}, "-1 mm is outside 0 to 1000"),
        ({"target": {"along_n_cm": -22}}, "-22 N/cm is outside 1 to 80"),
        ({"target": {"along_n_cm": 225}}, "225 N/cm is outside 1 to 80"),
        ({"target": {"tolerance_n_cm": 0}}, "0 N/cm is outside 0.1 to 20"),
        ({"target": {"along_n_cm": 2, "tolerance_n_cm": 3}}, "3 N/cm either way of 2"),
        ({"screen_id": " "}, "is empty"),
        ({"screen_id": "A\x1b[2J"}, "one printable line"),
        ({"operator": "K" * 81}, "at most 80 characters"),
        ({"frame": 580}, "must be a table, [frame], not 580"),
        ({"frame": {"width_mm": "wide"}}, 'must be a number, not "wide"'),
        ({"frame": {"width_mm": True}}, "must be a number, not true"),
        ({"mesh": {"threads_cm": 77}}, "no such key; known here: count"),
    ],
)
def test_what_cannot_be_is_refused_with_figure_and_reason(
    values: dict[str, object], figure_and_reason: str
):
    assert any(figure_and_reason in line for line in told(values)), told(values)


def test_a_target_no_reading_could_confirm_is_refused():
    practice = Practice(reading_max_n_cm=20)
    with pytest.raises(SettingsError, match="above the highest reading taken"):
        set_up(Facts(), practice)


names = st.text(max_size=80).filter(str.isprintable)
possible = st.builds(
    Facts,
    names.filter(str.strip),
    names,
    st.builds(
        Frame,
        st.floats(500, 5000),
        st.floats(500, 5000),
        names,
        st.floats(10, 200),
        st.floats(10, 200),
        st.floats(0.5, 5),
    ),
    st.builds(Mesh, st.floats(4, 250), st.floats(10, 39), names, st.none() | st.floats(80, 200)),
    st.builds(
        Stretcher,
        st.floats(5, 300),
        st.integers(3, 360),
        st.sampled_from(StretcherKind),
        st.sampled_from(Locking),
        st.floats(0, 2000),
        st.none() | st.floats(0, 1000),
    ),
    st.builds(Target, st.floats(5, 80), st.floats(5, 80), st.floats(0.1, 4)),
    names,
    st.sampled_from(Pair),
)


@given(possible)
def test_facts_written_as_toml_read_back_the_same(facts: Facts):
    assert facts_from(tomllib.loads(facts_to_toml(facts))) == facts
    inside = tomllib.loads(facts_to_toml(facts, "session"))["session"]
    assert facts_from(inside) == facts


@given(st.floats(4, 250))
def test_a_count_written_down_reads_back_the_same(threads_cm: float):
    assert read_count(written_count(threads_cm)) == threads_cm


json_like = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=4,
)
keys = st.sampled_from(
    ["screen_id", "frame", "mesh", "count", "width_mm", "teeth", "target", "along_n_cm", "kind"]
)


@given(st.dictionaries(keys, json_like | st.dictionaries(keys, json_like)))
def test_a_set_up_is_taken_or_refused_never_a_crash(values: dict[str, object]):
    try:
        facts = facts_from(values)
    except SettingsError:
        return
    assert not list(facts_problems(facts, Practice()))


def test_the_defaults_are_in_order():
    assert not list(facts_problems(Facts(), Practice()))
    assert facts_from({}) == Facts()
    assert facts_from({}, base=replace(Facts(), operator="K")).operator == "K"
