"""What to do and what to look at in each stage, one line each, numbers from the shop's table.

The practice behind these lines is common practice, no source. The safety data sheets of the
adhesive and the activator, local codes and whoever is licensed for them outrank every line here.
Cautions of the glue itself come with the session (``Briefing``).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from benchterm.core.cautions import GENERAL, VERSION, Briefing
from benchterm.core.facts import Facts, Locking, StretcherKind
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.stations import Pair
from benchterm.mechanics import mesh, stored


@dataclass(frozen=True, slots=True)
class Check:
    """One line of a check-list."""

    id: str
    """Stable name, as in ``prepare.raised``."""
    text: str
    caution: bool = False
    """True: about getting hurt. Asked anew each time the stage is entered; those about turning
    rollers once a sitting, at whichever stage that turns them comes first."""
    version: str = ""
    """Of a caution's words."""


_NO_BRIEFING = Briefing()


@lru_cache(maxsize=64)
def checks(
    stage: Stage, facts: Facts, practice: Practice, briefing: Briefing = _NO_BRIEFING
) -> tuple[Check, ...]:
    """The check-list of a stage for this frame, mesh, stretcher and glue: cautions first."""
    write = _LISTS.get(stage)
    if write is None:
        return ()
    lines = [Check(f"{_SLUGS[stage]}.{name}", text) for name, text in write(facts, practice)]
    if stage is Stage.ADHESIVE:
        asked = [(c.id, c.text) for c in briefing.cautions or GENERAL]
        return (*_cautions(stage, asked, briefing.version), *lines)
    warned = stage.turns_rollers and briefing.version not in _TURNING_ASKED_ONCE
    turning = _turning(facts, practice) if warned or stage is TURNING else []
    warn = _CAUTIONS.get(stage)
    own = warn(facts, practice) if warn else []
    return (*_cautions(TURNING, turning), *_cautions(stage, own), *lines)


TURNING = Stage.SLACK
"""The first stage that turns rollers. The cautions about that bear its name in all of them, so that
acknowledged in one they are in all."""
_TURNING_ASKED_ONCE = ("1", "2")
"""Versions of the words with which only the first stage asked: their journals replay as they were.
"""


def caution_prefix(stage: Stage) -> str:
    """What the names of a stage's cautions begin with."""
    return f"{_SLUGS[stage]}.caution."


Line = tuple[str, str]


def _cautions(stage: Stage, lines: list[Line], version: str = VERSION) -> list[Check]:
    prefix = caution_prefix(stage)
    return [Check(prefix + name, text, caution=True, version=version) for name, text in lines]


def _prepare(facts: Facts, practice: Practice) -> list[Line]:
    lines = [
        ("snug", "Stretcher closed snug around the frame, all four sides."),
        (
            "raised",
            f"Shims in the corners: frame {practice.raise_min_mm:g} to "
            f"{practice.raise_max_mm:g} mm above the stretcher, no more.",
        ),
        ("face", "Glue face of the frame clean, flat, no burrs."),
    ]
    longest = max(facts.frame.width_mm, facts.frame.depth_mm)
    if longest > practice.heavy_frame_mm or (
        facts.stretcher.kind is StretcherKind.FIXED and longest > practice.heavy_frame_mm * 0.8
    ):
        lines.append(("channel", f"Frame of {longest:g} mm: stiffer channel in the stretcher."))
    return lines


def _rollers(_: Facts, practice: Practice) -> list[Line]:
    back = f"{practice.groove_back_clicks_min:g} or {practice.groove_back_clicks_max:g}"
    return [
        ("start", "Each roller turned to its start and pressed down."),
        ("groove", f"Each roller back {back} clicks until the groove shows."),
        ("pawls", "Pawls fall in on all four rollers."),
    ]


def _cut_mesh(facts: Facts, practice: Practice) -> list[Line]:
    least, most = practice.past_roller_min_mm, practice.past_roller_max_mm
    wide, deep = (
        f"{span + 2 * least:.0f} to {span + 2 * most:.0f}"
        for span in (facts.free_span_mm(Pair.LEFT_RIGHT), facts.free_span_mm(Pair.FAR_NEAR))
    )
    return [
        ("torn", "Mesh torn along a thread, so that its edge is true."),
        (
            "past",
            f"Mesh {wide} mm left to right, {deep} far to near: {least:g} to {most:g} past each "
            "roller.",
        ),
        ("square", "Threads lie square to the rollers, no fold, no nick at the edge."),
    ]


def _lock_in(facts: Facts, _: Practice) -> list[Line]:
    if facts.stretcher.locking is Locking.TAPERED_ROD:
        how = "Tapered rod slid in from the side over the flat card, without a pull on the mesh."
    else:
        how = "Both rods pressed in together, middle outwards, the inner one slightly ahead."
    return [
        ("rods", "Rods as long as the frame, centred; thick for fine mesh, thin for coarse."),
        ("ends", "Rod ends rounded, flush where a corner could tear; one end left to pull by."),
        ("first", how),
        ("parallel", "Mesh parallel to the side already held before the next one is locked."),
        ("four", "All four sides held over their whole length."),
    ]


def _slack(facts: Facts, _: Practice) -> list[Line]:
    lines = [
        ("wrench", "Wrench fully home in the roller's end before each pull."),
        ("even", "Slack out on all four sides, even, no wave, clear of the table."),
    ]
    if facts.stretcher.locking is Locking.TAPERED_ROD:
        lines.append(("seated", "Tapered rods drawn tight by the mesh, none creeping out."))
    return lines


def _first_tension(_: Facts, __: Practice) -> list[Line]:
    return [
        ("equal", "Opposite rollers turned by about equal clicks, the two pairs in turn."),
        ("corners", "Corners watched: no thread white, bowed or parting."),
    ]


def _corner_relief(_: Facts, __: Practice) -> list[Line]:
    return [
        ("look", "All four corners looked at and felt, against the sides next to them."),
        ("mark", "Where one is harder: roller marked, a little mesh let back in at the corner."),
    ]


def _final_tension(_: Facts, __: Practice) -> list[Line]:
    return [
        ("meter", "Each click followed by the meter, opposite sides level."),
        ("centre", "Centre and all four sides read, along and across."),
    ]


def _settle(_: Facts, __: Practice) -> list[Line]:
    return [("again", "Read again after the wait; topped up if the loss asks for it.")]


def _adhesive(_: Facts, __: Practice) -> list[Line]:
    return [
        ("touch", "Mesh lies on the frame all round, no gap under a finger's push."),
        ("glue", "Glue from the top, through the mesh, over the whole face of the frame."),
        ("activator", "Activator in small sections, sparingly, after the glue."),
    ]


def _cure(_: Facts, __: Practice) -> list[Line]:
    return [("hard", "Glue hard all round: nothing gives under a fingernail.")]


def _cut_out(_: Facts, __: Practice) -> list[Line]:
    return [("cut", "Mesh cut outside the glue, all round, no thread pulled.")]


def _release(_: Facts, __: Practice) -> list[Line]:
    return [
        ("steps", "Rollers let back by even steps, opposite ones in turn."),
        ("rods", "Rods out, rollers back at their start."),
    ]


def _read_again(_: Facts, __: Practice) -> list[Line]:
    return [
        ("flat", "Frame lies flat, glue line whole all round."),
        ("label", "Screen marked with its number."),
    ]


def _turning(facts: Facts, practice: Practice) -> list[Line]:
    """Few, for both hands are full; each with what this mesh pulls or holds at its target."""
    plane = "Eye protection on, face out of the mesh's plane"
    if facts.mesh.material == "polyester":  # The modulus in the shop's table is polyester's.
        energy_j = sum(_energy_j(facts, practice, pair) for pair in Pair)
        plane += f": it holds {energy_j:.0f} J, {energy_j / _GRAVITY:.1f} kg falling 1 m"
    pull_n = max(
        stored.pull_n(facts.target.of(facts.axis_of(pair)), _held_mm(facts, pair)) for pair in Pair
    )
    pawl = f"Pawl seated before the wrench is let go: a side pulls {pull_n:.0f} N"
    return [("plane", f"{plane}."), ("pawl", f"{pawl}. Fingers off teeth and rods.")]


def _cutting(_: Facts, __: Practice) -> list[Line]:
    return [("blade", "Blade moves away from the body and the other hand.")]


def _letting_go(_: Facts, __: Practice) -> list[Line]:
    return [("even", "Small even steps, hands clear: a roller let go at once can strike.")]


_GRAVITY = 9.80665


def _held_mm(facts: Facts, pair: Pair) -> float:
    """How much of a pair's rollers holds mesh: rods are as long as the frame."""
    return facts.frame.width_mm if pair is Pair.FAR_NEAR else facts.frame.depth_mm


def _energy_j(facts: Facts, practice: Practice, pair: Pair) -> float:
    """What the threads between two rollers store at their target."""
    cloth, tension_n_cm = facts.mesh, facts.target.of(facts.axis_of(pair))
    stiffness = mesh.stiffness_n_cm(cloth.threads_cm, cloth.thread_um, practice.modulus_gpa)
    return stored.energy_j(tension_n_cm, stiffness, _held_mm(facts, pair), facts.free_span_mm(pair))


_SLUGS = {stage: stage.name.lower().replace("_", "-") for stage in Stage}

_LISTS: dict[Stage, Callable[[Facts, Practice], list[Line]]] = {
    Stage.PREPARE: _prepare,
    Stage.ROLLERS: _rollers,
    Stage.CUT_MESH: _cut_mesh,
    Stage.LOCK_IN: _lock_in,
    Stage.SLACK: _slack,
    Stage.FIRST_TENSION: _first_tension,
    Stage.CORNER_RELIEF: _corner_relief,
    Stage.FINAL_TENSION: _final_tension,
    Stage.SETTLE: _settle,
    Stage.ADHESIVE: _adhesive,
    Stage.CURE: _cure,
    Stage.CUT_OUT: _cut_out,
    Stage.RELEASE: _release,
    Stage.READ_AGAIN: _read_again,
}

_CAUTIONS: dict[Stage, Callable[[Facts, Practice], list[Line]]] = {
    Stage.CUT_OUT: _cutting,
    Stage.RELEASE: _letting_go,
}
