"""Rules about the tension: where each speaks and, close by, where it is silent.

What to do and when is common practice, no source, unless said beside the example; the limits are
the shop's own table.
"""

from __future__ import annotations

import pytest
from worked import Scene, told

from benchterm.core import rules_tension
from benchterm.core.advice import Severity
from benchterm.core.events import ReadingHeld, ReadingTaken, RollerTurned
from benchterm.core.facts import Facts, Mesh, Stretcher, Target
from benchterm.core.intents import Aim, Answer, Read, Turn
from benchterm.core.practice import Practice
from benchterm.core.rules import RULES
from benchterm.core.stages import Stage
from benchterm.core.stations import ROLLERS, Axis, Station

STOP, CARE, DO, KNOW = Severity
ALONG, ACROSS = Axis
FAR, NEAR, LEFT, RIGHT = ROLLERS
CENTRE = Station.CENTRE
SLACK, FIRST, RELIEF, FINAL, SETTLE = (
    Stage.SLACK,
    Stage.FIRST_TENSION,
    Stage.CORNER_RELIEF,
    Stage.FINAL_TENSION,
    Stage.SETTLE,
)

FINE = Facts(stretcher=Stretcher(teeth=72))
"""One click gives 1.9 N/cm along and 2.6 across; 5.8 and 7.8 with the usual 24 teeth."""
LOW_CEILING = Facts(mesh=Mesh(ceiling_n_cm=24))


def read(station, value, axis=ALONG):
    return ReadingTaken(station, axis, value)


# code, scene, (severity, what to do, why, what it rests on), scenes near by where it is silent
EXAMPLES = [
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
                Stage.READ_AGAIN,
                (Read(FAR, 22), Read(FAR, 25), Answer(yes=True)),
                facts=LOW_CEILING,
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
        # Two clicks too many along; across has come as near as whole clicks do.
        "axes-apart",
        Scene(FINAL, (Read(FAR, 26), Read(LEFT, 22)), facts=FINE),
        (
            CARE,
            "far and near: 1 click back between them",
            "along 26.0, across 22.0: 4.0 out of step with their targets, limit 2.0",
            [read(FAR, 26), read(LEFT, 22, ACROSS)],
        ),
        [Scene(FINAL, (Read(FAR, 26), Read(LEFT, 15)), facts=FINE)],
    ),
    (
        "axes-apart",
        Scene(SETTLE, (Read(FAR, 22), Read(LEFT, 17)), facts=FINE),
        (
            CARE,
            "left and right: 1 click on between them",
            "along 22.0, across 17.0: 5.0 out of step with their targets, limit 2.0",
            [read(FAR, 22), read(LEFT, 17, ACROSS)],
        ),
        [Scene(SETTLE, (Read(FAR, 22), Read(LEFT, 20)), facts=FINE)],
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
        Scene(FINAL, (Read(FAR, 15),), after_s=3700),
        (DO, "read far and near", "along: last read at far 62 min ago", [read(FAR, 15)]),
        [Scene(FINAL, (Read(FAR, 15),), after_s=1200), Scene(FINAL, after_s=9999)],
    ),
    (
        "stale",
        Scene(FINAL, (Read(FAR, 15),), after_s=3 * 86400),
        (DO, "read far and near", "along: last read at far 3 days ago", [read(FAR, 15)]),
        [Scene(FINAL, (Read(FAR, 15),), after_s=1200)],
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
    spoken = {code for code, _, _, _ in EXAMPLES}
    assert spoken == {rule.code for rule in RULES if rule.find.__module__ == rules_tension.__name__}
    assert all(near for _, _, _, near in EXAMPLES)
