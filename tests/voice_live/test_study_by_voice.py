"""A gauge study spoken into the real program: from the microphone to the sheet on disk."""

from __future__ import annotations

from pathlib import Path

import pytest
from cli.test_terminal import terminal
from voice_live.card import Card, speak
from voice_live.conftest import HEARD_S, READY_S

from benchterm.gauge.sheet import load

NAMES = ("--piece", "1", "--piece", "2", "--operator", "Ada", "--operator", "Ben")


def test_a_value_said_is_read_back_and_the_keypad_goes_on(
    card: Card, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    for name, value in card.environment.items():
        monkeypatch.setenv(name, value)
    sheet = tmp_path / "study.csv"
    with terminal(tmp_path, "gauge", "study", "--sheet", str(sheet), *NAMES) as running:
        running.wait_for("listening on", READY_S)
        card.play(speak("twenty two point five", tmp_path / "said.wav"))
        running.wait_for("22.50 N/cm", HEARD_S)
        running.press(b"21,4\n")
        running.wait_for("21.40 N/cm", HEARD_S)
        running.press(b".\n")
        assert running.leave() == 0
    said, keyed = (entry for _, entry in load(sheet) if entry)
    assert (said.n_cm, said.heard) == (22.5, "twenty two point five")
    assert (keyed.n_cm, keyed.heard) == (21.4, "21,4")
