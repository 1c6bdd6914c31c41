"""What a person types as a length is read, or refused with the same words, by the service as by the page (web/tests/units.test.ts)."""

import json
from pathlib import Path

import pytest

from hullwright.errors import HullwrightError
from hullwright.typed import comma_hint
from hullwright.units import read

CASES = json.loads((Path(__file__).parents[1] / "cases" / "typed_lengths.json").read_text("utf-8"))["cases"]


@pytest.mark.parametrize("case", CASES, ids=[case["text"] or "nothing" for case in CASES])
def test_a_typed_length_is_read_or_refused_with_its_hint(case):
    assert comma_hint(case["text"]) == case["hint"]
    if case["m"] is None:
        with pytest.raises(HullwrightError):
            read(case["text"], "length", bare=case["bare"])
    else:
        # Source: 1 in = 25.4 mm by definition, worked out by hand. Tolerance: binary rounding.
        assert read(case["text"], "length", bare=case["bare"]) == pytest.approx(case["m"], abs=1e-9)
