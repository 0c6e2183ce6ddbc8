"""The shop's numbers: one table, every line adjustable, every line with where it comes from.

"Common practice, no source" means what it says: usual in the trade, not read in any standard.
The mesh maker's data sheet and the gauge's manual win over every number here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, fields
from typing import Any

COMMON_PRACTICE = "common practice, no source"
OUR_CHOICE = "this program's default"
DILUTION = "one well-stirred room, V dC/dt = G - QC/K, with K after CDC 1994"
SIMULATED = "tuned on a simulated bench, not on real mesh"


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table."""

    name: str
    value: float
    unit: str
    low: float
    high: float
    what: str
    source: str


def _row(
    value: float, unit: str, low: float, high: float, what: str, source: str = COMMON_PRACTICE
) -> Any:
    meta = {"unit": unit, "low": low, "high": high, "what": what, "source": source}
    return field(default=value, metadata=meta)


@dataclass(frozen=True, slots=True)
class Practice:
    """Numbers the bench goes by. Lengths mm, tensions N/cm, times minutes."""

    raise_min_mm: float = _row(1.6, "mm", 0, 10, "frame above the stretcher, at least")
    raise_max_mm: float = _row(3.2, "mm", 0, 20, "frame above the stretcher, at most")
    groove_back_clicks_min: float = _row(2, "clicks", 0, 10, "back until the groove shows, from")
    groove_back_clicks_max: float = _row(3, "clicks", 0, 10, "back until the groove shows, to")
    past_roller_min_mm: float = _row(25, "mm", 5, 200, "mesh past each roller, at least")
    past_roller_max_mm: float = _row(38, "mm", 5, 200, "mesh past each roller, at most")
    heavy_frame_mm: float = _row(1220, "mm", 300, 5000, "longer frames want the stiffer channel")

    pair_balance_n_cm: float = _row(1.0, "N/cm", 0.1, 10, "opposite sides apart, at most")
    pair_balance_clicks: float = _row(1, "clicks", 0, 20, "opposite rollers apart, at most")
    axes_apart_n_cm: float = _row(2.0, "N/cm", 0.1, 20, "along and across apart, at most")
    range_n_cm: float = _row(2.0, "N/cm", 0.1, 20, "largest less smallest station, at most")
    variation_pct: float = _row(5.0, "%", 0.5, 50, "coefficient of variation, at most")
    clicks_in_a_row: float = _row(4, "clicks", 1, 50, "on one roller before its opposite turns")
    first_share: float = _row(
        0.6, "of target", 0.2, 0.95, "where first tensioning ends and corners are looked at"
    )
    relief_mm: float = _row(6, "mm", 1, 50, "mesh let back in at a corner, if not measured")
    corner_over_sides: float = _row(
        1.10, "ratio", 1.0, 3.0, "corner against its two sides before relief is due", SIMULATED
    )
    tear_chance: float = _row(
        0.06, "chance", 0.005, 0.5, "of a tear at the next click before relief is due", SIMULATED
    )

    settle_min: float = _row(15, "min", 0, 2880, "wait before the adhesive")
    cure_min: float = _row(15, "min", 0, 2880, "wait after the adhesive, if its sheet says no more")
    caution_break_min: float = _row(
        30, "min", 1, 1440, "with no entry, after which cautions are asked again", OUR_CHOICE
    )
    sheet_years: float = _row(
        3, "years", 0.5, 20, "a safety data sheet older than this is said so", OUR_CHOICE
    )
    adhesive_g: float = _row(
        20, "g", 0.1, 1000, "adhesive on one screen, if its product does not say", OUR_CHOICE
    )
    activator_g: float = _row(
        8, "g", 0.1, 1000, "activator on one screen, if its product does not say", OUR_CHOICE
    )
    hardener_g: float = _row(
        5, "g", 0.1, 1000, "hardener on one screen, if its product does not say", OUR_CHOICE
    )
    room_m3: float = _row(30, "m3", 3, 100000, "the room: a small one", OUR_CHOICE)
    room_air_m3_h: float = _row(
        30, "m3/h", 0, 1000000, "fresh air: a shut door, no fan", OUR_CHOICE
    )
    room_mixing: float = _row(
        5,
        "times",
        1,
        10,
        "how badly fresh air mixes: 1 perfectly to 10 very poorly (CDC 1994)",
        OUR_CHOICE,
    )
    pocket_m3: float = _row(
        1, "m3", 0.05, 100, "air by the bench that vapour fills first", OUR_CHOICE
    )
    lel_share_pct: float = _row(
        10, "% of LEL", 1, 25, "vapour by the bench, at most", COMMON_PRACTICE
    )

    stale_clicks: float = _row(6, "clicks", 1, 100, "on an axis since it was last read", OUR_CHOICE)
    stale_min: float = _row(20, "min", 1, 2880, "since a side was last read", OUR_CHOICE)

    reading_max_n_cm: float = _row(80, "N/cm", 10, 200, "no reading is taken above", OUR_CHOICE)
    clicks_max: float = _row(20, "clicks", 1, 200, "no entry of more clicks is taken", OUR_CHOICE)
    relief_max_mm: float = _row(60, "mm", 1, 200, "no relief of more is taken", OUR_CHOICE)
    surprise_n_cm: float = _row(
        4.0, "N/cm", 0.5, 50, "a reading further off than this is asked back", OUR_CHOICE
    )
    tenacity_cn_dtex: float = _row(
        4.3,
        "cN/dtex",
        1,
        12,
        "strength of the yarn, low end for polyester monofilament",
        "patent EP 3 859 057 A1: 4.3 to 9.0 cN/dtex",
    )
    ceiling_share: float = _row(0.35, "of strength", 0.05, 0.9, "highest working tension")
    modulus_gpa: float = _row(
        7.4, "GPa", 1, 20, "yarn modulus times crimp, before clicks have taught better", SIMULATED
    )
    lost_in_a_day: float = _row(
        0.14, "of tension", 0.03, 0.36, "settled away 24 h after the last click", SIMULATED
    )
    lost_in_a_day_sd: float = _row(
        0.035, "of tension", 0.005, 0.2, "how far that is off from mesh to mesh", SIMULATED
    )

    lost_later: float = _row(
        0.0,
        "of tension",
        0,
        0.3,
        "settled away from a quarter of an hour to 24 h; 0: not known, lost_in_a_day counts",
        SIMULATED,
    )
    lost_later_sd: float = _row(
        0.035, "of tension", 0.005, 0.2, "how far that is off from mesh to mesh", SIMULATED
    )

    def rows(self) -> Iterator[Row]:
        """The table, line by line, with the values in force."""
        for f in fields(self):
            yield Row(f.name, getattr(self, f.name), **f.metadata)

    def problems(self) -> Iterator[str]:
        """One sentence for each value outside its range or pair of values that contradict."""
        for row in self.rows():
            if not row.low <= row.value <= row.high:
                yield (
                    f"{row.name} = {row.value:g} is outside {row.low:g} to {row.high:g} {row.unit}"
                )
        for low, high in (
            ("raise_min_mm", "raise_max_mm"),
            ("groove_back_clicks_min", "groove_back_clicks_max"),
            ("past_roller_min_mm", "past_roller_max_mm"),
        ):
            if getattr(self, low) > getattr(self, high):
                yield f"{low} is above {high}"
