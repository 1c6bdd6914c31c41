"""The wheel installs by itself and plans the demo house: no git, no sh, no checkout."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
UV = ROOT / ".boot" / "bin" / "uv"


@pytest.mark.slow
@pytest.mark.skipif(not UV.exists(), reason="./run sets up uv in .boot; this tree was set up in another way")
def test_the_wheel_plans_the_demo_house(tmp_path):
    subprocess.run([UV, "build", "--wheel", "--quiet", "--out-dir", tmp_path / "dist", ROOT], check=True)
    wheel = next((tmp_path / "dist").glob("*.whl"))
    subprocess.run([UV, "venv", "--quiet", "--python", sys.executable, tmp_path / "venv"], check=True)
    python = tmp_path / "venv" / "bin" / "python"
    subprocess.run([UV, "pip", "install", "--quiet", "--python", python, wheel], check=True)
    site = tmp_path / "site"
    site.mkdir()
    shown = subprocess.run(
        [python, "-m", "hullwright", "demo", "--quick"], cwd=site, capture_output=True, text=True, check=True
    )
    assert "Saltgrass House" in shown.stdout
    assert (site / "hullwright-out" / "demo-plan" / "summary.html").exists()
    shutil.rmtree(site)
