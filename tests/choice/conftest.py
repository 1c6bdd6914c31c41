"""Makes the houses of this folder importable, and gives the worked example."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from choice_houses import paper_house


@pytest.fixture
def house():
    return paper_house()
