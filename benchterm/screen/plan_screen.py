"""The set-up sheet on the screen, scrolled by keypad: before the bench, and from it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from benchterm.core.facts import Facts
from benchterm.core.practice import Practice
from benchterm.errors import BenchError
from benchterm.screen.keying import NUM_LOCK_KEYS, NUM_LOCK_OFF, run_bound

WORKING = "Working it out ..."
BEFORE = " Enter: on to the bench   - back to the form   2 8 line   3 9 page   F1 help"
AT_WORK = " Enter: back to the bench   2 8 line   3 9 page   F1 help"


class PlanScreen(Screen[bool], inherit_bindings=False):
    """Shows what to expect of a job; hands back whether to go on."""

    DEFAULT_CSS = """
    PlanScreen { background: $background; color: $foreground; }
    PlanScreen VerticalScroll { height: 1fr; scrollbar-size-vertical: 1; }
    PlanScreen #sheet { padding: 0 0 0 1; }
    PlanScreen #keys { height: 1; background: $bench-bar; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "go_on", "on to the bench", id="plan.go-on"),
        Binding("minus,subtract,escape", "go_back", "back", id="plan.back"),
        Binding("2,down", "scroll('scroll_down')", "down a line", id="plan.down"),
        Binding("8,up", "scroll('scroll_up')", "up a line", id="plan.up"),
        Binding(
            "3,pagedown,space", "scroll('scroll_page_down')", "down a page", id="plan.page-down"
        ),
        Binding("9,pageup", "scroll('scroll_page_up')", "up a page", id="plan.page-up"),
    ]
    AUTO_FOCUS = ""

    def __init__(self, facts: Facts, practice: Practice, *, at_work: bool = False) -> None:
        super().__init__()
        self._facts = facts
        self._practice = practice
        self._keys = AT_WORK if at_work else BEFORE

    def compose(self) -> ComposeResult:
        """The sheet and the keys."""
        with VerticalScroll():
            yield Static(WORKING, id="sheet", markup=False)
        yield Static(self._keys, id="keys", markup=False)

    def on_mount(self) -> None:
        """Work it out beside the screen: the first time loads the mathematics."""
        self.run_worker(self._work, thread=True)

    async def on_key(self, event: events.Key) -> None:
        """Bound keys; a pad without Num Lock scrolls all the same where it can."""
        if not await run_bound(self, event) and event.key in NUM_LOCK_KEYS:
            self.query_one("#keys", Static).update(f" {NUM_LOCK_OFF}")

    def action_go_on(self) -> None:
        """On to the bench."""
        self.dismiss(True)

    def action_go_back(self) -> None:
        """Back to where one came from."""
        self.dismiss(False)

    def action_scroll(self, how: str) -> None:
        """Move the sheet."""
        move: Callable[..., None] = getattr(self.query_one(VerticalScroll), how)
        move(animate=False)

    def _work(self) -> None:
        text = sheet_text(self._facts, self._practice)
        self.app.call_later(self._show, text)

    def _show(self, text: str) -> None:
        if self.is_attached:
            self.query_one("#sheet", Static).update(text)


def sheet_text(facts: Facts, practice: Practice) -> str:
    """The page that ``benchterm plan`` prints, or why there is none."""
    # Here, not above: the mathematics take longer to load than the bench may to open.
    from benchterm.adhesive_amount import adhesive_amount  # noqa: PLC0415
    from benchterm.core.planning import impossible, plan  # noqa: PLC0415
    from benchterm.plan_sheet import page  # noqa: PLC0415

    wrong = list(impossible(facts, practice))
    if wrong:
        return "This job cannot be done as it is written down:\n" + "\n".join(wrong)
    try:
        grams, whose = adhesive_amount(facts, practice, datetime.now(UTC).date())
        adhesive = f"{grams:g} g, {whose}"
    except BenchError as error:
        adhesive = f"not known: {error}"
    return page(plan(facts, practice), adhesive)
