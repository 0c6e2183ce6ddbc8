"""Settling: worked curves, limits that hold for any mesh, and benches simulated another way."""

from __future__ import annotations

import math
from random import Random

import pytest

from benchterm.mechanics.settling import (
    DAY_S,
    Likely,
    Prior,
    Seen,
    Settling,
    Step,
    prony,
    stretched,
    superposed,
)

STEPS = (Step(0, 12), Step(200, 8), Step(400, 4))
PRIOR = Prior()


def settling(*readings: tuple[float, float], prior: Prior = PRIOR, steps=STEPS) -> Settling:
    """Of one axis, readings at its centre as seconds since the last step and N/cm."""
    last = steps[-1].at_s
    return Settling(
        {"along": steps}, {"along": [Seen(last + s, None, t) for s, t in readings]}, prior
    )


# Worked figures: computed from the formula shown.


@pytest.mark.parametrize(
    ("minutes", "tension"),
    [(0, "26.0000"), (1, "24.6424"), (10, "23.1499"), (60, "21.6036"), (1440, "20.0543")],
)
def test_stretched_exponential(minutes: float, tension: str):
    """20 + 6 exp(-(t/30)^0.4), t in minutes."""
    assert f"{26 - 6 * stretched(0.4, 1800)(60 * minutes):.4f}" == tension


@pytest.mark.parametrize(
    ("minutes", "tension"),
    [(1, "27.1421"), (10, "25.8352"), (60, "24.7255"), (1440, "23.8000")],
)
def test_prony_series(minutes: float, tension: str):
    """28 (1 - sum g (1 - exp(-t/tau))), g .04 .05 .06, tau 1 10 100 min."""
    gone = prony([(0.04, 60), (0.05, 600), (0.06, 6000)])
    assert f"{28 * (1 - gone(60 * minutes)):.4f}" == tension


def test_topping_up_by_superposition():
    """R(t) = 1 - 0.04 log10(1 + t/0.1), 27 N/cm at 0 and topped up to 27 at 15 min."""

    def kept(age_min: float) -> float:
        return 1 - 0.04 * math.log10(1 + age_min / 0.1)

    first = Step(0, 27)
    before = superposed([first], 15, kept)
    assert f"{before:.5f}" == "24.64670"
    second = Step(15, 27 - before)
    assert f"{second.n_cm:.5f}" == "2.35330"
    assert f"{superposed([first, second], 15, kept):.5f}" == "27.00000"
    topped_up = superposed([first, second], 1455, kept)
    untouched = superposed([first], 1440, kept)
    assert (f"{topped_up:.4f}", f"{27 - topped_up:.3f}") == ("24.4659", "2.534")
    assert (f"{untouched:.4f}", f"{27 - untouched:.3f}") == ("22.5089", "4.491")


def test_nothing_has_passed_before_a_step():
    assert superposed([Step(10, 5)], 9, lambda _: 1.0) == 0


# What must hold for any mesh.


def test_one_reading_rests_on_the_prior():
    """T24 = T (1 - R24) / (1 - R24 u): 0.14 lost, a part of it before the reading."""
    tomorrow = settling((60, 24.0)).tension("along", 400 + DAY_S)
    assert 24 * 0.84 < tomorrow.value < 24 * 0.94
    assert 0.5 < tomorrow.sd < 1.5


@pytest.mark.parametrize("later", [0.001, 0.07, 0.3])
@pytest.mark.parametrize("sd", [0.005, 0.2])
def test_whatever_is_said_to_be_known_there_is_an_answer(later: float, sd: float):
    """Every pair that the shop's table allows."""
    tomorrow = settling((60, 24.0), prior=Prior(later=Likely(later, sd))).tension(
        "along", 400 + DAY_S
    )
    assert 12 < tomorrow.value < 24
    assert 0 < tomorrow.sd < 4


def test_more_readings_say_more():
    few = settling((30, 24.0), (60, 23.8))
    many = settling(*[(30 * 2**i, 24.0 - 0.2 * i) for i in range(6)])
    at_s = 400 + DAY_S
    assert many.tension("along", at_s).sd < few.tension("along", at_s).sd


def test_memory_narrows():
    known = settling((60, 24.0), prior=Prior(later=Likely(0.06, 0.011)))
    plain = settling((60, 24.0))
    assert known.later_share.sd < 0.6 * plain.later_share.sd
    at_s = 400 + DAY_S
    assert known.tension("along", at_s).sd < 0.7 * plain.tension("along", at_s).sd


def test_what_is_known_of_the_later_loss_is_what_one_step_loses_later():
    """No reading tells a share: with one only, it comes out as it went in, at any shape."""
    one = settling((900, 20.0), prior=Prior(later=Likely(0.08, 0.005)), steps=(Step(0, 20),))
    assert one.later_share.value == pytest.approx(0.08, abs=1e-3)
    assert one.later_share.sd == pytest.approx(0.005, rel=0.1)
    assert one.tension("along", DAY_S).value == pytest.approx(0.92 * 20, abs=0.02)


def test_a_quick_fall_tells_of_a_large_loss():
    quick = settling(*[(20 * 2**i, 24.0 - 0.45 * i) for i in range(7)])
    slow = settling(*[(20 * 2**i, 24.0 - 0.10 * i) for i in range(7)])
    assert quick.later_share.value > slow.later_share.value + 0.015


def test_it_only_falls_and_losses_add_up():
    s = settling((30, 24.0), (120, 23.6), (300, 23.2))
    times = [400 + t for t in (30, 300, 3600, 36000, DAY_S)]
    values = [s.tension("along", t).value for t in times]
    assert values == sorted(values, reverse=True)
    assert s.lost("along", times[0], times[-1]).value == pytest.approx(values[0] - values[-1])


def test_axes_share_the_loss():
    falls = [Seen(400 + 20 * 2**i, None, 24.0 - 0.45 * i) for i in range(7)]
    one = [Seen(430, None, 20.0)]
    steps = {"along": STEPS, "across": STEPS}
    both = Settling(steps, {"along": falls, "across": one})
    alone = Settling(steps, {"across": one})
    at_s = 400 + DAY_S
    assert both.tension("across", at_s).value < alone.tension("across", at_s).value


def test_a_side_that_reads_high_does_not_hide_the_fall():
    mixed = [
        Seen(430, None, 24.0),
        Seen(440, "far", 24.7),
        Seen(1300, None, 23.0),
        Seen(1310, "far", 23.7),
    ]
    s = Settling({"along": STEPS}, {"along": mixed})
    plain = settling((30, 24.0), (900, 23.0))
    assert s.later_share.value == pytest.approx(plain.later_share.value, abs=0.006)


def test_glue_when_a_day_costs_no_more():
    s = settling((60, 24.0), (600, 23.4))
    now = 1000.0
    when = s.may_be_glued_s("along", 1.5, now)
    assert when is not None
    assert now < when < now + DAY_S
    assert s.lost("along", when, when + DAY_S).value == pytest.approx(1.5, abs=0.02)
    assert s.may_be_glued_s("along", 1.0, now) > when
    assert s.may_be_glued_s("along", 10, now) == now
    assert s.may_be_glued_s("along", 0.01, now) is None


def test_topping_up_is_kept_in_part():
    s = settling((60, 24.0), (600, 23.4))
    untouched = s.tension("along", 400 + DAY_S)
    topped = s.topped_up("along", 2.0, 1000, 400 + DAY_S)
    assert untouched.value + 1.5 < topped.value < untouched.value + 2.0


@pytest.mark.parametrize(
    ("steps", "readings"), [((), [Seen(10, None, 20)]), (STEPS, []), ((Step(0, -1),), STEPS[:0])]
)
def test_nothing_to_go_by(steps, readings):
    with pytest.raises(ValueError, match=r"nothing has been read|no tension"):
        Settling({"along": steps}, {"along": readings})


# A bench whose mesh relaxes by a power of time, which the model does not assume.


def test_power_law_benches_are_covered():
    """T1 t^-m (standard, from memory), 40 benches at 5 min: 90 % intervals hold 30 times."""
    inside, squares = 0, 0.0
    for number in range(40):
        draw = Random(number)
        power, level = draw.uniform(0.010, 0.028), draw.uniform(15, 30)

        def kept(age_s: float, power: float = power) -> float:
            return (1 + age_s / 2) ** -power

        steps = [Step(60.0 * i, level / 6) for i in range(6)]
        read = [
            Seen(t, None, round(2 * (superposed(steps, t, kept) + draw.gauss(0, 0.3))) / 2)
            for t in (320, 350, 400, 450, 520, 600)
        ]
        tomorrow = Settling({0: steps}, {0: read}).tension(0, 300 + DAY_S)
        truth = superposed(steps, 300 + DAY_S, kept)
        inside += tomorrow.low <= truth <= tomorrow.high
        squares += (tomorrow.value - truth) ** 2
    assert inside >= 30
    assert math.sqrt(squares / 40) < 1.2
