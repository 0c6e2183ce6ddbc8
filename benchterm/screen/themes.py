"""Four themes: dark, light and two that use nothing but a terminal's own 16 colours."""

from __future__ import annotations

from textual.theme import Theme


def _theme(
    name: str,
    *,
    dark: bool,
    ground: tuple[str, str, str],
    signals: tuple[str, str, str, str],
    faint: str,
) -> Theme:
    background, foreground, panel = ground
    danger, warning, normal, action = signals
    return Theme(
        name=name,
        dark=dark,
        ansi=background.startswith("ansi"),
        primary=action,
        error=danger,
        warning=warning,
        success=normal,
        background=background,
        foreground=foreground,
        surface=background,
        panel=panel,
        variables={
            "bench-danger": danger,
            "bench-warning": warning,
            "bench-normal": normal,
            "bench-action": action,
            "bench-faint": faint,
            "bench-bar": panel,
            "ansi-background": background,
            "ansi-foreground": foreground,
        },
    )


THEMES = (
    _theme(
        "bench-dark",
        dark=True,
        ground=("#101418", "#e8ecef", "#242c34"),
        signals=("#ff6b5e", "#ffc945", "#5ed18a", "#6fb4ff"),
        faint="#8b98a5",
    ),
    _theme(
        "bench-light",
        dark=False,
        ground=("#fbfaf7", "#15191d", "#e2e4e0"),
        signals=("#b3180c", "#8a5300", "#0b6b35", "#0a4fa8"),
        faint="#5b646c",
    ),
    _theme(
        "ansi-dark",
        dark=True,
        ground=("ansi_default", "ansi_default", "ansi_default"),
        signals=("ansi_bright_red", "ansi_bright_yellow", "ansi_bright_green", "ansi_bright_cyan"),
        faint="ansi_white",
    ),
    _theme(
        "ansi-light",
        dark=False,
        ground=("ansi_default", "ansi_default", "ansi_default"),
        signals=("ansi_red", "ansi_magenta", "ansi_green", "ansi_blue"),
        faint="ansi_bright_black",
    ),
)
"""In the order in which the theme key goes through them."""

THEME_NAMES = tuple(theme.name for theme in THEMES)


def theme_after(name: str) -> str:
    """The next theme's name, round and round."""
    place = THEME_NAMES.index(name) if name in THEME_NAMES else -1
    return THEME_NAMES[(place + 1) % len(THEME_NAMES)]
