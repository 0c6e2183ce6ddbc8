"""How well the advice brings simulated benches to their target, and how honest it is about it.

    python tests/benchmarks/bench_closed_loop.py            200 fresh benches, then the others
    python tests/benchmarks/bench_closed_loop.py --benches 20 --sets usual
    python tests/benchmarks/bench_closed_loop.py --command  each bench through the command itself

A worker does what the advice says and sees only what the pipe prints. Benches 1000 to 1999 were
used for tuning, and others up to 9199 were looked at on the way; the figures to quote are of 9200
and on, which were not.
"""

# ruff: noqa: T201 - finds its modules first, then prints its figures

from __future__ import annotations

import argparse
import math
import sys
import time
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from simulated.bench import Bench, draw
from simulated.judge import Result, judged, one_step, suspected
from simulated.pipes import as_command, in_process
from simulated.worker import Worker, options

FRESH = 9200
OFF_PRIOR = {
    "usual": lambda _: {},
    "stiffness x or / 1.5": lambda rng: {
        "modulus_gpa": (7.4 * 1.5 ** rng.choice([-1, 1]),) * 2,
    },
    "slack 35-45 mm": lambda rng: {"slack_mm": tuple(rng.uniform(35, 45, 2))},
    "gauge sd 0.8": lambda _: {"gauge_sd": 0.8},
    "click scatter 8 %": lambda _: {"click_scatter": 0.08},
    "loss in a day 25-32 %": lambda rng: {"loss": rng.uniform(0.25, 0.32)},
    "knee at 2 % strain": lambda _: {"knee": 0.02},
}


def work(number: int, changes: dict, *, command: bool = False) -> Result:
    """One bench from slack to settle."""
    bench = Bench(draw(number, **changes), number)
    if command:
        with as_command(options(bench)) as say:
            done = Worker(bench, say).run()
    else:
        done = Worker(bench, in_process(options(bench))).run()
    return judged(bench, done)


def main() -> None:
    """Run the sets asked for and print a table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--benches", type=int, default=200)
    parser.add_argument("--others", type=int, default=60)
    parser.add_argument("--first", type=int, default=FRESH)
    parser.add_argument("--sets", nargs="*", default=list(OFF_PRIOR))
    parser.add_argument("--command", action="store_true")
    parser.add_argument("--slips", type=int, default=60, help="jobs with a slipping pawl")
    args = parser.parse_args()
    print(
        f"{'':24}{'n':>4} {'within':>7}{'+-1':>5}{'torn':>5}{'moves':>7}{'reads':>6}{'corner':>7}"
        f"{'over':>5}{'+1':>5}{'eased':>6}{'need-':>6}{'missed':>7}{'slack':>6}"
        f"{'rmse5':>7}{'rmse9':>7}{'cover':>6}{'line5':>6}{'line9':>6}{'sec':>6}"
    )
    for name in args.sets:
        n = args.benches if name == "usual" else args.others
        began = time.perf_counter()
        results = []
        for number in range(args.first, args.first + n):
            rng = np.random.default_rng([number, 5])
            results.append(work(number, OFF_PRIOR[name](rng), command=args.command))
        steps = [s for r in results for s in one_step(r)]
        print(_row(name, results, steps, time.perf_counter() - began), flush=True)
        if name == "usual":
            for low, high in ((0, 1.5), (1.5, 3), (3, 99)):
                some = [r for r in results if low <= r.step_n_cm < high]
                if some:
                    print(_row(f"  step {low:g} to {high:g}", some, [], math.nan))
            for label, inside in (("  rods in", False), ("  rods inside", True)):
                some = [r for r in results if r.inside is inside]
                if some:
                    print(_row(label, some, [], math.nan))
    if args.slips:
        _slips(args.first, args.slips)


def _slips(first: int, jobs: int) -> None:
    """How many sound jobs are suspected of lost clicks, and how many where clicks were lost."""
    sound = [work(n, {}) for n in range(first, first + jobs)]
    names = ("near", "far", "left", "right")
    faulty = [work(n, {"slips": names[n % 4]}) for n in range(first + jobs, first + 2 * jobs)]
    alarms = np.mean([suspected(r) for r in sound if not r.torn])
    print(f"sound jobs suspected of lost clicks: {100 * alarms:.0f} %")
    for least in (1, 2):
        lost = [r for r in faulty if r.bench.slipped >= least and not r.torn]
        caught = np.mean([suspected(r) for r in lost])
        print(
            f"jobs that lost {least} clicks or more ({len(lost)}): {100 * caught:.0f} % suspected"
        )


def _row(name: str, results: list[Result], steps: list, seconds: float) -> str:
    def share(values: list[bool]) -> float:
        return 100 * float(np.mean(values)) if values else math.nan

    done = [r for r in results if not r.torn]
    five = [s.off for s in steps if s.number >= 5]
    nine = [s.off for s in steps if s.number >= 9]
    covered = [s.covered for s in steps if s.number >= 5]
    line5 = [s.line_off for s in steps if s.number >= 5]
    line9 = [s.line_off for s in steps if s.number >= 9]
    return (
        f"{name:24}{len(results):4} {share([r.within for r in results]):7.0f}"
        f"{share([r.within_one for r in results]):5.0f}{share([r.torn for r in results]):5.0f}"
        f"{np.mean([r.moves for r in done]):7.1f}{np.mean([r.readings for r in done]):6.1f}"
        f"{np.mean([r.corner_readings for r in done]):7.1f}"
        f"{share([r.over_promise for r in results]):5.0f}"
        f"{share([r.over_one for r in results]):5.0f}"
        f"{share([r.eased for r in results]):6.0f}"
        f"{share([r.eased for r in results if r.was_fine]):6.0f}"
        f"{share([r.torn and not r.eased for r in results]):7.1f}"
        f"{share([r.slack_corner for r in done]):6.0f}"
        f"{_rms(five):7.2f}{_rms(nine):7.2f}"
        f"{share(covered):6.0f}{_rms(line5):6.2f}{_rms(line9):6.2f}{seconds:6.0f}"
    )


def _rms(values: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values)))) if values else math.nan


if __name__ == "__main__":
    main()
