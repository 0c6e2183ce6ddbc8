"""The board in terminals small and large, in every theme, without colour."""

from __future__ import annotations

import re

import pytest
from screen.rig import Rig, bench, desk
from screen.test_drawing import at_work
from textual.color import Color

from benchterm.core.events import Source
from benchterm.core.gates import open_checks
from benchterm.core.intents import Go
from benchterm.core.stages import Stage
from benchterm.screen.digits import figures
from benchterm.screen.letters import lettered
from benchterm.screen.pane import Pane
from benchterm.screen.themes import THEME_NAMES, THEMES, theme_after

SIZES = [(60, 20), (80, 24), (80, 60), (132, 43), (200, 60)]


def tall_figures(at: Rig) -> int:
    """Rows of the large value on the screen."""
    pane = at.screen.query_one("#value", Pane)
    rows = [row for row in pane.text.splitlines() if set(row) & set("█▀▄")]
    assert any(
        tuple(r.rstrip() for r in rows) == tuple(r.rstrip() for r in drawn)
        for drawn in (figures("12.5", pane.content_size.width, height) for height in range(3, 40))
    )
    return len(rows)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
async def test_all_that_matters_is_there(size: tuple[int, int]):
    at = at_work()
    async with bench(at, size) as rig:
        assert tall_figures(rig) >= 5
        board = rig.screen.query_one("Board").region
        for pane in rig.screen.query(Pane):
            if pane.display:
                assert pane.region.area, f"{pane.id} has no room"
                assert pane.region in board, f"{pane.id} leaves the screen"
        await rig.advised()
        flat = " ".join(rig.shown().split())
        for part in (
            *("7 far left", "8 far", "9 far right", "4 left", "5 centre", "6 right"),
            *("1 near left", "2 near", "3 near right", "14.0", "+3", "12.5"),
            *("S-041", "6/15 first tensioning", "0:00:00"),
            *("checks", "last entries", "CV", "11.0"),
            *("○ journal none", "○ gauge none", "○ microphone none", "F1 help"),
        ):
            assert part in flat, f"{part!r} is not on the screen"
        assert rig.view.advice[0].do in flat
        await rig.keys("8 99")
        assert "8 99" in rig.pane("entry")
        await rig.pilot.press("enter")
        assert "✗" in rig.pane("message")


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
async def test_questions_are_whole(size: tuple[int, int]):
    async with bench(desk(), size) as rig:
        await rig.enter("+")
        flat = " ".join(rig.pane("question").split())
        assert [n for n in "12345" if f"* {n} " in flat] == list("12345")
        assert "/ stays" in flat


async def test_a_caution_is_whole_in_a_small_terminal_too():
    async with bench(desk(stage=Stage.ADHESIVE), (60, 20)) as rig:
        for check in open_checks(rig.state):
            if check.caution:
                await rig.pilot.pause()
                large = lettered(check.text, 58, len(rig.pane("warning").splitlines()) - 1)
                shown = rig.pane("warning")
                whole = check.text in " ".join(shown.split())
                assert whole or (large and all(row.rstrip() in shown for row in large))
            await rig.enter("*")
        assert rig.screen.query_one("#entries").display


async def test_a_larger_terminal_has_larger_figures():
    async with bench(at_work(), (80, 24)) as small, bench(at_work(), (200, 60)) as large:
        assert tall_figures(small) == 5
        assert tall_figures(large) >= 10


async def test_the_board_follows_a_change_of_size():
    async with bench(at_work(), (200, 60)) as rig:
        await rig.pilot.resize_terminal(80, 24)
        await rig.pilot.pause()
        assert tall_figures(rig) == 5
        assert rig.screen.query_one("#links").region.bottom == 24


async def test_a_large_terminal_shows_the_other_advice():
    at = at_work()
    async with bench(at, (200, 60)) as rig:
        assert len(rig.view.advice) > 1
        await rig.advised()
        for advice in rig.view.advice:
            assert advice.do in rig.pane("advice")


async def test_no_layout_moves_the_map_when_advice_changes():
    async with bench(desk(stage=Stage.FIRST_TENSION)) as rig:
        place = rig.screen.query_one("#map").region
        for keys in ("8 9.5", "8+4", "*", "2 60", "*"):
            await rig.enter(keys)
            assert rig.screen.query_one("#map").region == place


# -- themes ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("theme", THEME_NAMES)
async def test_every_theme_shows_every_screen(theme: str):
    async with bench(at_work(), theme=theme) as rig:
        assert rig.app.theme == theme
        assert "far left" in picture(rig)
        await rig.pilot.press("f1")
        assert "Every key" in picture(rig)


async def test_a_key_goes_through_the_themes():
    async with bench(desk()) as rig:
        seen = []
        for _ in THEME_NAMES:
            await rig.pilot.press("f2")
            seen.append(rig.app.theme)
        assert sorted(seen) == sorted(THEME_NAMES)
        assert theme_after("no such theme") == THEME_NAMES[0]


@pytest.mark.parametrize("theme", [t for t in THEMES if not t.ansi], ids=lambda t: t.name)
def test_every_ink_can_be_read_on_its_ground(theme):
    # WCAG 2.2, 1.4.3: contrast of text at least 4.5 to 1.
    for ground in (theme.background, theme.panel):
        for ink in ("danger", "warning", "normal", "action", "faint"):
            text = Color.parse(theme.variables[f"bench-{ink}"])
            assert contrast(text, Color.parse(ground)) >= 4.5, f"{ink} on {ground}"


def contrast(one: Color, other: Color) -> float:
    """Contrast ratio as WCAG 2.2 defines it, from relative luminance."""

    def luminance(color: Color) -> float:
        parts = [c / 255 for c in color.rgb]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def hue(theme, ink: str) -> float:
    return Color.parse(theme.variables[f"bench-{ink}"]).hsl.h * 360


@pytest.mark.parametrize("theme", [t for t in THEMES if not t.ansi], ids=lambda t: t.name)
def test_colours_mean_what_iec_60073_says(theme):
    # IEC 60073: red danger, yellow warning, green normal, blue mandatory action.
    assert hue(theme, "danger") < 20
    assert 30 <= hue(theme, "warning") <= 60
    assert 90 <= hue(theme, "normal") <= 160
    assert 200 <= hue(theme, "action") <= 250


@pytest.mark.parametrize("theme", [t for t in THEMES if t.ansi], ids=lambda t: t.name)
async def test_the_16_colour_themes_use_nothing_else(theme):
    async with bench(at_work(), theme=theme.name) as rig:
        for pane in rig.screen.query(Pane):
            for y in range(pane.size.height):
                for segment in pane.render_line(y):
                    if segment.style and segment.style.color:
                        assert segment.style.color.number is None or segment.style.color.number < 16
                        assert segment.style.color.triplet is None


def picture(at: Rig) -> str:
    return at.app.export_screenshot().replace("&#160;", " ")


def colours(picture: str) -> set[str]:
    """Every colour in a picture but the window's own frame and its title and three buttons."""
    frame = {"#ff5f57", "#febc2e", "#28c840", "#292929", "#c5c8c6"}
    return {c.lower() for c in re.findall(r"#[0-9a-fA-F]{6}", picture)} - frame


def is_grey(colour: str) -> bool:
    return len({colour[i : i + 2] for i in (1, 3, 5)}) == 1


async def test_no_color_is_honoured(monkeypatch: pytest.MonkeyPatch):
    async with bench(at_work()) as rig:
        assert not all(is_grey(c) for c in colours(picture(rig)))
    monkeypatch.setenv("NO_COLOR", "1")
    async with bench(at_work()) as rig:
        await rig.enter("8 99")
        assert [c for c in colours(picture(rig)) if not is_grey(c)] == []
        assert "✗" in picture(rig)


async def test_a_picture_of_the_bench_holds_its_words():
    at = at_work()
    at.take(Go(Stage.ADHESIVE, "shown in a picture"), Source.PIPE)
    async with bench(at, (120, 40)) as rig:
        drawn = picture(rig)
        for part in ("10/15 adhesive", "caution", "last entries", "journal none"):
            assert part in drawn
