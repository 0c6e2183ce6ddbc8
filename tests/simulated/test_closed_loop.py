"""The whole way: a worker who does what ``benchterm pipe`` prints, at benches not tuned on.

Few benches, so that it stays quick; ``tests/benchmarks/bench_closed_loop.py`` does two hundred.
"""

from __future__ import annotations

import pytest
from simulated.bench import Bench, draw
from simulated.judge import judged, one_step
from simulated.pipes import as_command, in_process
from simulated.worker import Worker, options

NUMBERS = range(3000, 3012)
"""Apart from 1000 to 1999, which were tuned on, and from those of the benchmark."""
INSIDE = {"gap_mm": 30.0, "gap_said_mm": 30.0, "strength": 1.0}
"""Rods that end well short of the corners, and threads as strong as most: nothing should tear."""


def work(number, **changes):
    bench = Bench(draw(number, **changes), number)
    return judged(bench, Worker(bench, in_process(options(bench))).run())


@pytest.fixture(scope="module")
def results():
    return [work(number, **INSIDE) for number in NUMBERS]


def test_benches_come_within_what_is_promised(results):
    # At 95 % within, ten of twelve or more come out in 98 % of cases (binomial).
    assert sum(r.within for r in results) >= 10
    assert not any(r.torn for r in results)
    assert all(r.settled for r in results)


def test_it_does_not_take_all_day(results):
    assert sum(r.moves for r in results) / len(results) < 20
    assert sum(r.readings for r in results) / len(results) < 20


def test_opposite_rollers_end_even(results):
    for r in results:
        net = [abs(r.bench.clicks[a] - r.bench.clicks[b]) for a, b in ((2, 8), (4, 6))]
        assert max(net) <= 2


def test_what_is_foretold_holds(results):
    steps = [s for r in results for s in one_step(r) if s.number >= 5]
    covered = sum(s.covered for s in steps) / len(steps)
    # Of 90 % intervals; some 130 readings, few a bench, so a wide margin.
    assert 0.82 <= covered <= 0.99


def test_rods_in_the_corners_are_eased_before_they_tear():
    results = [work(n, gap_mm=4.0, gap_said_mm=4.0, strength=1.0) for n in NUMBERS[:6]]
    assert sum(r.torn for r in results) <= 1
    assert any(r.eased for r in results)


@pytest.mark.parametrize(
    "changes",
    [
        {"gauge_sd": 0.8},
        {"click_scatter": 0.08},
        {"knee": 0.02},
        {"slack_mm": (40.0, 36.0)},
        {"loss": 0.3},
    ],
    ids=lambda changes: next(iter(changes)),
)
def test_off_the_beaten_track_it_still_arrives(changes):
    results = [work(n, **INSIDE, **changes) for n in NUMBERS[:3]]
    assert all(r.settled and not r.torn for r in results)
    assert sum(r.within for r in results) >= 2


def test_through_the_command_itself_it_is_the_same():
    bench = Bench(draw(3000, **INSIDE), 3000)
    with as_command(options(bench)) as say:
        done = Worker(bench, say).run()
    again = Bench(draw(3000, **INSIDE), 3000)
    here = Worker(again, in_process(options(again))).run()
    assert done.settled
    assert done.log == here.log
