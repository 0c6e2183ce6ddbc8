"""The real program in a real terminal: a pseudo-terminal stands in for the person's."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from benchterm.core.events import MarkMade, SessionResumed
from benchterm.records.journal import read_all

ROOT = Path(__file__).parents[2]
LEAVE = b"\x11"


class Terminal:
    """The program on a pseudo-terminal of 80 by 24."""

    def __init__(self, home: Path, *args: str, program: tuple[str, ...]) -> None:
        self._near, far = pty.openpty()
        fcntl.ioctl(far, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        self.process = subprocess.Popen(
            [sys.executable, *program, *args],
            cwd=ROOT,
            env={**os.environ, "BENCHTERM_HOME": str(home), "TERM": "xterm-256color"},
            stdin=far,
            stdout=far,
            stderr=far,
            start_new_session=True,
        )
        os.close(far)
        self.seen = b""

    def press(self, keys: bytes) -> None:
        os.write(self._near, keys)

    def wait_for(self, text: str, seconds: float = 20) -> None:
        """Read what is drawn until a text has been."""
        end = time.monotonic() + seconds
        while text.encode() not in self.seen:
            left = end - time.monotonic()
            assert left > 0, f"{text!r} never came: {self.seen[-2000:]!r}"
            assert self._read(left) or text.encode() in self.seen, f"ended before {text!r}"

    def leave(self) -> int:
        """Read to the end and give the exit code."""
        while self._read(20):
            pass
        return self.process.wait(20)

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        os.close(self._near)

    def _read(self, seconds: float) -> bool:
        ready, _, _ = select.select([self._near], [], [], seconds)
        try:
            got = os.read(self._near, 65536) if ready else b""
        except OSError:
            got = b""
        self.seen += got
        return bool(got)


@contextmanager
def terminal(
    home: Path, *args: str, program: tuple[str, ...] = ("-m", "benchterm")
) -> Iterator[Terminal]:
    opened = Terminal(home, *args, program=program)
    try:
        yield opened
    finally:
        opened.close()


def test_a_session_begun_killed_resumed_and_left(tmp_path: Path):
    with terminal(tmp_path, "--new", "--screen", "A-9", "--mesh", "77/cm") as bench:
        bench.wait_for("A-9")
        bench.press(b"mark\r")
        bench.wait_for("mark 1")
        bench.process.send_signal(signal.SIGKILL)
        bench.process.wait()
    (journal,) = (tmp_path / "sessions").glob("*.jsonl")
    with terminal(tmp_path, "--resume", "A-9") as bench:
        bench.wait_for("A-9")
        bench.press(LEAVE)
        assert bench.leave() == 0
        assert b"Start again to resume it" in bench.seen
    kinds = [type(event.what) for event in read_all(journal).events]
    assert kinds[-2:] == [MarkMade, SessionResumed]
    assert not (tmp_path / "benchterm.log").read_bytes()


def test_the_demo_says_that_it_is_invented(tmp_path: Path):
    with terminal(tmp_path, "demo") as bench:
        bench.wait_for("DEMO: invented shop, invented data")
        bench.press(LEAVE)
        assert bench.leave() == 0
    assert not (tmp_path / "sessions").exists()


def test_a_replay_begins_at_the_stage_named(tmp_path: Path):
    journal = ROOT / "demo_sessions" / "good.jsonl"
    with terminal(tmp_path, "replay", str(journal), "--stage", "settle") as bench:
        bench.wait_for("9/15")
        bench.press(LEAVE)
        assert bench.leave() == 0


BROKEN = """
import benchterm.cli, benchterm.screen.value

def broken(*_):
    raise ZeroDivisionError("a mistake of ours")

benchterm.screen.value.draw_value.__code__ = broken.__code__
benchterm.cli.main()
"""


def test_an_error_of_ours_is_told_plainly_and_kept_whole_in_the_log(tmp_path: Path):
    with terminal(tmp_path, "demo", program=("-c", BROKEN)) as bench:
        assert bench.leave() == 1
        assert b"an error it did not expect (ZeroDivisionError: a mistake of ours)" in bench.seen
        assert b"Traceback" not in bench.seen
    assert "Traceback" in (tmp_path / "benchterm.log").read_text()
