"""Makes the houses of the joint tests importable."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "joints"))
