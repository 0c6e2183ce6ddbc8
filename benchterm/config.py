"""The shop's settings: one TOML file, every key with a default, every problem told at once."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from benchterm.core.facts import Facts
from benchterm.core.practice import Practice
from benchterm.core.rules import RULES
from benchterm.locations import config_file, grammars_folder
from benchterm.setup import WRITTEN, facts_problems, facts_to_toml
from benchterm.tables import Document, Problems, Written, fill, read_document, shown

ENGINES = ("ear", "vosk")
SPEECH = ("auto", "hibari", "espeak-ng", "tones", "none")
THEMES = ("bench-dark", "bench-light", "ansi-dark", "ansi-light")
"""How the screen can look; the last two use a terminal's own 16 colours."""
ACTIONS = (
    *("app.help", "app.theme", "app.leave", "app.how-to-leave"),
    *("help.down", "help.up", "help.page-down", "help.page-up", "help.close"),
    *(f"type.{digit}" for digit in range(10)),
    *("type.plus", "type.minus", "type.star", "type.slash", "type.point"),
    *("entry.take", "entry.rub-out", "entry.clear", "voice.talk"),
    *("replay.pause", "replay.step", "replay.back", "replay.faster", "replay.slower"),
    *("replay.jump", "replay.go", "replay.stay"),
    *("bench.plan", "bench.map", "map.every", "bench.glue"),
    *("sheet.go-on", "sheet.back", "sheet.down", "sheet.up", "sheet.page-down", "sheet.page-up"),
)
"""What keys on the screen can do."""


@dataclass(frozen=True, slots=True)
class Rules:
    """Which rules give advice."""

    off: tuple[str, ...] = ()
    """Codes of those that do not, as ``benchterm rules`` lists them."""


@dataclass(frozen=True, slots=True)
class Gauge:
    """The gauge on a wire."""

    port: str = ""
    """Its address, as ``benchterm gauge list`` prints it; empty: no gauge on a wire."""
    profile: str = "number"
    """The description of what it sends: a name, or a file that ends in ``.toml``."""
    recalibrate_days: float = 180.0
    """A calibration older than this is out of date; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Voice:
    """Hearing and speaking."""

    on: bool = True
    engine: str = "ear"
    """What recognises: ``ear``, the bench's own, or ``vosk``."""
    model: str = ""
    """Folder of its model; empty: the one that comes with the program."""
    sha256: str = ""
    """SHA-256 of ``model.bin`` in that folder, for the ear; empty: it is not checked."""
    input: str = ""
    """Microphone, as ``benchterm voice`` lists it, or part of its name; empty: the system's."""
    output: str = ""
    """Speaker, likewise."""
    speech: str = "auto"
    """What speaks: ``auto``, ``hibari``, ``espeak-ng``, ``tones`` or ``none``."""
    volume: float = 0.8
    """0 to 1."""
    speed: float = 1.0
    """0.5 to 2."""
    push_to_talk: bool = False
    """Hear only after the key to talk."""
    keep_recordings: bool = False
    """Keep what is heard as sound files; the screen shows it."""
    keep_days: float = 7.0
    """Recordings older than this are deleted."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Everything a shop can set."""

    bench: str = "bench"
    """Name of this bench in the shop; part of every session's name."""
    language: str = "en"
    """Grammar in use: the name of its file."""
    theme: str = "bench-dark"
    gauge: Gauge = field(default_factory=Gauge)
    voice: Voice = field(default_factory=Voice)
    rules: Rules = field(default_factory=Rules)
    keys: dict[str, str] = field(default_factory=dict)
    """Other keys for the screen's actions: one of ``ACTIONS``, then its keys, commas between."""
    practice: Practice = field(default_factory=Practice)
    """The shop's numbers."""
    session: Facts = field(default_factory=Facts)
    """What a session is opened with unless its set-up says otherwise."""

    @property
    def rules_off(self) -> frozenset[str]:
        """Codes of the rules that are switched off."""
        return frozenset(self.rules.off)

    @property
    def begins_from(self) -> Facts | None:
        """``session``; ``None`` if the shop has set nothing in it."""
        return None if self.session == Facts() else self.session


def read_keys(value: object) -> dict[str, str]:
    """Keys by action from a table, in which ``app.help`` may stand as ``help`` in ``app``.

    Raises:
        ValueError: a value is no text.
    """
    if isinstance(value, dict):
        return dict(_flat(value))
    raise ValueError(f"must be a table, [keys], not {shown(value)}.")


_WRITTEN = {**WRITTEN, (Settings, "keys"): Written("keys", read_keys, dict)}


def load_settings(path: Path | None = None) -> Settings:
    """The settings of a file; of the shop's own if none is named, and it need not be there.

    Raises:
        SettingsError: every problem at once.
    """
    file = path or config_file()
    if path is None and not file.exists():
        return Settings()
    problems = Problems()
    return settings_from(read_document(file, problems), problems)


def settings_from(document: Document, problems: Problems) -> Settings:
    """The settings in a document.

    Raises:
        SettingsError: every problem at once, with those found before.
    """
    settings = fill(Settings(), document, problems, _WRITTEN)
    _check_names(settings, problems)
    for message in settings.practice.problems():
        problems.add(f"practice.{message.split()[0]}", f"{message}.")
    for keys, message in facts_problems(settings.session, settings.practice, "session."):
        problems.add(keys, message)
    problems.check(
        "The settings cannot be used:",
        works="Sessions on disk are untouched.",
        todo="Mend the lines named, or move the file away to go on with the defaults.",
    )
    return settings


def settings_example() -> str:
    """A settings file with every key at its default, each line commented out."""
    return "\n".join(_example()) + "\n"


def languages() -> tuple[str, ...]:
    """The grammars there are."""
    return tuple(sorted(path.stem for path in grammars_folder().glob("*.jsgf")))


def _check_names(settings: Settings, problems: Problems) -> None:
    if not 1 <= settings.gauge.recalibrate_days <= 3650:
        problems.add("gauge.recalibrate_days", "must be 1 to 3650.")
    if not settings.bench.strip() or not settings.bench.isprintable() or len(settings.bench) > 80:
        problems.add("bench", "must be one printable line of 1 to 80 characters.")
    _check_one_of("language", settings.language, languages(), problems)
    _check_one_of("theme", settings.theme, THEMES, problems)
    _check_voice(settings.voice, problems)
    for action in settings.keys:
        if action not in ACTIONS:
            message = f"there is no such action; known here: {', '.join(ACTIONS)}."
            problems.add(f"keys.{action}", message, action, ACTIONS)
    switches = {rule.code: rule.can_be_switched_off for rule in RULES}
    for code in settings.rules.off:
        if code not in switches:
            problems.add("rules.off", f"no rule is called {shown(code)}.", code, switches)
        elif not switches[code]:
            problems.add("rules.off", f"{shown(code)} cannot be switched off.")


def _check_voice(voice: Voice, problems: Problems) -> None:
    _check_one_of("voice.engine", voice.engine, ENGINES, problems)
    _check_one_of("voice.speech", voice.speech, SPEECH, problems)
    if not 0 <= voice.volume <= 1:
        problems.add("voice.volume", "must be 0 to 1.")
    if not 0.5 <= voice.speed <= 2:
        problems.add("voice.speed", "must be 0.5 to 2.")
    if not 0 < voice.keep_days <= 365:
        problems.add("voice.keep_days", "must be more than 0, at most 365.")
    if voice.model and not Path(voice.model).expanduser().is_dir():
        problems.add("voice.model", f"there is no folder {shown(voice.model)}.")
    if voice.sha256 and not (voice.model and voice.engine == "ear"):
        problems.add("voice.sha256", "goes with a model for the ear.")
    if voice.sha256 and not re.fullmatch(r"[0-9a-fA-F]{64}", voice.sha256):
        problems.add("voice.sha256", "must be 64 hexadecimal digits.")
    if voice.engine == "vosk" and not voice.model:
        problems.add("voice.model", "vosk needs the folder of a model.")


def _check_one_of(key: str, word: str, known: tuple[str, ...], problems: Problems) -> None:
    if word not in known:
        problems.add(key, f"must be one of {', '.join(known)}, not {shown(word)}.", word, known)


def _flat(table: Mapping[str, object], under: str = "") -> Iterator[tuple[str, str]]:
    for name, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{under}{name}.")
        elif isinstance(value, str) and value.strip():
            yield f"{under}{name}", value
        else:
            raise ValueError(f"{under}{name} must be the name of a key, not {shown(value)}.")


def _example() -> Iterator[str]:
    usual = Settings()
    yield f"# Settings of benchterm. Save as {config_file()}"
    yield "# and take the # away from the lines to be changed."
    yield ""
    yield "# Name of this bench in the shop."
    yield f"#bench = {shown(usual.bench)}"
    yield "# Grammar in use."
    yield f"#language = {shown(usual.language)}"
    yield f"# How the screen looks: {', '.join(THEMES)}."
    yield f"#theme = {shown(usual.theme)}"
    yield ""
    yield "[gauge]"
    yield "# Address of a gauge on a wire, as benchterm gauge list prints it; empty: none."
    yield f"#port = {shown(usual.gauge.port)}"
    yield "# What it sends: the name of a profile, or a file that ends in .toml."
    yield f"#profile = {shown(usual.gauge.profile)}"
    yield "# A calibration older than this many days is out of date (common practice, no source)."
    yield f"#recalibrate_days = {shown(usual.gauge.recalibrate_days)}"
    yield ""
    yield from _voice_example(usual.voice)
    yield ""
    yield "[rules]"
    yield f"# Codes of rules that give no advice, from: {', '.join(_switchable())}."
    yield f"#off = {shown(usual.rules.off)}"
    yield ""
    yield "[keys]"
    yield "# Other keys for the screen's actions. Help on the screen shows how a key is called."
    yield f"# The actions: {', '.join(ACTIONS)}."
    yield '#app.help = "f1,question_mark"'
    yield ""
    yield "[practice]"
    for row in usual.practice.rows():
        yield f"# {row.what}: {row.low:g} to {row.high:g} {row.unit} ({row.source})."
        yield f"#{row.name} = {row.value:g}"
    yield ""
    yield "# What a session is opened with unless its set-up says otherwise."
    yield "# Two keys have no default: mesh.ceiling_n_cm, the maker's highest working tension, and"
    yield "# stretcher.rod_gap_mm, from the end of a locking rod to the corner of the mesh."
    session = replace(
        usual.session,
        mesh=replace(usual.session.mesh, ceiling_n_cm=30.0),
        stretcher=replace(usual.session.stretcher, rod_gap_mm=10.0),
    )
    for line in facts_to_toml(session, "session").splitlines():
        yield f"#{line}" if line and not line.startswith("[") else line


def _voice_example(voice: Voice) -> Iterator[str]:
    yield "[voice]"
    yield "# Hearing and speaking; benchterm voice says what is there and what is missing."
    yield f"#on = {shown(voice.on)}"
    yield f"# What recognises: {', '.join(ENGINES)}; and the folder of its model, empty: our own."
    yield f"#engine = {shown(voice.engine)}"
    yield f"#model = {shown(voice.model)}"
    yield "# SHA-256 of model.bin in that folder, for the ear; empty: not checked."
    yield f"#sha256 = {shown(voice.sha256)}"
    yield "# Microphone and speaker, or part of their names; empty: the system's."
    yield f"#input = {shown(voice.input)}"
    yield f"#output = {shown(voice.output)}"
    yield f"# What speaks: {', '.join(SPEECH)}; how loud, 0 to 1, and how fast, 0.5 to 2."
    yield f"#speech = {shown(voice.speech)}"
    yield f"#volume = {shown(voice.volume)}"
    yield f"#speed = {shown(voice.speed)}"
    yield "# Hear only after the key to talk (voice.talk below)."
    yield f"#push_to_talk = {shown(voice.push_to_talk)}"
    yield "# Keep what is heard as sound files, and for how many days; the screen shows it."
    yield f"#keep_recordings = {shown(voice.keep_recordings)}"
    yield f"#keep_days = {shown(voice.keep_days)}"


def _switchable() -> tuple[str, ...]:
    return tuple(rule.code for rule in RULES if rule.can_be_switched_off)
