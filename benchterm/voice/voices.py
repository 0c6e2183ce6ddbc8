"""What was fitted to operators' voices: one small file each in the shop's data."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from zlib import crc32

import msgspec

from benchterm.config import Voice
from benchterm.errors import BenchError
from benchterm.locations import voices_folder
from benchterm.voice.accept import Tuning


class Fitted(msgspec.Struct, frozen=True, kw_only=True):
    """One operator's tuning, and what it was fitted with; with anything else it does not hold."""

    operator: str
    utc: str
    language: str
    engine: str
    model: str
    input: str
    """Microphone as in the settings."""
    device: str
    """Microphone as it was found."""
    phrases: int
    right: int
    speech_db: float
    noise_db: float
    shift: float
    scale: float

    def holds(self, voice: Voice, language: str) -> bool:
        """Whether hearing is set as it was."""
        then = (self.language, self.engine, self.model, self.input)
        return then == (language, voice.engine, voice.model, voice.input)


def file_of(operator: str) -> Path:
    """Where the tuning of an operator is kept."""
    name = " ".join(operator.split()).casefold()
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    slug = re.sub(r"[^a-z0-9]+", "-", plain)[:40].strip("-")
    return voices_folder() / f"{slug}-{crc32(name.encode()):08x}.json"


def tuning_for(operator: str, voice: Voice, language: str) -> Tuning:
    """The tuning of an operator; the shipped one where none holds, or none can be read."""
    fitted = _read(file_of(operator)) if operator.strip() else None
    if fitted is None or not fitted.holds(voice, language):
        return Tuning()
    return Tuning(fitted.shift, fitted.scale)


def load_all() -> Iterator[tuple[Path, Fitted | None]]:
    """Every file there is, with what is in it, if it can be read."""
    return ((path, _read(path)) for path in sorted(voices_folder().glob("*.json")))


def save(fitted: Fitted) -> Path:
    """Keep a tuning, in place of an earlier one.

    Raises:
        BenchError: it cannot be written.
    """
    path = file_of(fitted.operator)
    fresh = path.with_suffix(".new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        fresh.write_bytes(msgspec.json.format(msgspec.json.encode(fitted)) + b"\n")
        fresh.replace(path)
    except OSError as error:
        raise BenchError(
            f"NOT SAVED: {path} cannot be written: {error.strerror}.",
            works="Hearing goes on as before.",
            todo="Make room or mend the disk, then try again.",
        ) from error
    return path


def remove(operator: str) -> None:
    """Forget a tuning.

    Raises:
        BenchError: there is none.
    """
    try:
        file_of(operator).unlink()
    except FileNotFoundError as error:
        raise BenchError(f"Nothing was fitted to {operator}.") from error


def _read(path: Path) -> Fitted | None:
    try:
        return msgspec.json.decode(path.read_bytes(), type=Fitted)
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError):
        return None
