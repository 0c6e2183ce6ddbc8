"""When a phrase is over, and what is joined to what: a scripted engine, speech by loudness."""

from __future__ import annotations

import pytest
from voice.standins import ByLoudness, Scripted, clear, joined, silence, tone

from benchterm.core.stations import Station
from benchterm.phrases.meanings import Named
from benchterm.voice.accept import NAMES, Acceptance, Decision, Thresholds
from benchterm.voice.endpoint import Endpointer
from benchterm.voice.engine import Recognition
from benchterm.voice.listener import OF_IT, Heard, Listener, Patience
from benchterm.voice.understand import Kind, Pending, Understanding

ALL_SURE = Acceptance(
    5.0,
    tuple(1.0 if name == "score_a_word" else 0.0 for name in NAMES),
    dict.fromkeys(Kind, Thresholds(lead=3.0, sure=0.5, ask=0.2)),
)
WAITING = Pending(Station.LEFT, question=True)
NOTHING = Recognition(())


def listener(english, engine: Scripted, patience: Patience | None = None) -> Listener:
    detector = Endpointer(ByLoudness())
    return Listener(engine, Understanding(english), ALL_SURE, detector, patience)


def heard(english, engine: Scripted, *parts, block: int = 800, finish: bool = True) -> list[Heard]:
    sound = joined(parts)
    one = listener(english, engine)
    result: list[Heard] = []
    for at in range(0, len(sound), block):
        result += one.feed(sound[at : at + block], WAITING)
    return result + (list(one.finish(WAITING)) if finish else [])


def test_a_clear_phrase_is_over_soon(english):
    engine = Scripted("far twenty two point five")
    (one,) = heard(english, engine, silence(1), tone(1), silence(1), finish=False)
    assert one.verdict.decision is Decision.SURE
    assert one.closed_s - one.end_s == pytest.approx(0.35, abs=0.04)


def test_a_number_that_may_go_on_is_given_time(english):
    engine = Scripted("far twenty two")
    (one,) = heard(english, engine, silence(1), tone(1), silence(1), finish=False)
    assert one.closed_s - one.end_s == pytest.approx(0.47, abs=0.03)


def test_a_pause_is_decoded_before_it_is_the_end(english):
    engine = Scripted("far twenty", "far twenty two point five")
    (one,) = heard(english, engine, silence(1), tone(1), silence(0.3), tone(1), silence(1))
    assert one.ranked[0].text == "far twenty two point five"
    assert engine.lengths_s[1] - engine.lengths_s[0] == pytest.approx(1.3, abs=0.05)


@pytest.mark.parametrize("block", [100, 512, 1600, 16_000, 100_000])
def test_blocks_of_any_size_give_the_same(english, block):
    engine = Scripted("far twenty two point five")
    (one,) = heard(english, engine, silence(1), tone(1), silence(1), block=block)
    assert (one.begin_s, one.end_s) == pytest.approx((1.0, 2.0), abs=0.04)
    assert one.closed_s == pytest.approx(2.37, abs=0.04)


def test_the_end_of_the_stream_ends_the_phrase(english):
    engine = Scripted("next step")
    (one,) = heard(english, engine, silence(0.5), tone(0.7))
    assert one.ranked[0].text == "next step"
    assert engine.lengths_s == [pytest.approx(1.0, abs=0.04)]


def test_speech_without_end_is_cut(english):
    engine = Scripted(NOTHING)
    found = heard(english, engine, *[tone(0.15), tone(0.15, level=0.12)] * 47)
    assert [round(one.closed_s - one.begin_s) for one in found] == [6, 6, 2]
    assert all(one.verdict.decision is Decision.REJECT for one in found)


def test_silence_is_nothing(english):
    engine = Scripted("next step")
    assert heard(english, engine, silence(5)) == []
    assert engine.lengths_s == []


def test_an_unclear_beginning_goes_into_what_follows(english):
    unclear = clear("left two", "left three", margin=1.0)
    engine = Scripted(unclear, unclear, clear("six", "three", margin=1.0), "left two point six")
    first, second = heard(
        english, engine, silence(1), tone(0.5), silence(0.8), tone(0.5), silence(0.25), finish=True
    )
    assert first.verdict.decision is Decision.ASK
    assert second.goes_on
    assert second.begin_s == first.begin_s
    assert second.ranked[0].text == "left two point six"
    assert engine.lengths_s[3] > engine.lengths_s[2] + 1


def test_a_clear_answer_is_not_joined_to_what_was_unclear(english):
    unclear = clear("left two", "left three", margin=1.0)
    engine = Scripted(unclear, unclear, "yes", "left two")
    _, second = heard(
        english, engine, silence(1), tone(0.5), silence(0.8), tone(0.5), silence(0.25)
    )
    assert not second.goes_on
    assert second.ranked[0].text == "yes"


def test_after_a_while_nothing_is_joined(english):
    unclear = clear("left two", "left three", margin=1.0)
    engine = Scripted(unclear, unclear, clear("six", "three", margin=1.0))
    _, second = heard(english, engine, silence(1), tone(0.5), silence(1.4), tone(0.5), silence(1))
    assert not second.goes_on


def test_levels_are_told(english):
    (one,) = heard(english, Scripted("next step"), silence(1), tone(1), silence(1))
    assert one.speech_db == pytest.approx(-9.0, abs=0.5)
    assert one.noise_db == pytest.approx(-90.0)


def test_a_place_alone_goes_into_what_follows_even_if_that_is_clear(english):
    place = Recognition((), ("right",), -0.1)
    engine = Scripted(place, place, "two", "right two")
    _, second = heard(
        english, engine, silence(1), tone(0.5), silence(0.8), tone(0.5), silence(0.25)
    )
    assert second.goes_on
    assert second.ranked[0].text == "right two"


def test_what_was_taken_is_not_taken_again_with_what_follows(english):
    engine = Scripted("left three clicks", "left three clicks", "twenty two point five")
    first, second = heard(
        english, engine, silence(1), tone(0.5), silence(0.8), tone(0.5), silence(0.25)
    )
    assert first.verdict.decision is Decision.SURE
    assert not second.goes_on
    assert second.ranked[0].text == "twenty two point five"


def test_somebody_who_speaks_word_by_word_is_waited_for(english):
    engine = Scripted("five nine", "five nine", "five nine two")
    (one,) = heard(
        english, engine, silence(1), tone(1.7), silence(0.9), tone(0.4), silence(0.5), finish=True
    )
    assert one.ranked[0].text == "five nine two"
    engine = Scripted("five nine")
    (one,) = heard(english, engine, silence(1), tone(0.7), silence(2), finish=False)
    assert one.closed_s - one.end_s == pytest.approx(0.47, abs=0.03)


def test_nobody_is_waited_for_longer_than_the_longest_pause(english):
    engine = Scripted("five nine")
    (one,) = heard(english, engine, silence(1), tone(3), silence(2), finish=False)
    assert one.closed_s - one.end_s == pytest.approx(1.1, abs=0.04)


def test_a_number_of_one_word_tells_no_pace_and_is_waited_for(english):
    engine = Scripted("five", "five", "five nine two")
    (one,) = heard(english, engine, silence(1), tone(0.4), silence(0.8), tone(1), silence(0.5))
    assert one.ranked[0].text == "five nine two"


def test_pieces_that_were_nothing_each_are_heard_together(english):
    place = Recognition((), ("right",), -0.1)
    nothing = [NOTHING] * 4
    engine = Scripted(place, place, *nothing, "two zero", "right two two zero")
    found = heard(
        english,
        engine,
        *(silence(1), tone(0.4), silence(0.75), tone(0.4), silence(0.75), tone(0.6)),
        silence(0.25),
    )
    assert [one.verdict.decision for one in found[:2]] == [Decision.REJECT] * 2
    assert found[2].ranked[0].text == "right two two zero"
    assert found[2].begin_s == found[0].begin_s
    assert found[2].goes_on


def test_a_number_after_a_place_is_never_taken_without_it(english):
    place = Recognition((), ("right",), -0.1)
    engine = Scripted(place, place, "two zero", NOTHING)
    _, second = heard(
        english, engine, silence(1), tone(0.5), silence(0.8), tone(0.5), silence(0.25)
    )
    assert (second.verdict.decision, second.verdict.why) == (Decision.ASK, OF_IT)
    assert not second.goes_on


def test_a_place_that_was_named_for_a_gauge_still_takes_its_number(english):
    sound = joined([silence(1), tone(0.5), silence(0.8), tone(0.5), silence(0.25)])
    one = listener(english, Scripted("far left", "far left", "two", "far left two"))
    waiting = Pending(gauge=True)
    first, second = [*one.feed(sound, waiting), *one.finish(waiting)]
    assert isinstance(first.verdict.intent, Named)
    assert first.verdict.decision is Decision.SURE
    assert second.ranked[0].text == "far left two"
    assert second.goes_on
