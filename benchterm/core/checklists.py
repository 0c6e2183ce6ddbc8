"""What to do and what to look at in each stage, one line each, numbers from the shop's table.

The practice behind these lines is common practice, no source. The safety data sheets of the
adhesive and the activator, local codes and whoever is licensed for them outrank every line here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from benchterm.core.facts import Facts, Locking, StretcherKind
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage


@dataclass(frozen=True, slots=True)
class Check:
    """One line of a check-list."""

    id: str
    """Stable name, as in ``prepare.raised``."""
    text: str
    caution: bool = False
    """True: about getting hurt. Asked anew each time the stage is entered."""


@lru_cache(maxsize=64)
def checks(stage: Stage, facts: Facts, practice: Practice) -> tuple[Check, ...]:
    """The check-list of a stage for this frame, mesh and stretcher: cautions first."""
    write = _LISTS.get(stage)
    if write is None:
        return ()
    lines = [Check(f"{_SLUGS[stage]}.{name}", text) for name, text in write(facts, practice)]
    cautions = [
        Check(f"{_SLUGS[stage]}.caution.{name}", text, caution=True)
        for name, text in _CAUTIONS.get(stage, ())
    ]
    return tuple(cautions + lines)


Line = tuple[str, str]


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


def _cut_mesh(_: Facts, practice: Practice) -> list[Line]:
    past = f"{practice.past_roller_min_mm:g} to {practice.past_roller_max_mm:g} mm"
    return [
        ("torn", "Mesh torn along a thread, so that its edge is true."),
        ("past", f"Mesh reaches {past} past each roller."),
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

_CAUTIONS: dict[Stage, tuple[Line, ...]] = {
    Stage.SLACK: (
        ("plane", "Eye protection on; face out of the plane of the mesh while clicking."),
        ("pawl", "Pawl fully seated before the wrench is let go: it can kick back."),
    ),
    Stage.ADHESIVE: (
        ("sheets", "Both safety data sheets read. They, local codes and the fire code come first."),
        ("fire", "No flame, heater, spark or smoking: vapour can catch fire, and it runs low."),
        ("eyes", "Sealed eye protection on; hands stay away from the eyes."),
        ("cotton", "No cotton, wool or leather near instant glue: it can flash hot and burn."),
        ("gloves", "Gloves of the kind the data sheets name."),
        ("air", "Air moves away from your face and out of the room."),
        ("thin", "Thin film, activator sparingly and never on skin: thick glue heats and fumes."),
        ("skin", "Skin bonded: do not pull. Warm soapy water, peel with a blunt edge."),
        ("help", "Glue in an eye, a burn, bad breathing, swallowed: call emergency help."),
        ("wheeze", "Isocyanate hardener: stop at any wheeze. Sensitised people do not use it."),
    ),
    Stage.CUT_OUT: (("blade", "Blade moves away from the body and the other hand."),),
    Stage.RELEASE: (
        ("even", "Small even steps, hands clear: a roller let go at once can strike."),
    ),
}
