"""The link to a gauge: a thread that opens the port, reads it, and opens it again when it is lost.

The thread never dies of what a port does. News goes to an ``Inbox``, from which whoever shows or
takes values fetches it in its own time.
"""

from __future__ import annotations

import contextlib
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable

from benchterm.gauge.listener import LinkState, Listener, News, Showing
from benchterm.gauge.ports import NoPort, SerialPort, open_address
from benchterm.gauge.profile import Profile, Sends
from benchterm.gauge.reading import uncorrected

FIRST_WAIT_S = 0.1
LONGEST_WAIT_S = 2.0
"""A gauge that is plugged in again is noticed within this."""
JOIN_S = 3.0
LONGEST_READ = 4096
KEPT = 256
"""News that wait to be fetched; far more than a person can cause."""


class Inbox:
    """News that wait to be fetched, safe between threads, bounded.

    Of values that merely show only the latest is kept. If nobody fetches for so long that it is
    full, the oldest news is dropped and counted.
    """

    def __init__(
        self, wake: Callable[[], None] = lambda: None, *, every_line: bool = False
    ) -> None:
        """Call ``wake``, from the link's thread, when there is something to fetch.

        With ``every_line`` every value shown is kept, for whoever looks at the lines themselves.
        """
        self._news: deque[News] = deque()
        self._lock = threading.Lock()
        self.wake = wake
        self._every_line = every_line
        self.dropped = 0

    def put(self, news: Iterable[News]) -> None:
        """Add news."""
        added = False
        with self._lock:
            for one in news:
                added = True
                if self._displaces(one):
                    self._news.pop()
                self._news.append(one)
                if len(self._news) > KEPT:
                    self._news.popleft()
                    self.dropped += 1
        if added:
            self.wake()

    def fetch(self) -> list[News]:
        """All the news since the last time, in order."""
        with self._lock:
            news = list(self._news)
            self._news.clear()
        return news

    def _displaces(self, one: News) -> bool:
        if self._every_line or not self._news:
            return False
        return isinstance(one, Showing) and isinstance(self._news[-1], Showing)


class Link:
    """One gauge at one address."""

    def __init__(
        self,
        address: str,
        profile: Profile,
        inbox: Inbox,
        correct: Callable[[float], float] = uncorrected,
        open_port: Callable[[str, Profile], SerialPort] = open_address,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.address = address
        self.profile = profile
        self.inbox = inbox
        self._listener = Listener(profile, correct)
        self._open = open_port
        self._clock = clock
        self._stop = threading.Event()
        self._port: SerialPort | None = None
        self._heard = False
        self._thread = threading.Thread(target=self._run, name="gauge", daemon=True)

    @property
    def state(self) -> LinkState:
        """How the link stands."""
        return self._listener.state

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self) -> None:
        """End, and wait a little for the thread. The port is closed by the thread itself."""
        self._stop.set()
        cancel = getattr(self._port, "cancel_read", None)
        if cancel is not None:
            with contextlib.suppress(OSError, TypeError):
                cancel()
        if self._thread.is_alive():
            self._thread.join(JOIN_S)

    def _run(self) -> None:
        wait_s = FIRST_WAIT_S
        while not self._stop.is_set():
            self._heard = False
            state = self._session()
            self.inbox.put(self._listener.closed(state))
            # A port that opens and fails at once must not be hammered on.
            wait_s = FIRST_WAIT_S if self._heard else min(2 * wait_s, LONGEST_WAIT_S)
            self._stop.wait(wait_s)

    def _session(self) -> LinkState:
        """Open and read until the port is lost; how the link stands then."""
        try:
            port = self._port = self._open(self.address, self.profile)
        except NoPort as error:
            return error.state
        try:
            self.inbox.put(self._listener.opened(self._clock()))
            self._listen(port)
        except Exception:  # noqa: BLE001 - a lost port shows as OSError, TypeError, termios.error
            return LinkState.ABSENT
        finally:
            self._port = None
            with contextlib.suppress(Exception):
                port.close()
        return LinkState.OFF

    def _listen(self, port: SerialPort) -> None:
        sends = self.profile.sends
        ask_s = self._clock()
        while not self._stop.is_set():
            now_s = self._clock()
            if sends.how is Sends.REQUEST and now_s >= ask_s:
                ask_s = now_s + sends.every_s
                port.write(sends.request.encode("ascii"))
            data = port.read(1)
            if data:
                data += port.read(min(port.in_waiting, LONGEST_READ))
                self._heard = True
                self.inbox.put(self._listener.hear(data, self._clock()))
            else:
                self.inbox.put(self._listener.pass_time(self._clock()))
