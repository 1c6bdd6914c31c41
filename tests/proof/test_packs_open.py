"""Packs opened and emptied, by hand."""

from datetime import date

from hullwright.proof.packs_open import open_packs


def test_open_and_expired_packs(make):
    for day in (3, 4, 5):
        make("opened", {"product": "P", "lot": "A7", "expires": "2024-05-04"}, day=day)
    make("emptied", {"product": "P", "lot": "A7"}, day=4)
    make("opened", {"product": "P", "lot": "B1", "expires": "2025-01-01"})
    make("emptied", {"product": "P", "lot": "B1"})
    make("opened", {"product": "Q", "lot": "A7", "expires": "spring"})
    first, second = open_packs(make.entries)
    # Source: by hand: three opened, one emptied; the one of the 5th came after its day. Tolerance: exact.
    assert (first.product, first.lot, first.open, first.since, first.expired) == (
        "P",
        "A7",
        2,
        date(2024, 5, 4),
        True,
    )
    assert (second.product, second.open, second.expired) == ("Q", 1, False)


def test_an_emptied_lot_that_was_too_old_is_still_said(make):
    make("opened", {"product": "P", "lot": "A7", "expires": "2024-05-02"})
    make("emptied", {"product": "P", "lot": "A7"})
    assert [(pack.open, pack.expired) for pack in open_packs(make.entries)] == [(0, True)]
