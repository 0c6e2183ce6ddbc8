"""What cannot be put on the disk does not count, is said, and does no harm to what is there."""

from __future__ import annotations

import errno
import fcntl
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from records.made import event, short_session

import benchterm
from benchterm.core.bench import NotSaved
from benchterm.core.events import MarkMade, NoteMade, ReadingTaken
from benchterm.core.stations import Axis, Station
from benchterm.errors import JournalDamaged
from benchterm.records.codec import encode
from benchterm.records.journal import Journal, read_all

ENTRIES = short_session()
EVENTS = tuple(one for entry in ENTRIES for one in entry)
SIZE = sum(len(encode(one)) for one in EVENTS)
SEVENTH = (event(7, MarkMade(1)), event(8, NoteMade("two in one entry"), 7))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "session.jsonl"


@pytest.fixture
def journal(path: Path):
    with Journal.create(path) as journal:
        for entry in ENTRIES:
            journal.record(entry)
        yield journal


def fails(number: int):
    def call(*_):
        raise OSError(number, os.strerror(number))

    return call


def writes_half(calls: list[int]):
    write = os.write

    def call(descriptor: int, data: bytes) -> int:
        calls.append(len(data))
        return write(descriptor, data[: len(data) // 2])

    return call


def half_then_full(descriptor: int, data: bytes, write=os.write) -> int:
    write(descriptor, data[: len(data) // 2])
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def beside(path: Path) -> list[str]:
    return sorted(one.name for one in path.parent.iterdir() if one != path)


@pytest.mark.parametrize(
    ("number", "says"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EDQUOT, "your share of the disk is used up"),
        (errno.EROFS, "the disk can only be read"),
        (errno.EIO, "the disk reports an error"),
        (errno.ENODEV, "the disk is gone"),
        (errno.EINTR, os.strerror(errno.EINTR)),
    ],
)
@pytest.mark.parametrize("at", ["write", "fdatasync"])
def test_the_reason_is_plain_and_the_next_try_is_the_operators(
    journal, path, monkeypatch, at, number, says
):
    with monkeypatch.context() as patch:
        patch.setattr(os, at, fails(number))
        with pytest.raises(NotSaved, match=f"Not on disk: {says}. This entry does not count"):
            journal.record(SEVENTH)
    assert read_all(path) == (EVENTS, b"")
    journal.record(SEVENTH)
    assert read_all(path) == ((*EVENTS, *SEVENTH), b"")
    assert beside(path) == []


def test_a_failed_write_is_not_tried_again_by_itself(journal, monkeypatch):
    calls: list[int] = []
    monkeypatch.setattr(os, "write", writes_half(calls))
    with pytest.raises(NotSaved, match="only part of it went in"):
        journal.record(SEVENTH)
    assert len(calls) == 1


@pytest.mark.parametrize("write", [writes_half([]), half_then_full])
def test_half_a_line_is_cut_off_at_once(journal, path, monkeypatch, write):
    with monkeypatch.context() as patch:
        patch.setattr(os, "write", write)
        for _ in range(3):
            with pytest.raises(NotSaved):
                journal.record(SEVENTH)
            assert read_all(path) == (EVENTS, b"")
    journal.record(SEVENTH)
    assert read_all(path) == ((*EVENTS, *SEVENTH), b"")


def test_an_entry_that_cannot_be_cut_off_is_moved_aside_before_the_next(journal, path, monkeypatch):
    with monkeypatch.context() as patch:
        patch.setattr(os, "fdatasync", fails(errno.EIO))
        patch.setattr(os, "ftruncate", fails(errno.EIO))
        with pytest.raises(NotSaved):
            journal.record(SEVENTH)
        left_over = path.read_bytes()
        with pytest.raises(NotSaved):
            journal.record(SEVENTH)
        assert path.read_bytes() == left_over
    assert read_all(path).events == (*EVENTS, *SEVENTH)
    other = (event(7, ReadingTaken(Station.FAR, Axis.ALONG, 23)),)
    journal.record(other)
    assert read_all(path) == ((*EVENTS, *other), b"")
    aside = [(path.parent / name).read_bytes() for name in beside(path)]
    assert aside
    assert all(SIZE + len(one) == len(left_over) for one in aside)


def test_half_a_line_that_cannot_be_cut_off_is_moved_aside_before_the_next(
    journal, path, monkeypatch
):
    with monkeypatch.context() as patch:
        patch.setattr(os, "write", half_then_full)
        patch.setattr(os, "ftruncate", fails(errno.EIO))
        with pytest.raises(NotSaved):
            journal.record(SEVENTH)
    assert read_all(path).torn or len(read_all(path).events) > len(EVENTS)
    journal.record(SEVENTH)
    assert read_all(path) == ((*EVENTS, *SEVENTH), b"")
    assert beside(path) == ["session.jsonl.torn-1"]


def test_what_cannot_be_written_down_is_refused_and_the_journal_goes_on(journal, path):
    for bad in (ReadingTaken(Station.FAR, Axis.ALONG, float("nan")), NoteMade("\udc80")):
        with pytest.raises(NotSaved, match="cannot be written down"):
            journal.record([event(7, bad)])
    journal.record(SEVENTH)
    assert read_all(path) == ((*EVENTS, *SEVENTH), b"")


def test_a_deleted_file_is_noticed(journal, path):
    path.unlink()
    for _ in range(2):
        with pytest.raises(NotSaved, match="the file is gone"):
            journal.record(SEVENTH)
    assert not path.exists()


def test_a_file_put_back_is_taken_up_again(journal, path):
    copy = path.with_suffix(".copy")
    shutil.copy(path, copy)
    path.unlink()
    with pytest.raises(NotSaved):
        journal.record(SEVENTH)
    copy.rename(path)
    journal.record(SEVENTH)
    assert read_all(path) == ((*EVENTS, *SEVENTH), b"")


def test_another_file_in_its_place_is_not_written_to(journal, path):
    path.unlink()
    path.write_bytes(b"someone else's\n" * 500)
    before = path.read_bytes()
    with pytest.raises(NotSaved, match="the file is gone"):
        journal.record(SEVENTH)
    with pytest.raises(NotSaved, match="another program has changed the file"):
        journal.record(SEVENTH)
    assert path.read_bytes() == before


def test_what_another_program_added_is_noticed_and_moved_aside(journal, path):
    with path.open("ab") as file:
        file.write(b"hello")
    with pytest.raises(NotSaved, match="another program has changed the file"):
        journal.record(SEVENTH)
    journal.record(SEVENTH)
    assert read_all(path) == ((*EVENTS, *SEVENTH), b"")
    assert (path.parent / "session.jsonl.torn-1").read_bytes() == b"hello"


def test_lines_changed_under_our_hands_are_never_added_to(journal, path, monkeypatch):
    changed = path.read_bytes().replace(b"22.5", b"32.5")
    path.write_bytes(changed)
    with monkeypatch.context() as patch:
        patch.setattr(os, "write", fails(errno.EIO))
        with pytest.raises(NotSaved):
            journal.record(SEVENTH)
    with pytest.raises(NotSaved, match="another program has changed the file"):
        journal.record(SEVENTH)
    assert path.read_bytes() == changed
    with pytest.raises(JournalDamaged):
        read_all(path)


def test_a_file_that_another_program_took_meanwhile_is_left_to_it(journal, path, monkeypatch):
    with monkeypatch.context() as patch:
        patch.setattr(os, "write", fails(errno.EIO))
        with pytest.raises(NotSaved):
            journal.record(SEVENTH)
    with monkeypatch.context() as patch:
        patch.setattr(fcntl, "flock", fails(errno.EWOULDBLOCK))
        with pytest.raises(NotSaved, match="being written by another program"):
            journal.record(SEVENTH)
    journal.record(SEVENTH)
    assert read_all(path).events == (*EVENTS, *SEVENTH)


def check_full(lines: list[str]) -> None:
    kept = [int(line.split()[1]) for line in lines if line.startswith("kept")]
    refused = [line.split(maxsplit=2) for line in lines if line.startswith("refused")]
    full = refused[0][1]
    assert len(kept) > 15
    assert [int(number) for _, number, _ in refused] == list(range(int(full), int(full) + 4))
    assert all("Not on disk" in why and "does not count" in why for *_, why in refused)
    assert kept[-5:] == list(range(int(full) + 4, int(full) + 9))
    read_back = next(line for line in lines if line.startswith("read back"))
    assert [int(n) for n in read_back.split()[2:]] == [m for n in kept for m in (n, -n)]


def run(command: list[str]) -> subprocess.CompletedProcess[str]:
    root = Path(benchterm.__file__).parents[1]
    environment = {**os.environ, "PYTHONPATH": str(root)}
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=False)


CHILD = [sys.executable, str(Path(__file__).with_name("fill_up.py"))]


@pytest.mark.parametrize("limit", range(9000, 9500, 83))
def test_a_file_that_may_not_grow_loses_nothing_that_was_taken(path, limit):
    done = run([*CHILD, str(path), "limit", str(limit)])
    assert done.returncode == 0, done.stderr
    check_full(done.stdout.splitlines())


def test_a_full_disk_loses_nothing_that_was_taken(tmp_path):
    def on_small_disk(*command: str) -> subprocess.CompletedProcess[str]:
        mount = f'mount -t tmpfs -o size=64k none "{tmp_path}" && exec "$@"'
        return run(["unshare", "--map-root-user", "--mount", "sh", "-c", mount, "sh", *command])

    if shutil.which("unshare") is None or on_small_disk("true").returncode != 0:
        pytest.skip("this system lets nobody mount a small disk")
    done = on_small_disk(*CHILD, str(tmp_path / "s.jsonl"), "ballast", str(tmp_path / "ballast"))
    assert done.returncode == 0, done.stderr
    check_full(done.stdout.splitlines())
    assert "full" in done.stdout
