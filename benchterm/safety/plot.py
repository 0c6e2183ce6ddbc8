"""A curve in text: one character a column, for any terminal and any log."""

from __future__ import annotations

from collections.abc import Callable, Sequence

_BARS = " ▁▂▃▄▅▆▇█"
_ASCII_BARS = " .:-=+*#@"


def plot(
    value_at: Callable[[float], float],
    until: float,
    mark: float,
    *,
    width: int = 60,
    height: int = 10,
    ascii_only: bool = False,
) -> list[str]:
    """Bars of a value over 0 to ``until``, with a line where it is at ``mark``.

    Both axes are in the caller's units; values are never negative and finite.
    """
    values = [value_at(until * i / (width - 1)) for i in range(width)]
    top = max(*values, mark) * 1.05
    rows = [_row(values, top, height, row, ascii_only) for row in reversed(range(height))]
    marked = min(height - 1, int(mark / top * height))
    lines = []
    for row, text in zip(reversed(range(height)), rows, strict=True):
        label = f"{mark:.3g}" if row == marked else f"{top:.3g}" if row == height - 1 else ""
        shown = "".join(c if c != " " else "-" for c in text) if row == marked else text
        lines.append(f"{label:>8} |{shown}")
    ends = f"0{f'{until:g}':>{width - 1}}"
    return [*lines, f"{'':>8} +{'-' * width}", f"{'':>10}{ends}"]


def _row(values: Sequence[float], top: float, height: int, row: int, ascii_only: bool) -> str:
    bars = _ASCII_BARS if ascii_only else _BARS
    full = len(bars) - 1
    cells = (value / top * height - row for value in values)
    return "".join(bars[max(0, min(full, round(cell * full)))] for cell in cells)
