"""``python -m hullwright``."""

from hullwright.cli.main import run

run()
