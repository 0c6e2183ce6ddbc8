"""Sentences in large capitals drawn with half blocks, to be read across the room. Pure.

A letter is five dots high, a row of the terminal two; ``scale`` makes every dot so many wide and
high.
"""

from __future__ import annotations

from functools import lru_cache

_GLYPHS = {
    "A": "010 101 111 101 101",
    "B": "110 101 110 101 110",
    "C": "011 100 100 100 011",
    "D": "110 101 101 101 110",
    "E": "111 100 110 100 111",
    "F": "111 100 110 100 100",
    "G": "0111 1000 1011 1001 0111",
    "H": "101 101 111 101 101",
    "I": "1 1 1 1 1",
    "J": "001 001 001 101 010",
    "K": "101 101 110 101 101",
    "L": "100 100 100 100 111",
    "M": "10001 11011 10101 10001 10001",
    "N": "1001 1101 1011 1001 1001",
    "O": "0110 1001 1001 1001 0110",
    "P": "110 101 110 100 100",
    "Q": "0110 1001 1001 1011 0111",
    "R": "110 101 110 101 101",
    "S": "011 100 010 001 110",
    "T": "111 010 010 010 010",
    "U": "101 101 101 101 111",
    "V": "101 101 101 101 010",
    "W": "10001 10001 10101 11011 10001",
    "X": "101 101 010 101 101",
    "Y": "101 101 010 010 010",
    "Z": "111 001 010 100 111",
    "0": "010 101 101 101 010",
    "1": "010 110 010 010 111",
    "2": "110 001 010 100 111",
    "3": "110 001 010 001 110",
    "4": "101 101 111 001 001",
    "5": "111 100 110 001 110",
    "6": "011 100 110 101 010",
    "7": "111 001 010 010 010",
    "8": "010 101 010 101 010",
    "9": "010 101 011 001 110",
    " ": "0 0 0 0 0",
    ".": "0 0 0 0 1",
    ",": "00 00 00 01 10",
    ":": "0 1 0 1 0",
    ";": "00 01 00 01 10",
    "-": "000 000 111 000 000",
    "/": "001 001 010 100 100",
    "%": "101 001 010 100 101",
    "'": "1 1 0 0 0",
    "(": "01 10 10 10 01",
    ")": "10 01 01 01 10",
}
_TALL = 6
"""Dots from one line of letters to the next."""
_LARGEST = 4
_BLOCKS = {("1", "1"): "█", ("1", "0"): "▀", ("0", "1"): "▄", ("0", "0"): " "}


@lru_cache(maxsize=64)
def lettered(text: str, width: int, height: int) -> tuple[str, ...]:
    """The text in the largest letters that fit, one string a row; empty if none fit.

    Empty as well if there is a character in it that has no glyph here.
    """
    words = text.upper().split()
    if not words or any(char not in _GLYPHS for word in words for char in word):
        return ()
    for scale in range(_LARGEST, 0, -1):
        lines = _wrapped(words, width // scale)
        if lines and len(lines) * _TALL * scale <= 2 * height:
            return tuple(row for line in lines for row in _drawn(line, scale))
    return ()


def _wrapped(words: list[str], dots: int) -> list[str]:
    """As many words a line as fit; nothing if one word is too long for a line."""
    lines: list[str] = []
    for word in words:
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and _wide(longer) <= dots:
            lines[-1] = longer
        elif _wide(word) <= dots:
            lines.append(word)
        else:
            return []
    return lines


def _wide(text: str) -> int:
    """Dots across, with one between letters."""
    return sum(len(_rows(char)[0]) for char in text) + len(text) - 1


def _rows(char: str) -> list[str]:
    return _GLYPHS[char].split(" ")


def _drawn(line: str, scale: int) -> list[str]:
    glyphs = [_rows(char) for char in line]
    rows = ["0".join(glyph[y] for glyph in glyphs) for y in range(_TALL - 1)]
    rows.append("0" * len(rows[0]))
    dots = ["".join(dot * scale for dot in row) for row in rows for _ in range(scale)]
    pairs = zip(dots[::2], dots[1::2], strict=True)
    return ["".join(_BLOCKS[pair] for pair in zip(*both, strict=True)) for both in pairs]
