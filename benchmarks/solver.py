"""The solver of the choice on invented houses: gap and time of the own engine, and HiGHS to the same gap.

Run: python benchmarks/solver.py [--quick]. Times are processor seconds of this process (other load on the machine
weighs less so); ratios to HiGHS are taken in the same run. gap = (plan - bound) / plan with whole packs.
"""

from __future__ import annotations

import statistics
import sys
import time
from dataclasses import replace

from hullwright.choice.instance import Limits
from hullwright.choice.solver import Effort, curve
from hullwright.choice.solver.mip import solve_mip
from hullwright.choice.solver.own.engine import solve_own
from hullwright.choice.solver.trial import Trial, trial

SHARES = (0.25, 0.35, 0.6)
ALL = frozenset({"coats", "hours", "meetings", "products", "setup", "stock"})


def own(case: Trial, effort: Effort) -> tuple[float, float]:
    """Gap and seconds of the own engine."""
    start = time.process_time()
    outcome = solve_own(case.instance, case.limits, case.goal, effort=effort, start=None, progress=None)
    seconds = time.process_time() - start
    if outcome.plan is None:
        return float("inf"), seconds
    value = outcome.plan.value(case.goal)
    return max(0.0, (value - outcome.bound) / value) if value > 0 else 0.0, seconds


def highs(case: Trial, gap: float, most: float) -> float:
    """Seconds of HiGHS to a gap; negative where these seconds were not enough."""
    start = time.process_time()
    effort = Effort(gap=max(gap, 1e-6), seconds=most)
    outcome = solve_mip(case.instance, case.limits, case.goal, effort=effort)
    seconds = time.process_time() - start
    if outcome.plan is None:
        return -seconds
    value = outcome.plan.value(case.goal)
    return seconds if (value - outcome.bound) / value <= gap * 1.01 + 1e-9 else -seconds


def row(name: str, cases: list[Trial], effort: Effort, most: float = 0.0) -> None:
    """One line of the table."""
    found = [own(case, effort) for case in cases]
    gaps, seconds = [100 * g for g, _ in found], [s for _, s in found]
    text = f"{name:34} gap median {statistics.median(gaps):8.4f} % worst {max(gaps):8.4f} %"
    text += f"  time median {statistics.median(seconds):6.3f} s worst {max(seconds):6.3f} s"
    if most:
        ratios = [highs(case, g, most) / s for case, (g, s) in zip(cases, found, strict=True)]
        missed = sum(ratio < 0 for ratio in ratios)
        times = [abs(ratio) for ratio in ratios]
        text += f"  HiGHS to the same gap: x {statistics.median(times):.0f} (least x {min(times):.0f})"
        text += (
            f", at least, for it was not there in {most:.0f} s in {missed} of {len(cases)}" if missed else ""
        )
    print(text, flush=True)


def houses(runs: int, count: int, extras: frozenset[str] = frozenset()) -> list[Trial]:
    """Some invented houses."""
    return [trial(runs, seed, share=SHARES[seed % 3], extras=extras) for seed in range(count)]


def main(*, quick: bool) -> None:
    """Print the table."""
    count = 3 if quick else 9
    most = 5.0 if quick else 60.0
    own(trial(30, 0), Effort(nodes=5, beams=1))  # load everything once
    for runs in (20, 40, 80, 150):
        row(f"{runs} runs", houses(runs, count), Effort(nodes=100, beams=20))
    row("300 runs, short", houses(300, count), Effort(nodes=26, beams=4), most)
    row("300 runs, long", houses(300, count), Effort(nodes=200, beams=30), most)
    row("1000 runs", houses(1000, count), Effort(nodes=20, beams=3), most / 2)
    row("10 000 runs", houses(10_000, 3), Effort(nodes=6, beams=2))
    row("100 000 runs", houses(100_000, 2 if quick else 3), Effort(nodes=4, beams=2))
    if not quick:
        row("1 000 000 runs", houses(1_000_000, 1), Effort(nodes=4, beams=1))
    for extra in sorted(ALL):
        row(f"300 runs with {extra}", houses(300, 3, frozenset({extra})), Effort(nodes=60, beams=10))
    row("300 runs with all of these", houses(300, 3, ALL), Effort(nodes=60, beams=10))
    for runs in (100, 300):
        case = trial(runs, 1)
        start = time.process_time()
        points = curve(case.instance, replace(case.limits, budget=Limits().budget), case.goal)
        gaps = [100 * answer.gap for _, answer in points]
        seconds = time.process_time() - start
        print(
            f"curve of {len(points)} points, {runs} runs: {seconds:.2f} s, gaps first {gaps[0]:.2f} %,",
            end=" ",
        )
        print(f"worst other {max(gaps[1:]):.2f} %")


if __name__ == "__main__":
    main(quick="--quick" in sys.argv)
