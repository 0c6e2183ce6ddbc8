"""Which glue goes on this screen: chosen by number from the shop's product files."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult

from benchterm.safety.offered import Offer
from benchterm.screen.filling import FillingScreen
from benchterm.screen.ink import ACTION, BOLD, DANGER, FAINT, PLAIN, WARNING, Line, page, strong
from benchterm.screen.pane import Pane

DONE, NONE = "+", "/"
KEYS = "number Enter: choose, or not   / none   + done   Esc twice: as it was   F1 help"
NOTHING = "No product file is there yet: benchterm products says where they are kept."


class GlueScreen(FillingScreen[tuple[str, ...]]):
    """Hands back the names of the files chosen, or ``None``: as it was."""

    DEFAULT_CSS = """
    GlueScreen { background: $background; color: $foreground; }
    GlueScreen #heading, GlueScreen #keys { height: 1; background: $bench-bar; }
    GlueScreen #offers { height: 1fr; padding: 1 1; }
    GlueScreen #typed, GlueScreen #said { height: 1; }
    """

    def __init__(self, offers: Sequence[Offer], chosen: Sequence[str]) -> None:
        super().__init__()
        self.offers = tuple(offers)
        self.chosen = list(chosen)

    def compose(self) -> ComposeResult:
        """Heading, the files, what is typed, what was wrong, keys."""
        yield Pane(_draw_heading, id="heading")
        yield Pane(_draw_offers, id="offers")
        yield Pane(_draw_typed, id="typed")
        yield Pane(_draw_said, id="said")
        yield Pane(_draw_keys, id="keys")

    def picked(self) -> Offer | None:
        """The file whose number is typed."""
        text = self.typed.strip()
        number = int(text) if text.isdecimal() else 0
        return self.offers[number - 1] if 1 <= number <= len(self.offers) else None

    async def action_take(self) -> None:
        """Choose a file, or no longer; or be done."""
        text, offer = self.typed.strip(), self.picked()
        self.typed, self.said = "", ""
        if text == DONE:
            self.dismiss(tuple(self.chosen))
            return
        if text == NONE:
            self.chosen = []
        elif offer is not None:
            self._turn(offer.name)
        else:
            self.app.bell()
            self.said = f"There is no number {text}." if text else "+ Enter: done."
        self.typed_on()

    def _turn(self, name: str) -> None:
        if name in self.chosen:
            self.chosen.remove(name)
        else:
            self.chosen.append(name)


def _draw_heading(screen: GlueScreen, width: int, height: int) -> list[Line]:
    count = f"   {len(screen.chosen) or 'none'} chosen"
    return page([[(" Glue, activator, hardener", BOLD), (count, PLAIN)]], width, height)


def _draw_offers(screen: GlueScreen, width: int, height: int) -> list[Line]:
    if not screen.offers:
        return page([[(NOTHING, WARNING)]], width, height)
    lines: list[Line] = []
    for number, offer in enumerate(screen.offers, 1):
        chosen = offer.name in screen.chosen
        mark = ("✓ " if chosen else "  ", strong(ACTION))
        style = (BOLD if chosen else PLAIN) if offer.usable else DANGER
        blocked = "" if offer.usable else "■ "
        lines.append(
            [
                mark,
                (f"{number:2d}  ", strong(ACTION)),
                (f"{blocked}{offer.name}  ", style),
                (offer.text, FAINT if offer.usable else DANGER),
            ]
        )
    return page(lines, width, height)


def _draw_typed(screen: GlueScreen, width: int, height: int) -> list[Line]:
    text, offer = screen.typed.strip(), screen.picked()
    if offer is not None:
        would = f"not {offer.name}" if offer.name in screen.chosen else offer.name
    else:
        would = {DONE: "done", NONE: "none: every general caution is asked"}.get(text, "")
    typed: Line = [(" ▸ ", strong(ACTION)), (screen.typed, BOLD), ("▏", ACTION)]
    return page([[*typed, ("  = ", ACTION), (would, PLAIN)]], width, height)


def _draw_said(screen: GlueScreen, width: int, height: int) -> list[Line]:
    return page([[(f" ✗ {screen.said}" if screen.said else "", WARNING)]], width, height)


def _draw_keys(_: GlueScreen, width: int, height: int) -> list[Line]:
    return page([[(f" {KEYS}", FAINT)]], width, height)
