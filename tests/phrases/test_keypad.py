"""The keypad's entry line: keys, what would be taken, what is wrong."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchterm.core.facts import Facts
from benchterm.core.intents import (
    Aim,
    Answer,
    Ask,
    Choose,
    Close,
    Go,
    GoBack,
    Intent,
    Listen,
    Mark,
    Note,
    Read,
    Redo,
    Relieve,
    StartTimer,
    StopTimer,
    Tick,
    Turn,
    Undo,
)
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Pair, Station
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.keypad import KEYPAD_HELP, read_keys
from benchterm.phrases.phrase import parse

FACTS = Facts()
"""Far and near pull along."""

ENTRIES: list[tuple[str, Intent, str]] = [
    ("822.5", Read(Station.FAR, 22.5), "far, along: 22.5 N/cm"),
    ("8 22.5", Read(Station.FAR, 22.5), "far, along: 22.5 N/cm"),
    ("8 22,5", Read(Station.FAR, 22.5), "far, along: 22.5 N/cm"),
    ("8*22.5", Read(Station.FAR, 22.5), "far, along: 22.5 N/cm"),
    ("8225", Read(Station.FAR, 225), "far, along: 225 N/cm"),
    ("421", Read(Station.LEFT, 21), "left, across: 21 N/cm"),
    ("8/22.5", Read(Station.FAR, 22.5, Axis.ACROSS), "far, across: 22.5 N/cm"),
    ("4/21", Read(Station.LEFT, 21, Axis.ALONG), "left, along: 21 N/cm"),
    ("524", Read(Station.CENTRE, 24), "centre, along: 24 N/cm"),
    ("5/24", Read(Station.CENTRE, 24, Axis.ACROSS), "centre, across: 24 N/cm"),
    ("8+3", Turn(Station.FAR, 3), "far: 3 clicks tighter"),
    ("8+", Turn(Station.FAR, 1), "far: 1 click tighter"),
    ("8-2", Turn(Station.FAR, -2), "far: 2 clicks back"),
    ("8-", Turn(Station.FAR, -1), "far: 1 click back"),
    ("8+3*22.5", Turn(Station.FAR, 3, 22.5), "far: 3 clicks tighter, then 22.5 N/cm"),
    ("8+*22.5", Turn(Station.FAR, 1, 22.5), "far: 1 click tighter, then 22.5 N/cm"),
    ("8-1*21", Turn(Station.FAR, -1, 21), "far: 1 click back, then 21 N/cm"),
    (
        "8+3/22",
        Turn(Station.FAR, 3, 22, Axis.ACROSS),
        "far: 3 clicks tighter, then across 22 N/cm",
    ),
    ("7-", Relieve(Station.FAR_LEFT), "far left: relieved, the usual amount let back in"),
    ("7-6", Relieve(Station.FAR_LEFT, 6), "far left: relieved, 6 mm let back in"),
    ("7-4.5", Relieve(Station.FAR_LEFT, 4.5), "far left: relieved, 4.5 mm let back in"),
    ("*", Answer(yes=True), "tick the next check"),
    ("*3", Tick(3), "tick check 3"),
    ("/", Answer(yes=False), "no"),
    ("/1", Ask("next"), "what's next"),
    ("/4", Ask("again"), "repeat"),
    ("+", Go(), "to the next stage"),
    ("+8", Go(Stage.FINAL_TENSION), "to stage 8, final tensioning"),
    ("+14", Go(Stage.READ_AGAIN), "to stage 14, read off the stretcher"),
    ("+-", GoBack(), "to the previous stage"),
    ("-", Undo(), "undo the last entry"),
    ("-3", Undo(3), "undo the entry 2 before the last"),
    ("-*8", Undo(1, Station.FAR), "undo the last entry at far"),
    ("-2*8", Undo(2, Station.FAR), "undo the entry 1 before the last at far"),
    ("--", Redo(), "redo: what was undone counts again"),
    (".", Mark(), "mark"),
    (".4", Mark(4), "mark 4"),
    ("0", StartTimer(), "start the timer"),
    ("010", StartTimer(10), "start the timer: 10 minutes"),
    ("0 2.5", StartTimer(2.5), "start the timer: 2.5 minutes"),
    ("0-", StopTimer(), "stop timer"),
    ("0+24", Aim(24), "target along and across: 24 N/cm"),
    ("0+24*", Aim(24, Axis.ALONG), "target along: 24 N/cm"),
    ("0+24/", Aim(24, Axis.ACROSS), "target across: 24 N/cm"),
    ("0*", Listen(on=True), "hearing on"),
    ("0/", Listen(on=False), "hearing off"),
    ("0..", Close(), "close the session"),
]


@pytest.mark.parametrize(("keys", "intent", "preview"), ENTRIES)
def test_keys_mean_an_intent(english: Grammar, keys: str, intent: Intent, preview: str) -> None:
    keyed = read_keys(keys, FACTS)
    assert (keyed.intent, keyed.preview, keyed.problem) == (intent, preview, "")
    assert parse(keyed.phrase, english) == intent


@pytest.mark.parametrize(
    ("keys", "intent", "preview"),
    [("*", Answer(yes=True), "yes"), ("*3", Choose(3), "choice 3"), ("/", Answer(yes=False), "no")],
)
def test_star_answers_while_a_question_is_open(keys: str, intent: Intent, preview: str) -> None:
    keyed = read_keys(keys, FACTS, question_open=True)
    assert (keyed.intent, keyed.preview) == (intent, preview)


def test_the_other_way_depends_on_how_the_mesh_lies() -> None:
    turned = Facts(along_pair=Pair.LEFT_RIGHT)
    assert read_keys("8/22.5", turned).intent == Read(Station.FAR, 22.5, Axis.ALONG)


@pytest.mark.parametrize(
    ("keys", "problem"),
    [
        ("", "Nothing keyed yet."),
        ("8", "far needs a value."),
        ("8*", "far needs a value."),
        ("8/", "far needs a value."),
        ("8+3*", "far needs a value."),
        ("5+3", "5 is the centre: no roller there."),
        ("5-", "5 is the centre: no roller there."),
        ("7+3", "7 is the far left corner: no roller there."),
        ("7-6*22", "far left: the relief and the reading go in two entries."),
        ("7-0", "A relief of 0 mm is none."),
        ("8+0", "Clicks are counted from 1: 0."),
        ("8+2.5", "Clicks are counted whole: 2.5."),
        ("8+322.5", "Clicks are counted whole: 322.5."),
        ("822.5.", "'822.5.' is no entry; after 8 (far): a value, + or - clicks, * reading."),
        ("7--", "'7--' is no entry; after 7 (far left): a value, - relieved."),
        ("8" + "9" * 300, "'99999999999…' is no tension in N/cm."),
        ("**", "After * comes the number of a choice or a check, or nothing."),
        ("*0", "Checks are counted from 1: 0."),
        ("/5", "After / comes 1 next, 2 apart, 3 time, 4 again, or nothing."),
        ("+16", "Stages are numbered 1 to 15: 16."),
        ("++", "After + comes a stage, 1 to 15, - for the one before, or nothing."),
        ("-0", "Entries are counted from 1: 0."),
        (
            "---",
            "After - comes how many entries back, * and a station, another - for redo, or nothing.",
        ),
        (".5.", "After . comes the number of the mark, or nothing."),
        ("00", "A timer of 0 minutes is over before it begins."),
        ("0+", "After 0: minutes, - stops the timer, + target, * hearing on, / off, .. closes."),
        ("#8", "'#' is no key of the entry line."),
        ("nowhere 22", "No words are taken: no grammar is loaded. Keys still work."),
    ],
)
def test_what_is_wrong_or_missing_is_said_in_one_line(keys: str, problem: str) -> None:
    keyed = read_keys(keys, FACTS)
    assert (keyed.problem, keyed.intent, keyed.preview) == (problem, None, "")


def test_a_line_that_begins_with_a_letter_is_a_phrase(english: Grammar) -> None:
    keyed = read_keys("far left relieved", FACTS, grammar=english)
    assert keyed.intent == Relieve(Station.FAR_LEFT)
    keyed = read_keys("note rod creeps", FACTS, grammar=english)
    assert (keyed.intent, keyed.preview) == (Note("rod creeps"), "note rod creeps")
    keyed = read_keys("fat 22", FACTS, grammar=english)
    assert keyed.problem == "No station is called 'fat'; did you mean 'far'?"
    keyed = read_keys("twenty two", FACTS, grammar=english, pending_station=Station.FAR)
    assert keyed.intent == Read(Station.FAR, 22)


def test_every_line_of_the_help_is_an_entry() -> None:
    for keys, what in KEYPAD_HELP:
        assert read_keys(keys, FACTS).intent is not None, keys
        assert what


def test_the_keypad_alone_reaches_every_intent_but_a_note() -> None:
    keyed = {type(intent) for _, intent, _ in ENTRIES} | {Choose}
    assert keyed == set(get_args(Intent)) - {Note}


@given(keys=st.text("0123456789.+-*/, ", max_size=12), question=st.booleans())
def test_any_keys_are_an_intent_or_a_problem_and_the_phrase_means_the_same(
    english: Grammar, keys: str, question: bool
) -> None:
    keyed = read_keys(keys, FACTS, question)
    if keyed.intent is None:
        assert keyed.problem.endswith(".")
        assert keyed.problem.isprintable()
    else:
        assert keyed.preview
        assert parse(keyed.phrase, english) == keyed.intent


@given(text=st.text())
def test_any_text_at_all_never_raises(english: Grammar, text: str) -> None:
    keyed = read_keys(text, FACTS, grammar=english)
    assert bool(keyed.problem) == (keyed.intent is None)
