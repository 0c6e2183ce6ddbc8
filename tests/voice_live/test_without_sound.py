"""A machine without sound, or with half of it: the bench opens, says so, and works by keypad."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from cli.test_terminal import LEAVE, terminal
from voice_live.conftest import READY_S

ALSA = "/usr/share/alsa/alsa.conf"
NO_LIBRARY = 'raise OSError("PortAudio library not found")\n'


@pytest.fixture
def deaf(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No sound card that PortAudio could find."""
    if not Path(ALSA).exists():
        pytest.skip("no ALSA")
    monkeypatch.setenv("ALSA_CONFIG_PATH", ALSA)
    monkeypatch.setenv("PULSE_SERVER", f"unix:{tmp_path / 'none'}")
    if Path("/dev/snd").exists():
        pytest.skip("this machine has a sound card")


@pytest.fixture
def crashing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A recogniser that takes its process with it, as native code can."""
    folder = tmp_path / "modules"
    folder.mkdir()
    (folder / "sounddevice.py").write_text("import os\nos.abort()\n", encoding="ascii")
    monkeypatch.setenv("PYTHONPATH", f"{folder}{os.pathsep}{os.environ.get('PYTHONPATH', '')}")


@pytest.fixture
def without_portaudio(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Importing sounddevice fails as it does where the library is missing."""
    folder = tmp_path / "modules"
    folder.mkdir()
    (folder / "sounddevice.py").write_text(NO_LIBRARY, encoding="ascii")
    monkeypatch.setenv("PYTHONPATH", f"{folder}{os.pathsep}{os.environ.get('PYTHONPATH', '')}")


def works_by_keypad(home: Path, light: str) -> str:
    """Open a bench, wait for its light, key a mark; gives what was drawn."""
    with terminal(home, "--new", "--screen", "V-1", "--mesh", "77/cm") as running:
        running.wait_for("V-1")
        running.wait_for(light, READY_S)
        running.press(b"mark\r")
        running.wait_for("mark 1")
        running.press(LEAVE)
        assert running.leave() == 0
        return running.seen.decode()


@pytest.mark.usefixtures("deaf")
def test_no_microphone(tmp_path: Path):
    drawn = works_by_keypad(tmp_path / "home", "There is no microphone.")
    assert "The keypad does everything." in drawn


@pytest.mark.usefixtures("without_portaudio")
def test_no_portaudio(tmp_path: Path):
    drawn = works_by_keypad(tmp_path / "home", "○ microphone none: no PortAudio")
    assert "PortAudio is missing" in drawn


@pytest.mark.usefixtures("crashing")
def test_hearing_that_crashes_takes_nothing_with_it(tmp_path: Path):
    drawn = works_by_keypad(tmp_path / "home", "■ MICROPHONE stopped")
    assert "Hearing stopped" in drawn


def test_no_weights(bench: Callable[..., Any], tmp_path: Path):
    (tmp_path / "empty").mkdir()
    with bench(f'model = "{tmp_path / "empty"}"', "none: no ear") as at:
        at.shows("model.bin is missing")
        at.keys("8 9.5")
        at.shows("far 9.5")
