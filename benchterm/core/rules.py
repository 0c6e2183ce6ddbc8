"""The table of rules: read it top to bottom. Within a severity, higher rows are shown first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from benchterm.core import rules_clicks as clicked
from benchterm.core import rules_glue as glue
from benchterm.core import rules_plan as plan
from benchterm.core import rules_tension as tension
from benchterm.core import rules_work as work
from benchterm.core.advice import Advice
from benchterm.core.practice import COMMON_PRACTICE, DILUTION, OUR_CHOICE, SIMULATED
from benchterm.core.rules_corner import corner_ahead
from benchterm.core.rules_settling import settling
from benchterm.core.situation import Situation


@dataclass(frozen=True, slots=True)
class Rule:
    """When a piece of advice is given."""

    code: str
    speaks_when: str
    limits: tuple[str, ...]
    """Rows of the shop's table (``Practice``) that it goes by."""
    source: str
    find: Callable[[Situation], Advice | None]
    can_be_switched_off: bool = True


RULES: tuple[Rule, ...] = (
    Rule(
        "question",
        "the bench waits for a yes, a no or a reason",
        ("surprise_n_cm",),
        OUR_CHOICE,
        work.question,
        can_be_switched_off=False,
    ),
    Rule(
        "caution",
        "a caution of this stage is not acknowledged",
        (),
        COMMON_PRACTICE,
        work.caution,
        can_be_switched_off=False,
    ),
    Rule(
        "closed-gate",
        "a product may not be glued with, or its file cannot be read",
        (),
        OUR_CHOICE,
        glue.closed_gate,
        can_be_switched_off=False,
    ),
    Rule(
        "air",
        "vapour of the glue is in the room, from the adhesive stage on",
        ("room_m3", "room_air_m3_h", "room_mixing", "pocket_m3", "lel_share_pct"),
        DILUTION,
        glue.air,
    ),
    Rule(
        "ceiling",
        "a side is at or near the mesh's highest working tension",
        ("ceiling_share", "tenacity_cn_dtex"),
        COMMON_PRACTICE,
        tension.ceiling,
    ),
    Rule(
        "corner-ahead",
        "a corner may tear on the way to the target, or reads well over the sides next to it",
        ("tear_chance", "corner_over_sides", "relief_mm"),
        SIMULATED,
        corner_ahead,
    ),
    Rule(
        "over-target",
        "a side reads over its target by more than the tolerance",
        (),
        COMMON_PRACTICE,
        tension.over_target,
    ),
    Rule(
        "clicks-uneven",
        "opposite rollers have been turned by different amounts since slack",
        ("pair_balance_clicks",),
        COMMON_PRACTICE,
        tension.clicks_uneven,
    ),
    Rule(
        "sides-uneven",
        "opposite sides, both freshly read, are too far apart",
        ("pair_balance_n_cm",),
        COMMON_PRACTICE,
        tension.sides_uneven,
    ),
    Rule(
        "clicks-lost",
        "readings show that the latest clicks of a pair give less than they should",
        (),
        SIMULATED,
        clicked.clicks_lost,
    ),
    Rule(
        "clicks-uncalled",
        "readings show more clicks on a pair than were called",
        (),
        SIMULATED,
        clicked.clicks_uncalled,
    ),
    Rule(
        "click-run",
        "one roller has had too many clicks in a row",
        ("clicks_in_a_row",),
        COMMON_PRACTICE,
        tension.click_run,
    ),
    Rule(
        "axes-apart",
        "along and across are out of step with their targets",
        ("axes_apart_n_cm",),
        COMMON_PRACTICE,
        tension.axes_apart,
    ),
    Rule(
        "stale",
        "too many clicks or minutes since an axis was read",
        ("stale_clicks", "stale_min"),
        OUR_CHOICE,
        tension.stale,
    ),
    Rule(
        "wait",
        "a wait is to be started, is running, or is over",
        ("settle_min", "cure_min"),
        COMMON_PRACTICE,
        work.wait,
    ),
    Rule(
        "open-time",
        "the glue's open time is to be timed, is running, or is over",
        (),
        COMMON_PRACTICE,
        glue.open_time,
    ),
    Rule(
        "relief-look",
        "it is time for corner relief and the corners have not been read",
        (),
        COMMON_PRACTICE,
        work.relief_look,
    ),
    Rule(
        "next-side",
        "a roller is to be turned: the axis furthest behind, its lagging side first",
        ("first_share", "modulus_gpa"),
        COMMON_PRACTICE,
        plan.next_side,
    ),
    Rule(
        "read-off",
        "the screen is off the stretcher and its centre has not been read",
        (),
        COMMON_PRACTICE,
        work.centre_unread,
    ),
    Rule(
        "settle",
        "all four sides are as near their target as whole clicks come",
        (),
        COMMON_PRACTICE,
        plan.settle,
    ),
    Rule(
        "settling",
        "the mesh is left to settle: what will be left of its tension tomorrow",
        ("lost_in_a_day", "lost_in_a_day_sd", "lost_later", "lost_later_sd"),
        SIMULATED,
        settling,
    ),
    Rule("check", "a line of the check-list is open", (), COMMON_PRACTICE, work.check),
    Rule("go-on", "nothing of this stage is open", (), OUR_CHOICE, work.go_on),
    Rule(
        "spread",
        "the stations read on an axis are spread too widely",
        ("range_n_cm", "variation_pct"),
        COMMON_PRACTICE,
        tension.spread_wide,
    ),
)
