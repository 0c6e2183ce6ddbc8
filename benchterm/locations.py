"""Every path the program uses, each a function. ``BENCHTERM_HOME`` puts them under one folder."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import platformdirs

HOME_VARIABLE = "BENCHTERM_HOME"

_PACKAGE = Path(__file__).parent


def config_file() -> Path:
    """The shop's settings."""
    home = _home()
    if home is not None:
        return home / "settings.toml"
    return platformdirs.user_config_path("benchterm", appauthor=False) / "settings.toml"


def sessions_folder() -> Path:
    """Where journals are kept, one file a session."""
    return _data() / "sessions"


def log_file() -> Path:
    """Where the program writes what went wrong inside it."""
    home = _home()
    if home is not None:
        return home / "benchterm.log"
    return platformdirs.user_log_path("benchterm", appauthor=False) / "benchterm.log"


def grammars_folder() -> Path:
    """The grammars that come with the program."""
    return _shipped("grammars")


def grammar_file(language: str) -> Path:
    """The grammar of one language."""
    return grammars_folder() / f"{language}.jsgf"


def demo_sessions_folder() -> Path:
    """The journals of the invented shop that come with the program."""
    return _shipped("demo_sessions")


def schemas_folder() -> Path:
    """The JSON Schemas of what the program prints."""
    return _PACKAGE / "schemas"


def products_folder() -> Path:
    """The shop's own product files: adhesives, activators, hardeners."""
    return _data() / "products"


def demo_products_folder() -> Path:
    """The product files of the invented shop that come with the program."""
    return _PACKAGE / "safety" / "data" / "products"


def gauge_profiles_folder() -> Path:
    """The descriptions of gauges that come with the program."""
    return _PACKAGE / "gauge" / "profiles"


def own_gauge_profiles_folder() -> Path:
    """The shop's own descriptions of gauges."""
    return _data() / "gauge-profiles"


def calibrations_folder() -> Path:
    """What calibrating gauges has found, one file a gauge."""
    return _data() / "calibrations"


def recordings_folder() -> Path:
    """Where what was heard is kept as sound, if the shop wishes."""
    return _data() / "recordings"


def models_folder() -> Path:
    """Where models for Vosk that were fetched are kept."""
    return _data() / "models"


def voices_folder() -> Path:
    """Where what was fitted to an operator's voice is kept, one file each."""
    return _data() / "voices"


def simulated_gauge() -> Path:
    """Where the simulated gauge can be opened while it runs."""
    return _data() / "simulated-gauge"


def all_locations() -> Iterator[tuple[str, Path]]:
    """Every path with what it is, in the order in which a person would ask."""
    yield "settings", config_file()
    yield "sessions", sessions_folder()
    yield "products", products_folder()
    yield "gauge profiles", own_gauge_profiles_folder()
    yield "calibrations", calibrations_folder()
    yield "recordings", recordings_folder()
    yield "models", models_folder()
    yield "voices", voices_folder()
    yield "log", log_file()
    yield "grammars", grammars_folder()
    yield "demo sessions", demo_sessions_folder()
    yield "schemas", schemas_folder()


def _home() -> Path | None:
    home = os.environ.get(HOME_VARIABLE)
    return Path(home).expanduser().absolute() if home else None


def _data() -> Path:
    home = _home()
    if home is not None:
        return home
    return platformdirs.user_data_path("benchterm", appauthor=False)


def _shipped(name: str) -> Path:
    """A folder that an installed wheel carries inside the package, and a checkout beside it."""
    inside = _PACKAGE / "_shipped" / name
    return inside if inside.is_dir() else _PACKAGE.parent / name
