"""What is odd in the log is kept, held for review, and proves nothing."""

import json
import math
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hullwright.catalog import load
from hullwright.proof.entries import Entry, Receipt, Spot, Stamp, entry_from_json
from hullwright.proof.held import held, usable
from hullwright.proof.kinds import KINDS
from hullwright.proof.ledger import accounts, standing
from hullwright.proof.limits import QUANTITY, quantity_of
from hullwright.quantities import names, quantity

NOON = datetime(2026, 5, 3, 12, tzinfo=UTC)
ID = "6f1c1b9e-9a3c-4c59-8f0f-0b6f4c1f4a1"
NUMBERS = {"number", "count", "numbers"}


def made(kind, what, number=1, supersedes=""):
    stamp = Stamp("Ines", "p1", NOON, number, number - 1)
    return Entry(
        f"{ID}{number:x}", kind, stamp, Spot("J1", face="F1"), what, supersedes, Receipt(number, NOON)
    )


def test_every_numeric_figure_of_the_log_names_its_quantity():
    numeric = {(kind, f.name) for kind, fields in KINDS.items() for f in fields if f.type in NUMBERS}
    assert {(kind, name) for kind, name in numeric if quantity_of(name) not in names()} == set()
    assert len(numeric) > 25  # the walk found them
    assert set(QUANTITY.values()) <= set(names())


def test_the_table_is_in_order():
    for name in names():
        row = quantity(name)
        assert row.least <= row.low <= row.high <= row.greatest, name
        assert math.isfinite(row.least), name
        assert math.isfinite(row.greatest), name
        assert row.evidence.mark
        assert row.words
        assert row.words[0].islower()


@pytest.mark.parametrize(
    ("kind", "what", "word"),
    [
        ("width", {"width_m": 1e308}, "width_m can't be 1e+308"),
        ("width", {"width_m": 10**400}, "more than 300 digits"),
        ("width", {"width_m": "nan"}, "width_m can't be 'nan'"),
        ("width", {"width_m": float("inf")}, "width_m can't be"),
        ("width", {}, "width_m is missing"),
        ("width", {"width_m": 3.0}, "is width_m 3 right?"),
        ("weather", {"air_c": 72.0}, "air_c can't be 72"),  # 72 °F put in as °C
        ("weather", {"humidity": 45}, "humidity can't be 45"),
        ("cut", {"method": "liquid", "crew": "A", "surface": "wall", "dry_um": 15}, "is dry_um 15 right?"),  # mil as µm
        ("probe", {"tried": 3, "failed": 4}, "more places failed than were tried"),
        ("done", {"method": "liquid", "crew": "A", "surface": "wall", "from_m": 4, "to_m": 2}, "beyond from_m"),
        ("done", {"method": "glue gun", "crew": "A", "surface": "wall"}, "`glue gun` is no method"),
        ("primed", {"product": "a pail from the shed"}, "no sheet of the product `a pail from the shed`"),
        ("nailing", {"passed": True, "by": "Ines"}, "nailing has no figure `by`"),
        ("caulked", {"text": "all of it"}, "`caulked` is no kind of entry"),
    ],
)  # fmt: skip
def test_what_is_odd_is_held_and_says_why(kind, what, word):
    entry = made(kind, what)
    reasons = held(entry, load())
    assert [reason for reason in reasons if word in reason], reasons
    assert held(made("remark", {"text": "dry"}), load()) == ()


def test_a_reading_that_its_gauge_can_not_give_is_held():
    what = {
        "method": "liquid",
        "crew": "A",
        "surface": "wall",
        "notches_um": [300, 350, 400],
        "last_wet_um": 300,
    }
    assert held(made("gauge reading", {**what, "next_dry_um": 350})) == ()
    assert held(made("gauge reading", {**what, "next_dry_um": 400})) == (
        "these two teeth are not neighbours",
    )
    assert held(made("gauge reading", what)) != ()


def test_sure_answers_an_odd_figure_and_no_impossible_one():
    assert held(made("width", {"width_m": 3.0, "sure": ["width_m"]})) == ()
    assert held(made("width", {"width_m": 3.0, "sure": ["note"]})) != ()
    assert held(made("width", {"width_m": 1e308, "sure": ["width_m"]})) != ()
    assert held(made("width", {"width_m": 3.0, "sure": "width_m"})) != ()


def test_held_entries_do_not_count_and_are_not_lost():
    entries = [
        made("width", {"width_m": 0.1}),
        made("width", {"width_m": 1e308}, 2),
        made("placed", {}, 3),
        made("chosen", {"entry": 5}, 4),
    ]
    now = standing(entries)
    assert [entry.receipt.number for entry in now.entries] == [1]
    assert [entry.receipt.number for entry in now.held] == [2, 4]
    assert [entry.receipt.number for entry in now.all] == [1, 2, 4]
    assert [one.entry.receipt.number for one in accounts(entries)] == [1, 2, 4]


def test_a_held_correction_leaves_what_it_corrects_corrected():
    # Whoever corrects a reading says that it was wrong: it must not prove anything again because the new one is odd.
    old = made("width", {"width_m": 0.1})
    assert standing([old, made("width", {"width_m": 1e308}, 2, old.id)]).entries == ()


def test_a_hole_is_a_hole_whatever_its_size():
    hole = made("hole", {"text": "hose bib", "made_by": "plumber", "size_m": 1e308})
    assert held(hole) != ()
    counted = usable(hole)
    assert counted is not None
    assert dict(counted.what) == {"text": "hose bib", "made_by": "plumber"}
    now = standing([hole])
    assert now.entries == (counted,)
    assert now.held == (hole,)
    nameless = usable(made("hole", {"size_m": 0.1}))
    assert nameless is not None
    assert nameless.what["text"] == "not said"


SCALARS = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8), st.just(10**400), st.just(-(10**400)),
    st.sampled_from([1e308, -1e308, 1e-308, 5e-324, 0, -0.0, math.inf, -math.inf, math.nan, "nan", "1e999", ""]),
)  # fmt: skip
VALUES = st.one_of(
    SCALARS, st.lists(SCALARS, max_size=4), st.dictionaries(st.text(max_size=3), SCALARS, max_size=2)
)


@st.composite
def anything(draw, number=1):
    """Any entry that could be in a store, however wrong its figures."""
    kind = draw(st.sampled_from([*KINDS, "unknown"]))
    own = [field.name for field in KINDS.get(kind, ())]
    keys = draw(st.lists(st.sampled_from([*own, "sure", "strange"]), unique=True, max_size=8))
    return made(kind, {key: draw(VALUES) for key in keys}, number)


@settings(max_examples=400, deadline=None)
@given(anything())
def test_nothing_that_is_stored_breaks_the_look_at_it(entry):
    reasons = held(entry, load())
    assert all(isinstance(reason, str) and reason for reason in reasons)
    counted = usable(entry)
    if counted is not None:
        for field in KINDS[counted.kind]:
            assert (not field.required) or counted.what.get(field.name) is not None
        assert not held(counted)
    now = standing([entry])
    assert [one.id for one in now.all] == ([] if entry.kind in {"withdrawn", "placed"} else [entry.id])


def test_an_honest_day_is_not_held():
    # The figures of an ordinary day of work: none of them may be asked.
    day = [
        ("done", {"method": "liquid", "crew": "A", "surface": "wall", "from_m": 0, "to_m": 12.2}),
        ("gauge reading", {"method": "liquid", "crew": "A", "surface": "wall", "notches_um": [25.4 * n for n in (8, 10, 12, 14)],
                  "last_wet_um": 254.0, "next_dry_um": 304.8}),
        ("weather", {"air_c": 31, "humidity": 0.72, "wind_m_s": 4.5, "rain": False}),
        ("surface", {"dry": True, "moisture_share": 0.16, "surface_c": 44, "dew_point_c": 19}),
        ("used", {"product": "silyl-flashing-20", "method": "liquid", "packs": 7, "quantity": 140, "cured": 0}),
        ("hours", {"method": "liquid", "crew": "A", "hours": 6.5, "quantity": 140, "people": 2}),
        ("probe", {"tried": 28, "failed": 0}),
        ("pull", {"force_n": 220, "held": True}),
        ("overdriven", {"perimeter": 300, "over_1_16": 20, "over_1_8": 4}),
        ("hole", {"text": "hose bib", "made_by": "plumber", "size_m": 0.025}),
    ]  # fmt: skip
    assert [
        (kind, held(made(kind, what), load())) for kind, what in day if held(made(kind, what), load())
    ] == []


def test_a_body_is_read_back_as_it_was_sent():
    body = {**made("width", {"width_m": 1e308, "odd": [10**300]}).to_json()}
    assert entry_from_json(json.loads(json.dumps(body))).to_json()["what"] == body["what"]
