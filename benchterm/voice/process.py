"""A process of our own beside the bench: started, read, started again when it dies.

Sound and recognition run in one so that nothing they do can take the bench with them. It is a fresh
interpreter, never a fork, and it ends when its standard input does.
"""

from __future__ import annotations

import contextlib
import os
import select
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from typing import Any

from benchterm.voice.wire import Lines, encode

FIRST_WAIT_S = 0.5
LONGEST_WAIT_S = 30.0
LIVED_S = 60.0
"""Who has lived as long as this is started again at once."""
JOIN_S = 3.0
_LOOK_S = 0.5


class Process:
    """One module of ours, run as a program for as long as this is wanted."""

    def __init__(
        self,
        module: str,
        kind: Any,
        *,
        began: Callable[[], None],
        told: Callable[[Any], None],
        died: Callable[[int], None],
        silent_s: float | None = None,
    ) -> None:
        """Nothing starts yet. All three are called from another thread.

        Args:
            module: as for ``python -m``.
            kind: what its lines are read as.
            began: it was started, and can be sent to.
            told: for each line from it.
            died: it ended without being asked to, with this exit code; it will be started again.
            silent_s: it is taken to hang when nothing came for so long; ``None``: it may be silent.
        """
        self._arguments = [sys.executable, "-m", module]
        self._kind = kind
        self._began = began
        self._told = told
        self._died = died
        self._silent_s = silent_s
        self._stop = threading.Event()
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._thread = threading.Thread(target=self._run, name=module, daemon=True)

    @property
    def pid(self) -> int | None:
        """Number of the process, if it runs."""
        process = self._process
        return None if process is None else process.pid

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def send(self, line: Any) -> bool:
        """Send a line, never waiting; whether it went. A process that takes no more is ended."""
        data = encode(line)
        with self._lock:
            process = self._process
            if process is None or process.stdin is None:
                return False
            try:
                whole = os.write(process.stdin.fileno(), data) == len(data)
            except BlockingIOError:
                whole = False
            except OSError:
                return False
            if not whole:
                process.kill()
            return whole

    def stop(self) -> None:
        """End it, and wait a little."""
        self._stop.set()
        with self._lock:
            self._close_input()
        if self._thread.is_alive():
            self._thread.join(JOIN_S)
        process = self._process
        if process is not None:
            process.kill()

    def _run(self) -> None:
        wait_s = FIRST_WAIT_S
        while not self._stop.is_set():
            began_s = time.monotonic()
            code = self._live()
            if self._stop.is_set():
                return
            self._died(code)
            lived = time.monotonic() - began_s >= LIVED_S
            wait_s = FIRST_WAIT_S if lived else min(2 * wait_s, LONGEST_WAIT_S)
            self._stop.wait(wait_s)

    def _live(self) -> int:
        """From start to end; its exit code, -1 if it could not be started."""
        try:
            process = subprocess.Popen(  # noqa: S603 - this very program
                self._arguments, stdin=subprocess.PIPE, stdout=subprocess.PIPE, bufsize=0
            )
        except OSError:
            return -1
        assert process.stdin is not None
        assert process.stdout is not None
        os.set_blocking(process.stdin.fileno(), False)
        with self._lock:
            self._process = process
            if self._stop.is_set():
                self._close_input()
        try:
            self._began()
            self._read(process, process.stdout.fileno())
            code = self._wait(process)
        finally:
            with self._lock:
                self._close_input()
                self._process = None
            process.stdout.close()
        return code

    def _read(self, process: subprocess.Popen[bytes], stream: int) -> None:
        lines = Lines(self._kind)
        heard_s = time.monotonic()
        while True:
            ready, _, _ = select.select([stream], [], [], _LOOK_S)
            now_s = time.monotonic()
            if not ready:
                if self._silent_s is not None and now_s - heard_s > self._silent_s:
                    process.kill()
                    return
                continue
            heard_s = now_s
            data = os.read(stream, 1 << 16)
            if not data:
                return
            for line in lines.feed(data):
                self._told(line)

    def _wait(self, process: subprocess.Popen[bytes]) -> int:
        try:
            return process.wait(JOIN_S / 2)
        except subprocess.TimeoutExpired:
            process.kill()
            return process.wait()

    def _close_input(self) -> None:
        if self._process is not None and self._process.stdin is not None:
            with contextlib.suppress(OSError):
                self._process.stdin.close()
