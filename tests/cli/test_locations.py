"""Where everything is kept."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchterm import locations


def test_one_variable_puts_all_that_is_written_under_one_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
):
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    assert locations.config_file() == tmp_path / "settings.toml"
    assert locations.sessions_folder() == tmp_path / "sessions"
    assert locations.log_file() == tmp_path / "benchterm.log"


def test_without_it_they_are_where_the_system_keeps_such_things(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
):
    monkeypatch.delenv("BENCHTERM_HOME", raising=False)
    for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name))
    monkeypatch.setenv("HOME", str(tmp_path))
    paths = [locations.config_file(), locations.sessions_folder(), locations.log_file()]
    for path in paths:
        assert path.is_relative_to(tmp_path)
        assert "benchterm" in path.parts[-2:-1] or "benchterm" in str(path.parent)
    assert len({path.parent for path in paths}) == 3


def test_what_is_shipped_lies_beside_the_package_in_a_checkout_and_inside_it_in_a_wheel(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
):
    package = tmp_path / "benchterm"
    package.mkdir()
    monkeypatch.setattr(locations, "_PACKAGE", package)
    assert locations.grammars_folder() == tmp_path / "grammars"
    (package / "_shipped" / "grammars").mkdir(parents=True)
    (package / "_shipped" / "demo_sessions").mkdir()
    assert locations.grammars_folder() == package / "_shipped" / "grammars"
    assert locations.demo_sessions_folder() == package / "_shipped" / "demo_sessions"


def test_the_grammars_and_schemas_are_there():
    assert locations.grammar_file("en").is_file()
    assert (locations.schemas_folder() / "pipe.schema.json").is_file()


def test_every_location_is_named_once():
    names = [what for what, _ in locations.all_locations()]
    assert len(names) == len(set(names)) == 12
