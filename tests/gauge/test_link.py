"""The link's thread: on a loop, on a pseudo-terminal, on ports that fail in every way."""

from __future__ import annotations

import errno
import os
import socket
import termios
import threading
import time

import pytest
import serial
from serial import rfc2217

from benchterm.gauge import link as link_module
from benchterm.gauge import ports
from benchterm.gauge.link import KEPT, Inbox, Link
from benchterm.gauge.listener import LinkState, Moved, Settled, Showing, Stands
from benchterm.gauge.ports import NoPort, list_ports, open_address
from benchterm.gauge.profile import Line, Profile, Sending, Sends, load_profile
from benchterm.gauge.pseudo import PtyGauge
from benchterm.gauge.reading import Reader

BUTTON = Profile(sends=Sending(how=Sends.BUTTON))
LONGEST_S = 20.0


class Watched:
    """A link whose news can be waited for."""

    def __init__(self, address, profile=BUTTON, **options):
        self._woken = threading.Condition()
        self.news = []
        self.inbox = Inbox(self._wake)
        self.link = Link(address, profile, self.inbox, **options)
        self.link.start()

    def _wake(self):
        with self._woken:
            self.news += self.inbox.fetch()
            self._woken.notify_all()

    def until(self, seen):
        with self._woken:
            assert self._woken.wait_for(lambda: seen(self.news), LONGEST_S), self.news[-5:]

    def until_state(self, state):
        self.until(lambda news: any(one == Stands(state) for one in news))

    def forget(self):
        with self._woken:
            self.news.clear()

    def numbers(self):
        return [one.reading.number for one in self.news if isinstance(one, Settled)]

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.link.stop()


@pytest.fixture
def quick(monkeypatch):
    monkeypatch.setattr(link_module, "FIRST_WAIT_S", 0.002)
    monkeypatch.setattr(link_module, "LONGEST_WAIT_S", 0.02)


@pytest.fixture
def gauge(tmp_path):
    gauge = PtyGauge(tmp_path / "gauge")
    gauge.plug()
    yield gauge
    gauge.unplug()


def test_a_loop():
    # loop:// gives back what is written: the request is the answer.
    line = Line(pattern="{value} {unit}")
    profile = Profile(line=line, sends=Sending(how=Sends.REQUEST, request="22.5 N/cm\r\n"))
    with Watched("loop://", profile) as watched:
        watched.until(lambda news: any(isinstance(one, Showing) for one in news))
    assert watched.link.state is LinkState.OFF


def test_a_serial_server_on_the_network():
    with socket.create_server(("127.0.0.1", 0)) as server:
        address = f"socket://127.0.0.1:{server.getsockname()[1]}"
        with Watched(address) as watched:
            client, _ = server.accept()
            watched.until_state(LinkState.OPEN)
            client.sendall(b"22.5\r\n")
            watched.until(lambda _: watched.numbers() == [22.5])
            client.close()
            watched.until_state(LinkState.ABSENT)


def test_a_serial_server_that_does_not_answer():
    with socket.create_server(("127.0.0.1", 0)) as server:
        address = f"socket://127.0.0.1:{server.getsockname()[1]}"
    with pytest.raises(NoPort) as refused:
        open_address(address, BUTTON)
    assert refused.value.state is LinkState.ABSENT


@pytest.mark.filterwarnings("ignore:set:DeprecationWarning")  # pyserial's: setDaemon, setName
def test_a_serial_server_by_rfc_2217():
    # RFC 2217 port control over Telnet, by pyserial's own server side.
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
        serving = threading.Thread(target=serve_rfc_2217, args=(server,))
        serving.start()
        with Watched(f"rfc2217://127.0.0.1:{port}") as watched:
            watched.until(lambda _: 22.5 in watched.numbers())
        serving.join(LONGEST_S)


def serve_rfc_2217(server):
    client, _ = server.accept()
    client.settimeout(0.05)

    class Connection:
        def write(self, data):
            client.sendall(data)

    with serial.serial_for_url("loop://") as port, client:
        manager = rfc2217.PortManager(port, Connection())
        while True:
            try:
                data = client.recv(1024)
                if not data:
                    return
                list(manager.filter(data))
            except TimeoutError:
                pass  # Negotiated: now send as a gauge would.
            except OSError:
                return
            try:
                client.sendall(b"".join(manager.escape(b"22.5\r\n")))
            except OSError:
                return


def test_values_come_in_order_and_each_once(gauge):
    with Watched(gauge.path) as watched:
        watched.until_state(LinkState.OPEN)
        for n in range(50):
            gauge.send(b"%d\r\n" % n)
        watched.until(lambda _: len(watched.numbers()) == 50)
    assert watched.numbers() == list(range(50))


@pytest.mark.usefixtures("quick")
def test_unplugged_and_back_under_another_name(gauge):
    with Watched(gauge.path) as watched:
        watched.until_state(LinkState.OPEN)
        gauge.send(b"22.5\r\n")
        watched.until(lambda _: watched.numbers() == [22.5])
        gauge.unplug()
        watched.until_state(LinkState.ABSENT)
        assert Moved(lifted=True) in watched.news
        watched.forget()
        gauge.plug()
        watched.until_state(LinkState.OPEN)
        gauge.send(b"23.5\r\n")
        watched.until(lambda _: watched.numbers() == [23.5])


@pytest.mark.usefixtures("quick")
def test_a_gauge_that_is_not_there_yet(tmp_path):
    gauge = PtyGauge(tmp_path / "gauge")
    with Watched(gauge.path) as watched:
        watched.until_state(LinkState.ABSENT)
        gauge.plug()
        watched.until_state(LinkState.OPEN)
    gauge.unplug()


@pytest.mark.usefixtures("quick")
def test_a_port_that_another_program_has(gauge):
    first = open_address(gauge.path, BUTTON)
    with Watched(gauge.path) as watched:
        watched.until_state(LinkState.BUSY)
        first.close()
        watched.until_state(LinkState.OPEN)


def test_stopping_while_it_reads_ends_the_thread(gauge):
    watched = Watched(gauge.path)
    watched.until_state(LinkState.OPEN)
    watched.link.stop()
    assert not any(thread.name == "gauge" for thread in threading.enumerate())


class Failing:
    """A port that opens and then fails as pyserial's do."""

    def __init__(self, error):
        self._error = error
        self.closed = False

    @property
    def in_waiting(self):
        raise self._error

    def read(self, _=1):
        return b"2"

    def close(self):
        self.closed = True
        raise self._error


@pytest.mark.parametrize(
    "error",
    [
        # Unplugged between reads; closed during a read; the driver's own: all seen with pyserial.
        OSError(errno.EIO, "gone"),
        TypeError("file descriptor is None"),
        serial.SerialException("readiness to read but returned no data"),
        termios.error(errno.EIO, "gone"),
    ],
)
@pytest.mark.usefixtures("quick")
def test_however_a_port_fails_the_thread_goes_on(error):
    ports_opened = []

    def open_failing(_, __):
        ports_opened.append(Failing(error))
        return ports_opened[-1]

    with Watched("anything", open_port=open_failing) as watched:
        watched.until(lambda news: news.count(Stands(LinkState.ABSENT)) >= 3)
    assert all(port.closed for port in ports_opened)


def test_a_port_that_fails_at_once_is_not_hammered_on():
    waits = []

    def never(_, __):
        raise NoPort(LinkState.ABSENT)

    watched = Link("anything", BUTTON, Inbox(), open_port=never)

    def wait(seconds):
        waits.append(seconds)
        if len(waits) == 8:
            watched._stop.set()

    watched._stop.wait = wait
    watched.start()
    watched._thread.join(LONGEST_S)
    assert waits == [0.2, 0.4, 0.8, 1.6, 2.0, 2.0, 2.0, 2.0]


@pytest.mark.parametrize(
    ("error", "state"),
    [
        (FileNotFoundError(errno.ENOENT, "gone"), LinkState.ABSENT),
        (PermissionError(errno.EACCES, "no"), LinkState.DENIED),
        (serial.SerialException(errno.EAGAIN, "locked"), LinkState.BUSY),
        (termios.error(errno.EIO, "gone"), LinkState.ABSENT),
        (ValueError("unknown protocol"), LinkState.FAILED),
    ],
)
def test_why_a_port_cannot_be_opened(error, state, monkeypatch):
    def fails(*_, **__):
        raise error

    monkeypatch.setattr(serial, "serial_for_url", fails)
    with pytest.raises(NoPort) as raised:
        open_address("/dev/nothing", BUTTON)
    assert raised.value.state is state


class Info:
    """What the system says of a port."""

    def __init__(self, device, vid=None, pid=None, number=None, description="n/a"):
        self.device, self.vid, self.pid = device, vid, pid
        self.serial_number, self.description = number, description


def test_ports_are_listed_by_what_lasts(monkeypatch):
    infos = [
        Info("/dev/ttyS0"),
        Info("/dev/ttyUSB1", 0x1A2B, 0x3C4D, None, "serial\x1b adapter"),
        Info("/dev/ttyUSB0", 0x1A2B, 0x3C4D, "A5", "serial adapter"),
    ]
    monkeypatch.setattr(ports, "_infos", lambda: infos)
    found = list_ports()
    assert [port.address for port in found] == ["usb:1a2b:3c4d:A5", "/dev/ttyS0", "usb:1a2b:3c4d"]
    assert [port.lasting for port in found] == [True, False, False]
    assert found[2].what == "serial adapter"
    assert ports._url("usb:1A2B:3c4d:a5") == "/dev/ttyUSB0"
    assert ports._url("usb:1a2b:3c4d") == "/dev/ttyUSB1"
    with pytest.raises(NoPort):
        ports._url("usb:ffff:3c4d")


def test_listing_never_fails(monkeypatch):
    def broken(*_):
        raise OSError("vanished")

    monkeypatch.setattr("serial.tools.list_ports.comports", broken)
    assert list_ports() == []


def test_what_waits_is_bounded_and_only_the_latest_shown_value_is_kept():
    reading = Reader(BUTTON).read
    inbox = Inbox()
    inbox.put(Showing(reading(b"%d" % n)) for n in range(1000))
    assert [one.reading.number for one in inbox.fetch()] == [999]
    inbox.put(Settled(reading(b"%d" % n)) for n in range(KEPT + 10))
    assert inbox.dropped == 10
    assert next(one.reading.number for one in inbox.fetch()) == 10
    assert inbox.fetch() == []


@pytest.mark.parametrize("name", ["number", "request"])
def test_a_flood_does_not_hold_up_the_latest_value(gauge, name):
    profile = load_profile(name)
    line = b"ST,22.5 N/cm\r\n" if name == "request" else b"22.5\r\n"
    with Watched(gauge.path, profile) as watched:
        watched.until_state(LinkState.OPEN)
        os.set_blocking(gauge._master, True)
        deadline = time.monotonic() + LONGEST_S
        while not watched.numbers() and time.monotonic() < deadline:
            os.write(gauge._master, line * 20)
    assert watched.numbers() == [22.5]
