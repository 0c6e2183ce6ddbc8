"""Every rule where it speaks and, close by, where it is silent.

What to do and when is common practice, no source, unless said beside the example; the limits are
the shop's own table.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import at, facts, intents, say

from benchterm.core.advice import Severity
from benchterm.core.advise import advise
from benchterm.core.events import (
    ReadingHeld,
    ReadingTaken,
    ReasonAsked,
    RollerTurned,
    SessionOpened,
    StageEntered,
    TimerStarted,
)
from benchterm.core.facts import Facts, Mesh, Stretcher, Target
from benchterm.core.intents import (
    Aim,
    Answer,
    Go,
    Intent,
    Read,
    Relieve,
    StartTimer,
    Tick,
    Turn,
    Undo,
)
from benchterm.core.practice import COMMON_PRACTICE, OUR_CHOICE, SIMULATED, Practice
from benchterm.core.rules import RULES
from benchterm.core.stages import Stage
from benchterm.core.state import State
from benchterm.core.stations import CORNERS, ROLLERS, Axis, Pair, Station

STOP, CARE, DO, KNOW = Severity
ALONG, ACROSS = Axis
FAR, NEAR, LEFT, RIGHT = ROLLERS
CENTRE = Station.CENTRE
FAR_LEFT, FAR_RIGHT, NEAR_LEFT, NEAR_RIGHT = CORNERS
PREPARE, SLACK, FIRST, RELIEF, FINAL, SETTLE = (
    Stage.PREPARE,
    Stage.SLACK,
    Stage.FIRST_TENSION,
    Stage.CORNER_RELIEF,
    Stage.FINAL_TENSION,
    Stage.SETTLE,
)

FINE = Facts(stretcher=Stretcher(teeth=72))
"""One click gives 1.9 N/cm along and 2.6 across; 5.8 and 7.8 with the usual 24 teeth."""
LOW_CEILING = Facts(mesh=Mesh(ceiling_n_cm=24))
GAP_3 = Facts(stretcher=Stretcher(teeth=72, rod_gap_mm=3))
GAP_20 = Facts(stretcher=Stretcher(teeth=72, rod_gap_mm=20))

SIDES_22 = tuple(Read(side, 22) for side in ROLLERS)
ROUND_OF_4 = tuple(Turn(side, 4) for side in ROLLERS)
"""Four clicks on every roller."""


@dataclass(frozen=True)
class Scene:
    """A stage, and what has been done in it."""

    stage: Stage
    done: tuple[Intent, ...] = ()
    after_s: float = 0
    """How long after the last of it the advice is asked for."""
    facts: Facts = field(default_factory=Facts)
    practice: Practice = field(default_factory=Practice)

    def bench(self):
        return at(self.stage, *self.done, facts=self.facts, practice=self.practice)


def told(scene, code):
    """What the rule says, with the happenings it rests on; ``None``: it is silent."""
    bench = scene.bench()
    given_ = advise(bench.state, bench.state.at_s + scene.after_s)
    assert len({a.code for a in given_}) == len(given_)
    found = next((a for a in given_ if a.code == code), None)
    if found is None:
        return None
    happened = {e.seq: e.what for e in bench._recorder.events}
    return found.severity, found.do, found.why, [happened[seq] for seq in found.rests_on]


def read(station, value, axis=ALONG):
    return ReadingTaken(station, axis, value)


def entered(stage):
    return StageEntered(stage)


OPENED = SessionOpened("s1", "bench", "0")

# code, scene, (severity, what to do, why, what it rests on), scenes near by where it is silent
EXAMPLES = [
    (
        "question",
        Scene(FINAL, (Read(FAR, 22), Read(FAR, 50))),
        (
            CARE,
            "50.0 at far, along: keep it? yes or no",
            "expected about 22.0",
            [ReadingHeld(FAR, ALONG, 50, 22, 0.5)],
        ),
        [
            Scene(FINAL, (Read(FAR, 22), Read(FAR, 24))),
            Scene(FINAL, (Read(FAR, 22), Read(FAR, 50), Answer(yes=False))),
        ],
    ),
    (
        "question",
        Scene(PREPARE, (Tick(), Tick(), Go())),
        (
            CARE,
            "a reason for going on to rollers to the start, or no to stay",
            "still open: Glue face of the frame clean, flat, no burrs.",
            [ReasonAsked(Stage.ROLLERS, ("Glue face of the frame clean, flat, no burrs.",))],
        ),
        [Scene(PREPARE, (Tick(), Tick(), Tick(), Go())), Scene(PREPARE, (Go(), Answer(yes=False)))],
    ),
    (
        "caution",
        Scene(SLACK, (Tick(),)),
        (
            CARE,
            "Pawl fully seated before the wrench is let go: it can kick back.",
            "caution 2 of 2, to acknowledge one by one",
            [entered(SLACK)],
        ),
        [Scene(SLACK, (Tick(), Tick())), Scene(FIRST)],
    ),
    (
        "ceiling",
        Scene(FINAL, (Read(FAR, 22), Read(FAR, 25), Answer(yes=True)), facts=LOW_CEILING),
        (
            STOP,
            "let far and near back, one click each",
            "far 25.0, the mesh's ceiling is 24.0",
            [ReadingHeld(FAR, ALONG, 25, 22, 0.5)],
        ),
        [
            Scene(FINAL, (Read(FAR, 22), Read(FAR, 25), Answer(yes=False)), facts=LOW_CEILING),
            Scene(
                Stage.READ_AGAIN, (Read(FAR, 22), Read(FAR, 25), Answer(yes=True)), facts=LOW_CEILING
            ),
        ],
    ),
    (
        "ceiling",
        Scene(FINAL, (Read(LEFT, 23),), facts=LOW_CEILING),
        (
            CARE,
            "no more clicks on left and right",
            "left 23.0, the mesh's ceiling is 24.0",
            [read(LEFT, 23, ACROSS)],
        ),
        [
            Scene(FINAL, (Read(LEFT, 22.7),), facts=LOW_CEILING),
            Scene(FINAL, (Read(LEFT, 23),), facts=Facts(mesh=Mesh(material="steel"))),
        ],
    ),
    (
        "corner-ahead",
        Scene(RELIEF, (Read(FAR, 20), Read(LEFT, 20), Read(FAR_LEFT, 23))),
        (
            CARE,
            "ease far left by 6 mm before the next click",
            "it reads 23.0 beside far 20.0, left 20.0: 1.15 times, limit 1.10",
            [read(FAR_LEFT, 23), read(FAR, 20), read(LEFT, 20, ACROSS)],
        ),
        [
            Scene(RELIEF, (Read(FAR, 20), Read(LEFT, 20), Read(FAR_LEFT, 21.9))),
            Scene(RELIEF, (Read(FAR, 20), Read(FAR_LEFT, 23))),
            Scene(RELIEF, (Read(FAR, 20), Read(LEFT, 20), Read(FAR_LEFT, 23), Turn(FAR, 1))),
            Scene(RELIEF, (Read(FAR, 20), Read(LEFT, 20), Read(FAR_LEFT, 23), Relieve(FAR_LEFT))),
            Scene(SETTLE, (Read(FAR, 20), Read(LEFT, 20), Read(FAR_LEFT, 23))),
        ],
    ),
    (
        # Mean take-up 5.6 mm, gap 3 mm: the chance is worked out in its own test below.
        "corner-ahead",
        Scene(FIRST, (*ROUND_OF_4, Read(CENTRE, 20)), facts=GAP_3),
        (
            STOP,
            "ease far left, far right, near left and near right by 2 mm before the next click",
            "chance of a tear at the next click about 10 %, limit 8 % (rods 3 mm from the corner)",
            [read(CENTRE, 20)],
        ),
        [
            Scene(FIRST, (*ROUND_OF_4, Read(CENTRE, 20)), facts=GAP_20),
            Scene(FIRST, (*ROUND_OF_4, Read(CENTRE, 10)), facts=GAP_3),
            Scene(FIRST, (*ROUND_OF_4, Read(CENTRE, 20)), facts=FINE),
            Scene(FIRST, ROUND_OF_4, facts=GAP_3),
            Scene(FIRST, (Read(CENTRE, 20),), facts=GAP_3),
            Scene(
                FIRST,
                (*ROUND_OF_4, *[Relieve(c, 2) for c in CORNERS], Read(CENTRE, 20)),
                facts=GAP_3,
            ),
        ],
    ),
    (
        "over-target",
        Scene(FINAL, (Read(FAR, 25),), facts=FINE),
        (
            CARE,
            "far and near: 2 clicks back between them",
            "far 25.0, target 22.0; one click gives about 1.9",
            [read(FAR, 25)],
        ),
        [
            Scene(FINAL, (Read(FAR, 23),), facts=FINE),
            Scene(FINAL, (Read(FAR, 25), Turn(FAR, -1)), facts=FINE),
            Scene(SETTLE, (Read(FAR, 25),), facts=FINE),
            Scene(FINAL, (Read(FAR, 25, ACROSS),), facts=FINE),
        ],
    ),
    (
        "over-target",
        Scene(FINAL, (Turn(NEAR, 1), Read(FAR, 24)), facts=FINE),
        (
            CARE,
            "near roller: 1 click back",
            "far 24.0, target 22.0; one click gives about 1.9",
            [read(FAR, 24)],
        ),
        [Scene(FINAL, (Turn(NEAR, 1), Read(FAR, 24), Aim(24)), facts=FINE)],
    ),
    (
        "over-target",
        Scene(FINAL, (Read(FAR, 24),)),
        (
            KNOW,
            "leave far and near as they are, and let it settle",
            "far 24.0, target 22.0; one click gives about 5.8",
            [read(FAR, 24)],
        ),
        [Scene(FINAL, (Read(FAR, 24),), facts=Facts(target=Target(tolerance_n_cm=2)))],
    ),
    (
        "clicks-uneven",
        Scene(FIRST, (Turn(FAR, 3), Turn(LEFT, 1))),
        (
            CARE,
            "near roller: 2 clicks",
            "far 3 clicks, near 0 clicks since slack: 3 apart, limit 1",
            [RollerTurned(FAR, 3)],
        ),
        [
            Scene(FIRST, (Turn(FAR, 1), Turn(LEFT, 1))),
            Scene(FIRST, (Turn(FAR, 3),)),  # One side of a pass; the other comes next.
            Scene(FIRST, (Turn(FAR, 3), Turn(NEAR, 2), Turn(LEFT, 1))),
            Scene(FIRST, (Turn(FAR, 3), Turn(LEFT, 1)), practice=Practice(pair_balance_clicks=3)),
            Scene(SLACK, (Turn(FAR, 3), Turn(LEFT, 1))),
        ],
    ),
    (
        "clicks-uneven",
        Scene(FINAL, (Turn(RIGHT, 2), Turn(LEFT, 5), Read(LEFT, 22))),
        (
            CARE,
            "left roller: 1 click back; right roller: 1 click",
            "left 5 clicks, right 2 clicks since slack: 3 apart, limit 1",
            [RollerTurned(RIGHT, 2), RollerTurned(LEFT, 5)],
        ),
        [Scene(FINAL, (Turn(RIGHT, 4), Turn(LEFT, 5), Read(LEFT, 22)))],
    ),
    (
        "clicks-uneven",
        Scene(
            FINAL, (Turn(FAR, 1), Read(FAR, 22)), practice=Practice(pair_balance_clicks=0)
        ),
        (
            CARE,
            "far roller: 1 click back",
            "far 1 click, near 0 clicks since slack: 1 apart, limit 0",
            [RollerTurned(FAR, 1)],
        ),
        [
            Scene(
                FINAL,
                (Turn(FAR, 1), Turn(NEAR, 1), Read(FAR, 22)),
                practice=Practice(pair_balance_clicks=0),
            )
        ],
    ),
    (
        "sides-uneven",
        Scene(FINAL, (Read(FAR, 22), Read(NEAR, 20)), facts=FINE),
        (
            CARE,
            "near roller: 1 click",
            "far 22.0, near 20.0: 2.0 apart, limit 1.0",
            [read(FAR, 22), read(NEAR, 20)],
        ),
        [
            Scene(FINAL, (Read(FAR, 22), Read(NEAR, 21)), facts=FINE),
            Scene(FINAL, (Read(FAR, 22),), facts=FINE),
            Scene(FINAL, (Read(FAR, 22), Read(NEAR, 20), Turn(NEAR, 1)), facts=FINE),
            Scene(FINAL, (Read(FAR, 22), Turn(NEAR, 1), Turn(FAR, -1), Read(NEAR, 20)), facts=FINE),
            Scene(SLACK, (Read(FAR, 22), Read(NEAR, 20)), facts=FINE),
        ],
    ),
    (
        "sides-uneven",
        Scene(FINAL, (Read(FAR, 22), Read(NEAR, 20))),
        (
            CARE,
            "far roller: 1 click back",
            "far 22.0, near 20.0: 2.0 apart, limit 1.0",
            [read(FAR, 22), read(NEAR, 20)],
        ),
        [Scene(FINAL, (Read(FAR, 22), Read(NEAR, 20)), practice=Practice(pair_balance_n_cm=2))],
    ),
    (
        "sides-uneven",
        Scene(FINAL, (Turn(RIGHT, 1), Read(RIGHT, 19), Read(LEFT, 21))),
        (
            CARE,
            "look at the rod and pawl on right, then read both sides again",
            "left 21.0, right 19.0: 2.0 apart, limit 1.0",
            [read(LEFT, 21, ACROSS), read(RIGHT, 19, ACROSS)],
        ),
        [Scene(FINAL, (Turn(RIGHT, 1), Read(RIGHT, 20), Read(LEFT, 21)))],
    ),
    (
        "sides-uneven",
        Scene(Stage.CURE, (Read(FAR, 22), Read(NEAR, 20))),
        (
            KNOW,
            "note it on the screen's record",
            "far 22.0, near 20.0: 2.0 apart, limit 1.0",
            [read(FAR, 22), read(NEAR, 20)],
        ),
        [Scene(Stage.READ_AGAIN, (Read(FAR, 22), Read(NEAR, 20)))],
    ),
    (
        # The other pair is further apart, but nobody knows whether it still is.
        "sides-uneven",
        Scene(FINAL, (Read(LEFT, 22), Read(RIGHT, 18), Turn(LEFT, -1), Read(FAR, 22),
                      Read(NEAR, 20))),
        (
            CARE,
            "far roller: 1 click back",
            "far 22.0, near 20.0: 2.0 apart, limit 1.0",
            [read(FAR, 22), read(NEAR, 20)],
        ),
        [Scene(FINAL, (Read(LEFT, 22), Read(RIGHT, 18), Turn(LEFT, -1), Read(FAR, 22),
                       Read(NEAR, 21)))],
    ),
    (
        "click-run",
        Scene(FINAL, (Turn(FAR, 3), Turn(FAR, 2))),
        (
            CARE,
            "near roller next",
            "far has had 5 clicks in a row, limit 4",
            [RollerTurned(FAR, 3), RollerTurned(FAR, 2)],
        ),
        [
            Scene(FINAL, (Turn(FAR, 3), Turn(FAR, 1))),
            Scene(FINAL, (Turn(FAR, 3), Turn(NEAR, 1), Turn(FAR, 2))),
            Scene(FINAL, (Turn(NEAR, 5), Turn(LEFT, 1), Turn(FAR, 3), Turn(FAR, 2))),
            Scene(FINAL, (Turn(FAR, 3), Turn(FAR, 2)), practice=Practice(clicks_in_a_row=5)),
        ],
    ),
    (
        # The readings between the clicks do not end the run, nor does it rest on them.
        "click-run",
        Scene(SLACK, (Turn(LEFT, 1), Turn(FAR, 3, 5), Turn(FAR, 2, 9))),
        (
            CARE,
            "near roller next",
            "far has had 5 clicks in a row, limit 4",
            [RollerTurned(FAR, 3), RollerTurned(FAR, 2)],
        ),
        [Scene(SLACK, (Turn(FAR, 3, 5), Turn(LEFT, 1), Turn(FAR, 2, 9)))],
    ),
    (
        "axes-apart",
        Scene(Stage.CURE, (Read(FAR, 22), Read(LEFT, 19))),
        (
            KNOW,
            "note it on the screen's record",
            "along 22.0, across 19.0: 3.0 out of step with their targets, limit 2.0",
            [read(FAR, 22), read(LEFT, 19, ACROSS)],
        ),
        [
            Scene(Stage.CURE, (Read(FAR, 22), Read(LEFT, 20))),
            Scene(Stage.CURE, (Read(FAR, 22),)),
            Scene(Stage.CURE, (Read(FAR, 22), Read(LEFT, 19)), facts=Facts(target=Target(22, 19))),
            Scene(RELIEF, (Read(FAR, 22), Read(LEFT, 19))),
            Scene(Stage.READ_AGAIN, (Read(FAR, 22), Read(LEFT, 19))),
        ],
    ),
    (
        "stale",
        Scene(FIRST, (Turn(FAR, 3), Turn(NEAR, 3))),
        (
            DO,
            "read far and near",
            "along: 6 clicks since, never read",
            [RollerTurned(NEAR, 3)],
        ),
        [
            Scene(FIRST, (Turn(FAR, 3), Turn(NEAR, 2))),
            Scene(SLACK, (Turn(FAR, 3), Turn(NEAR, 3))),
            Scene(SETTLE, (Turn(FAR, 3), Turn(NEAR, 3))),
        ],
    ),
    (
        "stale",
        Scene(FIRST, (Read(CENTRE, 6, ACROSS), Turn(LEFT, 3), Turn(RIGHT, 3))),
        (
            DO,
            "read left and right",
            "across: 6 clicks since, last read at centre",
            [read(CENTRE, 6, ACROSS)],
        ),
        [Scene(FIRST, (Read(CENTRE, 6, ACROSS), Turn(LEFT, 3), Turn(RIGHT, 3, 30),
                       Answer(yes=True)))],
    ),
    (
        "stale",
        Scene(FINAL, (Read(FAR, 15),), after_s=1201),
        (DO, "read far and near", "along: last read at far 20 min ago", [read(FAR, 15)]),
        [Scene(FINAL, (Read(FAR, 15),), after_s=1200), Scene(FINAL, after_s=9999)],
    ),
    (
        "wait",
        Scene(SETTLE, practice=Practice(settle_min=20)),
        (DO, "start the timer", "settle: 20 min by the shop's table", [entered(SETTLE)]),
        [Scene(FINAL), Scene(Stage.ADHESIVE)],
    ),
    (
        "wait",
        Scene(Stage.CURE, (StartTimer(10),), after_s=60),
        (KNOW, "wait 9:00", "cure: 10 min were set", [TimerStarted(Stage.CURE, 10)]),
        [Scene(Stage.CURE, (StartTimer(10),), after_s=600)],
    ),
    (
        "wait",
        Scene(SETTLE, (Read(FAR, 22), StartTimer(10)), after_s=600),
        (
            DO,
            "read far, near, left and right",
            "10 min have passed: see what it has lost",
            [TimerStarted(SETTLE, 10)],
        ),
        [Scene(SETTLE, (Read(FAR, 22), StartTimer(0.01), Read(FAR, 20)), after_s=600)],
    ),
    (
        "relief-look",
        Scene(RELIEF, (Read(FAR, 13), Read(FAR_LEFT, 14))),
        (
            DO,
            "read far right, near left and near right",
            "1 of 4 corners read since the last click",
            [read(FAR, 13)],
        ),
        [
            Scene(RELIEF, (Read(FAR_RIGHT, 13), Read(FAR_LEFT, 14))),
            Scene(RELIEF, (Relieve(FAR_LEFT),)),
            Scene(FIRST, (Read(FAR, 13), Read(FAR_LEFT, 14))),
        ],
    ),
    (
        "next-side",
        Scene(SLACK, (Turn(FAR, 1), Turn(LEFT, 1))),
        (DO, "near roller: 1 click", "it has had 0 clicks, the most any has had is 1", []),
        [Scene(SLACK, [Turn(side, 1) for side in ROLLERS]), Scene(RELIEF)],
    ),
    (
        "next-side",
        Scene(FIRST, facts=FINE),
        (DO, "far roller: 2 clicks", "along unread, going for 13.2; one click gives 1.9", []),
        [Scene(FIRST, (Read(FAR, 12.5), Read(LEFT, 12.5)), facts=FINE)],
    ),
    (
        "next-side",
        Scene(FIRST, (Turn(FAR, 2),), facts=FINE),
        (DO, "near roller: 2 clicks", "along unread, going for 13.2; one click gives 1.9", []),
        [Scene(SETTLE, (Turn(FAR, 2),), facts=FINE)],
    ),
    (
        "next-side",
        Scene(FIRST, (Turn(FAR, 2), Turn(NEAR, 2)), facts=FINE),
        (DO, "read far and near", "along has not been read yet", []),
        [Scene(RELIEF, (Turn(FAR, 2), Turn(NEAR, 2)), facts=FINE)],
    ),
    (
        "next-side",
        Scene(FINAL, (Read(FAR, 22), Read(LEFT, 16)), facts=FINE),
        (
            DO,
            "left roller: 1 click",
            "across about 16.0, going for 22.0; one click gives 2.6",
            [read(FAR, 22), read(LEFT, 16, ACROSS)],
        ),
        [Scene(FINAL, (Read(FAR, 22), Read(LEFT, 21)), facts=FINE)],
    ),
    (
        "read-off",
        Scene(Stage.READ_AGAIN, (Read(CENTRE, 18),)),
        (
            DO,
            "read centre across",
            "what the frame and the cut have taken shows only here",
            [],
        ),
        [
            Scene(Stage.READ_AGAIN, (Read(CENTRE, 18), Read(CENTRE, 18, ACROSS))),
            Scene(Stage.DONE),
        ],
    ),
    (
        "settle",
        Scene(FINAL, (Read(FAR, 21.5), Read(NEAR, 22), Read(LEFT, 22), Read(RIGHT, 23))),
        (
            DO,
            "let it settle",
            "all four sides read, none more than 1.0 from its target",
            [read(FAR, 21.5), read(NEAR, 22), read(LEFT, 22, ACROSS), read(RIGHT, 23, ACROSS)],
        ),
        [
            Scene(FINAL, SIDES_22[:3]),
            Scene(FINAL, (*SIDES_22, Turn(FAR, 1), Turn(NEAR, -1))),
            Scene(FINAL, (*SIDES_22[:3], Read(RIGHT, 20.6)), facts=FINE),
            Scene(FIRST, SIDES_22),
        ],
    ),
    (
        # Half a click of 5.8 is 2.9: no whole number of clicks comes nearer.
        "settle",
        Scene(FINAL, (*SIDES_22[:3], Read(FAR, 19.2), Read(RIGHT, 22))),
        (
            DO,
            "let it settle",
            "all four sides read, none more than 2.8 from its target: "
            "as near as whole clicks of 7.8 come",
            [read(FAR, 19.2), read(NEAR, 22), read(LEFT, 22, ACROSS), read(RIGHT, 22, ACROSS)],
        ),
        [Scene(FINAL, (*SIDES_22[:3], Read(FAR, 19), Read(RIGHT, 22)))],
    ),
    (
        "check",
        Scene(FIRST, (Tick(),)),
        (
            DO,
            "Corners watched: no thread white, bowed or parting.",
            "check 2 of 2",
            [entered(FIRST)],
        ),
        [Scene(FIRST, (Tick(), Tick())), Scene(Stage.DONE)],
    ),
    (
        "check",
        Scene(PREPARE),
        (
            DO,
            "Stretcher closed snug around the frame, all four sides.",
            "check 1 of 3",
            [OPENED],
        ),
        [Scene(PREPARE, (Tick(), Tick(), Tick()))],
    ),
    (
        "go-on",
        Scene(RELIEF, (Tick(), Tick())),
        (DO, "next: final tensioning", "every line of this stage is done", [entered(RELIEF)]),
        [Scene(RELIEF, (Tick(),)), Scene(FINAL, (Tick(), Tick()))],
    ),
    (
        "go-on",
        Scene(Stage.DONE),
        (DO, "next: close the record", "the screen is done", [entered(Stage.DONE)]),
        [Scene(Stage.DONE, (Go(),))],
    ),
    (
        "spread",
        Scene(FINAL, (Read(FAR, 22), Read(NEAR, 22), Read(CENTRE, 19.9))),
        (
            KNOW,
            "look at centre and near, along",
            "19.9 to 22.0: range 2.1 (limit 2.0), variation 5.7 % (limit 5.0)",
            [read(CENTRE, 19.9), read(NEAR, 22)],
        ),
        [
            Scene(FINAL, (Read(FAR, 22), Read(NEAR, 22), Read(CENTRE, 20.3))),
            Scene(FINAL, (Read(FAR, 22), Read(CENTRE, 19.9))),
            Scene(FINAL, (Read(FAR, 22), Read(NEAR, 22), Read(CENTRE, 19.9), Turn(FAR, 1))),
            Scene(RELIEF, (Read(FAR, 22), Read(NEAR, 22), Read(CENTRE, 19.9))),
        ],
    ),
    (
        # A range within its limit, but much for so little tension.
        "spread",
        Scene(
            Stage.READ_AGAIN,
            (Read(LEFT, 10), Read(RIGHT, 10), Read(CENTRE, 8.9, ACROSS)),
        ),
        (
            KNOW,
            "look at centre and left, across",
            "8.9 to 10.0: range 1.1 (limit 2.0), variation 6.6 % (limit 5.0)",
            [read(CENTRE, 8.9, ACROSS), read(LEFT, 10, ACROSS)],
        ),
        [Scene(Stage.READ_AGAIN, (Read(LEFT, 10), Read(RIGHT, 10), Read(CENTRE, 9.3, ACROSS)))],
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("code", "scene", "said"), [(code, scene, said) for code, scene, said, _ in EXAMPLES]
)
def test_the_rule_speaks(code, scene, said):
    assert told(scene, code) == said


@pytest.mark.parametrize(
    ("code", "scene"), [(code, scene) for code, _, _, near in EXAMPLES for scene in near]
)
def test_close_by_it_is_silent(code, scene):
    assert told(scene, code) is None


def test_every_rule_has_an_example_both_ways():
    assert {code for code, _, _, _ in EXAMPLES} == {rule.code for rule in RULES}
    assert all(near for _, _, _, near in EXAMPLES)


# Longer examples.


def test_the_chance_of_a_tear_and_the_relief_it_asks_for():
    # Computed here from the rule fitted on simulated benches, corners unread, rods 3 mm away:
    # ln F = 1.01 - 0.52 q^2 + 0.1 (0.73 - 0.32 q) - 0.23 ln(T / E A / 0.025) and
    # P = Phi((ln F T - ln 0.88 S) / sqrt(0.19^2 + 0.10^2)) at the next click; relief is the least
    # share q of the final take-up, 15 to 65 %, that brings P at the target under 4 %.
    section = 77 * math.pi / 4 * 0.055**2
    stiffness, strength = section * 7400, section * 600
    click_mm = math.pi * 32 / 72
    step = stiffness / 0.96 * click_mm / (580 + 120 + 60)

    def chance(tension, q):
        peak = 1.01 - 0.52 * q**2 + 0.1 * (0.73 - 0.32 * q)
        peak -= 0.23 * math.log(tension / stiffness / 0.025)
        margin = (peak + math.log(tension / (0.88 * strength))) / math.hypot(0.19, 0.10)
        return 0.5 * (1 + math.erf(margin / math.sqrt(2)))

    share = next(pct / 100 for pct in range(15, 66) if chance(22, pct / 100) < 0.04)
    final_up = 4 * click_mm + (22 - 20) / step / 2 * click_mm
    _, do, why, _ = told(Scene(FIRST, (*ROUND_OF_4, Read(CENTRE, 20)), facts=GAP_3), "corner-ahead")
    assert f"by {share * final_up:.0f} mm" in do
    assert why.startswith(
        f"chance of a tear at the next click about {100 * chance(20 + step, 0):.0f} %"
    )


def test_corners_that_can_be_eased_no_further():
    thin = replace(GAP_3, mesh=Mesh(77, 31, ceiling_n_cm=40))
    eased = [Relieve(corner, 60) for corner in CORNERS]
    severity, do, _, rests_on = told(
        Scene(FINAL, (*ROUND_OF_4, *eased, Read(CENTRE, 29)), facts=thin), "corner-ahead"
    )
    assert severity is STOP
    assert do == "corners are eased as far as they go: settle for less tension here"
    assert rests_on == [read(CENTRE, 29)]


def test_the_tear_chance_rests_on_the_corner_that_was_read():
    done = (*ROUND_OF_4, Read(CENTRE, 20), Read(FAR_LEFT, 24), Read(NEAR_RIGHT, 23))
    *_, rests_on = told(Scene(FIRST, done, facts=GAP_3), "corner-ahead")
    assert rests_on == [read(CENTRE, 20), read(FAR_LEFT, 24)]


def test_the_worst_corner_is_named():
    done = (*SIDES_22, Read(FAR_LEFT, 25), Read(NEAR_RIGHT, 27))
    assert told(Scene(RELIEF, done), "corner-ahead")[1].startswith("ease near right")


def test_axes_go_by_how_the_roll_lies():
    turned = Facts(along_pair=Pair.LEFT_RIGHT)
    _, do, why, _ = told(Scene(FIRST, facts=turned), "next-side")
    assert do == "far roller: 1 click"
    assert why.startswith("across unread")


def test_advice_follows_what_is_undone():
    bench = at(FIRST, Turn(FAR, 3), Turn(LEFT, 1))
    before = advise(bench.state, 0)
    say(bench, Turn(NEAR, 2))
    assert advise(bench.state, 0) != before
    say(bench, Undo())
    assert advise(bench.state, 0) == before


# The table.


def test_codes_are_unique_and_plain():
    codes = [rule.code for rule in RULES]
    assert len(set(codes)) == len(codes)
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", code) for code in codes)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_every_row_says_when_it_speaks_and_by_which_numbers(rule):
    assert rule.speaks_when
    assert set(rule.limits) <= {row.name for row in Practice().rows()}
    assert rule.source in (COMMON_PRACTICE, OUR_CHOICE, SIMULATED)


BUSY = Scene(
    FINAL,
    (Turn(FAR, 5), Read(FAR, 25), Read(NEAR, 22), Read(LEFT, 22), Read(RIGHT, 22), Read(FAR, 60)),
    facts=Facts(mesh=Mesh(ceiling_n_cm=23)),
)
"""Much is out of order at once."""


def codes(scene, rules_off=frozenset()):
    bench = scene.bench()
    return [a.code for a in advise(bench.state, bench.state.at_s + scene.after_s, rules_off)]


def test_most_important_first_and_in_the_order_of_the_table():
    bench = at(BUSY.stage, facts=BUSY.facts)
    for intent in BUSY.done:
        say(bench, intent)
        say(bench, Answer(yes=bench.state.held is not None and intent != BUSY.done[-1]))
    order = [rule.code for rule in RULES]
    given_ = advise(bench.state, bench.state.at_s)
    assert [a.severity for a in given_][:1] == [STOP]
    ranks = [(a.severity.rank, order.index(a.code)) for a in given_]
    assert ranks == sorted(ranks)
    assert len(ranks) > 4


def test_severities_rank_and_are_told_apart_without_colour():
    assert [s.rank for s in (STOP, CARE, DO, KNOW)] == [0, 1, 2, 3]
    assert len({s.symbol for s in Severity}) == len({s.value for s in Severity}) == 4
    assert all(len(s.symbol) == 1 for s in Severity)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_a_rule_switched_off_is_silent_and_only_that(rule):
    scene = next(scene for code, scene, _, _ in EXAMPLES if code == rule.code)
    with_it, without_it = codes(scene), codes(scene, frozenset({rule.code}))
    if rule.can_be_switched_off:
        assert without_it == [code for code in with_it if code != rule.code]
    else:
        assert without_it == with_it


def test_questions_and_cautions_cannot_be_switched_off():
    assert {r.code for r in RULES if not r.can_be_switched_off} == {"question", "caution"}
    everything = frozenset(rule.code for rule in RULES)
    assert codes(Scene(SLACK, (Go(),)), everything) == ["question", "caution"]


def test_a_new_bench_has_something_to_say():
    assert advise(State(), 0)[0].do


# Over any intents at all.


@given(
    facts,
    st.sampled_from([s for s in Stage if s >= SLACK]),
    st.lists(intents, max_size=40),
    st.floats(0, 1e5),
)
def test_advice_is_always_sound(facts, stage, asked, later_s):
    bench = at(stage, facts=facts)
    for intent in asked:
        say(bench, intent)
    now_s = bench.state.at_s + later_s
    given_ = advise(bench.state, now_s)
    assert given_ == advise(bench.state, now_s)
    assert [a.severity.rank for a in given_] == sorted(a.severity.rank for a in given_)
    assert {a.code for a in given_} <= {rule.code for rule in RULES}
    seqs = {e.seq for e in bench._recorder.events}
    for advice in given_:
        assert advice.do.strip()
        assert advice.why.strip()
        words = re.findall(r"[a-z]+", f"{advice.do} {advice.why}".lower())
        assert not {"safe", "safely", "nan", "inf", "none"} & set(words)
        assert set(advice.rests_on) <= seqs
        assert len(set(advice.rests_on)) == len(advice.rests_on)
