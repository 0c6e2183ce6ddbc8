"""Options which the gauge commands share."""

# ruff: noqa: PLC0415 - imported when a command is run

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from benchterm.gauge.profile import Profile
    from benchterm.gauge.spoken import Voice
    from benchterm.gauge.wire import Wire


def wire_options(command: Callable[..., None]) -> Callable[..., None]:
    """Options that say which gauge, and what it sends."""
    for option in (
        click.option("--profile", metavar="NAME", help="What it sends: a profile's name or file."),
        click.option("--port", metavar="ADDRESS", help="Where it is, as gauge list prints it."),
    ):
        command = option(command)
    return command


def chosen(port: str | None, profile: str | None) -> tuple[str, Profile]:
    """Address and profile from options, else from the settings.

    Raises:
        SettingsError: the profile cannot be used.
    """
    from benchterm.config import load_settings
    from benchterm.gauge.profile import load_profile

    settings = load_settings().gauge
    return port if port is not None else settings.port, load_profile(profile or settings.profile)


def wire_to(
    address: str, profile: Profile, correct: Callable[[float], float] = float
) -> AbstractContextManager[Wire | None]:
    """A wire to the gauge at an address, to be opened; none without an address."""
    from benchterm.gauge.wire import Wire

    return Wire(address, profile, correct) if address else nullcontext()


def number_reader() -> Callable[[str], float | None]:
    """What reads a number from figures or from words of the language in use."""
    from benchterm.config import load_settings
    from benchterm.locations import grammar_file
    from benchterm.phrases.grammar import Grammar
    from benchterm.phrases.meanings import Bare
    from benchterm.phrases.phrase import parse

    grammar = Grammar.load(grammar_file(load_settings().language))

    def read(text: str) -> float | None:
        try:
            return float(text.replace(",", "."))
        except ValueError:
            said = parse(text, grammar)
        return said.value if isinstance(said, Bare) else None

    return read


def voice_of(*, wanted: bool | None) -> Voice | None:
    """The voice of the settings, not yet started; ``None`` where it is not wanted.

    Without a word on it: as the settings say, if a person sits at the terminal. Whoever lets the
    bench hear by a key only is not listened to without one.
    """
    import sys

    from benchterm.config import load_settings
    from benchterm.locations import grammar_file, recordings_folder
    from benchterm.phrases.grammar import Grammar

    settings = load_settings()
    voice = settings.voice
    usual = voice.on and not voice.push_to_talk and sys.stdin.isatty()
    if not (usual if wanted is None else wanted):
        return None
    from benchterm.gauge.spoken import Voice
    from benchterm.voice.talk import Talk

    grammar = Grammar.load(grammar_file(settings.language))
    given = replace(voice, push_to_talk=False)
    return Voice(Talk(given, grammar, settings.language, recordings_folder()), grammar)
