"""Building file → joints for the demo house, by step; ratio against reading the same file with a general YAML library alone.

python benchmarks/house.py
"""

from __future__ import annotations

import statistics
import time
from pathlib import Path

import yaml

from hullwright import building, hull, joints
from hullwright.app.files import demo_file

ROUNDS = 25


def median_ms(work) -> float:
    """Median of ROUNDS runs, after a warm-up [ms]."""
    work()
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        times.append((time.perf_counter() - start) * 1e3)
    return statistics.median(times)


def main() -> None:
    """Print the table."""
    path: Path = demo_file()
    text = path.read_text(encoding="utf-8")
    stated = building.read(path)
    body = hull.build(stated)
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    steps = {
        "read": lambda: building.read(path),
        "hull": lambda: hull.build(stated),
        "joints": lambda: joints.find(stated, body),
    }
    found = {name: median_ms(work) for name, work in steps.items()}
    peer = median_ms(lambda: yaml.load(text, Loader=loader))
    for name, value in found.items():
        print(f"{name:8} {value:7.1f} ms   {value / peer:6.1f} × loading the YAML alone")
    total = sum(found.values())
    print(f"{'all':8} {total:7.1f} ms   aim: 50 ms   {'reached' if total <= 50 else 'NOT reached'}")


if __name__ == "__main__":
    main()
