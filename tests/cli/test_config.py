"""The shop's settings: every key, every problem at once, a file to start from."""

from __future__ import annotations

import importlib
import pkgutil
import re
import tomllib
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest
from textual.binding import Binding
from textual.dom import DOMNode

from benchterm import config, screen
from benchterm.config import Settings, load_settings, settings_example
from benchterm.core.practice import Practice
from benchterm.errors import SettingsError
from benchterm.screen.themes import THEME_NAMES


def write(folder: Path, text: str) -> Path:
    file = folder / "settings.toml"
    file.write_text(text, encoding="utf-8")
    return file


def problems(file: Path) -> list[str]:
    with pytest.raises(SettingsError) as caught:
        load_settings(file)
    assert caught.value.works
    assert caught.value.todo
    return [line.strip() for line in caught.value.what.splitlines()[1:]]


def test_without_a_file_the_defaults_are_in_force(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    assert load_settings() == Settings()


def test_the_shops_own_file_is_read(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    write(
        tmp_path,
        """
        bench = "by the door"
        theme = "bench-light"
        [rules]
        off = ["spread"]
        [practice]
        settle_min = 30
        [session]
        operator = "K"
        [session.mesh]
        count = "195/in"
        """,
    )
    settings = load_settings()
    assert settings.bench == "by the door"
    assert settings.rules_off == {"spread"}
    assert settings.practice == Practice(settle_min=30)
    assert settings.session.operator == "K"
    assert settings.session.mesh.threads_cm == pytest.approx(195 / 2.54)


def test_a_file_that_was_named_must_be_there(tmp_path: Path):
    assert problems(tmp_path / "none.toml") == [f"{tmp_path / 'none.toml'}: there is no such file."]


def test_every_problem_is_told_at_once(tmp_path: Path):
    file = write(
        tmp_path,
        """\
benhc = "by the door"
theme = "bench-darc"
language = "xx"
[rules]
off = ["spraed", "caution"]
[keys]
undo = 3
[practice]
settle_min = -1
raise_min_mm = 5
[session.mesh]
count = 77
""",
    )
    found = problems(file)
    assert [line.split(": ")[:2] for line in found] == [
        [f"{file}, line 1", "benhc"],
        [f"{file}, line 6", "keys"],
        [f"{file}, line 12", "session.mesh.count"],
        [f"{file}, line 3", "language"],
        [f"{file}, line 2", "theme"],
        [f"{file}, line 5", "rules.off"],
        [f"{file}, line 5", "rules.off"],
        [f"{file}, line 9", "practice.settle_min"],
        [f"{file}, line 10", "practice.raise_min_mm"],
    ]
    assert found[0].endswith("Did you mean 'bench'?")
    assert found[4].endswith("Did you mean 'bench-dark'?")
    assert found[5].endswith("Did you mean 'spread'?")
    assert "cannot be switched off" in found[6]
    assert found[7].endswith("settle_min = -1 is outside 0 to 2880 min.")
    assert found[8].endswith("raise_min_mm is above raise_max_mm.")


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"bench = \nx = 1", r"line 1: is not TOML"),
        (b'bench = "a"\n[rules\n', r"line 2: is not TOML"),
        (b"bench = '\xff'", "is not text in UTF-8"),
        (b"bench = ''", "line 1: bench: must be one printable line"),
        (b"[voice]\nsha256 = 'ab'", "voice.sha256: goes with a model"),
        (b"[voice]\nmodel = '.'\nsha256 = 'ab'", "voice.sha256: must be 64 hexadecimal"),
        (b"practice = 3", r"must be a table, \[practice\], not 3"),
        (b'"practice" = {settle_min = "long"}', 'must be a number, not "long"'),
        (b"[rules]\noff = 'spread'", 'must be a list of texts in quotes, not "spread"'),
    ],
)
def test_what_cannot_be_used_is_told_in_plain_words(content: bytes, why: str, tmp_path: Path):
    file = tmp_path / "settings.toml"
    file.write_bytes(content)
    assert re.search(why, "\n".join(problems(file)))


def test_a_folder_is_no_settings_file(tmp_path: Path):
    assert "cannot be read" in problems(tmp_path)[0]


def every_key(table: object, under: str = "") -> set[str]:
    keys = set()
    for f in fields(table):  # type: ignore[arg-type]
        value = getattr(table, f.name)
        name = "count" if f.name == "threads_cm" else f.name
        keys |= every_key(value, f"{under}{name}.") if is_dataclass(value) else {f"{under}{name}"}
    return keys


def flat(table: dict[str, object], under: str = "") -> set[str]:
    keys = set()
    for name, value in table.items():
        keys |= flat(value, f"{under}{name}.") if isinstance(value, dict) else {f"{under}{name}"}
    return keys


def test_the_example_changes_nothing_until_a_line_is_uncommented(tmp_path: Path):
    assert load_settings(write(tmp_path, settings_example())) == Settings()


def test_the_example_uncommented_has_every_key_and_can_be_used(tmp_path: Path):
    text = re.sub(r"(?m)^#(?! )", "", settings_example())
    wanted = every_key(Settings()) - {"keys"}
    assert {key for key in flat(tomllib.loads(text)) if not key.startswith("keys.")} == wanted
    settings = load_settings(write(tmp_path, text))
    assert settings.practice == Practice()


def test_the_example_names_every_source_of_the_practice_table():
    for row in Practice().rows():
        assert f"({row.source})" in settings_example()


def test_the_themes_are_those_of_the_screen():
    assert config.THEMES == THEME_NAMES


def test_the_actions_are_those_of_the_screen():
    found = set()
    for module in pkgutil.iter_modules(screen.__path__):
        for thing in vars(importlib.import_module(f"benchterm.screen.{module.name}")).values():
            ours = getattr(thing, "__module__", "").startswith("benchterm.")
            if ours and isinstance(thing, type) and issubclass(thing, DOMNode):
                bindings = vars(thing).get("BINDINGS", [])
                found |= {one.id for one in bindings if isinstance(one, Binding)}
    assert set(config.ACTIONS) == found


@pytest.mark.parametrize("text", ['app.help = "f3"', '"app.help" = "f3"', 'app = {help = "f3"}'])
def test_a_key_can_be_given_another_meaning(text: str, tmp_path: Path):
    assert load_settings(write(tmp_path, f"[keys]\n{text}")).keys == {"app.help": "f3"}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ('app.hepl = "f3"', "Did you mean 'app.help'?"),
        ("app.help = 3", "app.help must be the name of a key, not 3."),
        ('app.help = ""', 'app.help must be the name of a key, not "".'),
    ],
)
def test_a_key_for_what_is_no_action_is_told(text: str, why: str, tmp_path: Path):
    (problem,) = problems(write(tmp_path, f"[keys]\n{text}"))
    assert problem.endswith(why)


def test_english_can_be_spoken():
    assert "en" in config.languages()
