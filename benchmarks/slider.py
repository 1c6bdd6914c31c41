"""Time of the slider's answer through the whole service: the plan at a budget, on the demo house. Limit of the design: 150 ms.

python benchmarks/slider.py
"""

from __future__ import annotations

import tempfile
import time
import warnings
from pathlib import Path
from shutil import copy

from hullwright.web.api import create
from hullwright.web.service import make

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from fastapi.testclient import TestClient

HOUSE = Path(__file__).parents[1] / "examples" / "saltgrass-house.yaml"
KEY, BASE, ASKED = "key", "http://localhost:8765", 100
LIMIT = 0.150


def main() -> None:
    """Make plan and curve once, then ask for a hundred budgets."""
    with tempfile.TemporaryDirectory() as root:
        folder = Path(root) / "houses"
        folder.mkdir()
        copy(HOUSE, folder / "house.yaml")
        service = make(folder, str(Path(root) / "data"), 8765, KEY, apart=False)
        page = TestClient(create(service), base_url=BASE)
        who = page.post("/api/session", json={"key": KEY, "device": "benchmark"}).json()
        page.headers["X-Hullwright-Token"] = who["token"]
        for kind, ask in (("plan", {"quick": True}), ("curve", {})):
            job = page.post(f"/api/houses/house/{kind}", json=ask).json()
            while page.get(f"/api/houses/house/jobs/{job['id']}").json()["state"] in {"waiting", "running"}:
                time.sleep(0.2)
        points = page.get("/api/houses/house/curve").json()["points"]
        low, high = points[0]["spent"] + 1, points[-1]["spent"]
        times = []
        for k in range(ASKED):
            start = time.perf_counter()
            answer = page.get(
                "/api/houses/house/slider", params={"budget": low + (high - low) * k / (ASKED - 1)}
            )
            times.append(time.perf_counter() - start)
            assert answer.status_code == 200, answer.text
        times.sort()
        print(
            f"slider: median {times[ASKED // 2] * 1e3:.1f} ms, worst of {ASKED} {times[-1] * 1e3:.1f} ms, limit {LIMIT * 1e3:.0f} ms"
        )
        service.close()


if __name__ == "__main__":
    main()
