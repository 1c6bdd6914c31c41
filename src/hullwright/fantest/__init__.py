"""What does the fan test say, with its interval, against which limit.

Start at :func:`analyse` (one test), :func:`answer` (one limit), :func:`steps` (a series of tests of one house) and
:func:`analyse_columns` (thousands of tests in one pass).
"""

from __future__ import annotations

from hullwright.fantest.analysis import Spread, TestResult, analyse, caution_list, spread
from hullwright.fantest.batch import BatchResult, analyse_columns, pack
from hullwright.fantest.cautions import cautions
from hullwright.fantest.direction import Direction
from hullwright.fantest.example import example
from hullwright.fantest.flags import Flag
from hullwright.fantest.limits import Against, Answer, Limit, answer, limits, resolve
from hullwright.fantest.raw import (
    Building,
    Device,
    Gauge,
    Law,
    Procedure,
    RawTest,
    Readout,
    Run,
    Sense,
    Station,
    Weather,
    Weights,
    ZeroFlow,
)
from hullwright.fantest.reduce import Columns
from hullwright.fantest.series import Series, Step, steps
from hullwright.fantest.standards import Standard, standards

__all__ = [
    "Against",
    "Answer",
    "BatchResult",
    "Building",
    "Columns",
    "Device",
    "Direction",
    "Flag",
    "Gauge",
    "Law",
    "Limit",
    "Procedure",
    "RawTest",
    "Readout",
    "Run",
    "Sense",
    "Series",
    "Spread",
    "Standard",
    "Station",
    "Step",
    "TestResult",
    "Weather",
    "Weights",
    "ZeroFlow",
    "analyse",
    "analyse_columns",
    "answer",
    "caution_list",
    "cautions",
    "example",
    "limits",
    "pack",
    "resolve",
    "spread",
    "standards",
    "steps",
]
