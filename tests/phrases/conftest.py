"""The English grammar, read once."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchterm.phrases.grammar import Grammar

ENGLISH = Path(__file__).parents[2] / "grammars" / "en.jsgf"


@pytest.fixture(scope="session")
def english_file() -> Path:
    return ENGLISH


@pytest.fixture(scope="session")
def english() -> Grammar:
    return Grammar.load(ENGLISH)
