"""Where a gauge is plugged in: stable addresses, what there is, and opening one.

An address is one of

- ``usb:VID:PID:SERIAL`` or ``usb:VID:PID``: the adapter itself, whatever name it gets today;
- a path, best one under ``/dev/serial/by-id``;
- a URL as pyserial knows it: ``socket://host:port``, ``rfc2217://host:port``, ``loop://``.
"""

from __future__ import annotations

import errno
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from benchterm.gauge.listener import LinkState
from benchterm.gauge.profile import Parity, Profile

BY_ID = Path("/dev/serial/by-id")
READ_TIMEOUT_S = 0.1
"""How long a reader waits for a byte before it looks whether it should stop or ask."""
WRITE_TIMEOUT_S = 1.0


class SerialPort(Protocol):
    """What the link needs of an open port."""

    @property
    def in_waiting(self) -> int:
        """Bytes that can be read at once."""
        ...

    def read(self, size: int = 1, /) -> bytes:
        """Bytes, or none within the timeout."""
        ...

    def write(self, data: bytes, /) -> int | None:
        """Send bytes."""
        ...

    def close(self) -> None:
        """Let it go."""
        ...


class NoPort(Exception):
    """A port cannot be opened now; ``state`` says in what way.

    Example scenarios: the gauge is not plugged in; another program has it; no right to use it.
    """

    def __init__(self, state: LinkState, detail: str = "") -> None:
        super().__init__(detail or state.value)
        self.state = state


@dataclass(frozen=True, slots=True)
class Found:
    """A port that there is."""

    device: str
    """Its name today."""
    address: str
    """What to put into the settings."""
    what: str
    """What it says of itself."""
    lasting: bool
    """Whether the address stays the same when the gauge is plugged in elsewhere."""


def list_ports() -> list[Found]:
    """The ports there are, those with a lasting address first. Never raises."""
    links = _links()
    found = [_found(info, links) for info in _infos()]
    return sorted(found, key=lambda port: (not port.lasting, port.device))


def open_address(address: str, profile: Profile) -> SerialPort:
    """Open a port with a profile's settings, for this program alone.

    Raises:
        NoPort: it cannot be opened now.
    """
    import serial  # noqa: PLC0415 - costs time, and only a bench with a gauge needs it

    port = profile.port
    url = _url(address)
    options = {
        "baudrate": port.baud,
        "bytesize": port.bits,
        "parity": _PARITIES[port.parity],
        "stopbits": port.stop_bits,
        "timeout": READ_TIMEOUT_S,
        "exclusive": True,
    }
    if not url.startswith("rfc2217:"):  # It refuses to be opened with one.
        options["write_timeout"] = WRITE_TIMEOUT_S
    try:
        opened: SerialPort = serial.serial_for_url(url, **options)
    except Exception as error:
        # pyserial lets through what drivers and sockets raise: OSError, ValueError, termios.error.
        raise NoPort(_state(error), str(error)) from error
    return opened


def _url(address: str) -> str:
    """What pyserial opens for an address.

    Raises:
        NoPort: no such adapter is plugged in.
    """
    if not address.lower().startswith("usb:"):
        return address
    wanted = address[4:].lower().split(":", 2)
    for info in _infos():
        if info.vid is None:
            continue
        has = [f"{info.vid:04x}", f"{info.pid:04x}", (info.serial_number or "").lower()]
        if has[: len(wanted)] == wanted:
            return str(info.device)
    raise NoPort(LinkState.ABSENT)


_PARITIES = {Parity.NONE: "N", Parity.EVEN: "E", Parity.ODD: "O"}
_STATES = {
    errno.ENOENT: LinkState.ABSENT,
    errno.ENODEV: LinkState.ABSENT,
    errno.ENXIO: LinkState.ABSENT,
    errno.EIO: LinkState.ABSENT,
    errno.EBUSY: LinkState.BUSY,
    errno.EAGAIN: LinkState.BUSY,
    errno.EACCES: LinkState.DENIED,
    errno.EPERM: LinkState.DENIED,
    errno.ECONNREFUSED: LinkState.ABSENT,
    errno.EHOSTUNREACH: LinkState.ABSENT,
    errno.ETIMEDOUT: LinkState.ABSENT,
}


def _state(error: BaseException | None) -> LinkState:
    """From the error's number, or from that of the one behind it, which pyserial hides."""
    while error is not None:
        number = getattr(error, "errno", None)
        if number is None and error.args and isinstance(error.args[0], int):
            number = error.args[0]  # termios.error has no errno of its own.
        if number in _STATES:
            return _STATES[number]
        error = error.__context__
    return LinkState.FAILED


def _infos() -> Iterable[Any]:
    """What the system knows of its ports; nothing where it cannot say."""
    try:
        from serial.tools.list_ports import comports  # noqa: PLC0415 - as above

        return list(comports())
    except Exception:  # noqa: BLE001 - it reads the system's own files, which can vanish meanwhile
        return []


def _found(info: Any, links: dict[str, str]) -> Found:
    device = str(info.device)
    if info.vid is not None and info.serial_number:
        address, lasting = f"usb:{info.vid:04x}:{info.pid:04x}:{info.serial_number}", True
    elif device in links:
        address, lasting = links[device], True
    elif info.vid is not None:
        address, lasting = f"usb:{info.vid:04x}:{info.pid:04x}", False
    else:
        address, lasting = device, False
    described = str(info.description or "")
    words = "" if described == "n/a" else "".join(c for c in described if c.isprintable())
    return Found(device, address, words, lasting)


def _links() -> dict[str, str]:
    """Devices by their lasting names."""
    return dict(_each_link())


def _each_link() -> Iterator[tuple[str, str]]:
    try:
        for link in sorted(BY_ID.iterdir()):
            yield str(link.resolve()), str(link)
    except OSError:
        return
