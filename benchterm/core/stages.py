"""The stages of the job in order, with what may be done in each.

The words of the check-lists are in ``checklists``; numbers in them come from ``practice``.
"""

from __future__ import annotations

from enum import IntEnum


class Stage(IntEnum):
    """A stage of the job; the number is its place in the order and on the keypad."""

    PREPARE = 1
    ROLLERS = 2
    CUT_MESH = 3
    LOCK_IN = 4
    SLACK = 5
    FIRST_TENSION = 6
    CORNER_RELIEF = 7
    FINAL_TENSION = 8
    SETTLE = 9
    ADHESIVE = 10
    CURE = 11
    CUT_OUT = 12
    RELEASE = 13
    READ_AGAIN = 14
    DONE = 15

    @property
    def label(self) -> str:
        """The plain name."""
        return _LABELS[self]

    @property
    def takes_readings(self) -> bool:
        """Whether a tension can be read: the mesh is in and under load, or off the stretcher."""
        return Stage.SLACK <= self <= Stage.CURE or self >= Stage.READ_AGAIN

    @property
    def takes_tightening(self) -> bool:
        """Whether rollers may be turned tighter."""
        return Stage.SLACK <= self <= Stage.SETTLE

    @property
    def takes_letting_back(self) -> bool:
        """Whether rollers may be let back."""
        return Stage.SLACK <= self <= Stage.SETTLE or self is Stage.RELEASE

    @property
    def turns_rollers(self) -> bool:
        """Whether rollers are turned either way, so that turning is warned of."""
        return self.takes_tightening or self.takes_letting_back

    @property
    def takes_relief(self) -> bool:
        """Whether a corner may be eased."""
        return Stage.FIRST_TENSION <= self <= Stage.FINAL_TENSION

    @property
    def waits(self) -> bool:
        """Whether the stage is a wait with a timer."""
        return self in (Stage.SETTLE, Stage.CURE)

    @property
    def next(self) -> Stage | None:
        """The stage after this one."""
        return None if self is Stage.DONE else Stage(self + 1)


_LABELS = {
    Stage.PREPARE: "prepare frame and stretcher",
    Stage.ROLLERS: "rollers to the start",
    Stage.CUT_MESH: "cut and square the mesh",
    Stage.LOCK_IN: "lock in the four sides",
    Stage.SLACK: "take out the slack",
    Stage.FIRST_TENSION: "first tensioning",
    Stage.CORNER_RELIEF: "corner relief",
    Stage.FINAL_TENSION: "final tensioning",
    Stage.SETTLE: "settle",
    Stage.ADHESIVE: "adhesive",
    Stage.CURE: "cure",
    Stage.CUT_OUT: "cut out",
    Stage.RELEASE: "release the rollers",
    Stage.READ_AGAIN: "read off the stretcher",
    Stage.DONE: "done",
}
