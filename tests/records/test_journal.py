from __future__ import annotations

import os
import subprocess
import sys
import zlib
from pathlib import Path

import pytest
from records.made import event, short_session

import benchterm
from benchterm.core.bench import Bench, NotSaved
from benchterm.core.events import JournalRepaired, MarkMade, ReadingTaken
from benchterm.core.stations import Axis, Station
from benchterm.errors import BenchError, JournalBusy, JournalDamaged
from benchterm.records.codec import encode
from benchterm.records.journal import Journal, read, read_all

ENTRIES = short_session()
EVENTS = tuple(one for entry in ENTRIES for one in entry)
LINES = [encode(one) for one in EVENTS]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "sessions" / "20260302-091502-417-door.jsonl"


@pytest.fixture
def written(path: Path) -> Path:
    with Journal.create(path) as journal:
        for entry in ENTRIES:
            journal.record(entry)
    return path


def test_what_is_recorded_is_read(written):
    assert read_all(written) == (EVENTS, b"")
    assert tuple(read(written)) == EVENTS


def test_each_entry_is_one_write_then_on_the_disk_before_it_is_taken(path, monkeypatch):
    calls = []
    write, sync = os.write, os.fdatasync
    monkeypatch.setattr(os, "write", lambda fd, b: (calls.append("write"), write(fd, b))[1])
    monkeypatch.setattr(os, "fdatasync", lambda fd: (calls.append("sync"), sync(fd))[1])
    with Journal.create(path) as journal:
        for entry in ENTRIES:
            journal.record(entry)
            calls.append("taken")
            assert path.read_bytes().endswith(encode(entry[-1]))
    assert calls == ["write", "sync", "taken"] * len(ENTRIES)


def test_a_new_file_and_its_name_are_put_on_the_disk(path, monkeypatch):
    synced = []
    monkeypatch.setattr(os, "fsync", lambda fd: synced.append(os.fstat(fd).st_ino))
    Journal.create(path).close()
    assert path.parent.stat().st_ino in synced


def test_a_session_goes_on_where_it_stopped(written):
    journal, events, repaired = Journal.resume(written)
    with journal:
        assert (events, repaired) == (EVENTS, None)
        journal.record([event(7, MarkMade(1))])
    assert read_all(written).events == (*EVENTS, event(7, MarkMade(1)))


def test_what_a_stopped_program_left_is_put_on_the_disk_before_it_is_shown(written, monkeypatch):
    synced = []
    monkeypatch.setattr(os, "fsync", lambda fd: synced.append(os.fstat(fd).st_ino))
    with Journal.resume(written).journal:
        assert synced == [written.stat().st_ino]


def test_an_entry_broken_off_between_write_and_disk_is_not_counted_twice(written, monkeypatch):
    def interrupted(_: int) -> None:
        raise KeyboardInterrupt

    journal = Journal.resume(written).journal
    with journal:
        with monkeypatch.context() as patch:
            patch.setattr(os, "fdatasync", interrupted)
            with pytest.raises(KeyboardInterrupt):
                journal.record([event(7, MarkMade(1))])
        with pytest.raises(NotSaved):
            journal.record([event(7, MarkMade(2))])
        journal.record([event(7, MarkMade(2))])
    assert read_all(written).events == (*EVENTS, event(7, MarkMade(2)))


def test_an_event_out_of_order_is_never_written(written):
    journal = Journal.resume(written).journal
    with journal:
        for seq in (6, 8):
            with pytest.raises(ValueError, match=f"event {seq} cannot follow event 6"):
                journal.record([event(seq, MarkMade(1))])
    assert read_all(written).events == EVENTS


def test_nothing_is_written_after_closing(written):
    journal = Journal.resume(written).journal
    journal.close()
    journal.close()
    with pytest.raises(ValueError, match="closed"):
        journal.record([event(7, MarkMade(1))])


def test_cut_at_every_byte_every_complete_line_is_kept_and_work_goes_on(path):
    path.parent.mkdir()
    whole = b"".join(LINES)
    for cut in range(len(whole) + 1):
        path.write_bytes(whole[:cut])
        complete = whole[:cut].count(b"\n")
        tail = whole[sum(map(len, LINES[:complete])) : cut]

        assert read_all(path) == (EVENTS[:complete], tail)
        assert path.read_bytes() == whole[:cut]

        journal, events, repaired = Journal.resume(path)
        assert events == EVENTS[:complete]
        on = []
        if tail:
            assert repaired == JournalRepaired(len(tail), f"{path.name}.torn-1")
            assert (path.parent / repaired.moved_to).read_bytes() == tail
            (path.parent / repaired.moved_to).unlink()
            on.append(event(complete + 1, repaired))
        else:
            assert repaired is None
        on.append(event(complete + len(on) + 1, MarkMade(9)))
        with journal:
            journal.record(on[:1])
            journal.record(on[1:])
        assert read_all(path) == ((*EVENTS[:complete], *on), b"")


def test_a_second_torn_tail_does_not_overwrite_the_first(written):
    for number in (1, 2, 3):
        with written.open("ab") as file:
            file.write(b"x" * number)
        resumed = Journal.resume(written)
        resumed.journal.close()
        assert resumed.repaired == JournalRepaired(number, f"{written.name}.torn-{number}")
    assert (written.parent / f"{written.name}.torn-1").read_bytes() == b"x"
    assert read_all(written).events == EVENTS


def test_zeros_that_a_power_cut_left_are_moved_aside(written):
    with written.open("ab") as file:
        file.write(b"\0" * 4096)
    resumed = Journal.resume(written)
    resumed.journal.close()
    assert resumed.events == EVENTS
    assert resumed.repaired.moved_bytes == 4096


def test_each_flipped_bit_is_noticed_and_never_read_as_something_else(path):
    path.parent.mkdir()
    whole = b"".join(LINES)
    for place in range(len(whole)):
        flipped = bytearray(whole)
        flipped[place] ^= 1 << place % 8
        path.write_bytes(flipped)
        seen = []
        if place == len(whole) - 1:
            # The last newline itself: it looks like a torn tail, and is reported as one.
            contents = read_all(path)
            assert contents.events == EVENTS[:-1]
            assert contents.torn
            continue
        with pytest.raises(JournalDamaged):
            seen.extend(read(path))
        with pytest.raises(JournalDamaged):
            Journal.resume(path)
        assert path.read_bytes() == flipped
        assert EVENTS[: len(seen)] == tuple(seen)
    assert [one.name for one in path.parent.iterdir()] == [path.name]


@pytest.mark.parametrize(
    ("lines", "number", "reason"),
    [
        ([*LINES[:2], b"scribble\n", *LINES[3:]], 3, "the checksum does not match"),
        ([*LINES[:2], b"\n", *LINES[2:]], 3, "the checksum does not match"),
        ([*LINES[:2], *LINES[3:]], 3, "event 3 is missing, event 4 stands in its place"),
        ([*LINES[:3], *LINES[2:]], 4, "event 3 comes again after event 3"),
        ([*LINES[1:]], 1, "event 1 is missing"),
        ([*LINES[:5], LINES[4]], 6, "event 5 comes again"),
        (
            [*LINES[:2], encode(event(3, ReadingTaken(Station.FAR, Axis.ALONG, 1), 1))],
            3,
            "event 3 is given to entry 1, which is over",
        ),
    ],
)
def test_a_bad_line_in_the_middle_is_named_and_nothing_changed(path, lines, number, reason):
    path.parent.mkdir()
    path.write_bytes(b"".join(lines) + b"torn")
    for attempt in (Journal.resume, read_all):
        with pytest.raises(JournalDamaged) as damaged:
            attempt(path)
        assert f"{path}, line {number}: " in damaged.value.what
        assert reason in damaged.value.what
        assert damaged.value.works
        assert f"before line {number}" in damaged.value.todo
    assert path.read_bytes() == b"".join(lines) + b"torn"
    assert len(list(path.parent.iterdir())) == 1


def test_a_damaged_journal_is_let_go_so_that_a_good_copy_can_be_opened(written):
    good = written.read_bytes()
    written.write_bytes(good.replace(b"22.5", b"32.5"))
    with pytest.raises(JournalDamaged):
        Journal.resume(written)
    written.write_bytes(good)
    with Journal.resume(written).journal:
        pass


def test_a_journal_of_a_later_version_is_not_called_damaged(path):
    path.parent.mkdir()
    head = LINES[0][:-19].replace(b'"v":1', b'"v":2')
    path.write_bytes(head + b',"crc":"%08x"}\n' % zlib.crc32(head))
    with pytest.raises(JournalDamaged) as refused:
        read_all(path)
    assert refused.value.todo == "Open it with the version of the program that wrote it."


def test_a_second_program_is_told_that_the_journal_is_busy(written):
    script = (
        "import sys; from pathlib import Path\n"
        "from benchterm.errors import JournalBusy\n"
        "from benchterm.records.journal import Journal, read_all\n"
        "path = Path(sys.argv[1])\n"
        "print(len(read_all(path).events))\n"
        "try: Journal.resume(path)\n"
        "except JournalBusy as busy: print('busy', busy.exit_code)\n"
        "else: print('open')\n"
    )

    def second_program() -> list[str]:
        root = Path(benchterm.__file__).parents[1]
        run = subprocess.run(
            [sys.executable, "-c", script, str(written)],
            env={**os.environ, "PYTHONPATH": str(root)},
            capture_output=True,
            text=True,
            check=True,
        )
        return run.stdout.split("\n")[:2]

    with Journal.resume(written).journal:
        assert second_program() == ["6", "busy 3"]
        with pytest.raises(JournalBusy):
            Journal.resume(written)
    assert second_program() == ["6", "open"]


def test_a_lock_dies_with_its_program(written):
    script = (
        "import sys; from pathlib import Path\n"
        "from benchterm.records.journal import Journal\n"
        "journal = Journal.resume(Path(sys.argv[1])).journal\n"
        "print('open', flush=True); sys.stdin.read()\n"
    )
    root = Path(benchterm.__file__).parents[1]
    with subprocess.Popen(
        [sys.executable, "-c", script, str(written)],
        env={**os.environ, "PYTHONPATH": str(root)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    ) as other:
        assert other.stdout.readline() == b"open\n"
        with pytest.raises(JournalBusy):
            Journal.resume(written)
        other.kill()
        other.wait()
        Journal.resume(written).journal.close()


def test_a_journal_is_never_begun_over_another(written):
    before = written.read_bytes()
    with pytest.raises(BenchError, match="there already"):
        Journal.create(written)
    assert written.read_bytes() == before


def test_a_file_that_is_not_there_or_no_file_is_a_plain_error(path, tmp_path):
    for attempt in (Journal.resume, read_all):
        with pytest.raises(BenchError, match="the file is gone"):
            attempt(path)
        with pytest.raises(BenchError, match="cannot be opened"):
            attempt(tmp_path)


def test_a_folder_that_cannot_be_made_is_a_plain_error(tmp_path):
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(BenchError, match="cannot be opened"):
        Journal.create(tmp_path / "file" / "one.jsonl")


def test_a_torn_tail_that_cannot_be_kept_is_not_cut_off(written, monkeypatch):
    with written.open("ab") as file:
        file.write(b"torn")
    before = written.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(BenchError, match="the disk is full"):
            Journal.resume(written)
    assert written.read_bytes() == before
    assert len(list(written.parent.iterdir())) == 1
    Journal.resume(written).journal.close()


def test_the_journal_is_a_recorder_for_the_bench(path):
    with Journal.create(path) as journal:
        assert Bench(journal).state.last_seq == 0
