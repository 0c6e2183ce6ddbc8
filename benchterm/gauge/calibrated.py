"""What is known of a gauge's errors: kept in one file for each gauge, used for its readings.

One JSON object a line, oldest first, never rewritten: calibrations, and looks at the zero on plate
glass in between. A line that cannot be read is passed over and told.
"""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from zlib import crc32

import msgspec

from benchterm.core import facts
from benchterm.core.events import GaugeChosen
from benchterm.errors import BenchError
from benchterm.locations import calibrations_folder


class Plate(msgspec.Struct, tag="plate", frozen=True, kw_only=True):
    """A look at the zero: the gauge laid on plate glass."""

    utc: str
    operator: str
    gauge: str
    reading_n_cm: float


class Calibration(msgspec.Struct, tag="calibration", frozen=True, kw_only=True):
    """A calibration: the points as they were read, and the line through them."""

    utc: str
    operator: str
    gauge: str
    """Its address."""
    references_n_cm: tuple[float, ...]
    readings_n_cm: tuple[float, ...]
    step_n_cm: float
    """Smallest step of its display."""
    plate_n_cm: float | None = None
    """Reading on plate glass on that day."""
    reference_u_n_cm: float = 0.0
    """Standard uncertainty of the references, by their certificate."""
    slope: float
    intercept: float
    s: float
    """Residual standard deviation about the line."""
    verdict: str

    @property
    def kept(self) -> facts.Calibration:
        """As a journal keeps it."""
        return facts.Calibration(
            utc=self.utc,
            operator=self.operator,
            references_n_cm=self.references_n_cm,
            readings_n_cm=self.readings_n_cm,
            step_n_cm=self.step_n_cm,
            reference_u_n_cm=self.reference_u_n_cm,
            slope=self.slope,
            intercept=self.intercept,
        )

    @property
    def drift_limit_n_cm(self) -> float:
        """The zero has moved if it differs by more: two steps, or two standard deviations."""
        return 2 * max(self.step_n_cm, self.s)


@dataclass(frozen=True, slots=True)
class History:
    """What is known of one gauge; the latest of each kind."""

    calibration: Calibration | None = None
    plate: Plate | None = None
    unreadable: tuple[int, ...] = ()
    """Numbers of the lines that cannot be read."""

    @property
    def in_force(self) -> facts.Calibration | None:
        """What readings are corrected by."""
        return None if self.calibration is None else self.calibration.kept

    def corrected(self, n_cm: float) -> float:
        """A reading after correction; as it is without a calibration."""
        known = self.in_force
        return n_cm if known is None else known.corrected(n_cm)


def history_file(gauge: str) -> Path:
    """Where the calibrations of a gauge are kept."""
    plain = unicodedata.normalize("NFKD", gauge).encode("ascii", "ignore").decode().lower()
    slug = re.sub(r"[^a-z0-9]+", "-", plain)[-60:].strip("-")
    return calibrations_folder() / f"{slug}-{crc32(gauge.encode()):08x}.jsonl"


def load_history(gauge: str) -> History:
    """What is known of a gauge; nothing where there is no file. Never raises for what is in it."""
    calibration: Calibration | None = None
    plate: Plate | None = None
    unreadable: list[int] = []
    try:
        lines = history_file(gauge).read_bytes().splitlines()
    except OSError:
        return History()
    for number, line in enumerate(lines, 1):
        try:
            entry = _DECODER.decode(line)
        except (msgspec.MsgspecError, UnicodeDecodeError):
            unreadable.append(number)
            continue
        if isinstance(entry, Plate):
            plate = entry
        elif entry.slope > 0:
            calibration = entry
    return History(calibration, plate, tuple(unreadable))


def read_by_eye(gauge: str) -> GaugeChosen:
    """A gauge without a wire, by its name in the shop, under the calibration kept for it."""
    return GaugeChosen(gauge, wired=False, calibration=load_history(gauge).in_force)


def keep(entry: Calibration | Plate) -> Path:
    """Add an entry to its gauge's file; on disk when this returns.

    Raises:
        BenchError: it could not be written.
    """
    path = history_file(entry.gauge)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("ab") as file:
            file.write(msgspec.json.encode(entry) + b"\n")
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise BenchError(
            f"NOT SAVED: {path} cannot be written: {error.strerror}.",
            works="The gauge goes on with the calibration it had.",
            todo="Make room or mend the disk, then do it again.",
        ) from error
    return path


def reminders(history: History, now: datetime, valid_days: float) -> Iterator[str]:
    """What the person at the bench should know of the gauge's calibration, one line each."""
    calibration, plate = history.calibration, history.plate
    if history.unreadable:
        numbers = ", ".join(map(str, history.unreadable))
        yield f"Some of this gauge's calibration file cannot be read (line {numbers})."
    if calibration is None:
        yield "This gauge has not been calibrated here: its readings are taken as they come."
        return
    days = (now.astimezone(UTC) - _moment(calibration.utc)).days
    if days > valid_days:
        yield (
            f"The gauge's calibration is {days} days old (limit {valid_days:g}). "
            "Do it again: benchterm gauge calibrate."
        )
    if (
        plate is None
        or calibration.plate_n_cm is None
        or (_moment(plate.utc) < _moment(calibration.utc))
    ):
        return
    drift = plate.reading_n_cm - calibration.plate_n_cm
    if abs(drift) > calibration.drift_limit_n_cm:
        yield (
            f"The gauge's zero has moved by {drift:+.2f} N/cm since it was calibrated "
            f"(limit {calibration.drift_limit_n_cm:.2f}). "
            "Set it on plate glass as its manual says, then calibrate."
        )


_DECODER: msgspec.json.Decoder[Calibration | Plate] = msgspec.json.Decoder(Calibration | Plate)


def _moment(utc: str) -> datetime:
    try:
        moment = datetime.fromisoformat(utc)
    except ValueError:
        return datetime.fromtimestamp(0, UTC)
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
