"""Film sums and mock-ups hold every size against the one table of quantities: what can't be is refused and named.

# Source: the table's own limits (estimates): no film is a meter thick, no joint 1e308 ft long. Tolerance: none.
"""

from __future__ import annotations

import pytest

from hullwright.app.film import OF, film
from hullwright.app.mockup import _OF, _SIZES, mockup
from hullwright.app.plan import Wish
from hullwright.errors import InputError
from hullwright.quantities import names

FILM = {
    "width": "4 in",
    "dry": "12 mil",
    "pack": "20 fl oz",
    "gap": "1/8 in",
    "depth": "1/4 in",
    "length": "100 ft",
}
MOCK = {
    "length": "10 ft", "width": "3 in", "used": "9 fl oz", "time": "75 s", "gap": "1/8 in", "depth": "1/4 in", "used_u": "0.5 fl oz",
    "width_u": "1/8 in", "target_width": "3 in", "target_dry": "12 mil", "house_length": "400 ft", "least_dry": "10 mil",
    "greatest_dry": "20 mil", "pack": "20 fl oz",
}  # fmt: skip


def film_of(**changes):
    given = FILM | changes
    return film(given.pop("width"), given.pop("dry"), 0.6, given.pop("pack"), **given)


def mock_of(**changes):
    return mockup(
        {"solids": "60 %", "teeth": ["16 mil", "20 mil", "24 mil"], "wet": ["20 mil", "20 mil"]}
        | MOCK
        | changes
    )


def test_usual_sizes_are_taken():
    assert film_of().packs > 0
    assert mock_of().target is not None


@pytest.mark.parametrize("key", FILM)
@pytest.mark.parametrize("size", ["1e308 {}", "5000000 {}", "4,5 {}"])
def test_a_film_sum_of_what_can_not_be_is_refused(key, size):
    text = size.format(FILM[key].partition(" ")[2])
    with pytest.raises(InputError) as caught:
        film_of(**{key: text})
    (problem,) = caught.value.problems
    assert problem.where.key == key
    assert text in problem.got
    assert problem.allowed
    assert "," not in size or "4.5" in problem.hint


@pytest.mark.parametrize("key", _SIZES)
@pytest.mark.parametrize("size", ["1e308 {}", "4,5 {}"])
def test_a_mock_up_of_what_can_not_be_is_refused(key, size):
    text = size.format(MOCK[key].partition(" ")[2])
    with pytest.raises(InputError) as caught:
        mock_of(**{key: text})
    assert any(problem.where.key == key and text in problem.got for problem in caught.value.problems)


def test_every_size_has_its_row():
    assert set(_OF) == set(_SIZES)
    assert set(OF) == set(FILM)
    assert {*OF.values(), *_OF.values()} <= set(names())


@pytest.mark.parametrize("name", ["budget", "target"])
@pytest.mark.parametrize("value", [-1.0, 1e308, float("nan"), float("inf")])
def test_a_wish_that_can_not_be_is_refused_by_whatever_way_it_comes(name, value):
    with pytest.raises(InputError) as caught:
        Wish(**{name: value})
    (problem,) = caught.value.problems
    assert problem.where.key == name
    assert "at most" in problem.allowed
