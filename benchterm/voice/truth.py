"""What a recording is known to say, from a manifest: to compare with what was heard.

A manifest holds one JSON object a line: ``file`` (beside the manifest), ``meaning``, and if known
``expected`` (N/cm), ``voice``, ``snr_db``, ``speech_end`` (s). A meaning is null where nothing must
be heard, the words of a phrase, or an object: ``{"kind": "reading", "station": "far_left",
"value": 22.5}``, ``{"kind": "clicks", "station": "far", "clicks": -1}``, ``{"kind": "relieved",
"station": null}``, ``{"kind": "control", "do": "undo"}``.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from benchterm.core.stages import Stage
from benchterm.core.stations import Station
from benchterm.errors import BenchError
from benchterm.phrases.meanings import Slots
from benchterm.voice.understand import Understanding

_CONTROLS = {
    "back": Slots(do="go-back"),
    "cancel": Slots(do="no"),
    "clamped": Slots(do="go", stage=Stage.SLACK),
    "confirm": Slots(do="yes"),
    "next": Slots(do="go"),
    "repeat": Slots(do="ask", topic="again"),
    "rested": Slots(do="go", stage=Stage.ADHESIVE),
    "stop": Slots(do="stop-timer"),
    "timer": Slots(do="start-timer"),
}
"""What the controls of a manifest are here, where they are called otherwise."""


class ManifestError(BenchError):
    """A manifest cannot be used.

    Example scenarios: a line is no JSON object; a station is misspelt; a meaning is of no kind.
    """

    exit_code = 2


@dataclass(frozen=True, slots=True)
class Recording:
    """One recording and what is known about it."""

    path: Path
    known: bool = False
    """Whether it is known what must be heard."""
    meaning: Slots | None = None
    """What must be heard; ``None``: nothing."""
    expected: float | None = None
    """What the bench would have expected, N/cm."""
    voice: str = ""
    snr_db: float | None = None
    speech_end_s: float | None = None


def read_manifest(path: Path, understanding: Understanding) -> Iterator[Recording]:
    """The recordings of a manifest, in its order.

    Raises:
        ManifestError: a line of it cannot be used; says which and why.
    """
    try:
        lines = path.read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise ManifestError(f"{path} cannot be read: {error}.") from error
    for number, line in enumerate(lines, 1):
        if line.strip():
            try:
                yield _recording(json.loads(line), path.parent, understanding)
            except (ValueError, KeyError, TypeError, AttributeError, InvalidOperation) as error:
                raise ManifestError(
                    f"{path}, line {number}: {_what(error)}.",
                    todo='A line is as {"file": "a.wav", "meaning": "far 22.5", "expected": 23}.',
                ) from error


def _recording(entry: Mapping[str, Any], folder: Path, understanding: Understanding) -> Recording:
    expected, end, snr = (entry.get(key) for key in ("expected", "speech_end", "snr_db"))
    return Recording(
        path=folder / entry["file"],
        known="meaning" in entry,
        meaning=_slots(entry.get("meaning"), understanding),
        expected=None if expected is None else float(expected),
        voice=str(entry.get("voice") or ""),
        snr_db=None if snr is None else float(snr),
        speech_end_s=None if end is None else float(end),
    )


def _slots(meaning: str | Mapping[str, Any] | None, understanding: Understanding) -> Slots | None:
    if meaning is None:
        return None
    if isinstance(meaning, str):
        found = understanding.slots(tuple(meaning.split()))
        if len(found) != 1:
            raise ValueError(f"'{meaning}' is no phrase of one meaning")
        return found[0]
    kind = meaning["kind"]
    if kind == "control":
        do = meaning["do"]
        return _CONTROLS.get(do) or Slots(do=do)
    name = meaning["station"]
    station = None if name is None else Station[name.upper()]
    if kind == "reading":
        return Slots(do="read", station=station, value=Decimal(str(meaning["value"])))
    if kind == "clicks":
        clicks = int(meaning["clicks"])
        return Slots(do="turn", station=station, clicks=Decimal(abs(clicks)), back=clicks < 0)
    if kind == "relieved":
        return Slots(do="relieve", station=station)
    raise ValueError(f"a meaning of no known kind: {kind}")


def _what(error: Exception) -> str:
    return f"{error} is missing or unknown" if isinstance(error, KeyError) else str(error)
