"""The main job with one hand on the keypad: from a bare frame to a closed session."""

from __future__ import annotations

from pathlib import Path

from screen.rig import SMALL, Rig, rig, shop

from benchterm.core.decide import undoable
from benchterm.core.events import SessionClosed, StageEntered
from benchterm.core.gates import open_checks, open_items
from benchterm.core.stages import Stage
from benchterm.core.stations import Station
from benchterm.records.journal import read_all
from benchterm.records.sessions import Standing, summarise
from benchterm.screen.bench_screen import BenchScreen
from benchterm.screen.letters import lettered
from benchterm.screen.start import StartScreen


async def tick_all(at: Rig) -> None:
    """Tick every line as it is shown, cautions first."""
    while waiting := open_checks(at.state):
        text = waiting[0].text
        if waiting[0].caution:
            large = lettered(text, 78, 15)
            assert large, f"{text!r} is not shown large"
            assert all(row.rstrip() in at.pane("warning") for row in large)
        else:
            assert text in " ".join(at.pane("checks").split()), f"{text!r} is not shown in full"
        await at.enter("*")


async def go_on(at: Rig) -> None:
    """Through the gate, which must be open."""
    await tick_all(at)
    assert open_items(at.state, at.view.now_s) == ()
    assert "+ goes on" in at.pane("checks")
    before = at.state.stage
    await at.enter("+")
    assert at.state.stage == before + 1
    assert f"{int(at.state.stage)}/15 {at.state.stage.label}" in at.pane("title")


async def read(at: Rig, station: int, value: float) -> None:
    """Call a reading, and answer yes if it is asked back."""
    await at.enter(f"{station} {value}")
    if at.state.held:
        await at.enter("*")
    assert at.state.reading(Station(station)).value_n_cm == value


async def test_from_a_bare_frame_to_a_closed_session(tmp_path: Path):
    folder = tmp_path / "sessions"
    at_shop = shop(folder)
    async with rig(lambda: StartScreen(at_shop), SMALL) as at:
        assert "begin a new screen" in at.pane("typed")
        await at.enter("+", "41", "+", "")
        assert isinstance(at.screen, BenchScreen)
        assert "screen 41" in at.pane("title")
        assert "● journal saved" in at.pane("links")

        for stage in (Stage.PREPARE, Stage.ROLLERS, Stage.CUT_MESH, Stage.LOCK_IN):
            assert at.state.stage is stage
            await go_on(at)
        await tick_all(at)
        await at.enter("8+2", "2+2", "4+2", "6+2")
        await go_on(at)

        assert at.state.stage is Stage.FIRST_TENSION
        await tick_all(at)
        await at.enter("8+1", "2+1", "4+1", "6+1")
        for station, value in ((8, 10.5), (2, 10.0), (4, 11.0), (6, 10.5)):
            await read(at, station, value)
        assert "10.5" in at.pane("bars")
        await go_on(at)

        assert at.state.stage is Stage.CORNER_RELIEF
        await read(at, 7, 12.5)
        await at.enter("7-", "9-4")
        assert at.state.relief_mm[7] == 6
        assert at.state.relief_mm[9] == 4
        await go_on(at)

        assert at.state.stage is Stage.FINAL_TENSION
        await tick_all(at)
        await at.enter("8+1", "2+1", "4+1", "6+1")
        for station, value in ((8, 22.0), (2, 21.5), (4, 22.0), (6, 22.5), (5, 21.8)):
            await read(at, station, value)
        await at.enter("5/21.2")
        if at.state.held:
            await at.enter("*")
        assert "= in tolerance" in at.pane("value")
        await go_on(at)

        assert at.state.stage is Stage.SETTLE
        await tick_all(at)
        await at.enter("0")
        at_shop.clock.s += 15 * 60
        at.screen.beat()
        assert "settle wait over" in at.pane("title")
        await go_on(at)

        assert at.state.stage is Stage.ADHESIVE
        await go_on(at)
        assert at.state.stage is Stage.CURE
        await at.enter("0")
        at_shop.clock.s += 24 * 3600
        await go_on(at)
        assert at.state.stage is Stage.CUT_OUT
        await go_on(at)
        assert at.state.stage is Stage.RELEASE
        await at.enter("8-2", "2-2", "4-2", "6-2")
        await go_on(at)
        assert at.state.stage is Stage.READ_AGAIN
        await read(at, 5, 19.5)
        await go_on(at)
        assert at.state.stage is Stage.DONE
        await at.enter(".", "+")
        assert at.state.closed
        assert at.state.finished
        assert "closed, finished" in at.pane("title")
        journal = at.screen.feed.desk.journal.path
        await at.enter("")
        assert isinstance(at.screen, StartScreen)
        assert "begin a new screen" in at.pane("typed")

    told = [event.what for event in read_all(journal).events]
    entered = [what.stage for what in told if isinstance(what, StageEntered)]
    assert entered == list(Stage)[1:]
    assert not any(what.reason for what in told if isinstance(what, StageEntered))
    assert told[-1] == SessionClosed(finished=True)
    assert summarise(journal).standing is Standing.FINISHED


async def test_a_session_left_in_the_middle_is_offered_and_taken_up(tmp_path: Path):
    at_shop = shop(tmp_path)
    async with rig(lambda: StartScreen(at_shop)) as at:
        await at.enter("+", "41", "+", "", "*", "*")
        assert len(undoable(at.state)) == 2
        at.app.action_leave()
    at_shop.clock.s += 7200
    async with rig(lambda: StartScreen(at_shop)) as at:
        assert "1  41" in at.pane("sessions")
        assert "1 prepare frame and stretcher" in at.pane("sessions")
        assert "2h ago" in at.pane("sessions")
        assert "resume 41" in at.pane("typed")
        await at.enter("1")
        assert isinstance(at.screen, BenchScreen)
        assert "checks 2 of 3" in at.pane("checks")
        assert "resumed after 2h" in at.pane("entries")
        await at.enter("*")
        assert open_checks(at.state) == ()
