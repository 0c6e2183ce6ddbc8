"""Who may import whom: the rooms of the program, and what is loaded only when it is used."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "benchterm"
SHARED = {"benchterm.errors", "benchterm.locations"}
"""What every room but the core and the mechanics may use."""

ROOMS: dict[str, tuple[set[str], set[str] | None]] = {
    # room: (rooms of ours it may import besides itself, packages of others; None: any declared)
    "core": ({"benchterm.mechanics"}, set()),
    "mechanics": (set(), {"numpy", "scipy"}),
    "safety": (
        {
            "benchterm.config",
            "benchterm.core",
            "benchterm.desk",
            "benchterm.mechanics",
            "benchterm.records",
            "benchterm.tables",
            *SHARED,
        },
        {"click", "msgspec"},
    ),
    "phrases": ({"benchterm.core", *SHARED}, set()),
    "voice": (
        {"benchterm.config", "benchterm.core", "benchterm.phrases", "benchterm.tables", *SHARED},
        None,
    ),
    "gauge": (
        {
            "benchterm.config",
            "benchterm.core",
            "benchterm.mechanics",
            "benchterm.phrases",
            "benchterm.tables",
            "benchterm.voice",
            *SHARED,
        },
        {"click", "msgspec", "serial"},
    ),
    "records": ({"benchterm.core", "benchterm.mechanics", *SHARED}, {"msgspec"}),
    "training": ({"benchterm.core", "benchterm.records", "benchterm.desk", *SHARED}, set()),
    "screen": ({"benchterm"}, {"rich", "textual"}),
}
"""Rooms and their walls."""


def sources(folder: Path = PACKAGE) -> Iterator[Path]:
    return (path for path in sorted(folder.rglob("*.py")) if "_shipped" not in path.parts)


def imported(path: Path) -> set[str]:
    """Every module a file imports, wherever in it."""
    modules: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            modules |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path} imports relatively"
            assert node.module
            # ``from package import module`` imports the module, ``from module import name`` not.
            for alias in node.names:
                inner = PACKAGE.parent / Path(*node.module.split("."), alias.name)
                is_module = inner.is_dir() or inner.with_suffix(".py").exists()
                modules.add(f"{node.module}.{alias.name}" if is_module else node.module)
    return modules


def is_under(module: str, *roofs: str) -> bool:
    return any(module == roof or module.startswith(f"{roof}.") for roof in roofs)


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


def test_every_room_has_walls():
    assert {path.parent.name for path in PACKAGE.glob("*/__init__.py")} <= set(ROOMS)


@pytest.mark.parametrize("room", [room for room in ROOMS if any(sources(PACKAGE / room))])
def test_a_room_imports_only_what_its_walls_let_in(room: str):
    ours, others = ROOMS[room]
    files = list(sources(PACKAGE / room))
    assert files
    for path in files:
        for module in imported(path):
            top = module.split(".")[0]
            allowed = (
                is_under(module, f"benchterm.{room}", *ours)
                if top == "benchterm"
                else others is None or top in sys.stdlib_module_names or top in others
            )
            assert allowed, f"{named(path)} imports {module}"


def test_the_walls_stop_what_they_should(tmp_path: Path):
    assert is_under("benchterm.core.facts", "benchterm.core")
    assert not is_under("benchterm.core_of_it", "benchterm.core")
    file = tmp_path / "f.py"
    file.write_text("def f():\n    import os.path\n    from benchterm.core import facts\n")
    assert imported(file) == {"os.path", "benchterm.core.facts"}


def test_only_the_screen_imports_textual():
    for path in sources():
        tops = {module.split(".")[0] for module in imported(path)}
        if "textual" in tops or "rich" in tops:
            assert path.is_relative_to(PACKAGE / "screen"), named(path)


def test_only_the_commands_and_the_screen_import_the_screen():
    for path in sources():
        if any(is_under(module, "benchterm.screen") for module in imported(path)):
            inside = path.is_relative_to(PACKAGE / "screen")
            assert inside or path == PACKAGE / "cli.py", named(path)


def test_nothing_imports_the_commands():
    for path in sources():
        if path != PACKAGE / "__main__.py":
            assert "benchterm.cli" not in imported(path), named(path)


IMPORTED_AS = {"hibari-tts": "hibari", "pyserial": "serial"}
COMES_WITH = {"textual": {"rich"}, "python": {"_typeshed", *sys.stdlib_module_names}}


def declared() -> set[str]:
    """Packages that a user of the program gets installed, by the name they are imported by."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = list(project["dependencies"])
    for extra, packages in project["optional-dependencies"].items():
        wanted += [] if extra in ("test", "check") else packages
    names = {re.match(r"[\w-]+", package)[0] for package in wanted}  # type: ignore[index]
    return {IMPORTED_AS.get(name, name.replace("-", "_")) for name in names} | {"benchterm"}


def test_every_package_imported_is_declared():
    known = declared() | set().union(*COMES_WITH.values())
    for path in sources():
        for module in imported(path):
            assert module.split(".")[0] in known, f"{named(path)} imports {module}"


def test_no_module_grows_past_reading():
    for path in sources():
        lines = path.read_text(encoding="utf-8").count("\n")
        assert lines <= 400, f"{named(path)} has {lines} lines"


HEAVY = ("textual", "rich", "numpy", "scipy", "vosk", "sounddevice", "serial", "msgspec")


@pytest.mark.parametrize(
    ("module", "not_loaded"),
    [
        ("benchterm.cli", HEAVY),
        ("benchterm.pipe", HEAVY[:-1]),
        ("benchterm.desk", HEAVY[:-1]),
    ],
)
def test_heavy_packages_wait_until_they_are_used(module: str, not_loaded: tuple[str, ...]):
    code = f"import sys, {module}; print(*(m for m in {not_loaded!r} if m in sys.modules))"
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert run.stdout.strip() == ""
