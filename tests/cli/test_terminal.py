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

import pytest

from benchterm.core.events import MarkMade, SessionResumed
from benchterm.errors import TerminalLost
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

    def vanish(self) -> int:
        """Close the terminal without a word to the program; its exit code.

        No signal is sent, as the program is not the terminal's to control.
        """
        os.close(self._near)
        self._near = -1
        return self.process.wait(10)

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        if self._near >= 0:
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


def test_a_bench_whose_terminal_vanishes_ends_and_can_be_resumed(tmp_path: Path):
    with terminal(tmp_path, "--new", "--screen", "A-9", "--mesh", "77/cm") as bench:
        bench.wait_for("A-9")
        bench.press(b"mark\r")
        bench.wait_for("mark 1")
        assert bench.vanish() == TerminalLost.exit_code
    with terminal(tmp_path, "--resume", "A-9") as bench:
        bench.wait_for("mark 1")
    assert not (tmp_path / "benchterm.log").read_bytes()


@pytest.mark.parametrize(("args", "shown"), [((), "a new screen"), (("demo",), "DEMO")])
def test_no_picture_goes_on_without_its_terminal(args: tuple[str, ...], shown: str, tmp_path: Path):
    with terminal(tmp_path, *args) as bench:
        bench.wait_for(shown)
        assert bench.vanish() == TerminalLost.exit_code


def test_a_pipe_in_a_terminal_that_vanishes_ends(tmp_path: Path):
    with terminal(tmp_path, "pipe") as bench:
        bench.wait_for('"session"')
        # Linux lets it read the end of its input, or an error, as it happens.
        assert bench.vanish() in (0, TerminalLost.exit_code)
    assert not (tmp_path / "benchterm.log").exists()


def test_who_answers_into_a_terminal_that_is_gone_is_not_met_as_a_mistake_of_ours(tmp_path: Path):
    near, far = pty.openpty()
    os.close(near)
    done = subprocess.run(
        [sys.executable, "-m", "benchterm", "pipe"],
        cwd=ROOT,
        env={**os.environ, "BENCHTERM_HOME": str(tmp_path)},
        input=b"far 12.5\n",
        stdout=far,
        stderr=far,
        check=False,
        timeout=20,
    )
    os.close(far)
    assert done.returncode == TerminalLost.exit_code
    assert not (tmp_path / "benchterm.log").exists()


def test_a_bench_told_to_hang_up_clears_the_screen_and_says_how_to_go_on(tmp_path: Path):
    with terminal(tmp_path, "--new", "--screen", "A-9", "--mesh", "77/cm") as bench:
        bench.wait_for("A-9")
        bench.process.send_signal(signal.SIGHUP)
        assert bench.leave() == TerminalLost.exit_code == 128 + signal.SIGHUP
        assert bench.seen.rstrip().endswith(b"the session can be resumed.")
        assert b"\x1b[?1049l" in bench.seen  # xterm: back from the alternate screen


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
