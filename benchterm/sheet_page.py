"""The sheet of a screen as a page of plain text, no wider than 80 characters."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from datetime import datetime

from benchterm.core.balance import PairBalance, Spread
from benchterm.core.facts import Facts
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.core.stations import ROLLERS, Axis, Station
from benchterm.core.trust import Trusted
from benchterm.mechanics.uncertainty import stated
from benchterm.records.sheet import Gauge, Measured, Outcome, Place, Read, Sheet, Visit
from benchterm.words import clock, entry_words

WIDTH = 78
HEADING = "last entry  screen    mesh          along / across, mean ± half the range\n"
"""Above the lines of a list."""
_CELL = 25
_ROWS = ((7, 8, 9), (4, 5, 6), (1, 2, 3))
"""Stations as the operator sees them, the far side on top."""


def page(sheet: Sheet) -> str:
    """The whole sheet."""
    return "\n".join(_lines(sheet)) + "\n"


def _lines(sheet: Sheet) -> Iterator[str]:
    outcome = sheet.outcome.value + (f": {sheet.reason}" if sheet.reason else "")
    if sheet.outcome is Outcome.OPEN:
        outcome += f", now at {sheet.stage.label}"
    yield f"SCREEN {sheet.facts.screen_id}   {outcome}"
    yield f"session {sheet.session} at {sheet.bench}, {sheet.events} entries kept"
    yield f"opened {local(sheet.opened_utc)}, last entry {local(sheet.last_utc)}"
    if sheet.torn_bytes:
        yield f"the record ends in mid-line: {sheet.torn_bytes} bytes that never counted"
    yield ""
    yield from _facts(sheet.facts)
    yield from _gauges(sheet.gauges)
    yield from _tension("TENSION ON THE STRETCHER", sheet.on_stretcher, sheet.facts, work=True)
    for settled in sheet.settled:
        yield (
            f"  {settled.axis.value:<7} worked out for 24 h after the last click: "
            f"{settled.n_cm:.1f}, 90 % {settled.low_n_cm:.1f} to {settled.high_n_cm:.1f}"
        )
    if sheet.off_stretcher is not None:
        yield from _tension("TENSION OFF IT", sheet.off_stretcher, sheet.facts)
        yield from _lost(sheet)
    yield from _stages(sheet.visits)
    yield from _glue(sheet)
    yield from _told(sheet)
    yield ""
    yield from textwrap.wrap(sheet.caveat, WIDTH)


def _facts(facts: Facts) -> Iterator[str]:
    frame, mesh, stretcher, target = facts.frame, facts.mesh, facts.stretcher, facts.target
    gap = stretcher.rod_gap_mm
    rods = "rod gap not measured" if gap is None else f"rods stop {gap:g} mm short of the corner"
    pulled = {axis: facts.pair_of(axis).value for axis in Axis}
    rows = {
        "operator": facts.operator or "not named",
        "gauge": facts.gauge or "not named",
        "frame": f"{frame.width_mm:g} x {frame.depth_mm:g} mm, {frame.tube_mm:g} x "
        f"{frame.tube_height_mm:g} x {frame.wall_mm:g} mm {frame.material}",
        "mesh": f"{mesh.threads_cm:.4g}/cm, {mesh.thread_um:g} µm, {mesh.material}",
        "stretcher": f"{stretcher.kind.value}, rollers {stretcher.roller_mm:g} mm, "
        f"{stretcher.teeth} teeth, {stretcher.locking.value}, {rods}",
        "target": f"along {target.along_n_cm:g} ({pulled[Axis.ALONG]}), across "
        f"{target.across_n_cm:g} ({pulled[Axis.ACROSS]}), ±{target.tolerance_n_cm:g} N/cm",
    }
    for label, text in rows.items():
        yield from _hung(f"{label:<11}{text}", 0)


def _tension(
    title: str, measured: Measured | None, facts: Facts, *, work: bool = False
) -> Iterator[str]:
    yield ""
    if measured is None:
        yield f"{title}: not read"
        return
    yield f"{title}, N/cm along / across"
    by_station = {place.station: place for place in measured.places}
    for row in _ROWS:
        yield "  " + "".join(_cell(by_station[Station(n)]) for n in row).rstrip()
    if any(r is not None and not r.current for p in measured.places for r in (p.along, p.across)):
        yield "  (in brackets: rollers turned since; not in the figures below)"
    for axis in Axis:
        spread = measured.spread(axis)
        if spread is not None:
            yield f"  {axis.value:<7} {_spread(spread)}{_against(spread, axis, facts)}"
            yield from _hung(_trust(measured.trust(axis)), 11)
    yield f"  {_apart(measured.far_near)}; {_apart(measured.left_right)}"
    if work:
        clicks = ", ".join(f"{side.label} {by_station[side].clicks:+d}" for side in ROLLERS)
        yield f"  net clicks since tension began: {clicks}"
        eased = [f"{p.station.label} {p.relief_mm:g} mm" for p in measured.places if p.relief_mm]
        yield from _hung(f"mesh let back in at corners: {', '.join(eased) or 'none'}", 2)


def _trust(found: Trusted | str) -> str:
    """A mean, corrected, with U and what that rests on, or why there is no U."""
    if isinstance(found, str):
        return f"no ± U: {found}"
    parts = ", ".join(f"{part.name} {part.u_n_cm:.2g}" for part in found.parts if part.u_n_cm)
    told = (
        f"{stated(found.mean_n_cm, found.expanded_n_cm)} (U, k = {found.k:g}) by the calibration "
        f"of {local(found.calibrated_utc)}: u {parts}"
    )
    expanded, by_t = f"{found.expanded_n_cm:.2g}", f"{found.t_k * found.u_n_cm:.2g}"
    if found.df is None or by_t == expanded:
        return told
    return f"{told}; 95 % by t for {found.df:.1f} degrees of freedom: U {by_t}"


def _gauges(gauges: tuple[Gauge, ...]) -> Iterator[str]:
    yield ""
    yield "GAUGE; ± U is of it alone, s of the mesh from place to place"
    if not gauges:
        yield "  no calibration is on record; readings stand as they came"
    for gauge in gauges:
        how = "on its wire" if gauge.wired else "read by eye"
        yield from _hung(
            f"{clock(gauge.at_s)}  {gauge.name or 'not named'}, {how}: {_calibration(gauge)}", 2
        )


def _calibration(gauge: Gauge) -> str:
    found = gauge.calibration
    if found is None:
        return "not calibrated here; readings stand as they came"
    sign = "-" if found.intercept < 0 else "+"
    exact = "taken as exact" if not found.reference_u_n_cm else f"u {found.reference_u_n_cm:g}"
    corrected = "readings stand corrected" if gauge.wired else "corrected only where ± U stands"
    return (
        f"calibrated {local(found.utc)} by {found.operator or 'nobody named'}, "
        f"{len(found.readings_n_cm)} points read from {min(found.readings_n_cm, default=0):g} to "
        f"{max(found.readings_n_cm, default=0):g} N/cm, references {exact}; reading = "
        f"{found.slope:.4f} x tension {sign} {abs(found.intercept):.3f}; {corrected}"
    )


def local(utc: str) -> str:
    """A moment by the clock of the shop, with how far that is from UTC; as it is if it is none."""
    moment = _local(utc)
    return utc if moment is None else moment.isoformat(sep=" ", timespec="minutes")


def _day(utc: str) -> str:
    moment = _local(utc)
    return utc if moment is None else f"{moment:%Y-%m-%d}"


def _local(utc: str) -> datetime | None:
    try:
        return datetime.fromisoformat(utc).astimezone()
    except (ValueError, OverflowError):
        return None


def _cell(place: Place) -> str:
    values = " / ".join(_value(read) for read in (place.along, place.across))
    return f"{f'{place.station.label} {values}':<{_CELL}}"


def _value(read: Read | None) -> str:
    if read is None:
        return "--"
    return f"{read.n_cm:.1f}" if read.current else f"({read.n_cm:.1f})"


def _spread(spread: Spread) -> str:
    if spread.s is None:
        return f"{spread.mean:.1f} at one station"
    return (
        f"mean {spread.mean:.1f} of {spread.n}, range {spread.range:.1f}, s {spread.s:.2f}, "
        f"CV {spread.cv_pct:.1f} %"
    )


def _against(spread: Spread, axis: Axis, facts: Facts) -> str:
    return f", {spread.mean - facts.target.of(axis):+.1f} to target"


def _apart(pair: PairBalance) -> str:
    apart = pair.apart_n_cm
    told = "not read" if apart is None else f"{apart:+.1f}"
    stale = " (turned since)" if apart is not None and not pair.fresh else ""
    names = f"{pair.first.label} less {pair.second.label}"
    return f"{names} {told}{stale}, {pair.clicks_apart:+d} clicks"


def _lost(sheet: Sheet) -> Iterator[str]:
    on, off = sheet.on_stretcher, sheet.off_stretcher
    if on is None or off is None:
        return
    for axis in Axis:
        before, after = on.current(axis), off.current(axis)
        both = sorted(before.keys() & after.keys())
        if both:
            change = sum(after[s] - before[s] for s in both) / len(both)
            places = ", ".join(station.label for station in both)
            yield from _hung(f"{axis.value}: {change:+.1f} since on the stretcher ({places})", 2)


def _stages(visits: tuple[Visit, ...]) -> Iterator[str]:
    yield ""
    yield "STAGES"
    yield f"  0:00:00  {Stage.PREPARE.label}"
    for visit in visits:
        yield f"  {clock(visit.at_s)}  {visit.stage.label}"
        if visit.passed_over:
            yield from _hung(f"passed over, because {visit.reason or 'no reason kept'}:", 11)
            for left in visit.passed_over:
                yield from _hung(f"- {left}", 11)


def _glue(sheet: Sheet) -> Iterator[str]:
    yield ""
    yield "GLUE AND CAUTIONS"
    for glue in sheet.glue:
        dates = glue.sheet_dates or ("not kept",) * len(glue.names)
        told = [
            f"{name} (data sheet: {date})" for name, date in zip(glue.names, dates, strict=True)
        ]
        names = " and ".join(told) or "no product named: every general caution asked"
        yield from _hung(
            f"{clock(glue.at_s)}  {names}; words of the cautions: version {glue.cautions_version}",
            2,
        )
        for why in glue.closed:
            yield from _hung(f"closed: {why}", 11)
    if not sheet.acknowledged:
        yield "  no caution was acknowledged"
    for one in sheet.acknowledged:
        who = one.operator or "operator not named"
        yield from _hung(
            f"{clock(one.at_s)}  {who}, by {one.source}, version {one.version}, at "
            f"{one.stage.label}: {one.text}",
            2,
        )


def _told(sheet: Sheet) -> Iterator[str]:
    if sheet.remarks:
        yield ""
        yield "NOTES"
        for remark in sheet.remarks:
            yield from _hung(f"{clock(remark.at_s)}  {remark.text}", 2)
    if sheet.taken_back:
        yield ""
        yield "TAKEN BACK, not counted above"
        state = State(facts=sheet.facts)
        for entry in sheet.taken_back:
            words = entry_words(entry, state) or "an undo, itself undone"
            yield from _hung(f"{clock(entry[0].at_s)}  {words}", 2)


def _hung(text: str, indent: int) -> list[str]:
    """Text on as many lines as it takes, the later ones below where the first one's words begin."""
    return textwrap.wrap(
        text, WIDTH, initial_indent=" " * indent, subsequent_indent=" " * max(indent, 11)
    )


def line(sheet: Sheet) -> str:
    """One screen in a list: when, which, its mesh, mean and half range read last, how it ended."""
    facts = sheet.facts
    last = sheet.off_stretcher or sheet.on_stretcher
    mesh = f"{facts.mesh.threads_cm:.4g}/cm {facts.mesh.thread_um:g} µm"
    read = _list_figures(last) if last else "not read"
    even = {True: ", even", False: ", uneven", None: ""}[
        last.is_even(facts.target.tolerance_n_cm) if last else None
    ]
    where = "off" if sheet.off_stretcher else "on"
    open_ = "" if sheet.outcome is Outcome.FINISHED else f", {sheet.outcome.value}"
    where = f" {where} stretcher" if last else ""
    return f"{_day(sheet.last_utc)}  {facts.screen_id:<9} {mesh:<13} {read}{where}{even}{open_}\n"


def _list_figures(measured: Measured) -> str:
    told = []
    for axis in Axis:
        spread = measured.spread(axis)
        told.append("--" if spread is None else f"{spread.mean:.1f}±{spread.range / 2:.1f}")
    return f"{' / '.join(told)} N/cm"
