from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from benchterm.core.bench import Bench, Moment
from benchterm.core.events import (
    Happening,
    NoteMade,
    SessionClosed,
    SessionOpened,
    SessionResumed,
    Source,
    StageEntered,
    Undone,
)
from benchterm.core.facts import Facts
from benchterm.core.stages import Stage
from benchterm.records.journal import Journal
from benchterm.records.sessions import (
    Standing,
    Summary,
    journal_path,
    list_sessions,
    new_session_id,
    summarise,
    unfinished,
)

MORNING = datetime(2026, 3, 2, 9, 15, 2, 417_000, UTC)


def work(folder: Path, minute: int, *happenings: Happening) -> Path:
    """A session begun so many minutes after the morning, one entry a minute."""
    begun = MORNING + timedelta(minutes=minute)
    session = new_session_id(begun, "door")
    opened = SessionOpened(session, "door", "0.1.0", Facts(f"screen {minute}", "M. Weaver"))
    with Journal.create(journal_path(folder, session)) as journal:
        bench = Bench(journal)
        for later, happening in enumerate((opened, *happenings)):
            moment = Moment(60.0 * later, begun + timedelta(minutes=later))
            bench.note([happening], moment, Source.KEYPAD)
        return journal.path


def damage(path: Path, line: int) -> None:
    lines = path.read_bytes().split(b"\n")
    lines[line - 1] = lines[line - 1].replace(b"2026", b"2027")
    path.write_bytes(b"\n".join(lines))


def screens(sessions: list[Summary]) -> list[str]:
    return [one.screen_id for one in sessions]


def test_a_session_is_named_by_when_and_where_it_was_begun():
    assert new_session_id(MORNING, "By the Door") == "20260302-091502-417-by-the-door"
    east = MORNING.astimezone(timezone(timedelta(hours=9)))
    assert new_session_id(east, "By the Door") == new_session_id(MORNING, "By the Door")
    assert new_session_id(MORNING, "Tür/№ 2") == "20260302-091502-417-tur-no-2"
    assert new_session_id(MORNING, "戸口") == "20260302-091502-417-bench"


@given(st.datetimes(min_value=datetime(2000, 1, 1), timezones=st.just(UTC)), st.text())  # noqa: DTZ001
def test_any_bench_name_gives_a_name_that_fits_a_file(utc, bench):
    assert re.fullmatch(r"\d{8}-\d{6}-\d{3}-[a-z0-9-]{1,32}", new_session_id(utc, bench))


@given(st.lists(st.datetimes(min_value=datetime(2000, 1, 1), timezones=st.just(UTC))))  # noqa: DTZ001
def test_names_sort_by_time(moments):
    in_time = [new_session_id(moment, "door") for moment in sorted(moments)]
    assert in_time == sorted(in_time)


def test_what_a_session_is_about(tmp_path):
    path = work(tmp_path, 0, StageEntered(Stage.ROLLERS), StageEntered(Stage.CUT_MESH))
    assert summarise(path) == Summary(
        path,
        Standing.UNFINISHED,
        session=path.stem,
        screen_id="screen 0",
        operator="M. Weaver",
        stage=Stage.CUT_MESH,
        started_utc="2026-03-02T09:15:02.417Z",
        last_utc="2026-03-02T09:17:02.417Z",
    )


def test_a_stage_that_was_undone_does_not_show(tmp_path):
    path = work(tmp_path, 0, StageEntered(Stage.ROLLERS), StageEntered(Stage.CUT_MESH), Undone(3))
    assert summarise(path).stage is Stage.ROLLERS


def test_sessions_are_listed_with_how_they_stand_the_latest_entry_first(tmp_path):
    work(tmp_path, 10, SessionClosed(finished=True))
    work(tmp_path, 20, SessionClosed(finished=False, reason="torn"))
    work(tmp_path, 0, *[NoteMade("slow")] * 40)
    work(tmp_path, 30)
    assert [(one.screen_id, one.standing) for one in list_sessions(tmp_path)] == [
        ("screen 0", Standing.UNFINISHED),
        ("screen 30", Standing.UNFINISHED),
        ("screen 20", Standing.GIVEN_UP),
        ("screen 10", Standing.FINISHED),
    ]
    assert screens(unfinished(tmp_path)) == ["screen 0", "screen 30"]


def test_no_folder_no_sessions(tmp_path):
    assert list_sessions(tmp_path / "none") == []
    assert unfinished(tmp_path / "none") == []


def test_other_files_are_no_sessions(tmp_path):
    path = work(tmp_path, 0)
    with path.open("ab") as file:
        file.write(b"torn")
    Journal.resume(path).journal.close()
    (tmp_path / "notes.txt").write_text("not ours")
    assert len(list(tmp_path.iterdir())) == 3
    assert screens(list_sessions(tmp_path)) == ["screen 0"]


def test_damaged_sessions_are_listed_as_such_and_hide_no_others(tmp_path):
    work(tmp_path, 0)
    first_line = work(tmp_path, 10, NoteMade("a"))
    damage(first_line, 1)
    last_line = work(tmp_path, 20, StageEntered(Stage.ROLLERS), SessionClosed(finished=True))
    damage(last_line, 3)
    (tmp_path / "folder.jsonl").mkdir()
    work(tmp_path, 30)

    found = {one.path.name: one for one in unfinished(tmp_path)}
    assert {one.path.name: one for one in list_sessions(tmp_path)} == found
    standing = [one.standing for one in found.values()]
    assert standing.count(Standing.UNFINISHED) == 2
    assert standing.count(Standing.DAMAGED) == 3
    assert "line 1" in found[first_line.name].problem
    assert "line 3" in found[last_line.name].problem
    assert found[last_line.name].screen_id == "screen 20"
    assert found[last_line.name].stage is Stage.ROLLERS
    assert found["folder.jsonl"].problem


def test_of_a_closed_session_no_more_than_the_last_line_is_read_to_see_that_it_is_closed(tmp_path):
    damage(work(tmp_path, 0, NoteMade("a"), SessionClosed(finished=True)), 2)
    assert unfinished(tmp_path) == []
    assert [one.standing for one in list_sessions(tmp_path)] == [Standing.DAMAGED]


def test_a_last_line_longer_than_the_look_at_the_end_is_read_all_the_same(tmp_path):
    work(tmp_path, 0, SessionClosed(finished=False, reason="long story " * 1000))
    assert unfinished(tmp_path) == []


def test_what_follows_the_closing_does_not_open_it_again(tmp_path):
    work(tmp_path, 0, SessionClosed(finished=True), SessionResumed("0.1.0", 60.0))
    assert unfinished(tmp_path) == []
    assert [one.standing for one in list_sessions(tmp_path)] == [Standing.FINISHED]


def test_a_closing_whose_line_was_cut_off_did_not_happen(tmp_path):
    path = work(tmp_path, 0, SessionClosed(finished=True))
    path.write_bytes(path.read_bytes()[:-1])
    assert screens(unfinished(tmp_path)) == ["screen 0"]


def test_a_file_in_which_nothing_was_written_is_nothing_to_take_up(tmp_path):
    Journal.create(journal_path(tmp_path, "20260302-091502-417-door")).close()
    assert unfinished(tmp_path) == []
    assert [one.standing for one in list_sessions(tmp_path)] == [Standing.EMPTY]
