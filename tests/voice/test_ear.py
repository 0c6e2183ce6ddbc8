"""The bench's own weights, and folders that cannot be used."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from benchterm.phrases.grammar import Grammar
from benchterm.voice.audio import read_sound
from benchterm.voice.decoder import Decoder
from benchterm.voice.ear import OWN_FOLDER, Ear, EarError, check_files


@pytest.fixture(scope="module")
def ear() -> Ear:
    return Ear()


def heard(decoder: Decoder, path: Path) -> tuple[str, ...]:
    return decoder.recognise(np.concatenate(list(read_sound(path)))).hypotheses[0].words


def test_the_weights_are_those_that_were_measured():
    check_files(OWN_FOLDER, "69a0792ecd25f24446152251605d4f5e0a242ae20dc284566a17af09350db294")


def test_their_notice_lies_beside_them():
    notice = (OWN_FOLDER / "NOTICE.md").read_text("utf-8")
    for name in ("CC BY-SA 4.0", "OpenAI", "Speech Commands", "Free Spoken Digit Dataset"):
        assert name in notice


def test_words_are_spelled_as_in_running_text(ear):
    assert ear.text(ear.spell("newtons")).strip() == "newtons"
    assert len(ear.spell("far")) == 1
    assert len(ear.spell("newtons")) == 2


@pytest.mark.parametrize(
    "words",
    ["far left twenty two point five", "left three clicks", "undo that", "next step"],
)
def test_phrases_are_heard(ear: Ear, english: Grammar, say: Callable[..., Path], words: str):
    decoder = Decoder(ear, english.automaton)
    assert heard(decoder, say(words)) == tuple(words.split())


def test_what_it_heard_is_the_same_the_second_time(ear, english, say):
    path = say("near right nineteen point seven")
    decoder = Decoder(ear, english.automaton)
    sound = np.concatenate(list(read_sound(path)))
    assert decoder.recognise(sound) == decoder.recognise(sound)


def test_rows_kept_from_a_look_ahead_are_those_of_asking(ear, say):
    sound = np.concatenate(list(read_sound(say("left three clicks"))))
    ahead = ear.take_in(sound)
    left, three = ear.spell("left"), ear.spell("three")
    kept = ahead.log_probs([left + three])[0]
    asked = ear.continue_all(ahead.encoded, [left + three])[0].rows[2]
    np.testing.assert_allclose(kept, asked, atol=1e-3)


def test_silence_and_an_empty_stretch_do_no_harm(ear, english):
    decoder = Decoder(ear, english.automaton)
    for length in (0, 1, 16_000, 200_000):
        recognition = decoder.recognise(np.zeros(length, np.float32))
        assert all(np.isfinite(h.score) for h in recognition.hypotheses)


@pytest.mark.parametrize("name", ["model.bin", "config.json", "tokenizer.json", "vocabulary.txt"])
def test_a_missing_file_is_named(tmp_path, name):
    folder = copied(tmp_path)
    (folder / name).unlink()
    with pytest.raises(EarError, match=f"{name} is missing"):
        Ear(folder)


def test_weights_with_another_hash_are_not_loaded(tmp_path):
    folder = copied(tmp_path)
    with pytest.raises(EarError, match="SHA-256") as error:
        Ear(folder, "0" * 64)
    assert "Keypad and screen work" in error.value.works


@pytest.mark.parametrize("name", ["model.bin", "tokenizer.json"])
def test_a_folder_of_something_else_is_told(tmp_path, name):
    folder = copied(tmp_path)
    (folder / name).unlink()
    (folder / name).write_bytes(b"something else")
    with pytest.raises(EarError, match="no such network"):
        Ear(folder)


def copied(tmp_path: Path) -> Path:
    """A folder with the same files, the large one by link."""
    folder = tmp_path / "ear"
    folder.mkdir()
    for path in OWN_FOLDER.iterdir():
        if path.name == "model.bin":
            (folder / path.name).symlink_to(path)
        else:
            shutil.copy(path, folder)
    return folder
