"""Air in the room against published worked examples, pint, and what must always hold.

Bench examples without a source are computed here, by hand, from the formulas in the docstrings.
"""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from benchterm.mechanics import air

ACETONE, HEPTANE, ETHYL_CYANOACRYLATE = 58.08, 100.20194, 125.13
ROOM = {"flow_m3_h": 360.0, "volume_m3": 60.0, "mixing": 3.0}
UNITS = pint.UnitRegistry()


def minutes(hours: float) -> float:
    return 60 * hours


@pytest.mark.parametrize(
    ("changes", "to_90", "to_99", "to_99_9"),
    [(2, 69, 138, 207), (6, 23, 46, 69), (12, 12, 23, 35), (15, 9, 18, 28)],
)
def test_the_table_of_air_changes(changes, to_90, to_99, to_99_9):
    """CDC, 1994: minutes to clear 90, 99 and 99.9 %, perfect mixing."""
    waits = [minutes(air.hours_to_fall(1.0, left, changes, 1.0, 1.0)) for left in (0.1, 0.01, 1e-3)]
    assert [round(wait) for wait in waits] == [to_90, to_99, to_99_9]


def test_poor_mixing_multiplies_the_waits_of_that_table():
    once = air.hours_to_fall(1.0, 0.01, 6.0, 1.0, 1.0)
    assert air.hours_to_fall(1.0, 0.01, 6.0, 1.0, 10.0) == pytest.approx(10 * once)


def test_the_classic_dilution_example():
    """1.5 pint/h, SG 1.32, MW 133.4, limit 350 ppm: 284.8 cfm, at K = 5 1424 (from memory).

    A pint of a liquid of specific gravity 1 and molar mass 1 makes 403 ft3 of vapour there.
    """
    litres_h = (403 * 1.32 * 1.5 / 133.4 * UNITS.feet**3).to("litre").magnitude
    for mixing, cfm in ((1, 284.8), (5, 1424)):
        flow = air.flow_needed_m3_h(litres_h, 350, mixing) * UNITS.meter**3 / UNITS.hour
        printed = flow.to("feet**3 / minute").magnitude
        assert round(printed, 1 if mixing == 1 else 0) == cfm


def test_the_classic_build_up_example():
    """G 1.2 cfm, Q' 2000 cfm, V 100 000 ft3, to 200 ppm: 20.273 min (data from memory)."""
    litres_h = (1.2 * UNITS.feet**3 / UNITS.minute).to("litre / hour").magnitude
    flow = (2000 * UNITS.feet**3 / UNITS.minute).to("meter**3 / hour").magnitude
    volume = (100_000 * UNITS.feet**3).to("meter**3").magnitude
    assert round(minutes(air.hours_to_reach(200, litres_h, flow, volume, 1)), 3) == 20.273


def test_acetone_over_one_screen():
    litres = air.vapour_litres(8, ACETONE)
    assert round(litres, 4) == 3.3678
    room = air.ppm_in(60, litres)
    assert round(room, 2) == 56.13
    near = air.ppm_in(1, litres)
    assert round(near, 1) == 3367.8
    assert round(air.of_lel_pct([(near, 2.5)]), 2) == 13.47
    assert round(air.of_lel_pct([(air.ppm_in(0.1, litres), 2.5)]), 1) == 134.7
    assert round(minutes(air.hours_to_fall(room, 25, **ROOM)), 3) == 24.264


def test_heptane_through_a_morning():
    litres_h = air.vapour_litres(30, HEPTANE)
    assert round(air.steady_ppm(litres_h, 360, 3), 3) == 61.002
    assert round(air.ppm_after(0.5, litres_h, **ROOM), 3) == 38.561
    assert air.hours_to_reach(38.561, litres_h, **ROOM) == pytest.approx(0.5, rel=1e-4)


def test_what_a_room_can_take_of_ethyl_cyanoacrylate():
    """0.2 ppm at 360 m3/h and K = 3 lets 0.12282 g evaporate each hour."""
    litres_h = air.vapour_litres(0.12282, ETHYL_CYANOACRYLATE)
    assert air.steady_ppm(litres_h, 360, 3) == pytest.approx(0.2, rel=1e-4)


def test_a_mixture_at_half_its_limit():
    """Sum of C / TLV, 200/500 + 40/400 (29 CFR 1910.1000(d)(2) has the formula)."""
    assert air.mixture_index([(200, 500), (40, 400)]) == pytest.approx(0.5)


def test_the_mean_of_a_shift():
    """29 CFR 1915.1000(d), sum of C T over 8: 4 h at 80 and 2 h at 40 are 50."""
    assert air.time_weighted([(80, 4), (40, 2)]) == 50


def test_le_chateliers_rule():
    """70 % acetone (2.5 %) and 30 % heptane (1.05 %) together burn from 1.76768 %."""
    lel = air.lel_of_mixture_pct([(0.7, 2.5), (0.3, 1.05)])
    assert round(lel, 5) == 1.76768
    # At that concentration they are at 100 % of it.
    whole = lel * 1e4
    assert air.of_lel_pct([(0.7 * whole, 2.5), (0.3 * whole, 1.05)]) == pytest.approx(100)


@pytest.mark.parametrize("molar_mass", [ACETONE, HEPTANE, ETHYL_CYANOACRYLATE])
def test_units_against_pint(molar_mass):
    """The molar volume of an ideal gas at 25 C and one atmosphere is pint's; 24.45 is rounded."""
    mole = UNITS.Quantity(1, "mole")
    molar = (mole * UNITS.molar_gas_constant * UNITS.Quantity(298.15, "kelvin")
             / UNITS.Quantity(1, "atm")).to("litre").magnitude  # fmt: skip
    assert molar == pytest.approx(air.MOLAR_LITRES, rel=1e-3)
    mass = UNITS.Quantity(molar_mass, "gram / mole")
    share = UNITS.Quantity(1e-6, "mole") / UNITS.Quantity(molar, "litre")
    assert air.mg_m3(1, molar_mass) == pytest.approx(
        (share * mass).to("milligram / meter**3").magnitude, rel=1e-3
    )
    grams = UNITS.Quantity(10, "gram")
    litres = (grams / mass).to("mole").magnitude * molar
    assert air.vapour_litres(10, molar_mass) == pytest.approx(litres, rel=1e-3)
    box = UNITS.Quantity(3, "meter**3")
    parts = (UNITS.Quantity(2, "litre") / box).to("dimensionless").magnitude * 1e6
    assert air.ppm_in(3, 2) == pytest.approx(parts)


def test_ppm_there_and_back():
    assert air.ppm_of(air.mg_m3(37, ACETONE), ACETONE) == pytest.approx(37)


def test_vapour_is_heavier_than_air():
    """Molar mass over that of dry air, 28.9647: acetone 2.01, n-heptane 3.46."""
    assert round(air.vapour_density(ACETONE), 2) == 2.01
    assert round(air.vapour_density(HEPTANE), 2) == 3.46


def test_no_flow_is_no_ventilation():
    still = {"flow_m3_h": 0.0, "volume_m3": 60.0, "mixing": 3.0}
    assert air.steady_ppm(1.0, 0.0, 3.0) == math.inf
    assert air.steady_ppm(0.0, 0.0, 3.0) == 0
    assert air.ppm_after(2, 6.0, **still) == pytest.approx(200)
    assert air.ppm_after(2, 0.0, **still, start_ppm=50) == 50
    assert air.hours_to_reach(200, 6.0, **still) == pytest.approx(2)
    assert air.hours_to_fall(200, 100, **still) == math.inf
    assert air.dose_ppm_h(2, 6.0, **still) == pytest.approx(200)


def test_waits_that_need_no_wait_and_waits_without_end():
    assert air.hours_to_fall(20, 25, **ROOM) == 0
    assert air.hours_to_fall(20, 0, **ROOM) == math.inf
    assert air.hours_to_reach(0, 1.0, **ROOM) == 0
    assert air.hours_to_reach(10, 0.0, **ROOM) == math.inf
    assert air.hours_to_reach(air.steady_ppm(1.0, 360, 3), 1.0, **ROOM) == math.inf


def test_vapour_alone_is_all_there_can_be():
    assert air.ppm_in(0.001, 500) == 1e6


flows = st.just(0.0) | st.floats(0.1, 1e5)
volumes = st.floats(1, 1e4)
mixings = st.floats(1, 10)
amounts = st.just(0.0) | st.floats(1e-6, 1e4)
spans = st.floats(0, 100)


@given(spans, amounts, flows, volumes, mixings, st.floats(0, 1e4))
def test_a_concentration_is_never_negative(hours, litres_h, flow, volume, mixing, start):
    ppm = air.ppm_after(hours, litres_h, flow, volume, mixing, start)
    assert 0 <= ppm <= start + 1000 * litres_h * hours / volume + 1e-6 * (start + 1)
    assert air.dose_ppm_h(hours, litres_h, flow, volume, mixing, start) >= 0


@given(spans, amounts, st.floats(1.01, 10), flows, volumes, mixings)
def test_more_use_never_lowers_it(hours, litres_h, times, flow, volume, mixing):
    less = air.ppm_after(hours, litres_h, flow, volume, mixing)
    more = air.ppm_after(hours, times * litres_h, flow, volume, mixing)
    assert more >= less
    assert less == 0 or more > less


@given(st.floats(0.01, 100), st.floats(1e-3, 1e4), flows, st.floats(0.5, 1e5), volumes, mixings)
def test_more_flow_lowers_it(hours, litres_h, flow, more, volume, mixing):
    changes = air.clearing_per_h(more, volume, mixing) * hours
    assume(changes > 1e-3 and air.clearing_per_h(flow, volume, mixing) * hours < 30)
    before = air.ppm_after(hours, litres_h, flow, volume, mixing)
    assert air.ppm_after(hours, litres_h, flow + more, volume, mixing) < before
    assert air.steady_ppm(litres_h, flow + more, mixing) < air.steady_ppm(litres_h, flow, mixing)


@given(st.floats(0, 10), st.floats(0, 10), amounts, flows, volumes, mixings)
def test_two_spells_are_one_long_one(first, second, litres_h, flow, volume, mixing):
    room = (litres_h, flow, volume, mixing)
    between = air.ppm_after(first, *room)
    assert air.ppm_after(second, *room, between) == pytest.approx(
        air.ppm_after(first + second, *room), rel=1e-9, abs=1e-12
    )
    parts = air.dose_ppm_h(first, *room) + air.dose_ppm_h(second, *room, between)
    whole = air.dose_ppm_h(first + second, *room)
    assert parts == pytest.approx(whole, rel=1e-5, abs=1e-9)


@given(st.floats(1e-3, 1e4), st.floats(0.1, 1e5), volumes, mixings, st.floats(0.01, 0.99))
def test_the_time_to_a_concentration_leads_there(litres_h, flow, volume, mixing, share):
    wanted = share * air.steady_ppm(litres_h, flow, mixing)
    hours = air.hours_to_reach(wanted, litres_h, flow, volume, mixing)
    assert air.ppm_after(hours, litres_h, flow, volume, mixing) == pytest.approx(wanted)
    back = air.hours_to_fall(wanted, wanted / 2, flow, volume, mixing)
    after = air.ppm_after(back, 0.0, flow, volume, mixing, wanted)
    assert after == pytest.approx(wanted / 2)


@given(st.floats(1e-3, 50), amounts, flows, volumes, mixings, st.floats(0, 100))
def test_the_dose_is_what_the_concentrations_add_up_to(
    hours, litres_h, flow, volume, mixing, start
):
    """Against Simpson's rule on 200 slices."""
    assume(air.clearing_per_h(flow, volume, mixing) * hours < 50)
    room = (litres_h, flow, volume, mixing, start)
    step = hours / 200
    at = [air.ppm_after(i * step, *room) for i in range(201)]
    simpson = step / 3 * (at[0] + at[-1] + 4 * sum(at[1:-1:2]) + 2 * sum(at[2:-1:2]))
    assert air.dose_ppm_h(hours, *room) == pytest.approx(simpson, rel=1e-3, abs=1e-9)
