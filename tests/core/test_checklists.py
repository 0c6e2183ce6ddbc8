"""The check-list of every stage: numbers from the shop's table, cautions first and asked anew.

What the lines say is common practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import facts
from worked import at, moment, say

from benchterm.core.checklists import checks
from benchterm.core.events import SessionResumed, Source
from benchterm.core.facts import Facts, Frame, Locking, Stretcher, StretcherKind
from benchterm.core.gates import open_checks, stage_checks
from benchterm.core.intents import Go, GoBack, Tick
from benchterm.core.planning import plan
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage

TURNING = (
    Stage.SLACK,
    Stage.FIRST_TENSION,
    Stage.CORNER_RELIEF,
    Stage.FINAL_TENSION,
    Stage.SETTLE,
    Stage.RELEASE,
)
CAUTIONED = (*TURNING, Stage.ADHESIVE, Stage.CUT_OUT)
OF_THEIR_OWN = (Stage.ADHESIVE, Stage.CUT_OUT, Stage.RELEASE)
ANY = [*Stage]


def text(stage, check, facts=None, practice=None):
    """The words of one check."""
    listed = checks(stage, facts or Facts(), practice or Practice())
    return {c.id: c.text for c in listed}.get(check)


def tick_all(bench):
    while open_checks(bench.state):
        assert isinstance(say(bench, Tick()), list)


@pytest.mark.parametrize(
    ("stage", "check", "numbers", "moved", "then"),
    [
        (
            Stage.PREPARE,
            "prepare.raised",
            "1.6 to 3.2 mm",
            Practice(raise_min_mm=2, raise_max_mm=2.5),
            "2 to 2.5 mm",
        ),
        (
            Stage.ROLLERS,
            "rollers.groove",
            "2 or 3 clicks",
            Practice(groove_back_clicks_min=4, groove_back_clicks_max=5),
            "4 or 5 clicks",
        ),
        (
            Stage.CUT_MESH,
            "cut-mesh.past",
            "25 to 38 past",
            Practice(past_roller_min_mm=30, past_roller_max_mm=45),
            "30 to 45 past",
        ),
    ],
)
def test_numbers_come_from_the_shops_table(stage, check, numbers, moved, then):
    assert numbers in text(stage, check)
    assert then in text(stage, check, practice=moved)


def test_the_mesh_is_as_long_as_the_sheet_says_to_cut_it():
    """The sheet works the same lengths out in ``planning``, which knows nothing of these words."""
    for axis in plan(Facts(), Practice()).axes:
        least, most = axis.cut_mm
        assert f"{least:.0f} to {most:.0f}" in text(Stage.CUT_MESH, "cut-mesh.past")


@pytest.mark.parametrize("stage", ANY)
def test_no_number_is_written_into_the_words(stage):
    named = [f"{n}_{end}" for n in ("raise", "past_roller") for end in ("min_mm", "max_mm")]
    named += ["groove_back_clicks_min", "groove_back_clicks_max"]
    nowhere = Practice(**dict.fromkeys(named, 0))
    for check in checks(stage, Facts(), nowhere):
        # Their numbers are worked out from the facts.
        if check.id == "cut-mesh.past" or check.id.startswith("slack.caution."):
            continue
        assert set(re.findall(r"\d+", check.text)) <= {"0"}


@pytest.mark.parametrize(
    ("depth_mm", "kind", "channel"),
    [
        # Frames over 122 cm want the stiffer channel, welded stretchers earlier.
        (1220, StretcherKind.ADJUSTABLE, None),
        (1221, StretcherKind.ADJUSTABLE, "Frame of 1221 mm: stiffer channel in the stretcher."),
        (976, StretcherKind.FIXED, None),
        (977, StretcherKind.FIXED, "Frame of 977 mm: stiffer channel in the stretcher."),
    ],
)
def test_a_long_frame_asks_for_the_stiffer_channel(depth_mm, kind, channel):
    long = Facts(frame=Frame(depth_mm=depth_mm), stretcher=Stretcher(kind=kind))
    assert text(Stage.PREPARE, "prepare.channel", long) == channel


def test_width_counts_as_length_too():
    wide = Facts(frame=Frame(width_mm=1300))
    assert "1300 mm" in text(Stage.PREPARE, "prepare.channel", wide)


@pytest.mark.parametrize(("locking", "words"), [(Locking.TAPERED_ROD, "flat card"),
                                                (Locking.TWO_RODS, "middle outwards")])  # fmt: skip
def test_locking_in_goes_by_the_rods(locking, words):
    facts = Facts(stretcher=Stretcher(locking=locking))
    assert words in text(Stage.LOCK_IN, "lock-in.first", facts)
    creeping = text(Stage.SLACK, "slack.seated", facts)
    assert (creeping is not None) == (locking is Locking.TAPERED_ROD)


@given(st.sampled_from(Stage), facts)
def test_lists_are_well_made(stage, facts):
    listed = checks(stage, facts, Practice())
    assert bool(listed) == (stage is not Stage.DONE)
    slug = stage.name.lower().replace("_", "-")
    assert len({c.id for c in listed}) == len(listed)
    assert [c.caution for c in listed] == sorted((c.caution for c in listed), reverse=True)
    for check in listed:
        turning = check.id.startswith("slack.caution.") and stage in TURNING
        assert turning or check.id.startswith(f"{slug}.caution." if check.caution else f"{slug}.")
        assert re.fullmatch(r"[A-Z].*[.]", check.text)
        assert len(check.text) <= 90
        assert not re.search(r"\bsafe\b|\bsafely\b", check.text.lower())


@pytest.mark.parametrize("stage", ANY)
def test_where_it_can_hurt_there_are_cautions(stage):
    has = any(c.caution for c in checks(stage, Facts(), Practice()))
    assert has == (stage in CAUTIONED)


def test_before_the_adhesive_the_data_sheets_come_first():
    cautions = [c.text for c in checks(Stage.ADHESIVE, Facts(), Practice()) if c.caution]
    assert cautions[0].startswith("Both safety data sheets read.")
    # Each danger of instant glue, its activator and isocyanates is named once.
    for word in ("fire", "eyes", "cotton", "Gloves", "Air", "skin", "emergency", "Isocyanate"):
        assert any(word in caution for caution in cautions)


@pytest.mark.parametrize("stage", CAUTIONED)
def test_cautions_are_asked_one_by_one_before_anything_else(stage):
    bench = at(stage)
    listed = stage_checks(bench.state)
    cautions = [c for c in listed if c.caution]
    for number, caution in enumerate(cautions, start=1):
        last = say(bench, Tick(len(listed)))
        assert last == f"Cautions come first, in order: {caution.text}"
        assert isinstance(say(bench, Tick(number)), list)
    assert isinstance(say(bench, Tick(len(listed))), list)


@pytest.mark.parametrize("stage", OF_THEIR_OWN)
def test_cautions_are_asked_anew_on_entering_except_those_about_turning(stage):
    bench = at(stage)
    tick_all(bench)
    say(bench, Go(reason="told to"))
    say(bench, GoBack())
    own = stage.name.lower().replace("_", "-")
    assert open_checks(bench.state) == tuple(
        c for c in stage_checks(bench.state) if c.id.startswith(f"{own}.caution.")
    )


@pytest.mark.parametrize("stage", CAUTIONED)
def test_cautions_are_asked_anew_on_resuming(stage):
    bench = at(stage)
    tick_all(bench)
    bench.note([SessionResumed("0", 3600)], moment(10_000), Source.BENCH)
    assert open_checks(bench.state) == tuple(c for c in stage_checks(bench.state) if c.caution)


def test_other_checks_stay_ticked_when_a_stage_is_entered_again():
    bench = at(Stage.FIRST_TENSION)
    tick_all(bench)
    say(bench, GoBack())
    say(bench, Go(reason="told to"))
    assert open_checks(bench.state) == ()


def test_another_number_makes_another_text_and_the_same_check():
    before, after = Practice(), replace(Practice(), raise_max_mm=2.8)
    ids = [[c.id for c in checks(Stage.PREPARE, Facts(), p)] for p in (before, after)]
    assert ids[0] == ids[1]
