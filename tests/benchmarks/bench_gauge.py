"""The gauge: lines read a second, and from a line on the wire to the picture on the screen.

Run: ``python tests/benchmarks/bench_gauge.py``. The wire is a pseudo-terminal; the screen is the
real program in another one. The time is from the line written to the last byte of the repaint
that shows the reading as taken, with its entry in the journal on disk in between; what to do about
it is worked out beside the screen and follows, measured apart. A real wire adds
the time its bits take: 15 ms for 14 characters at 9600 baud.
"""

from __future__ import annotations

import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from measure import Row, cpu_and_wall, percentile, print_table
from terminal import PART_S, Terminal

from benchterm.core.events import ReadingTaken, Source
from benchterm.core.facts import Facts
from benchterm.core.intents import Go
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.desk import Desk
from benchterm.gauge.listener import Listener
from benchterm.gauge.profile import load_profile
from benchterm.gauge.pseudo import PtyGauge
from benchterm.gauge.reading import Reader
from benchterm.records.journal import read_all
from benchterm.records.sessions import journal_path, new_session_id

LINES = 100_000
READINGS = 200
ADVICE_S = 0.15
"""After a reading, advice is waited for so long: nobody moves a gauge faster."""
SIZES = ((80, 24), (200, 60))
SENT = {"number": b"22.5", "number-unit": b"+022.5 N/cm", "request": b"ST,+22.5 N/cm"}


def main() -> None:
    """Measure and print."""
    rows: list[Row] = []
    for name, line in SENT.items():
        rows += [_parsed(name, line), _heard(name, line)]
    for columns, lines in SIZES:
        rows += _to_screen(columns, lines)
    print_table("gauge", rows)


def _parsed(name: str, line: bytes) -> Row:
    reader = Reader(load_profile(name))

    def work() -> None:
        for _ in range(LINES):
            reader.read(line)

    cpu_s, _ = cpu_and_wall(work)
    return f"{name}: lines parsed a second", f"{LINES / cpu_s:,.0f}", ""


def _heard(name: str, line: bytes) -> Row:
    """Split, parsed, judged, followed until it stands still."""
    data = (line + b"\r\n") * 50

    def work() -> None:
        listener = Listener(load_profile(name))
        list(listener.opened(0.0))
        for number in range(LINES // 50):
            for _ in listener.hear(data, number * 0.05):
                pass

    cpu_s, _ = cpu_and_wall(work)
    return f"{name}: lines from bytes to news a second", f"{LINES / cpu_s:,.0f}", ""


def _to_screen(columns: int, rows: int) -> list[Row]:
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        gauge = PtyGauge(home / "gauge")
        gauge.plug()
        (home / "settings.toml").write_text(
            f'[gauge]\nport = "{gauge.path}"\nprofile = "number-unit"\n', encoding="utf-8"
        )
        session = _begin(home / "sessions")
        with Terminal("--resume", session, columns=columns, rows=rows, home=home) as terminal:
            terminal.wait_for("connected")
            terminal.acknowledge()
            took = [_one(terminal, gauge, number) for number in range(READINGS)]
        gauge.unplug()
        kept = [
            event.what.value_n_cm
            for event in read_all(journal_path(home / "sessions", session)).events
            if event.source is Source.GAUGE and isinstance(event.what, ReadingTaken)
        ]
    wanted = [_value(number) for number in range(READINGS)]
    assert kept == wanted, f"{len(kept)} readings are in the journal, {READINGS} were sent"
    shown, advised = zip(*took, strict=True)
    p50, p99 = (1000 * percentile(shown, share) for share in (0.5, 0.99))
    size = f"{columns}x{rows} wire to"
    return [
        (f"{size} reading shown, p50 / p99 of {READINGS}", f"{p50:.0f} / {p99:.0f} ms", "< 60 ms"),
        (f"{size} the advice on it, median", f"{1000 * percentile(advised, 0.5):.0f} ms", ""),
    ]


def _one(terminal: Terminal, gauge: PtyGauge, number: int) -> tuple[float, float]:
    """A station is keyed; then the time from the gauge's line to the reading, and to all of it."""
    terminal.press("8246"[number % 4])
    terminal.press("\r")
    terminal.seen = b""
    shown = f"{_value(number):.1f}".encode()
    began = time.perf_counter()
    gauge.send(b"%s N/cm\r\n" % shown)
    while shown not in terminal.seen:
        if not terminal._read(2.0):
            raise TimeoutError(f"{shown!r} was never shown")
    first = last = time.perf_counter()
    while terminal._read(ADVICE_S):
        now = time.perf_counter()
        if now - last < PART_S and first == last:
            first = now
        last = now
    return first - began, last - began


def _value(number: int) -> float:
    return 21 + number % 19 / 10


def _begin(folder: Path) -> str:
    """A session in final tensioning to resume."""
    session = new_session_id(datetime.now(UTC), "bench")
    facts = Facts(screen_id="BM-1")
    desk = Desk.begin(facts, Practice(), session, "bench", journal_path(folder, session))
    desk.take(Go(Stage.FINAL_TENSION, "a benchmark"), Source.PIPE)
    desk.close()
    return session


if __name__ == "__main__":
    main()
