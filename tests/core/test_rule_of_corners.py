"""The rule about corners: where it speaks and, close by, where it is silent.

Fitted on simulated benches, never on real mesh; what to do is common practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from worked import Scene, told

from benchterm.core import rules_corner
from benchterm.core.advice import Severity
from benchterm.core.advise import advise
from benchterm.core.events import ReadingTaken
from benchterm.core.facts import Facts, Mesh, Stretcher
from benchterm.core.intents import Read, Relieve, Turn
from benchterm.core.rules import RULES
from benchterm.core.stages import Stage
from benchterm.core.stations import CORNERS, ROLLERS, Axis, Station

STOP, CARE, *_ = Severity
ALONG, ACROSS = Axis
FAR, _, LEFT, _ = ROLLERS
CENTRE = Station.CENTRE
FAR_LEFT, _, _, NEAR_RIGHT = CORNERS
RELIEF, FINAL, SETTLE = (
    Stage.CORNER_RELIEF,
    Stage.FINAL_TENSION,
    Stage.SETTLE,
)

FINE = Facts(stretcher=Stretcher(teeth=72))
"""One click gives 1.9 N/cm along and 2.6 across; 5.8 and 7.8 with the usual 24 teeth."""
GAP_3 = Facts(stretcher=Stretcher(teeth=72, rod_gap_mm=3))
GAP_20 = Facts(stretcher=Stretcher(teeth=72, rod_gap_mm=20))

SIDES_22 = tuple(Read(side, 22) for side in ROLLERS)
ROUND_OF_7 = tuple(Turn(side, 7) for side in ROLLERS)
"""Seven clicks on every roller."""


FIRM = tuple(Read(c, 20, axis) for c in (FAR_LEFT, NEAR_RIGHT) for axis in Axis)
"""Two opposite corners, read well over sides of 16."""


def read(station, value, axis=ALONG):
    return ReadingTaken(station, axis, value)


# code, scene, (severity, what to do, why, what it rests on), scenes near by where it is silent
EXAMPLES = [
    (
        "corner-ahead",
        Scene(RELIEF, (Read(FAR, 20), Read(LEFT, 20), Read(FAR_LEFT, 23))),
        (
            CARE,
            "ease far left by 6 mm before the next click",
            "along 23.0 beside far 20.0, left 20.0: 1.15 times, limit 1.10",
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
        # Seven clicks of 1.4 mm on every roller, and the way to the target takes one more each.
        "corner-ahead",
        Scene(FINAL, (*ROUND_OF_7, Read(FAR, 16), Read(LEFT, 16)), facts=GAP_3),
        (
            STOP,
            "read far left and near right, along and across, first",
            "chance of a tear by the target about 24 %: it may spare easing them "
            "(rods 3 mm from the corner)",
            [read(FAR, 16), read(LEFT, 16, ACROSS)],
        ),
        [
            Scene(FINAL, (*ROUND_OF_7, Read(FAR, 16), Read(LEFT, 16)), facts=GAP_20),
            Scene(FINAL, (*ROUND_OF_7, Read(FAR, 10), Read(LEFT, 10)), facts=GAP_3),
            Scene(FINAL, (*ROUND_OF_7, Read(FAR, 22), Read(LEFT, 22)), facts=GAP_3),
            Scene(FINAL, (*ROUND_OF_7, Read(FAR, 16), Read(LEFT, 16)), facts=FINE),
            Scene(FINAL, ROUND_OF_7, facts=GAP_3),
            Scene(FINAL, (Read(FAR, 16), Read(LEFT, 16)), facts=GAP_3),
            Scene(FINAL, (*ROUND_OF_7, Read(FAR, 16)), facts=GAP_3),
        ],
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


def test_every_rule_about_corners_has_an_example():
    spoken = {code for code, _, _, _ in EXAMPLES}
    assert spoken == {rule.code for rule in RULES if rule.find.__module__ == rules_corner.__name__}


def test_a_click_made_all_the_same_does_not_take_it_back():
    scene = Scene(FINAL, (*ROUND_OF_7, Read(FAR, 16), Read(LEFT, 16), Turn(FAR, 1)), facts=GAP_3)
    assert told(scene, "corner-ahead")[0] is STOP
    assert told(scene, "next-side") is None


def test_what_it_asks_for_is_enough():
    read_16 = (Read(FAR, 16), Read(LEFT, 16), *FIRM)
    bench = Scene(FINAL, (*ROUND_OF_7, *read_16), facts=GAP_3).bench()
    due = next(a for a in advise(bench.state, 0) if a.code == "corner-ahead")
    assert {ease.station for ease in due.ease} == set(CORNERS)
    eased = [Relieve(ease.station, ease.mm) for ease in due.ease]
    assert told(Scene(FINAL, (*ROUND_OF_7, *read_16, *eased), facts=GAP_3), "corner-ahead") is None


def test_corners_that_can_be_eased_no_further():
    thin = replace(
        GAP_3, stretcher=Stretcher(teeth=72, rod_gap_mm=0), mesh=Mesh(77, 26, ceiling_n_cm=40)
    )
    eased = [Relieve(corner, 12) for corner in CORNERS]
    done = (*ROUND_OF_7, *eased, Read(FAR, 20), Read(LEFT, 20), *FIRM)
    severity, do, _, rests_on = told(Scene(FINAL, done, facts=thin), "corner-ahead")
    assert severity is STOP
    assert do == "corners are eased as far as they go: settle for less tension here"
    assert read(FAR, 20) in rests_on


def test_corners_read_high_make_a_tear_likelier_and_low_ones_spare_easing():
    done = (*ROUND_OF_7, Read(FAR, 16), Read(LEFT, 16))
    *_, unread, _ = told(Scene(FINAL, done, facts=GAP_3), "corner-ahead")
    _, do, seen, rests_on = told(Scene(FINAL, (*done, *FIRM), facts=GAP_3), "corner-ahead")
    assert do.startswith("ease far left, far right, near left and near right by ")
    assert chance_told(seen) > chance_told(unread)
    assert read(FAR_LEFT, 20) in rests_on
    low = tuple(Read(c, 13, axis) for c in (FAR_LEFT, NEAR_RIGHT) for axis in Axis)
    assert told(Scene(FINAL, (*done, *low), facts=GAP_3), "corner-ahead") is None


def chance_told(why):
    return int(re.search(r"about (\d+) %", why)[1])


def test_while_corners_are_to_be_eased_nothing_is_to_be_turned_or_settled():
    read_16 = tuple(Read(side, 16) for side in ROLLERS)
    scene = Scene(FINAL, (*ROUND_OF_7, *read_16), facts=GAP_3)
    assert told(scene, "corner-ahead")[0] is STOP
    assert told(scene, "next-side") is None
    assert told(scene, "settle") is None


def test_the_worst_corner_is_named():
    done = (*SIDES_22, Read(FAR_LEFT, 25), Read(NEAR_RIGHT, 27))
    assert told(Scene(RELIEF, done), "corner-ahead")[1].startswith("ease near right")
