"""The bench by keypad: what is keyed, what becomes of it, what is shown."""

from __future__ import annotations

import pytest
from screen.rig import NAMES, OTHER_NAMES, bench, desk
from textual import events

from benchterm.core.bench import NotSaved
from benchterm.core.gates import REASONS
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Station
from benchterm.screen.keying import NUM_LOCK_KEYS


async def test_the_line_says_what_will_be_taken_before_enter():
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        await rig.keys("8+3*9.5")
        assert "8+3*9.5" in rig.pane("entry")
        assert "far: 3 clicks tighter" in rig.pane("entry")
        assert "9.5" in rig.pane("entry").split("=")[1]
        assert rig.state.clicks[Station.FAR] == 0


async def test_an_entry_is_taken_and_read_back():
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        await rig.enter("8+3*9.5")
        assert rig.state.clicks[Station.FAR] == 3
        reading = rig.state.reading(Station.FAR)
        assert reading
        assert (reading.value_n_cm, reading.axis) == (9.5, Axis.ALONG)
        assert "far +3, 9.5 ↕" in rig.pane("message")
        assert "1 far +3, 9.5 ↕" in rig.pane("entries")
        assert "keypad" in rig.pane("entries")
        assert rig.bells == 0


@pytest.mark.parametrize("names", [NAMES, OTHER_NAMES], ids=["usual names", "newer names"])
async def test_both_names_of_the_operator_keys_are_bound(names: dict[str, str]):
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        await rig.enter("8+2*9.5", "2-1", "4/8", names=names)
        assert rig.state.clicks[Station.FAR] == 2
        assert rig.state.clicks[Station.NEAR] == -1
        assert rig.state.reading(Station.LEFT, Axis.ALONG)


@pytest.mark.parametrize(
    ("keys", "why"),
    [
        ("8 225", "Was it 22.5?"),
        ("8+99", "beyond reason"),
        ("5+1", "no roller"),
        ("8", "far needs a value"),
        ("hello", "No phrase begins with 'hello'"),
        ("- 9", "Nothing to undo that far back"),
    ],
)
async def test_what_is_refused_stays_on_the_line_and_changes_nothing(keys: str, why: str):
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        before = rig.state
        await rig.enter(keys)
        assert rig.state == before
        assert rig.screen.typed == keys
        assert why in " ".join(rig.pane("message").split())
        assert "✗" in rig.pane("message")
        assert rig.bells == 1


async def test_a_refused_line_can_be_mended_or_cleared_with_enter_again():
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        await rig.enter("8 225")
        await rig.pilot.press("backspace", "full_stop", "5", "backspace")
        await rig.pilot.press("backspace", "backspace", "backspace")
        await rig.enter("9.5")
        assert rig.state.reading(Station.FAR)
        await rig.enter("8 225", "")
        assert rig.screen.typed == ""
        assert "Cleared" in rig.pane("message")


async def test_a_pad_without_a_key_to_rub_out_begins_anew_after_an_entry_that_was_refused():
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        await rig.enter("8 225", "8 9.5")
        assert rig.state.reading(Station.FAR).value_n_cm == 9.5
        await rig.enter("8 + 3 *", "10")  # Not an entry yet: the rest of it may follow.
        assert rig.state.reading(Station.FAR).value_n_cm == 10
        assert rig.state.clicks[Station.FAR] == 3


async def test_what_was_done_is_marked_once():
    async with bench(desk()) as rig:
        await rig.enter("*")
        assert rig.pane("message").count("✓") == 1


async def test_while_a_question_is_open_the_entry_line_points_at_it():
    async with bench(desk()) as rig:
        assert "station, then its value" in rig.pane("entry")
        await rig.enter("+")
        assert "answer the question above" in rig.pane("entry")


@pytest.mark.parametrize(
    ("stage", "told"),
    [(Stage.FIRST_TENSION, "give this screen up for good"), (Stage.DONE, "close the session")],
)
async def test_what_closing_means_is_seen_before_enter(stage: Stage, told: str):
    async with bench(desk(stage=stage)) as rig:
        await rig.keys("0..")
        assert told in rig.pane("entry")


async def test_a_stage_without_tension_takes_no_reading():
    async with bench(desk()) as rig:
        await rig.enter("8 22.5")
        assert "No reading in this stage" in rig.pane("message")


async def test_escape_clears_the_line_and_backspace_mends_it():
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        await rig.keys("8 9.55")
        await rig.pilot.press("backspace")
        assert rig.screen.typed == "8 9.5"
        await rig.pilot.press("escape")
        assert rig.screen.typed == ""


async def test_a_reading_out_of_line_is_asked_back_and_kept_on_yes():
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        await rig.enter("8 9.5", "8 50")
        assert rig.state.held
        question = rig.pane("question")
        assert "50.0 at far" in question
        assert "expected about" in question
        assert "Keep it?" in question
        assert "*" in question
        assert "/" in question
        assert rig.bells == 1
        reading = rig.state.reading(Station.FAR)
        assert reading
        assert reading.value_n_cm == 9.5
        await rig.enter("*")
        reading = rig.state.reading(Station.FAR)
        assert reading
        assert reading.value_n_cm == 50
        assert "far 50.0 ↕ kept" in rig.pane("message")
        assert not rig.screen.query_one("#question").display


async def test_a_reading_asked_back_is_dropped_on_no():
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        await rig.enter("8 9.5", "8 50", "/")
        reading = rig.state.reading(Station.FAR)
        assert reading
        assert reading.value_n_cm == 9.5
        assert rig.state.held is None


async def test_the_way_on_asks_for_a_reason_by_number():
    async with bench(desk()) as rig:
        await rig.enter("+")
        question = rig.pane("question")
        for number, reason in enumerate(REASONS, 1):
            assert f"{number} {reason[:30]}" in question
        assert "3 still open" in question
        await rig.enter("* 2")
        assert rig.state.stage is Stage.ROLLERS
        assert REASONS[1] in rig.pane("message")


async def test_the_way_on_can_be_given_up():
    async with bench(desk()) as rig:
        await rig.enter("+", "/")
        assert rig.state.stage is Stage.PREPARE
        assert rig.state.way_on is None


async def test_undo_by_number_and_redo_say_what_they_did():
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        await rig.enter("8 9.5", "8+1", "- 2")
        assert rig.state.reading(Station.FAR) is None
        assert "undone: far 9.5 ↕" in rig.pane("message")
        assert " - far 9.5 ↕" in rig.pane("entries")
        assert "undone" in rig.pane("entries")
        await rig.enter("--")
        assert rig.state.reading(Station.FAR)
        assert "counts again: far 9.5 ↕" in rig.pane("message")


async def test_keys_that_arrive_all_at_once_keep_their_order():
    line = "note 8+3 at 1.5 of it"
    async with bench(desk()) as rig:
        for char in line:
            rig.app.post_message(events.Key(NAMES.get(char, char), char))
        await rig.pilot.pause()
        assert rig.screen.typed == line


async def test_letters_begin_a_phrase():
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        await rig.enter("far 3 clicks 9.5", "note thin place, 22.5 at 8")
        assert rig.state.clicks[Station.FAR] == 3
        assert "note: thin place, 22.5 at 8" in rig.pane("message")


async def test_pasted_text_is_typed_text():
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        rig.screen.post_message(events.Paste("note from the label\nrest"))
        await rig.pilot.pause()
        assert rig.screen.typed == "note from the label"


async def test_num_lock_off_is_said():
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        await rig.keys("8 2")
        for heard, key in enumerate(sorted(NUM_LOCK_KEYS), 1):
            await rig.pilot.press(key)
            assert "Num Lock is off: press it once" in rig.pane("message")
            assert rig.screen.typed == "8 2"
            assert rig.bells == heard


class FullDisk:
    """A recorder that keeps nothing."""

    def record(self, _):
        raise NotSaved("no space left on the disk")


async def test_what_is_not_saved_is_said_and_kept_on_the_line():
    at = desk(stage=Stage.FIRST_TENSION)
    async with bench(at) as rig:
        before, recorder = rig.state, at.bench._recorder
        at.bench._recorder = FullDisk()
        await rig.enter("8 9.5")
        assert rig.state == before
        assert rig.screen.typed == "8 9.5"
        assert "NOT SAVED: no space left on the disk" in rig.pane("message")
        assert "■ NOT SAVED" in rig.pane("links")
        assert rig.bells == 1
        at.bench._recorder = recorder
        await rig.enter("")
        assert rig.state.reading(Station.FAR)
        assert "NOT SAVED" not in rig.shown()


async def test_the_end_of_the_wait_is_told_once():
    at = desk(stage=Stage.SETTLE)
    async with bench(at) as rig:
        await rig.enter("0 10")
        assert "settle 10:00 left" in rig.pane("title")
        at._clock.s += 599
        rig.screen.beat()
        assert "settle 0:01 left" in rig.pane("title")
        assert rig.bells == 0
        at._clock.s += 1
        rig.screen.beat()
        rig.screen.beat()
        assert "wait over" in rig.pane("title")
        assert "The wait is over: settle" in rig.pane("message")
        assert rig.bells == 1


async def test_clock_and_ages_go_on_by_themselves():
    at = desk(stage=Stage.FIRST_TENSION)
    async with bench(at) as rig:
        await rig.enter("8 9.5")
        assert "0s" in rig.pane("map")
        at._clock.s += 65
        rig.screen.beat()
        assert "1m" in rig.pane("map")
        assert "0:01:05" in rig.pane("title")


@pytest.mark.parametrize(
    ("keys", "said"),
    [("/ 1", "read"), ("/ 2", "not read"), ("/ 3", "no timer is running"), ("/ 4", "far 9.5")],
)
async def test_the_bench_answers(keys: str, said: str):
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        await rig.enter("far 9.5", keys)
        assert said in rig.pane("message")


async def test_hearing_without_a_microphone_is_told():
    async with bench(desk()) as rig:
        await rig.enter("0*")
        assert "Voice is switched off" in rig.pane("message")


async def test_leaving_says_that_the_session_stays_open():
    async with bench(desk()) as rig:
        assert "resume" in rig.screen.farewell()
        await rig.enter("0..")
        assert rig.screen.farewell() is None
        assert rig.state.closed
