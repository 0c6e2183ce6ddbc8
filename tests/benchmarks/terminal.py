"""The real program in a real pseudo-terminal: what is typed, how long until the picture stands."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import struct
import subprocess
import sys
import termios
import time
from pathlib import Path
from types import TracebackType
from typing import Self

TOP = Path(__file__).parents[2]
PROGRAM = (sys.executable, "-m", "benchterm")
QUIET_S = 0.03
"""A repaint is over when nothing more was written for so long; not counted."""
PART_S = 0.008
"""What is written after a pause of so long is another part of it, as advice that was worked out."""


class Terminal:
    """One run of ``benchterm`` in a terminal of a given size."""

    def __init__(self, *arguments: str, columns: int, rows: int, home: Path) -> None:
        self.began_s = time.perf_counter()
        self._master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self._process = subprocess.Popen(
            [*PROGRAM, *arguments],
            stdin=slave,
            stdout=slave,
            stderr=slave,
            cwd=TOP,
            env=os.environ | {"BENCHTERM_HOME": str(home), "TERM": "xterm-256color"},
            start_new_session=True,
        )
        os.close(slave)
        self.seen = b""
        """All that was written to the terminal."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._process.terminate()
        self._process.wait()
        os.close(self._master)

    def wait_for(self, text: str, within_s: float = 20.0) -> float:
        """Seconds since the start at which a text had been written.

        Raises:
            TimeoutError: it never was.
        """
        until = time.perf_counter() + within_s
        while text.encode() not in self.seen:
            if not self._read(until - time.perf_counter()):
                raise TimeoutError(f"{text!r} never came; last: {self.seen[-300:]!r}")
        return time.perf_counter() - self.began_s

    def settle(self) -> None:
        """Wait until nothing is written any more."""
        while self._read(0.3):
            pass

    def acknowledge(self, cautions: int = 2) -> None:
        """Say yes to what is asked before rollers are turned in a session taken up again."""
        self.settle()
        for _ in range(cautions):
            self.press("*")
            self.press("\r")
        self.settle()

    def press(self, key: str, quiet_s: float = QUIET_S) -> tuple[float, float]:
        """Seconds from a key to the last byte of its repaint: of the first part of it, of all.

        Raises:
            TimeoutError: nothing was repainted within two seconds.
        """
        began = time.perf_counter()
        os.write(self._master, key.encode())
        if not self._read(2.0):
            raise TimeoutError(f"no repaint after {key!r}")
        first = last = time.perf_counter()
        while self._read(quiet_s):
            now = time.perf_counter()
            if now - last < PART_S and first == last:
                first = now
            last = now
        return first - began, last - began

    def memory_mb(self) -> float:
        """Resident memory of the program, MB (Linux)."""
        status = Path(f"/proc/{self._process.pid}/status").read_text(encoding="ascii")
        line = next(line for line in status.splitlines() if line.startswith("VmRSS"))
        return int(line.split()[1]) / 1000

    def processor_s(self) -> float:
        """Processor time the program has used so far, seconds (Linux)."""
        fields = Path(f"/proc/{self._process.pid}/stat").read_text(encoding="ascii").split()
        return (int(fields[13]) + int(fields[14])) / os.sysconf("SC_CLK_TCK")

    def _read(self, within_s: float) -> bool:
        """Take what is written within a time; False if nothing is."""
        ready, _, _ = select.select([self._master], [], [], max(0.0, within_s))
        if not ready:
            return False
        try:
            self.seen += os.read(self._master, 1 << 16)
        except OSError as error:
            raise TimeoutError(f"the program has ended; last: {self.seen[-300:]!r}") from error
        return True
