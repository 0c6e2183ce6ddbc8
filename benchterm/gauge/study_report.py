"""What a gauge study found, in lines of text."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from benchterm.gauge.sheet import Block, Sheet
from benchterm.mechanics.gauge_study import (
    GOOD_PCT,
    LEAST_NDC,
    USABLE_PCT,
    Anova,
    Method,
    Result,
    Term,
    study,
)
from benchterm.mechanics.relaxing import LOST_DF, Detrended, detrend

SURE = 0.05
"""Relaxation is taken out if the chance of so much without any is below this."""
PLOT_WIDTH = 56


@dataclass(frozen=True, slots=True)
class Findings:
    """A study worked out."""

    sheet: Sheet
    readings: Block
    """As they were worked on."""
    result: Result
    relaxed: Detrended | None
    """The relaxation found, whether or not it was taken out; ``None``: times are not known."""
    taken_out: bool


def work_out(sheet: Sheet, method: Method | None = None) -> Findings:
    """Work a complete sheet out, relaxation taken out where times show any.

    Raises:
        ValueError: the readings allow no study.
    """
    readings, minutes = sheet.readings(), sheet.minutes()
    relaxed = None if minutes is None else detrend(readings, minutes)
    taken_out = relaxed is not None and relaxed.p < SURE
    if relaxed is not None and taken_out:
        readings = relaxed.readings
    result = study(readings, method, lost_df=LOST_DF if taken_out else 0)
    return Findings(sheet, readings, result, relaxed, taken_out)


def report(findings: Findings, tolerance_n_cm: float | None = None) -> Iterator[str]:
    """The findings in lines."""
    result = findings.result
    yield (
        f"Gauge study: {result.parts} pieces, {result.operators} operators, "
        f"{result.trials} trials, N/cm"
    )
    yield f"Method: {result.method.value}"
    yield from _relaxation(findings)
    if result.anova is not None:
        yield ""
        yield from _table(result.anova, pooled=result.method is Method.POOLED)
    yield ""
    yield from _components(result)
    yield ""
    yield f"%GRR {result.grr_pct:.2f} % of the total variation"
    if tolerance_n_cm is not None:
        pct = result.tolerance_pct(tolerance_n_cm)
        yield f"     {pct:.2f} % of a tolerance {tolerance_n_cm:g} N/cm wide (6 GRR)"
    yield f"ndc  {min(result.ndc, 1e6):.3f}, truncated {int(min(result.ndc, 1e6))}"
    yield f"So: {result.standing.value}."
    yield (
        f"(Usual rules, AIAG 2010 as cited: %GRR under {GOOD_PCT:g} good, over {USABLE_PCT:g} "
        f"not fit; ndc {LEAST_NDC} or more. The pieces must span the shop's whole range, "
        "else %GRR comes out too large.)"
    )
    yield ""
    yield from plot(findings.sheet, findings.readings)


def plot(sheet: Sheet, readings: Block) -> Iterator[str]:
    """Each piece on a line: every reading a dot, each operator's mean by its letter."""
    values = [v for row in readings for cell in row for v in cell]
    low, high = min(values), max(values)
    letters = [chr(ord("A") + n % 26) for n in range(len(sheet.operators))]
    names = ", ".join(f"{a} {o}" for a, o in zip(letters, sheet.operators, strict=True))
    yield f"Readings by piece (· one reading; mean of {names}; * several at one place)"
    wide = max(len(p) for p in sheet.pieces)
    for piece, row in zip(sheet.pieces, readings, strict=True):
        line = [" "] * PLOT_WIDTH
        for value in (v for cell in row for v in cell):
            line[_place(value, low, high)] = "·"
        means = [_place(sum(cell) / len(cell), low, high) for cell in row]
        for letter, at in zip(letters, means, strict=True):
            line[at] = letter if means.count(at) == 1 else "*"
        yield f"{piece:>{wide}} |{''.join(line)}|"
    left, right = f"{low:.2f}", f"{high:.2f}"
    yield f"{'':>{wide}}  {left}{right:>{PLOT_WIDTH - len(left)}}"


def _place(value: float, low: float, high: float) -> int:
    share = (value - low) / (high - low) if high > low else 0.5
    return round(share * (PLOT_WIDTH - 1))


def _relaxation(findings: Findings) -> Iterator[str]:
    found = findings.relaxed
    if found is None:
        yield (
            "Relaxation: not looked for, times since stretching are not known. On a mesh that "
            "still relaxes its fall counts as bad repeatability."
        )
        return
    size = f"{found.per_decade:+.3f} N/cm for ten times the time (se {found.se:.3f}"
    if findings.taken_out:
        yield (
            f"Relaxation: the pieces fell during the study, {size}, p {found.p:.2g}). Taken out: "
            f"all readings are brought to {found.at_minutes:.3g} min after stretching."
        )
    else:
        yield f"Relaxation: none that can be told, {size}, p {found.p:.2g}). Nothing taken out."


def _table(table: Anova, *, pooled: bool) -> Iterator[str]:
    yield "Analysis of variance; pieces and operators are tested against the interaction"
    yield f"{'source':16}{'df':>6}{'SS':>14}{'MS':>14}{'F':>12}{'p':>10}"
    terms = [table.part, table.operator, table.interaction, table.error]
    for term in [*terms, table.pooled] if pooled else terms:
        yield _row(term)


def _row(term: Term) -> str:
    f = f"{term.f:12.6f}" if term.f is not None else " " * 12
    p = f"{term.p:10.6f}" if term.p is not None else ""
    return f"{term.name:16}{term.df:6g}{term.ss:14.6f}{term.ms:14.6f}{f}{p}".rstrip()


def _components(result: Result) -> Iterator[str]:
    yield f"{'component':34}{'s':>10}{'6 s':>10}{'% of variance':>16}"
    names = ("repeatability (EV)", "reproducibility (AV)", "both (GRR)", "between pieces (PV)")
    sizes = (result.ev, result.av, result.grr, result.pv)
    for name, s, share in zip(names, sizes, result.contributions_pct, strict=True):
        yield f"{name:34}{s:10.6f}{6 * s:10.4f}{share:16.1f}"
