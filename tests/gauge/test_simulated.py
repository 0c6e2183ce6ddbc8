"""The gauge made of software sends what a gauge of its profile would, and misbehaves on request."""

from __future__ import annotations

import random

import pytest

from benchterm.gauge.curve import Curve
from benchterm.gauge.profile import GaugeUnit, Line, Profile, Sending, Sends, Settle, load_profile
from benchterm.gauge.reading import GaugeReading, Reader
from benchterm.gauge.simulated import Behaviour, Mesh, Simulator, line_for
from benchterm.gauge.template import DecimalMark


@pytest.mark.parametrize("name", ["number", "number-unit", "request"])
def test_its_lines_are_read_back_as_what_was_under_it(name):
    profile = load_profile(name)
    line = line_for(profile, 22.5).strip()
    assert Reader(profile).read(line).n_cm == pytest.approx(22.5)


@pytest.mark.parametrize(
    "profile",
    [
        Profile(line=Line(decimal=DecimalMark.COMMA)),
        Profile(line=Line(pattern="T {value} {unit}", unit=GaugeUnit.LBF_PER_INCH)),
        Profile(line=Line(ends_with="\x03"), settle=Settle(resolution=0.5)),
        Profile(
            line=Line(unit=GaugeUnit.MM),
            settle=Settle(resolution=0.001),
            curve=Curve((1.0, 2.0, 4.0), (40.0, 20.0, 10.0)),
        ),
    ],
)
def test_any_profile_can_be_played(profile):
    end = profile.line.ends_with.encode() or b"\r\n"
    line = line_for(profile, 22.5)
    assert line.endswith(end)
    got = Reader(profile).read(line.removesuffix(end))
    assert got.n_cm == pytest.approx(22.5, abs=0.1)


def test_it_is_set_down_on_one_place_after_the_other():
    mesh = Mesh(Behaviour(tensions_n_cm=(20.0, 25.0), rest_s=4, lift_s=2))
    shown = [round(mesh.shown_n_cm(at), 1) for at in (0, 2.2, 5, 6.1, 9, 12.1, 15)]
    assert shown == [0, 10.0, 20, 0, 25, 0, 20]


def test_noise_and_drift():
    mesh = Mesh(Behaviour(tensions_n_cm=(20.0,), noise_n_cm=0.3), random.Random(1))
    values = [mesh.shown_n_cm(3.0) for _ in range(500)]
    mean = sum(values) / 500
    assert mean == pytest.approx(20, abs=0.05)
    assert (sum((v - mean) ** 2 for v in values) / 499) ** 0.5 == pytest.approx(0.3, rel=0.1)
    assert Mesh(Behaviour(drift_n_cm_min=0.5)).shown_n_cm(0.0) == 0
    assert Mesh(Behaviour(lift_s=500, drift_n_cm_min=0.5)).shown_n_cm(120.0) == 1.0


def test_the_button_is_pressed_once_at_each_place():
    mesh = Mesh(Behaviour(rest_s=4, lift_s=2))
    presses = [at / 10 for at in range(1, 181) if mesh.button_due((at - 1) / 10, at / 10)]
    assert len(presses) == 3
    assert all(mesh.shown_n_cm(at) > 20 for at in presses)


class Wire:
    """In place of a pseudo-terminal: keeps what is sent, and lets time pass when waited on."""

    def __init__(self, requests=()):
        self.sent = []
        self.requests = list(requests)
        self.now_s = 0.0
        self.plugged = False
        self.unplugged = 0

    def plug(self):
        self.plugged = True

    def unplug(self):
        self.plugged = False
        self.unplugged += 1

    def send(self, data):
        self.sent.append(data)

    def received(self, wait_s):
        self.now_s += wait_s
        return self.requests.pop(0) if self.requests else b""

    def sleep(self, seconds):
        self.now_s += seconds


def played(profile, seconds, wire=None, **behaviour):
    wire = wire or Wire()
    simulator = Simulator(
        profile, Behaviour(**behaviour), wire, 1, clock=lambda: wire.now_s, sleep=wire.sleep
    )
    simulator.run(stop=lambda: wire.now_s >= seconds)
    return wire


def readable(wire, profile):
    text = b"".join(wire.sent)
    reads = [Reader(profile).read(line) for line in text.split(b"\r\n") if line]
    return [r for r in reads if isinstance(r, GaugeReading)], reads


def test_a_stream():
    profile = load_profile("number")
    good, all_lines = readable(played(profile, 10), profile)
    assert len(good) == len(all_lines) == pytest.approx(100, abs=2)


def test_on_request():
    profile = load_profile("request")
    wire = played(profile, 3, Wire([b"", b"?", b"\r", b"x", b"?\r?\r"]))
    assert len(wire.sent) == 2


def test_on_its_button():
    profile = Profile(sends=Sending(how=Sends.BUTTON))
    assert len(played(profile, 16.5, rest_s=4, lift_s=1.5).sent) == 3


def test_it_misbehaves_as_often_as_it_is_told_to():
    profile = load_profile("number")
    garbage = played(profile, 60, garbage=0.3)
    good, all_lines = readable(garbage, profile)
    assert 0.5 < len(good) / len(all_lines) < 0.9
    partial = played(profile, 60, partial=0.5)
    assert sum(not part.endswith(b"\n") for part in partial.sent) > 50
    good, all_lines = readable(partial, profile)
    assert len(good) == len(all_lines)
    assert played(profile, 60, unplug=0.05).unplugged > 5
    assert len(played(profile, 60, pause=0.1).sent) < 400
