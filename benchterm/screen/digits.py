"""Large figures drawn with blocks, in whatever size there is room for.

A figure is built of seven strokes on a grid of square-ish dots, two dots to a terminal row.
"""

from __future__ import annotations

from functools import lru_cache

_STROKES = {
    "0": "top left right low-left low-right bottom",
    "1": "right low-right",
    "2": "top right middle low-left bottom",
    "3": "top right middle low-right bottom",
    "4": "left right middle low-right",
    "5": "top left middle low-right bottom",
    "6": "top left middle low-left low-right bottom",
    "7": "top right low-right",
    "8": "top left right middle low-left low-right bottom",
    "9": "top left right middle low-right bottom",
    "-": "middle",
}
_LEAST_ROWS = 3
_FULL_ROWS = 5
"""From this height on figures can be read across the room."""


@lru_cache(maxsize=256)
def figures(text: str, width: int, height: int) -> tuple[str, ...]:
    """The text in the largest figures that fit, one string a row; empty if none fit.

    Text is made of ``0-9``, ``-`` and ``.``. Broad strokes are taken where they leave five rows or
    more, else slim ones.
    """
    broad = [(rows, 2 * rows // 5) for rows in range(height, _FULL_ROWS - 1, -1)]
    sizes = [(rows, thick, thick, 2 * thick) for rows, thick in broad]
    low = min(height, _FULL_ROWS)
    sizes += [(low, max(1, 2 * low // 5), 1, 3), (3, 1, 1, 2)]
    for rows, thick, across, inner in sizes:
        if not _LEAST_ROWS <= rows <= height:
            continue
        drawn = _draw(text, rows, thick, across, inner)
        if len(drawn[0]) <= width:
            return drawn
    return ()


def _draw(text: str, rows: int, thick: int, across: int, inner: int) -> tuple[str, ...]:
    gap = across
    glyphs = [_glyph(char, rows, thick, across, inner) for char in text]
    dots = [(" " * gap).join(row) for row in zip(*glyphs, strict=True)]
    return tuple(
        "".join(_BLOCKS[upper, lower] for upper, lower in zip(dots[y], dots[y + 1], strict=True))
        for y in range(0, 2 * rows, 2)
    )


_BLOCKS = {("#", "#"): "█", ("#", " "): "▀", (" ", "#"): "▄", (" ", " "): " "}


def _glyph(char: str, rows: int, thick: int, across: int, inner: int) -> list[str]:
    upright = (2 * rows - 3 * thick) // 2
    tall, wide = 3 * thick + 2 * upright, 2 * across + inner
    if char == ".":
        return [("#" if tall - thick <= y < tall else " ") * across for y in range(2 * rows)]
    half, low = thick + upright, 2 * (thick + upright)
    boxes = {
        "top": (0, thick, 0, wide),
        "middle": (half, half + thick, 0, wide),
        "bottom": (low, tall, 0, wide),
        "left": (0, half + thick, 0, across),
        "right": (0, half + thick, wide - across, wide),
        "low-left": (half, tall, 0, across),
        "low-right": (half, tall, wide - across, wide),
    }
    strokes = [boxes[name] for name in _STROKES[char].split()]
    return [
        "".join(
            "#" if any(y0 <= y < y1 and x0 <= x < x1 for y0, y1, x0, x1 in strokes) else " "
            for x in range(wide)
        )
        for y in range(2 * rows)
    ]
