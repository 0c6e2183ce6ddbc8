"""What the commands cost before they do anything: ``--help``, and the imports behind the bench.

Run: ``python tests/benchmarks/bench_start.py``. Start of the bench itself: ``bench_screen.py``.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path
from statistics import median

from measure import Row, print_table

TOP = Path(__file__).parents[2]
RUNS = 9
HEAVY = ("numpy", "scipy", "vosk", "sounddevice", "serial", "textual", "msgspec", "platformdirs")
MODULES = ("benchterm.cli", "benchterm.desk", "benchterm.phrases.keypad", "benchterm.screen.app")
SHOWN = 8


def main() -> None:
    """Measure and print."""
    rows: list[Row] = [
        ("python -c pass", f"{_run('-c', 'pass'):.3f} s", ""),
        ("benchterm --help", f"{_run('-m', 'benchterm', '--help'):.3f} s", "< 0.3 s"),
    ]
    for module in MODULES:
        rows.append((f"import {module}", f"{_run('-c', f'import {module}'):.3f} s", ""))
        loaded = _loaded(module)
        rows.append(("  heavy packages in it", ", ".join(loaded) or "none", ""))
    rows += [(f"  {name}", f"{ms:.0f} ms", "") for ms, name in _dearest(MODULES[-1])]
    print_table(f"start, median of {RUNS}", rows)


def _run(*arguments: str) -> float:
    """Median wall seconds of a run of Python."""
    took = []
    for _ in range(RUNS):
        began = time.perf_counter()
        _python(*arguments)
        took.append(time.perf_counter() - began)
    return median(took)


def _loaded(module: str) -> list[str]:
    asked = f"import {module}, sys; print(*(name for name in {HEAVY!r} if name in sys.modules))"
    return _python("-c", asked).stdout.split()


def _dearest(module: str) -> list[tuple[float, str]]:
    """The imports with the most time of their own, ms."""
    lines = _python("-X", "importtime", "-c", f"import {module}").stderr.splitlines()
    parts = [line.removeprefix("import time:").split("|") for line in lines if "|" in line]
    own = [(int(part[0]) / 1000, part[2].strip()) for part in parts if part[0].strip().isdigit()]
    return sorted(own, reverse=True)[:SHOWN]


def _python(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *arguments], cwd=TOP, check=True, capture_output=True, text=True
    )


if __name__ == "__main__":
    main()
