"""The set-up sheet on the screen: before the bench, and from it."""

from __future__ import annotations

from datetime import UTC, datetime

from benchterm.core.facts import Facts
from benchterm.core.practice import Practice
from benchterm.errors import BenchError
from benchterm.screen.sheet_screen import SheetScreen

BEFORE = " Enter: on to the bench   - back to the form   2 8 line   3 9 page   F1 help"
AT_WORK = " Enter: back to the bench   2 8 line   3 9 page   F1 help"


class PlanScreen(SheetScreen):
    """Shows what to expect of a job."""

    def __init__(self, facts: Facts, practice: Practice, *, at_work: bool = False) -> None:
        super().__init__(AT_WORK if at_work else BEFORE)
        self._facts = facts
        self._practice = practice

    def text(self) -> str:
        """The set-up sheet."""
        return sheet_text(self._facts, self._practice)


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
