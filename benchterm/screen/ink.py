"""Lines of styled text for panes of a given size, and what each style stands for.

Colours follow IEC 60073 (red danger, yellow warning, green normal, blue mandatory action); the
values are in ``themes``. A style never stands alone: a word or a symbol says the same.
"""

from __future__ import annotations

from collections.abc import Iterable

from rich.cells import cell_len, set_cell_size

DANGER = "$bench-danger"
WARNING = "$bench-warning"
NORMAL = "$bench-normal"
ACTION = "$bench-action"
FAINT = "$bench-faint"
BOLD = "bold"
PLAIN = ""

Part = tuple[str, str]
"""Text and its style."""
Line = list[Part]


def strong(style: str) -> str:
    """The style in bold."""
    return f"bold {style}".strip()


def block(style: str) -> str:
    """The style as a filled block, for what must be seen across the room."""
    return f"bold reverse {style}".strip()


def length(line: Line) -> int:
    """Terminal columns a line takes."""
    return sum(cell_len(text) for text, _ in line)


def fit(line: Line, width: int, fill: str = PLAIN) -> Line:
    """The line cut or padded to exactly so many columns; a cut shows as an ellipsis."""
    have = length(line)
    if have <= width:
        return [*line, (" " * (width - have), fill)]
    if width < 1:
        return []
    fitted: Line = []
    left = width - 1
    for text, style in line:
        if cell_len(text) > left:
            fitted.append((set_cell_size(text, left) + "…", style))
            return fitted
        fitted.append((text, style))
        left -= cell_len(text)
    return fitted


def apart(left: Line, right: Line, width: int) -> Line:
    """Two lines in one, at the two edges; the left one is cut if both do not fit."""
    return [*fit(left, max(0, width - length(right))), *right]


def wrap(text: str, width: int) -> list[str]:
    """Text broken at its spaces into pieces of at most so many columns."""
    lines: list[str] = []
    for word in text.split():
        if lines and cell_len(lines[-1]) + 1 + cell_len(word) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(set_cell_size(word, width) if cell_len(word) > width else word)
    return lines or [""]


def page(lines: Iterable[Line], width: int, height: int) -> list[Line]:
    """The lines that fit, each cut or padded to the width."""
    return [fit(line, width) for line in list(lines)[:height]]
