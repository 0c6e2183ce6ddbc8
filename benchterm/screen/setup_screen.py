"""The set-up form on the screen: Enter goes from field to field, digits change a value."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual.app import ComposeResult

from benchterm.core.facts import Facts
from benchterm.core.practice import Practice
from benchterm.safety.offered import Offer
from benchterm.screen.filling import FillingScreen
from benchterm.screen.form import BACK, BEGIN, EMPTY, FIELDS, LIST, Form, numbered
from benchterm.screen.glue_screen import GlueScreen
from benchterm.screen.ink import (
    ACTION,
    BOLD,
    DANGER,
    FAINT,
    PLAIN,
    WARNING,
    Line,
    page,
    strong,
    wrap,
)
from benchterm.screen.keying import CLEARS
from benchterm.screen.pane import Pane
from benchterm.screen.plan_screen import PlanScreen

KEYS = "Enter next   - back   + the set-up sheet   Esc twice: not now   F1 help"


class SetupScreen(FillingScreen[Facts]):
    """Asks for the facts of a session; hands them back, or ``None``."""

    DEFAULT_CSS = """
    SetupScreen { background: $background; color: $foreground; }
    SetupScreen #heading, SetupScreen #keys { height: 1; background: $bench-bar; }
    SetupScreen #fields { height: 1fr; padding: 0 1; }
    SetupScreen #typed { height: 1; }
    SetupScreen #said { height: 2; }
    """

    def __init__(
        self,
        facts: Facts,
        practice: Practice,
        offers: Callable[[Sequence[str]], Sequence[Offer]] = lambda _: (),
    ) -> None:
        """``offers`` lists the product files, given the names of those chosen."""
        super().__init__()
        self._offers = offers
        self.form = Form(facts, practice)

    def compose(self) -> ComposeResult:
        """Heading, fields, what is typed, what was wrong, keys."""
        yield Pane(_draw_heading, id="heading")
        yield Pane(_draw_fields, id="fields")
        yield Pane(_draw_typed, id="typed")
        yield Pane(_draw_said, id="said")
        yield Pane(_draw_keys, id="keys")

    async def action_take(self) -> None:
        """Enter the value and go on; begin after the last field."""
        if self.typed.strip() == BEGIN:
            self._finish()
            return
        if self.typed.strip() == LIST and self.form.field.names:
            self._choose()
            return
        self.said = self.form.take(self.typed)
        if self.said:
            self.app.bell()
            self.said = "" if self.refuse_line(whole=True) else f"{self.said}{CLEARS}"
        else:
            self.typed = ""
            if self.form.at == len(FIELDS):
                self._finish()
                return
        self.typed_on()

    def _choose(self) -> None:
        self.typed = self.said = ""
        chosen = self.form.values["products"]

        def take(names: tuple[str, ...] | None) -> None:
            if names is not None:
                self.form.values["products"] = names

        self.app.push_screen(GlueScreen(self._offers(chosen), chosen), take)

    def _finish(self) -> None:
        facts = self.form.finish()
        self.typed = ""
        if facts is not None:

            def read(go_on: bool | None) -> None:
                if go_on:
                    self.dismiss(facts)

            self.app.push_screen(PlanScreen(facts, self.form.practice), read)
            return
        self.said = self.form.problems.get(self.form.field.key, "")
        self.app.bell()
        self.typed_on()


def _draw_heading(screen: SetupScreen, width: int, height: int) -> list[Line]:
    place = f"{screen.form.at + 1} of {len(FIELDS)}"
    return page([[(" A new screen", BOLD), (f"   field {place}", PLAIN)]], width, height)


def _draw_fields(screen: SetupScreen, width: int, height: int) -> list[Line]:
    form = screen.form
    first = min(max(0, form.at - height // 2), max(0, len(FIELDS) - height))
    lines: list[Line] = []
    for i, field in enumerate(FIELDS):
        here = i == form.at
        line: Line = [
            ("▸ " if here else "  ", strong(ACTION)),
            (f"{field.label:<28}", BOLD if here else PLAIN),
            (form.shown(field), BOLD if here else PLAIN),
        ]
        if field.key in form.problems:
            line.append((f"  ✗ {form.problems[field.key]}", WARNING))
        elif here and field.choices:
            line.append((f"    {numbered(field)}", ACTION))
        elif here and field.names:
            line.append((f"    {LIST} to choose, {EMPTY} for none", ACTION))
        elif here and field.optional:
            line.append((f"    {EMPTY} for none", FAINT))
        lines.append(line)
    return page(lines[first:], width, height)


def _draw_typed(screen: SetupScreen, width: int, height: int) -> list[Line]:
    typed: Line = [(" ▸ ", strong(ACTION)), (screen.typed, BOLD), ("▏", ACTION)]
    would, style = _would(screen)
    return page([[*typed, ("  = ", ACTION), (would, style)]], width, height)


def _would(screen: SetupScreen) -> tuple[str, str]:
    """What Enter would do."""
    form, text = screen.form, screen.typed.strip()
    if form.at == len(FIELDS):
        return "", PLAIN
    field = form.field
    if text == BEGIN:
        return "the set-up sheet, then the bench", PLAIN
    if text == BACK:
        return "one field back", PLAIN
    if not text:
        return f"{field.label}: {form.shown(field)}, as it stands", FAINT
    if field.key == "mesh.count" and "/" in text:
        return f"{field.label}: {text}", PLAIN
    if field.names and text == LIST:
        return "choose from the shop's product files", PLAIN
    try:
        value = form.read(text)
    except ValueError as error:
        return str(error), WARNING
    words = [word for word, of in field.choices if of == value]
    shown = words[0] if words else ("none" if value in (None, "", ()) else f"{text} {field.unit}")
    return f"{field.label}: {shown}", PLAIN


def _draw_said(screen: SetupScreen, width: int, height: int) -> list[Line]:
    lines = wrap(f"✗ {screen.said}" if screen.said else "", width - 2)
    return page([[(" ", PLAIN), (text, DANGER)] for text in lines], width, height)


def _draw_keys(_: SetupScreen, width: int, height: int) -> list[Line]:
    return page([[(f" {KEYS}", FAINT)]], width, height)
