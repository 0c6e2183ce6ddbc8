"""What becomes of what is heard: tables of cases."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from benchterm.core.bench import Bench as Door
from benchterm.core.bench import InMemory, Moment
from benchterm.core.decide import Refusal
from benchterm.core.events import Event, Heard, Source
from benchterm.core.facts import Facts
from benchterm.core.fold import fold_all
from benchterm.core.intents import (
    Answer,
    Ask,
    Close,
    Go,
    Intent,
    Listen,
    Mark,
    Read,
    Relieve,
    StartTimer,
    Tick,
    Turn,
    Undo,
)
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.core.stations import Axis, Station
from benchterm.locations import grammar_file
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import fill
from benchterm.voice.conversation import (
    PATIENCE_S,
    SURPRISING,
    Act,
    Asked,
    Bench,
    Conversation,
    Name,
    Show,
    Take,
    answer,
    became,
    hear,
    pass_time,
    reply,
    waits_for,
)
from benchterm.voice.saying import Spoken, Wording
from benchterm.voice.wire import Uttered, says

FACTS = Facts()
QUIET = Conversation()
FAR = Station.FAR
FAR_225 = Read(FAR, 22.5)
WAITING = Conversation(Asked(FAR_225, "far twenty two point five", 0.6, "far, along: 22.5 N/cm", 0))


def said(
    english: Grammar, words: str, decision: str = "sure", why: str = "", **more: Any
) -> Uttered:
    """Something heard; the words are parsed as the ear would."""
    meanings = english.parse(words.split()).meanings
    slots = fill(meanings[0]) if meanings else None
    return Uttered(
        words=words if slots else "",
        says=says(slots) if slots else None,
        decision=decision,
        why=why,
        confidence={"sure": 0.97, "ask": 0.6, "reject": 0.1}[decision],
        scores={},
        others=(),
        begin_s=0,
        end_s=1,
        closed_s=1.4,
        decode_s=0.2,
        behind_s=0.6,
        speech_db=-20,
        noise_db=-50,
        **({"goes_on": False} | more),
    )


@pytest.fixture(scope="module")
def wording(english: Grammar) -> Wording:
    return Wording(english)


def bench(**more: Any) -> Bench:
    return Bench(FACTS, 10.0, **more)


def kinds(acts: tuple[Act, ...]) -> list[str]:
    return [type(act).__name__ for act in acts]


def note(acts: tuple[Act, ...]) -> Heard:
    (heard,) = [act for act in acts if isinstance(act, Heard)]
    return heard


SURE: list[tuple[str, Intent]] = [
    ("far twenty two point five", FAR_225),
    ("left three clicks", Turn(Station.LEFT, 3)),
    ("undo that", Undo()),
    ("mute", Listen(on=False)),
    ("how far apart", Ask("apart")),
]


@pytest.mark.parametrize(("words", "intent"), SURE)
def test_what_is_sure_is_taken(english, wording, words, intent):
    talk, (taken,) = hear(QUIET, said(english, words), bench(), wording)
    assert talk == QUIET
    assert isinstance(taken, Take)
    assert (taken.intent, taken.words) == (intent, words)
    assert (taken.noted.decision, taken.noted.score) == ("sure", 0.97)


def test_what_is_not_quite_clear_is_asked_back_shown_and_said(english, wording):
    one = said(english, "far twenty two point five", "ask", "not quite clear")
    talk, acts = hear(QUIET, one, bench(), wording)
    assert talk.asked is not None
    assert talk.asked.intent == FAR_225
    assert acts == (
        Show("Heard: far, along: 22.5 N/cm. Yes or no?", asks=True),
        Spoken("ask", "far, two two point five?", "en"),
        Heard("far twenty two point five", "ask", 0.6, "asked"),
    )


@pytest.mark.parametrize(
    ("words", "decision", "why", "pending", "noted"),
    [
        ("left three clicks", "reject", "not clear enough", None, "not taken: not clear enough"),
        ("mumble", "reject", "nothing was understood", None, "not taken: not understood"),
        ("twenty two", "sure", "", None, "not taken: nothing waits for a number alone"),
        ("three clicks", "sure", "", None, "not taken: Clicks of which roller?"),
    ],
)
def test_what_is_not_believed_is_shown_and_noted_but_not_spoken(
    english, wording, words, decision, why, pending, noted
):
    talk, acts = hear(QUIET, said(english, words, decision, why), bench(station=pending), wording)
    assert talk == QUIET
    assert kinds(acts) == ["Show", "Heard"]
    assert note(acts).became.startswith(noted)


def test_a_number_alone_counts_where_one_is_waited_for(english, wording):
    _, (taken,) = hear(QUIET, said(english, "twenty two"), bench(station=FAR), wording)
    assert isinstance(taken, Take)
    assert taken.intent == Read(FAR, 22.0)


def test_a_question_to_the_bench_needs_no_asking_back(english, wording):
    _, (taken,) = hear(QUIET, said(english, "how far apart", "ask"), bench(), wording)
    assert isinstance(taken, Take)


def test_yes_by_voice_takes_what_was_asked_with_its_own_words(english, wording):
    talk, acts = hear(WAITING, said(english, "yes"), bench(), wording)
    assert talk == QUIET
    noted, taken = acts
    assert isinstance(taken, Take)
    assert (taken.intent, taken.words) == (FAR_225, "far twenty two point five")
    assert taken.noted.became == "yes by voice"
    assert noted == Heard("yes", "sure", 0.97, "yes to: far twenty two point five")


def test_a_yes_that_is_not_clear_is_asked_for_again(english, wording):
    talk, acts = hear(WAITING, said(english, "yes", "ask"), bench(), wording)
    assert talk == WAITING
    assert kinds(acts) == ["Show", "Spoken", "Heard"]


@pytest.mark.parametrize("decision", ["sure", "ask"])
def test_no_lets_it_go(english, wording, decision):
    talk, acts = hear(WAITING, said(english, "no", decision), bench(), wording)
    assert talk == QUIET
    assert not [act for act in acts if isinstance(act, Take)]
    assert note(acts).became == "dropped: far twenty two point five"


def test_something_else_that_is_sure_ends_the_question(english, wording):
    talk, (taken,) = hear(WAITING, said(english, "far twenty three"), bench(), wording)
    assert talk == QUIET
    assert isinstance(taken, Take)
    assert taken.intent == Read(FAR, 23.0)


def test_something_else_that_is_unclear_takes_the_place_of_the_question(english, wording):
    talk, _ = hear(WAITING, said(english, "far twenty three", "ask"), bench(), wording)
    assert talk.asked is not None
    assert talk.asked.words == "far twenty three"


def test_said_again_it_is_as_good_as_a_yes(english, wording):
    talk, _ = hear(QUIET, said(english, "done", "ask"), bench(), wording)
    talk, acts = hear(talk, said(english, "done", "ask"), bench(), wording)
    assert talk.asked is None
    assert acts[0].intent == Tick()
    assert acts[0].noted.became == "said again"


@pytest.mark.parametrize("words", ["far thirty", "done"])
def test_what_could_be_misheard_twice_or_warns_still_wants_a_yes(english, wording, words):
    """Thirteen that is heard as thirty once may be again; a caution is acknowledged clearly."""
    cautioned = bench(caution=True)
    talk, _ = hear(QUIET, said(english, words, "ask"), cautioned, wording)
    talk, acts = hear(talk, said(english, words, "ask"), cautioned, wording)
    assert talk.asked is not None
    assert "Take" not in kinds(acts)


def test_what_goes_on_takes_back_the_question_about_its_beginning(english, wording):
    one = said(english, "left three clicks twenty two", "reject", "not clear enough", goes_on=True)
    talk, _ = hear(WAITING, one, bench(), wording)
    assert talk == QUIET


def test_the_question_is_answered_by_hand():
    talk, (taken,) = answer(WAITING, yes=True)
    assert talk == QUIET
    assert isinstance(taken, Take)
    assert taken.noted.became == "yes by hand"
    talk, acts = answer(WAITING, yes=False)
    assert (talk, kinds(acts)) == (QUIET, ["Show"])


def test_a_question_that_nobody_answers_is_let_go():
    assert pass_time(WAITING, PATIENCE_S - 0.1) == (WAITING, ())
    talk, acts = pass_time(WAITING, PATIENCE_S)
    assert (talk, kinds(acts)) == (QUIET, ["Show"])
    assert pass_time(QUIET, 1e9) == (QUIET, ())


def test_a_surprising_value_is_asked_about_once(english, wording):
    """The bench asks back what is out of line; the hearing asks only about what it would take."""
    one = said(english, "far twenty nine", "ask", SURPRISING)
    talk, acts = hear(QUIET, one, bench(asks_back=lambda _: True), wording)
    assert (talk, kinds(acts)) == (Conversation(raised=True), ["Take"])
    talk, acts = hear(QUIET, one, bench(asks_back=lambda _: False), wording)
    assert talk.asked is not None
    assert "surprising" in acts[0].text  # type: ignore[union-attr]


def test_the_session_is_never_closed_without_asking(english, wording):
    talk, acts = hear(QUIET, said(english, "close the session"), bench(), wording)
    assert talk.asked is not None
    assert talk.asked.intent == Close()
    assert kinds(acts) == ["Show", "Spoken", "Heard"]


# What the bench says about what it took.


def at(stage: Stage = Stage.FIRST_TENSION) -> Door:
    door = Door(InMemory())
    take(door, Go(stage, "done before"))
    return door


def take(door: Door, intent: Intent, at_s: float = 1.0) -> tuple[Event, ...] | Refusal:
    moment = Moment(at_s, datetime(2026, 3, 2, 9, tzinfo=UTC))
    return door.take(intent, moment, Source.VOICE, "said")


SAID: list[tuple[list[Intent], Spoken]] = [
    ([Read(FAR, 9.5)], Spoken("taken", "far, nine point five")),
    ([Read(FAR, 15.0)], Spoken("taken", "far, one five, fifteen")),
    ([Read(FAR, 9.5, Axis.ACROSS)], Spoken("taken", "far, nine point five across")),
    ([Turn(Station.LEFT, 3)], Spoken("taken", "left, three clicks")),
    ([Turn(Station.LEFT, 1)], Spoken("taken", "left, one click")),
    ([Turn(Station.LEFT, 3), Turn(Station.LEFT, -1)], Spoken("taken", "left, one click back")),
    ([Turn(Station.LEFT, 3, 9.5)], Spoken("taken", "left, three clicks, nine point five")),
    ([Relieve(Station.FAR_LEFT, 6.0)], Spoken("taken", "far left relieved")),
    ([Read(FAR, 9.5), Undo()], Spoken("taken", "undone: far, nine point five")),
    ([Mark()], Spoken("taken", "mark one")),
    ([Mark(120)], Spoken("taken", "mark 120")),
    ([StartTimer(10)], Spoken("taken", "timer, ten minutes")),
    ([Read(FAR, 9.5), Read(FAR, 39.0)], Spoken("ask", "far, three nine? expected nine point five")),
    (
        [Read(FAR, 9.5), Read(FAR, 39.0), Answer(yes=True)],
        Spoken("taken", "kept: far, three nine"),
    ),
    ([Go(Stage.CUT_OUT)], Spoken("ask", "A reason is needed: choice one to 5, or no.")),
    ([Turn(FAR, 0)], Spoken("refused", "Far: how many clicks?")),
    ([Listen(on=False)], Spoken("refused", "muted")),
    ([Listen(on=True)], Spoken("taken", "listening")),
]


@pytest.mark.parametrize(("intents", "spoken"), SAID, ids=lambda one: str(one)[:40])
def test_what_is_said_about_it(wording, intents, spoken):
    door = at()
    for intent in intents:
        before = door.state
        outcome = take(door, intent)
    assert reply(intents[-1], outcome, "", before, wording) == spoken


def test_what_is_not_saved_is_said_to_be_so(wording):
    assert reply(FAR_225, None, "", State(), wording) == Spoken("refused", "not saved")
    assert became(None) == "not saved"


def test_an_answer_is_said_as_it_is_shown(wording):
    assert reply(Ask("time"), (), "no timer is running", State(), wording) == Spoken(
        "", "no timer is running"
    )


def test_what_was_done_for_the_record():
    door = at()
    assert became(take(door, Read(FAR, 9.5))) == "taken"
    assert became(take(door, Undo())) == "undone"
    assert became(take(door, Turn(FAR, 0))) == "refused: Far: how many clicks?"


def test_in_another_language_only_what_the_grammar_has_words_for_is_said():
    korean = Wording(Grammar.load(grammar_file("ko")))
    door = at()
    before = door.state
    spoken = reply(FAR_225, take(door, Read(FAR, 9.5)), "", before, korean)
    assert spoken.language == "ko"
    assert spoken.text
    assert not spoken.text.isascii()
    assert reply(Mark(), take(door, Mark()), "", door.state, korean).text == ""


# What the bench waits for.


def test_what_the_bench_waits_for():
    door = at()
    assert waits_for(door.state, QUIET, 2) == (None, False)
    take(door, Turn(Station.LEFT, 3), 10)
    assert waits_for(door.state, QUIET, 12) == (Station.LEFT, False)
    assert waits_for(door.state, QUIET, 60) == (None, False)
    take(door, Read(FAR, 9.5), 61)
    assert waits_for(door.state, QUIET, 61) == (None, False)
    take(door, Read(FAR, 39.0), 62)
    assert waits_for(door.state, QUIET, 62) == (FAR, True)
    assert waits_for(door.state, WAITING, 62) == (FAR, True)
    asked = replace(WAITING, asked=replace(WAITING.asked, intent=Undo()))
    assert waits_for(fold_all([]), asked, 62) == (None, True)


def test_what_goes_on_takes_back_the_bench_s_own_question_about_its_beginning(english, wording):
    one = said(english, "far twenty nine", "ask", SURPRISING)
    talk, _ = hear(QUIET, one, bench(asks_back=lambda _: True), wording)
    asking = bench(question=True, station=FAR)
    clicks = said(english, "far two clicks", goes_on=True)
    after, (no, taken) = hear(talk, clicks, asking, wording)
    assert after == QUIET
    assert (no.intent, taken.intent) == (Answer(yes=False), Turn(FAR, 2))
    unclear = said(english, "far two clicks", "ask", "not quite clear", goes_on=True)
    after, acts = hear(talk, unclear, asking, wording)
    assert kinds(acts) == ["Take", "Show", "Spoken", "Heard"]
    assert acts[0].intent == Answer(yes=False)


def test_a_reading_that_goes_on_takes_the_question_back_by_itself(english, wording):
    talk = Conversation(raised=True)
    one = said(english, "far twenty nine point five", goes_on=True)
    _, (taken,) = hear(talk, one, bench(question=True, station=FAR), wording)
    assert taken.intent == Read(FAR, 29.5)


def test_a_question_of_the_bench_about_something_else_stands(english, wording):
    one = said(english, "far two clicks", goes_on=True)
    asking = bench(question=True, station=FAR)
    assert kinds(hear(QUIET, one, asking, wording)[1]) == ["Take"]
    anew = said(english, "far two clicks")
    assert kinds(hear(Conversation(raised=True), anew, asking, wording)[1]) == ["Take"]


def test_a_place_alone_is_named_for_the_gauge_and_nothing_is_said(english, wording):
    talk, (named,) = hear(WAITING, said(english, "far along"), bench(gauge=True), wording)
    assert talk == QUIET
    assert named == Name(FAR, Axis.ALONG, Heard("far along", "sure", 0.97, "named for the gauge"))


@pytest.mark.parametrize(("decision", "gauge"), [("sure", False), ("reject", True)])
def test_a_place_alone_is_let_go_without_a_gauge_or_if_unclear(english, wording, decision, gauge):
    one = said(english, "far along", decision, "not clear enough")
    talk, acts = hear(QUIET, one, bench(gauge=gauge), wording)
    assert talk == QUIET
    assert kinds(acts) == ["Show", "Heard"]
