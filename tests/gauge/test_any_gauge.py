"""One suite for any gauge: the simulated ones, and a real one where a port is named.

``BENCHTERM_TEST_GAUGE`` names its address, ``BENCHTERM_TEST_GAUGE_PROFILE`` its profile. The real
one has to lie on stretched mesh, and its button, if it has one, to be pressed now and then.
"""

from __future__ import annotations

import os
import threading
import time

import pytest

from benchterm.gauge.link import Inbox, Link
from benchterm.gauge.listener import LinkState, Settled, Showing, Unread
from benchterm.gauge.ports import NoPort, open_address
from benchterm.gauge.profile import load_profile
from benchterm.gauge.pseudo import PtyGauge
from benchterm.gauge.simulated import Behaviour, Simulator

REAL = os.environ.get("BENCHTERM_TEST_GAUGE", "")
REAL_PROFILE = os.environ.get("BENCHTERM_TEST_GAUGE_PROFILE", "number")
LONGEST_S = 60.0 if REAL else 20.0


@pytest.fixture(params=["number", "number-unit", "request", "real"])
def gauge(request, tmp_path):
    """Address and profile of a gauge at work."""
    if request.param == "real":
        if not REAL:
            pytest.skip("BENCHTERM_TEST_GAUGE names no port")
        yield REAL, load_profile(REAL_PROFILE)
        return
    profile = load_profile(request.param)
    behaviour = Behaviour(rest_s=1.6, lift_s=0.3, every_s=0.02, noise_n_cm=0.02)
    port = PtyGauge(tmp_path / "gauge")
    port.plug()
    stop = threading.Event()
    simulator = Simulator(profile, behaviour, port, seed=5)
    thread = threading.Thread(target=simulator.run, args=(stop.is_set,))
    thread.start()
    yield port.path, profile
    stop.set()
    thread.join(5)


class Heard:
    """A link that is listened to until something has been heard."""

    def __init__(self, address, profile):
        self.woken = threading.Event()
        self.inbox = Inbox(self.woken.set, every_line=True)
        self.link = Link(address, profile, self.inbox)
        self.news = []

    def until(self, enough):
        deadline = time.monotonic() + LONGEST_S
        self.link.start()
        try:
            while not enough(self.news):
                assert time.monotonic() < deadline, (self.link.state, self.news[-5:])
                self.woken.wait(0.1)
                self.woken.clear()
                self.news += self.inbox.fetch()
        finally:
            self.link.stop()
        return self.news


def test_its_lines_are_read_and_fit_to_be_shown(gauge):
    def enough(news):
        return sum(isinstance(one, Showing) for one in news) >= 3

    news = Heard(*gauge).until(enough)
    read = [one.reading for one in news if isinstance(one, Showing)]
    unread = [one.line for one in news if isinstance(one, Unread)]
    assert len(read) > 4 * len(unread)
    for line in (*read, *unread):
        assert line.raw.isascii()
        assert line.raw.isprintable()


def test_a_value_that_stands_still_is_offered(gauge):
    news = Heard(*gauge).until(lambda news: any(isinstance(one, Settled) for one in news))
    settled = next(one.reading for one in news if isinstance(one, Settled))
    assert 1 < settled.n_cm < 80


def test_it_is_open_for_one_program_only_and_free_afterwards(gauge):
    first = open_address(*gauge)
    if gauge[0].startswith("/"):
        with pytest.raises(NoPort) as refused:
            open_address(*gauge)
        assert refused.value.state is LinkState.BUSY
    first.close()
    open_address(*gauge).close()
