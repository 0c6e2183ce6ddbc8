"""What is still open in a stage: the gate of every way on."""

from __future__ import annotations

from math import ceil

from benchterm.core.checklists import Check, checks
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.core.stations import ROLLERS, Station

REASONS = (
    "not needed for this mesh and frame",
    "done before, not noted here",
    "this stretcher is not made for it",
    "told to by who runs the shop",
    "another reason, see the notes",
)
"""What a hand without letters can choose from when something is passed over."""
CAUTION_REASONS = (REASONS[1], *REASONS[3:])
"""Those that can be meant where a caution is passed over: being hurt is not a matter of mesh."""


def stage_checks(state: State, stage: Stage | None = None) -> tuple[Check, ...]:
    """The check-list of a stage of this session; of the present one unless named."""
    return checks(stage or state.stage, state.facts, state.practice, state.briefing)


def open_checks(state: State, stage: Stage | None = None) -> tuple[Check, ...]:
    """The checks of a stage that are not ticked."""
    return tuple(c for c in stage_checks(state, stage) if c.id not in state.ticked)


def reasons(state: State) -> tuple[str, ...]:
    """What can be chosen from for passing over what is open in the present stage."""
    return CAUTION_REASONS if any(c.caution for c in open_checks(state)) else REASONS


def open_items(state: State, now_s: float) -> tuple[str, ...]:
    """Everything that should be done before the present stage is left, in plain words."""
    items = [c.text for c in open_checks(state)]
    missing = [s.label for s in _unread(state)]
    if missing:
        items.append(f"not read in this stage: {', '.join(missing)}")
    if state.stage.waits:
        timer = state.timer
        if timer is None or timer.stage is not state.stage:
            items.append("the wait has not been timed")
        elif timer.left_s(now_s) > 0:
            items.append(f"the wait is not over: {minutes_and_seconds(timer.left_s(now_s))} left")
        elif state.stage is Stage.CURE and now_s < timer.started_s + 60 * wait_min(state):
            items.append(f"{timer.minutes:g} min timed, the cure takes {wait_min(state):g}")
    return tuple(items)


def wait_min(state: State) -> float:
    """How long this stage's wait is: by the glue's data sheet, else by the shop's table."""
    briefing, practice = state.briefing, state.practice
    if state.stage is Stage.CURE:
        return practice.cure_min if briefing.cure_min is None else briefing.cure_min
    if state.stage is Stage.ADHESIVE and briefing.open_min is not None:
        return briefing.open_min
    return practice.settle_min


def shut(state: State, to: Stage) -> tuple[str, ...]:
    """Why the way to a stage is shut, whatever reason is given; empty: it is not.

    Glue that must not be used, or of which nothing can be read, opens no adhesive stage; and
    nobody goes on from there, or past it, as if it had been glued.
    """
    passes = state.stage <= Stage.ADHESIVE <= to and to is not state.stage
    return state.briefing.closed if passes else ()


def slips(state: State, to: Stage, passed_over: tuple[str, ...]) -> tuple[str, ...]:
    """What a step forward leaves behind that is neither acknowledged nor passed over by name.

    That is, the cautions of this stage, and the adhesive as a whole stage.
    """
    slipped = [c.id for c in open_checks(state) if c.caution and c.text not in passed_over]
    whole = _whole(Stage.ADHESIVE)
    if state.stage < Stage.ADHESIVE < to and whole not in passed_over:
        slipped.append(whole)
    return tuple(slipped)


def _whole(stage: Stage) -> str:
    return f"whole stage: {stage.label}"


def open_items_to(state: State, to: Stage, now_s: float) -> tuple[str, ...]:
    """What would be passed over by going on to a stage; nothing when going back."""
    if to <= state.stage:
        return ()
    skipped = [_whole(Stage(n)) for n in range(state.stage + 1, to)]
    return (*open_items(state, now_s), *skipped)


def minutes_and_seconds(seconds: float) -> str:
    """A wait as ``m:ss``, rounded up from the hundredth so that it never shows 0:00 early."""
    whole = ceil(round(seconds, 2))
    return f"{whole // 60}:{whole % 60:02d}"


def _unread(state: State) -> tuple[Station, ...]:
    wanted: tuple[Station, ...] = ()
    if state.stage in (Stage.FIRST_TENSION, Stage.FINAL_TENSION):
        wanted = ROLLERS
    elif state.stage is Stage.READ_AGAIN:
        wanted = (Station.CENTRE,)
    return tuple(s for s in wanted if not _read_here(state, s))


def _read_here(state: State, station: Station) -> bool:
    return any(
        r is not None and r.seq > state.stage_seq
        for r in (state.along[station], state.across[station])
    )
