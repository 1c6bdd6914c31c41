"""Simulation against drawing its numbers alone: 100 000 draws of 300 runs, both in one run."""

from __future__ import annotations

import time

import numpy as np

from hullwright.choice.simulate import draw
from hullwright.choice.sums import Terms

RUNS, DRAWS, BLOCK = 300, 100_000, 2048


def plan() -> Terms:
    """A plan of 300 runs with some 170 expected flaws in all."""
    rng = np.random.default_rng(1)
    one = np.ones(RUNS)
    quantity = 20 * np.exp(rng.normal(0, 1, RUNS))
    return Terms(
        quantity, 0.02 * one, 0.02 * one, 0.3 * one, 0.05 * one, 0.1 * one, 0 * one, 200 * one, 200 * one
    )


def numbers_alone(terms: Terms) -> None:
    """Draw a normal, a Poisson and, for each cell with flaws, a Gamma number, and do nothing with them."""
    rng = np.random.Generator(np.random.SFC64(1))
    for start in range(0, DRAWS, BLOCK):
        rows = min(BLOCK, DRAWS - start)
        rng.standard_normal((rows, RUNS), dtype=np.float32)
        number = rng.poisson(np.broadcast_to(terms.number, (rows, RUNS)))
        rng.standard_gamma(number[number > 0])


def ratio(repeats: int = 3) -> tuple[float, float]:
    """Best time of the simulation [s], and its ratio to the best time of the numbers alone."""
    terms = plan()
    times: list[tuple[float, float]] = []
    for _ in range(repeats):
        start = time.perf_counter()
        draw(terms, (50.0, 30.0), draws=DRAWS)
        middle = time.perf_counter()
        numbers_alone(terms)
        times.append((middle - start, time.perf_counter() - middle))
    whole, alone = (min(column) for column in zip(*times, strict=True))
    return whole, whole / alone


if __name__ == "__main__":
    seconds, times_alone = ratio()
    print(f"{DRAWS} draws of {RUNS} runs: {seconds:.2f} s, {times_alone:.2f} x the numbers alone (limit 3)")
