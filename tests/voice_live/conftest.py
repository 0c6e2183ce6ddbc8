"""The real program in a real terminal, with a sound card of software."""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from cli.test_terminal import LEAVE, Terminal, terminal
from voice_live.card import Card, missing, speak

from benchterm.core.events import Event, Heard
from benchterm.records.journal import read_all

READY_S = 60.0
HEARD_S = 25.0


class Spoken:
    """A bench that is spoken to."""

    def __init__(self, terminal: Terminal, card: Card, home: Path) -> None:
        self.terminal = terminal
        self.card = card
        self._home = home
        self._count = 0

    def say(self, words: str) -> None:
        """Say something to it, to the end."""
        self._count += 1
        self.card.play(speak(words, self._home / f"said{self._count}.wav"))

    def keys(self, text: str) -> None:
        """Type a line."""
        self.terminal.press(text.encode() + b"\r")

    def shows(self, text: str, within_s: float = HEARD_S) -> None:
        """Wait until something is drawn that was not there before the last ``forget``."""
        self.terminal.wait_for(text, within_s)

    def forget(self) -> None:
        """What was drawn so far does not count any more."""
        self.watch(0.2)
        self.terminal.seen = b""

    def watch(self, seconds: float) -> None:
        """Let time pass, reading what is drawn."""
        end_s = time.monotonic() + seconds
        while (left_s := end_s - time.monotonic()) > 0:
            self.terminal._read(min(0.2, left_s))

    def events(self) -> tuple[Event, ...]:
        """What is in the journal."""
        (journal,) = (self._home / "sessions").glob("*.jsonl")
        return read_all(journal).events

    def heard(self, count: int = 1, within_s: float = HEARD_S) -> list[Heard]:
        """What was heard, when there is so much of it; a failure if there never is."""
        end_s = time.monotonic() + within_s
        while True:
            found = [e.what for e in self.events() if isinstance(e.what, Heard)]
            if len(found) >= count:
                return found
            assert time.monotonic() < end_s, f"heard only {found}"
            self.watch(0.2)

    def children(self) -> dict[str, int]:
        """Processes of the bench, by the last part of their module's name (Linux)."""
        found = {}
        for folder in Path("/proc").glob("[0-9]*"):
            try:
                parent = int(folder.joinpath("stat").read_text().rpartition(")")[2].split()[1])
                command = folder.joinpath("cmdline").read_bytes().split(b"\0")
            except (OSError, ValueError):
                continue
            if parent == self.terminal.process.pid and b"-m" in command:
                module = command[command.index(b"-m") + 1].decode()
                found[module.rpartition(".")[2]] = int(folder.name)
        return found


@pytest.fixture
def card() -> Iterator[Card]:
    """A sound card of software, plugged in."""
    if lacks := missing():
        pytest.skip(f"not installed: {lacks}")
    with tempfile.TemporaryDirectory() as folder:  # A socket's path must be short.
        made = Card(Path(folder))
        made.plug_in()
        yield made
        made.unplug()


@pytest.fixture
def bench(card: Card, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., object]:
    """Opens a bench at first tensioning which listens, with these lines in ``[voice]``."""
    for name, value in card.environment.items():
        monkeypatch.setenv(name, value)

    @contextmanager
    def opened(
        voice: str = "", ready: str = "listening", *, leaves: bool = True
    ) -> Iterator[Spoken]:
        home = tmp_path / "home"
        home.mkdir(exist_ok=True)
        (home / "settings.toml").write_text(f"[voice]\n{voice}\n", encoding="utf-8")
        with terminal(home, "--new", "--screen", "V-1", "--mesh", "77/cm") as running:
            spoken = Spoken(running, card, home)
            spoken.shows("V-1")
            spoken.keys("go to first tensioning because it was done before")
            for _ in range(2):  # The cautions about turning rollers.
                spoken.keys("yes")
            spoken.shows(ready, READY_S)
            yield spoken
            if leaves:
                running.press(LEAVE)
                assert running.leave() == 0

    return opened


@pytest.fixture(autouse=True)
def _no_session_bus(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing of the machine's own sound is touched."""
    monkeypatch.delenv("DBUS_SESSION_BUS_ADDRESS", raising=False)
    monkeypatch.setenv("XDG_RUNTIME_DIR", os.devnull)
