"""The English grammar: what is said at the bench and what it means."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

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
from benchterm.core.stations import Axis, Station
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import Bare, Meant, Named
from benchterm.phrases.phrase import Misheard, parse

SAID: list[tuple[str, Meant]] = [
    ("far left twenty two point five", Read(Station.FAR_LEFT, 22.5)),
    ("far left two two five", Read(Station.FAR_LEFT, 22.5)),
    ("far side twenty one", Read(Station.FAR, 21)),
    ("near right corner fifteen newtons", Read(Station.NEAR_RIGHT, 15)),
    ("left two", Read(Station.LEFT, 2)),
    ("centre along twenty four", Read(Station.CENTRE, 24, Axis.ALONG)),
    ("center twenty four across", Read(Station.CENTRE, 24, Axis.ACROSS)),
    ("middle across twenty newtons", Read(Station.CENTRE, 20, Axis.ACROSS)),
    ("nineteen and a half", Bare(19.5)),
    ("far left", Named(Station.FAR_LEFT)),
    ("centre along", Named(Station.CENTRE, Axis.ALONG)),
    ("nineteen newtons along", Bare(19, Axis.ALONG)),
    ("left three clicks", Turn(Station.LEFT, 3)),
    ("left a click", Turn(Station.LEFT, 1)),
    ("right side eleven clicks", Turn(Station.RIGHT, 11)),
    ("far three clicks back", Turn(Station.FAR, -3)),
    ("far back two clicks", Turn(Station.FAR, -2)),
    ("near one click looser", Turn(Station.NEAR, -1)),
    ("near one click tighter", Turn(Station.NEAR, 1)),
    ("left three clicks twenty two point five", Turn(Station.LEFT, 3, 22.5)),
    ("left three clicks two two five", Turn(Station.LEFT, 3, 22.5)),
    ("far back a click twenty one", Turn(Station.FAR, -1, 21)),
    ("far two clicks across twenty", Turn(Station.FAR, 2, 20, Axis.ACROSS)),
    ("far left relieved", Relieve(Station.FAR_LEFT)),
    ("far left corner relieved six millimetres", Relieve(Station.FAR_LEFT, 6)),
    ("near right relieved by four and a half millimeters", Relieve(Station.NEAR_RIGHT, 4.5)),
    ("undo", Undo()),
    ("undo that", Undo()),
    ("undo far", Undo(station=Station.FAR)),
    ("undo far left", Undo(station=Station.FAR_LEFT)),
    ("undo two back", Undo(2)),
    ("undo far two back", Undo(2, Station.FAR)),
    ("redo", Redo()),
    ("yes", Answer(yes=True)),
    ("keep it", Answer(yes=True)),
    ("no", Answer(yes=False)),
    ("cancel", Answer(yes=False)),
    ("choice two", Choose(2)),
    ("done", Tick()),
    ("understood", Tick()),
    ("tick three", Tick(3)),
    ("next", Go()),
    ("next step", Go()),
    ("previous", GoBack()),
    ("go back", GoBack()),
    ("go to settle", Go(Stage.SETTLE)),
    ("go to cut and square the mesh", Go(Stage.CUT_MESH)),
    ("go to stage eight", Go(Stage.FINAL_TENSION)),
    ("all clamped", Go(Stage.SLACK)),
    ("mesh rested", Go(Stage.ADHESIVE)),
    ("mark", Mark()),
    ("mark four", Mark(4)),
    ("timer", StartTimer()),
    ("start the timer", StartTimer()),
    ("timer ten minutes", StartTimer(10)),
    ("timer two and a half minutes", StartTimer(2.5)),
    ("stop timer", StopTimer()),
    ("stop", StopTimer()),
    ("target twenty four", Aim(24)),
    ("target twenty four along", Aim(24, Axis.ALONG)),
    ("target across two two five", Aim(22.5, Axis.ACROSS)),
    ("what's next", Ask("next")),
    ("how far apart", Ask("apart")),
    ("time left", Ask("time")),
    ("repeat", Ask("again")),
    ("say again", Ask("again")),
    ("mute", Listen(on=False)),
    ("listen", Listen(on=True)),
    ("close the session", Close()),
]

TYPED: list[tuple[str, Meant]] = [
    ("far 22.5", Read(Station.FAR, 22.5)),
    ("far 22,5", Read(Station.FAR, 22.5)),
    ("Far 22.5 N/cm.", Read(Station.FAR, 22.5)),
    ("far 22.5N/cm", Read(Station.FAR, 22.5)),
    ("8 22.5", Read(Station.FAR, 22.5)),
    ("8 3 clicks back", Turn(Station.FAR, -3)),
    ("far 225", Read(Station.FAR, 225)),
    ("far 3 clicks 22.5", Turn(Station.FAR, 3, 22.5)),
    ("far 1 click back", Turn(Station.FAR, -1)),
    ("centre along 24", Read(Station.CENTRE, 24, Axis.ALONG)),
    ("far left relieved 6 mm", Relieve(Station.FAR_LEFT, 6)),
    ("far left relieved by 6mm", Relieve(Station.FAR_LEFT, 6)),
    ("undo 3 back", Undo(3)),
    ("go to stage 10", Go(Stage.ADHESIVE)),
    ("next because the mesh was cut yesterday", Go(reason="the mesh was cut yesterday")),
    ("go to cure because Stage was done.", Go(Stage.CURE, "Stage was done.")),
    ("close session because mesh tore", Close("mesh tore")),
    ("note Roller on the left slips, 2 teeth.", Note("Roller on the left slips, 2 teeth.")),
    ("timer 7.5 min", StartTimer(7.5)),
    ("What\u2019s next?", Ask("next")),
]


@pytest.mark.parametrize(("text", "intent"), SAID + TYPED)
def test_a_phrase_means_its_intent(english: Grammar, text: str, intent: Intent) -> None:
    assert parse(text, english) == intent


@pytest.mark.parametrize("text", [text for text, _ in SAID])
def test_what_is_said_can_be_heard_by_a_decoder(english: Grammar, text: str) -> None:
    walk = english.automaton
    state: int | None = walk.start
    for word in text.split():
        assert word in english.words
        assert state is not None
        state = walk.next(state, word)
    assert state is not None
    assert walk.final(state)


def test_without_a_place_the_station_in_question_is_meant(english: Grammar) -> None:
    far, corner = Station.FAR, Station.FAR_LEFT
    assert parse("two two five", english, far) == Read(far, 22.5)
    assert parse("three clicks back", english, far) == Turn(far, -3)
    assert parse("corner relieved", english, corner) == Relieve(corner)
    assert parse("near two two five", english, far) == Read(Station.NEAR, 22.5)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "Nothing to take: the line is empty."),
        (" . ", "Nothing to take: the line is empty."),
        (
            "nowhere 22",
            "No station is called 'nowhere'. The stations: far left, far, far right, left, "
            "centre, right, near left, near, near right.",
        ),
        ("fat 22", "No station is called 'fat'; did you mean 'far'?"),
        ("hello", "No phrase begins with 'hello'. Try 'far twenty two point five'."),
        ("note \x00", "The note is empty."),
        ("unde far", "No phrase begins with 'unde'; did you mean 'undo'?"),
        ("far -3", "A tension is never negative: -3."),
        ("far \u22123", "A tension is never negative: -3."),
        ("far nan", "'nan' is no tension in N/cm."),
        ("far inf", "'infinity' is no tension in N/cm."),
        ("far 99999999999999999999", "'99999999999…' is no tension in N/cm."),
        ("far 2.5 clicks", "Clicks are counted whole: 2.5."),
        ("far 0 clicks", "Clicks are counted from 1: 0."),
        ("far -3 clicks", "Clicks are counted from 1: -3."),
        ("far 3 clix", "'clix' after 'far 3' is not understood; did you mean 'click'?"),
        ("far 3 clicks -1", "A tension is never negative: -1."),
        ("far left relieved 0 mm", "A relief of 0 mm is none."),
        (
            "far left relieved 6",
            "'far left relieved 6' wants more: 'millimetres' or 'millimeters'.",
        ),
        ("timer 0 minutes", "A timer of 0 minutes is over before it begins."),
        ("go to stage 16", "Stages are numbered 1 to 15: 16."),
        ("note", "'note' wants more: your own words."),
        ("yes please", "'yes' is understood, 'please' after it is not: nothing more can follow."),
        ("3 clicks", "Clicks of which roller? Its name comes first, as in 'far 3 clicks'."),
        ("relieved", "Which corner? Its name comes first, as in 'far left relieved'."),
        (
            "centre along and",
            "'and' after 'centre along' is not understood; expected a number.",
        ),
    ],
)
def test_what_is_no_phrase_is_explained_in_one_line(english: Grammar, text: str, why: str) -> None:
    assert parse(text, english) == Misheard(text, why)


def test_a_side_is_no_corner_for_a_relief_without_a_place(english: Grammar) -> None:
    assert isinstance(parse("relieved", english, Station.FAR), Misheard)


ZERO_MINUTES = "A timer of 0 minutes is over before it begins."


@st.composite
def sentences(draw: st.DrawFn, grammar: Grammar) -> list[str]:
    """A way through the automaton, at random."""
    walk, state, words = grammar.automaton, grammar.automaton.start, []
    while True:
        on = walk.words(state)
        if walk.final(state) and (not on or draw(st.booleans())):
            return words
        word = draw(st.sampled_from(on))
        words.append(word)
        following = walk.next(state, word)
        assert following is not None
        state = following


@given(data=st.data())
def test_every_sentence_has_one_meaning_and_is_taken(english: Grammar, data: st.DataObject) -> None:
    words = data.draw(sentences(english))
    assert len(english.parse(words).meanings) == 1
    found = parse(" ".join(words), english, Station.FAR_LEFT)
    if isinstance(found, Misheard):
        assert found.why in ("A relief of 0 mm is none.", ZERO_MINUTES)


bits = st.sampled_from(["far", "22", "-3", "clicks", "note", "because", "1", "undo", "nan", "22,5"])


@given(text=st.text() | st.lists(bits).map(" ".join))
def test_any_text_is_taken_or_explained_in_one_line(english: Grammar, text: str) -> None:
    found = parse(text, english)
    if isinstance(found, Misheard):
        assert found.why.isprintable()
        assert found.why.endswith((".", "?"))
        assert len(found.why) < 200


def test_every_example_of_the_help_page_is_a_phrase(english: Grammar) -> None:
    examples = [example for saying in english.sayings for example in saying.examples]
    assert len(examples) > 30
    for example in examples:
        assert not isinstance(parse(example, english), Misheard), example


def test_everything_that_can_be_said_is_on_the_help_page(english: Grammar) -> None:
    assert len(english.sayings) == 22
    for saying in english.sayings:
        assert saying.what.endswith(".")
        assert saying.examples
    patterns = [saying.pattern for saying in english.sayings]
    assert "[<place>] <clicks> [<tension>]" in patterns
    assert "[<place> | corner] relieved [[by] <number> <millimetres>]" in patterns
