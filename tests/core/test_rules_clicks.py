"""Rules about clicks that readings do not bear out, where they speak and where they are silent.

On a sheet of the estimator's own kind without noise, worked out here: slack of 18 mm, then 1.3 N/cm
for a click along and 1.8 across. Simulated, never real mesh.
"""

from __future__ import annotations

from worked import Scene, told

from benchterm.core import rules_clicks
from benchterm.core.advice import Severity
from benchterm.core.facts import Facts, Stretcher
from benchterm.core.intents import Read, Turn
from benchterm.core.rules import RULES
from benchterm.core.stages import Stage
from benchterm.core.stations import ROLLERS

FAR, NEAR, LEFT, RIGHT = ROLLERS
FINE = Facts(stretcher=Stretcher(teeth=96))
CLICK_MM = 3.14159 * 32 / 96
SLACK_MM = 18


def sheet(clicks):
    """Tension along and across for the clicks that were made on both rollers of each pair."""
    along, across = (max(0.0, n * CLICK_MM - SLACK_MM) for n in clicks)
    own = (1410 * along / 1020, 1410 * across / 760)
    return own[0] + 0.2 * own[1], own[1] + 0.2 * own[0]


def passes(kept_along, extra_along=0):
    """Twelve passes with a reading of each axis after each.

    ``kept_along``: share of the clicks along kept from the ninth pass on; ``extra_along``: clicks
    made before the ninth that nobody called.
    """
    done, made = [], [0.0, 0.0]
    for number in range(12):
        each = 3 if number < 3 else 1
        for pair, (first, second) in enumerate(((FAR, NEAR), (LEFT, RIGHT))):
            done += [Turn(first, each), Turn(second, each)]
            made[pair] += 2 * each * (kept_along if number >= 8 and pair == 0 else 1)
        if number == 8:
            made[0] += extra_along
        along, across = sheet(made)
        done += [Read(FAR, round(along, 1)), Read(LEFT, round(across, 1))]
    return tuple(done)


def scene(*args):
    return Scene(Stage.FINAL_TENSION, passes(*args), facts=FINE)


def test_clicks_that_give_half_are_taken_for_a_slip():
    severity, do, why, _ = told(scene(0.5), "clicks-lost")
    assert severity is Severity.CARE
    assert do == "look at pawl and rod on far and near"
    assert "less than they should" in why


def test_clicks_that_nobody_called_are_asked_about():
    severity, do, why, _ = told(scene(1, 3), "clicks-uncalled")
    assert severity is Severity.CARE
    assert do == "think back: were clicks on far and near not called?"
    assert "more than were called" in why


def test_sound_work_is_not_suspected():
    assert told(scene(1), "clicks-lost") is None
    assert told(scene(1), "clicks-uncalled") is None
    assert told(scene(0.5), "clicks-uncalled") is None
    assert told(scene(1, 3), "clicks-lost") is None


def test_nothing_is_said_before_there_are_readings():
    early = Scene(Stage.FIRST_TENSION, (Turn(FAR, 2), Turn(NEAR, 2)), facts=FINE)
    assert told(early, "clicks-lost") is None
    assert told(early, "clicks-uncalled") is None


def test_every_rule_about_clicks_has_an_example():
    room = {rule.code for rule in RULES if rule.find.__module__ == rules_clicks.__name__}
    assert room == {"clicks-lost", "clicks-uncalled"}
