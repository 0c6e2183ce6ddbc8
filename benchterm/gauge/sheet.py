"""The sheet of a gauge study: which piece, operator and trial comes next, and what was read."""

from __future__ import annotations

import csv
import io
import math
import os
import random
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from benchterm.errors import BenchError

COLUMNS = ("piece", "operator", "trial", "minutes", "n_cm", "heard")
Block = tuple[tuple[tuple[float, ...], ...], ...]
"""Numbers by piece, operator and trial."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One reading that is wanted."""

    piece: str
    operator: str
    trial: int

    def __str__(self) -> str:
        return f"trial {self.trial}, {self.operator}, piece {self.piece}"


@dataclass(frozen=True, slots=True)
class Entry:
    """What was read."""

    n_cm: float
    heard: str = ""
    """The gauge's line, or what was keyed or said, word for word."""
    minutes: float | None = None
    """Since the piece was stretched; ``None``: not known, or it does not relax."""


class Sheet:
    """A crossed study as far as it has been done, in an order in which no one can guess."""

    def __init__(
        self, pieces: Iterable[str], operators: Iterable[str], trials: int, seed: int = 0
    ) -> None:
        """Lay out a study; pieces come in another order in each round, by ``seed``.

        Raises:
            BenchError: fewer than two pieces, operators or trials, or a name twice.
        """
        self.pieces, self.operators, self.trials = tuple(pieces), tuple(operators), trials
        self.entries: dict[Cell, Entry] = {}
        names = (self.pieces, self.operators)
        if min(trials, *map(len, names)) < 2 or any(len(set(n)) < len(n) for n in names):
            raise BenchError(
                "A study wants two or more pieces, operators and trials, each name once.",
                todo="Five pieces over the shop's whole range, three operators and three trials "
                "are usual.",
            )
        chance = random.Random(seed)  # noqa: S311 - an order, no secret
        self.order = tuple(
            Cell(piece, operator, trial)
            for trial in range(1, trials + 1)
            for operator in self.operators
            for piece in chance.sample(self.pieces, len(self.pieces))
        )

    @property
    def next(self) -> Cell | None:
        """The reading wanted next; ``None``: all are there."""
        return next((cell for cell in self.order if cell not in self.entries), None)

    def put(self, cell: Cell, entry: Entry) -> None:
        """Enter a reading."""
        self.entries[cell] = entry

    def take_up(self, rows: Iterable[tuple[Cell, Entry | None]]) -> None:
        """Go on with rows from a file, in their order; what they lack comes behind them."""
        kept = dict(rows)
        self.order = tuple(dict.fromkeys((*kept, *self.order)))
        self.entries |= {cell: entry for cell, entry in kept.items() if entry is not None}

    def take_back(self) -> Cell | None:
        """Take the last reading out again; which one, if there was any."""
        if not self.entries:
            return None
        cell, _ = self.entries.popitem()
        return cell

    def readings(self) -> Block:
        """All the readings of a sheet that is complete, N/cm."""
        return self._block({cell: entry.n_cm for cell, entry in self.entries.items()})

    def minutes(self) -> Block | None:
        """The times of a sheet that is complete; ``None`` if any is not known."""
        times = {c: e.minutes for c, e in self.entries.items() if e.minutes is not None}
        return self._block(times) if len(times) == len(self.entries) else None

    def _block(self, values: dict[Cell, float]) -> Block:
        trials = range(1, self.trials + 1)
        return tuple(
            tuple(tuple(values[Cell(p, o, t)] for t in trials) for o in self.operators)
            for p in self.pieces
        )


def save(sheet: Sheet, path: Path) -> None:
    """Write a sheet as CSV, whole or not at all; what is still to be read with nothing in it.

    Raises:
        BenchError: it could not be written.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for cell in sheet.order:
        entry = sheet.entries.get(cell)
        read = () if entry is None else (_minutes(entry), entry.n_cm, entry.heard)
        writer.writerow((cell.piece, cell.operator, cell.trial, *read))
    fresh = path.with_name(f"{path.name}.new")
    try:
        with fresh.open("w", encoding="utf-8") as file:
            file.write(text.getvalue())
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(path)
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    except OSError as error:
        raise BenchError(
            f"NOT SAVED: {path} cannot be written: {error.strerror}.",
            works="The readings entered before are in the file.",
            todo="Make room or mend the disk, then go on with the same file.",
        ) from error


def load(path: Path) -> list[tuple[Cell, Entry | None]]:
    """The rows of a CSV file, in order; ``None``: still to be read.

    Raises:
        BenchError: it cannot be read; the message names the line.
    """
    try:
        rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise BenchError(f"{path} cannot be read: {error}.") from error
    return [_row(row, f"{path}, line {number}") for number, row in enumerate(rows, 2)]


def sheet_of(rows: Iterable[tuple[Cell, Entry | None]]) -> Sheet:
    """The study that rows from a file belong to, with nothing read yet.

    Raises:
        BenchError: they are too few for a study.
    """
    cells = [cell for cell, _ in rows]
    return Sheet(
        dict.fromkeys(cell.piece for cell in cells),
        dict.fromkeys(cell.operator for cell in cells),
        max((cell.trial for cell in cells), default=0),
    )


def _minutes(entry: Entry) -> str:
    return "" if entry.minutes is None else f"{entry.minutes:.3f}"


def _row(row: dict[str | None, str], where: str) -> tuple[Cell, Entry | None]:
    try:
        trial, n_cm = int(row["trial"]), float(row["n_cm"] or 0)
        minutes = float(row["minutes"]) if row.get("minutes") else None
        cell = Cell(row["piece"].strip(), row["operator"].strip(), trial)
    except (KeyError, ValueError, TypeError, AttributeError) as error:
        raise BenchError(
            f"{where}: it wants piece, operator, trial (a whole number) and n_cm (a number).",
            todo=f"The first line must be {','.join(COLUMNS)}; minutes and heard may be left out.",
        ) from error
    if trial < 1 or not math.isfinite(n_cm) or not (cell.piece and cell.operator):
        raise BenchError(f"{where}: trial, reading or a name cannot be so.")
    if not row["n_cm"]:
        return cell, None
    return cell, Entry(n_cm, row.get("heard") or "", minutes)
