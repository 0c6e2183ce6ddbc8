"""The bench in a pseudo-terminal: cold start, key to repainted screen, memory.

Run: ``python tests/benchmarks/bench_screen.py``. The time of a key is from the byte written to the
terminal to the last byte of the repaint, through the real process, its journal and its renderer. A
terminal emulator then needs time of its own to draw, which is not in it.
"""

from __future__ import annotations

import tempfile
from datetime import UTC, datetime
from pathlib import Path
from statistics import median

from measure import Row, percentile, print_table
from terminal import Terminal

from benchterm.core.events import Source
from benchterm.core.facts import Facts
from benchterm.core.intents import Go
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.desk import Desk
from benchterm.records.journal import read_all
from benchterm.records.sessions import journal_path, new_session_id

ENTRIES = ("8 20.5", "2 20", "4 21", "6 20.5", "8+1", "2+1", "8-1", "2-1")
ROUNDS = 20
STARTS = 5
ADVICE_S = 0.15
"""After Enter, advice is waited for so long."""
SIZES = ((80, 24), (200, 60))


def main() -> None:
    """Measure and print."""
    rows: list[Row] = []
    for columns, lines in SIZES:
        size = f"{columns}x{lines}"
        with tempfile.TemporaryDirectory() as folder:
            home = Path(folder)
            session = _begin(home / "sessions")
            painted, usable = zip(
                *(_start(home, session, columns, lines) for _ in range(STARTS)), strict=True
            )
            rows += [
                (
                    f"{size} start to first picture, median of {STARTS}",
                    f"{median(painted):.2f} s",
                    "",
                ),
                (f"{size} start to first key answered, median", f"{median(usable):.2f} s", "< 1 s"),
                *_keys(home, session, columns, lines),
            ]
    print_table("screen", rows)


def _begin(folder: Path) -> str:
    """A session in final tensioning to resume."""
    session = new_session_id(datetime.now(UTC), "bench")
    facts = Facts(screen_id="BM-1")
    desk = Desk.begin(facts, Practice(), session, "bench", journal_path(folder, session))
    desk.take(Go(Stage.FINAL_TENSION, "a benchmark"), Source.PIPE)
    desk.close()
    return session


def _start(home: Path, session: str, columns: int, rows: int) -> tuple[float, float]:
    with Terminal("--resume", session, columns=columns, rows=rows, home=home) as terminal:
        painted = terminal.wait_for("BM-1")
        took, _ = terminal.press("8")
        usable = terminal.wait_for("BM-1")
        assert took < usable
        return painted, usable


def _keys(home: Path, session: str, columns: int, rows: int) -> list[Row]:
    typed: list[float] = []
    entered: list[float] = []
    advised: list[float] = []
    with Terminal("--resume", session, columns=columns, rows=rows, home=home) as terminal:
        terminal.wait_for("BM-1")
        terminal.acknowledge()
        at_rest, used_s = terminal.memory_mb(), terminal.processor_s()
        for entry in ENTRIES * ROUNDS:
            typed += [terminal.press(key)[1] for key in entry]
            shown, all_shown = terminal.press("\r", ADVICE_S)
            entered.append(shown)
            advised.append(all_shown)
        memory = terminal.memory_mb()
        used_s = terminal.processor_s() - used_s
    kept = sum(
        e.source is Source.KEYPAD for e in read_all(journal_path(home / "sessions", session)).events
    )
    assert kept >= len(entered), f"only {kept} of {len(entered)} entries are in the journal"
    size = f"{columns}x{rows}"
    per_key_ms = 1000 * used_s / (len(typed) + len(entered))
    return [
        _percentiles(f"{size} digit to repainted screen, p50 / p99 of {len(typed)}", typed),
        _percentiles(f"{size} Enter to the entry shown, p50 / p99 of {len(entered)}", entered),
        (f"{size} Enter to the advice on it, median", f"{1000 * median(advised):.0f} ms", ""),
        (
            f"{size} memory at rest / after {len(entered)} entries",
            f"{at_rest:.0f} / {memory:.0f} MB",
            "< 120 MB",
        ),
        (f"{size} processor time a key, mean", f"{per_key_ms:.1f} ms", ""),
    ]


def _percentiles(what: str, values: list[float]) -> Row:
    p50, p99 = (1000 * percentile(values, share) for share in (0.5, 0.99))
    return what, f"{p50:.0f} / {p99:.0f} ms", "p99 < 50 ms"


if __name__ == "__main__":
    main()
