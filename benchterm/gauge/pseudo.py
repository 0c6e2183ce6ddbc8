"""A pseudo-terminal that can be plugged in and unplugged like a gauge's adapter."""

from __future__ import annotations

import contextlib
import errno
import os
import pty
import select
import tty
from pathlib import Path


class PtyGauge:
    """The gauge's end of the wire; the program opens the other end at ``path``.

    Given ``link``, a link to the present pseudo-terminal is kept there, as the system does under
    ``/dev/serial/by-id``: the terminal's own name changes with each plugging in.
    """

    def __init__(self, link: Path | None = None) -> None:
        self._link = link
        self._master = self._slave = -1
        self.path = str(link or "")

    @property
    def plugged(self) -> bool:
        """Whether it is plugged in."""
        return self._master >= 0

    def plug(self) -> None:
        """Plug it in."""
        self._master, self._slave = pty.openpty()
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        name = os.ttyname(self._slave)
        if self._link is None:
            self.path = name
            return
        fresh = self._link.with_name(f"{self._link.name}.new")
        fresh.unlink(missing_ok=True)
        fresh.symlink_to(name)
        fresh.replace(self._link)

    def unplug(self) -> None:
        """Pull it out: whoever reads meets an error."""
        if not self.plugged:
            return
        if self._link is not None:
            self._link.unlink(missing_ok=True)
        os.close(self._slave)
        os.close(self._master)
        self._master = self._slave = -1

    def send(self, data: bytes) -> None:
        """Send bytes; lost where nobody reads."""
        with contextlib.suppress(BlockingIOError):
            os.write(self._master, data)

    def received(self, wait_s: float) -> bytes:
        """What the program has sent, waiting for it for so long."""
        if not select.select([self._master], [], [], wait_s)[0]:
            return b""
        try:
            return os.read(self._master, 4096)
        except OSError as error:
            if error.errno in (errno.EIO, errno.EAGAIN):
                return b""
            raise
