"""Run by a test: enter numbered marks until the disk is full, make room, go on.

    fill_up.py JOURNAL limit BYTES      the system lets no file grow above so many bytes
    fill_up.py JOURNAL ballast FILE     the disk is small; FILE takes up room on it

Prints ``kept N`` or ``refused N WHY`` for each mark, then the marks read back.
"""
# ruff: noqa: T201 - the test reads what is printed

from __future__ import annotations

import resource
import signal
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from benchterm.core.bench import Bench, Moment, NotSaved
from benchterm.core.events import MarkMade, Source
from benchterm.records.journal import Journal, read_all


def main(journal_path: str, how: str, what: str) -> None:
    path = Path(journal_path)
    if how == "limit":
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (int(what), resource.RLIM_INFINITY))
    else:
        Path(what).write_bytes(b"x" * 16384)
    with Journal.create(path) as journal:
        bench = Bench(journal)
        numbers = count(1)
        while enter(bench, next(numbers)):
            pass
        for _ in range(3):
            enter(bench, next(numbers))
        if how == "limit":
            resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY,) * 2)
        else:
            Path(what).unlink()
        for _ in range(5):
            enter(bench, next(numbers))
    print("read back", *marks(path))
    print("beside it", *sorted(one.name for one in path.parent.iterdir()))


def enter(bench: Bench, number: int) -> bool:
    moment = Moment(float(number), datetime(2026, 3, 2, tzinfo=UTC))
    before = bench.state
    try:
        # Two events in one entry: neither may be kept without the other.
        bench.note([MarkMade(number), MarkMade(-number)], moment, Source.KEYPAD, "*" * number)
    except NotSaved as error:
        assert bench.state is before
        print("refused", number, error)
        return False
    print("kept", number)
    return True


def marks(path: Path) -> Iterator[int]:
    for event in read_all(path).events:
        assert isinstance(event.what, MarkMade)
        yield event.what.number


main(*sys.argv[1:])
