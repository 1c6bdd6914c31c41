"""One verdict for a gauge reading: the table of cases that the page is held to as well."""

import json
import math
from pathlib import Path

import pytest

from hullwright.errors import QuantityError
from hullwright.proof.comb import Comb
from hullwright.proof.gauge_verdict import SAYS, Verdict, verdict
from hullwright.units import MIL

CASES = json.loads((Path(__file__).parents[1] / "cases" / "gauge_verdicts.json").read_text("utf-8"))["cases"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["why"])
def test_table(case):
    # Source: the rule, by interval; see the head of the table. Tolerance: none.
    low = case["last_wet_um"] or 0.0
    high = math.inf if case["next_dry_um"] is None else case["next_dry_um"]
    assert verdict(low, high, case["least_wet_um"]).value == case["verdict"]
    assert verdict(low * 1e-6, high * 1e-6, case["least_wet_um"] * 1e-6).value == case["verdict"]


def test_every_verdict_is_in_the_table_and_has_its_words():
    assert (
        {case["verdict"] for case in CASES} == {one.value for one in Verdict} == {one.value for one in SAYS}
    )


def test_more_film_never_makes_it_worse():
    comb, rank = (
        Comb(tuple(mil * MIL for mil in range(2, 42, 2))),
        [Verdict.THIN, Verdict.CLOSE, Verdict.ENOUGH],
    )
    for least in (1.0, 2.0, 9.9, 10.0, 10.2, 40.0, 41.0):
        readings = [comb.read(wet) for wet in (None, *comb.teeth)]
        ranks = [rank.index(reading.judge(least * MIL)) for reading in readings]
        assert ranks == sorted(ranks)


@pytest.mark.parametrize(
    ("low", "high", "least"), [(2, 2, 1), (3, 2, 1), (-1, 2, 1), (1, 2, 0), (1, 2, math.inf)]
)
def test_no_reading_is_refused(low, high, least):
    with pytest.raises(QuantityError):
        verdict(low, high, least)
