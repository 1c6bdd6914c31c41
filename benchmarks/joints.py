"""How the search for joints grows: rows of 10, 100 and 1000 units, and a demo house.

Each unit has two storeys, a gabled roof, four windows, a door, pipes and rafter tails; they stand in one row, so
that their long walls and roofs merge to single faces (the hardest case). Printed: time of the joints alone (the hull is built before), per joint, and the ratio to the smallest row. Run
with ``python benchmarks/joints.py [UNITS …]``.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

from hullwright import building, hull, joints
from hullwright.building.model import Building

ROOT = Path(__file__).parents[1]


def units(count: int) -> Building:
    """Give a building of so many units."""
    sys.path.insert(0, str(ROOT / "tests" / "joints"))
    import joint_kit as kit  # noqa: PLC0415 - the houses of the tests serve as units

    masses, openings, things, through = [], [], [], []
    for n in range(count):
        x = 7.0 * n
        name = f"u{n:04d}"
        masses.append(
            kit.mass(
                name,
                kit.rect(x, 0, x + 7, 9),
                storeys=(2.8, 2.7),
                roof=kit.gable(35),
                base=0.2,
                level=0.0,
            )
        )
        openings += [
            kit.window(f"{name} {side} {storey}", name, side, storey=storey, offset=1.1)
            for side in (0, 2)
            for storey in (0, 1)
        ]
        openings.append(
            kit.window(f"{name} door", name, 0, kind="door", sill=0.0, height=2.1, width=0.9, offset=4.0)
        )
        things.append(kit.passing(name=f"{name} pipe", mass=name, side=2, places=((3.0, 0.5), (4.0, 0.5))))
        through += [kit.tails(0, name), kit.tails(2, name)]
    return kit.house(*masses, openings=tuple(openings), penetrations=tuple(things), through=tuple(through))


def clock(house: Building, repeat: int) -> tuple[float, float, int]:
    """Seconds of processor time for the hull and (best of so many) for the joints, and the number of joints."""
    start = time.process_time()
    body = hull.build(house)
    built = time.process_time() - start
    best, number = float("inf"), 0
    for _ in range(repeat):
        start = time.process_time()
        number = len(joints.find(house, body).joints)
        best = min(best, time.process_time() - start)
    return built, best, number


def main() -> None:
    """Print the table."""
    demo = ROOT / "examples" / "saltgrass-house.yaml"
    if demo.exists():
        built, best, number = clock(building.read(demo), 15)
        print(f"demo house: hull {built * 1e3:.1f} ms, {number} joints in {best * 1e3:.1f} ms")
    first = 0.0
    for count in [int(text) for text in sys.argv[1:]] or [10, 100, 1000]:
        built, best, number = clock(units(count), 5 if count <= 100 else 2)
        each = best / number * 1e6
        first = first or each
        print(
            f"{count:5d} units: hull {built:.2f} s, {number} joints in {best * 1e3:.1f} ms, {each:.1f} us each, x {each / first:.2f}"
        )


if __name__ == "__main__":
    main()
