"""What is told of one joint: which entries, in which order, and what became of each."""

from hypothesis import given, settings
from hypothesis import strategies as st

from hullwright.proof.ledger import Fate, accounts, standing
from hullwright.proof.site import House, SiteJoint
from hullwright.proof.sofar import so_far
from hullwright.proof.states import Book

TAPED = SiteJoint("T1", "outside corner", ("F1", "F2"), 2.4, "tape")
TAPE = {"method": "tape", "crew": "B", "surface": "wood panel"}
HOLE = {"text": "pipe", "made_by": "plumber"}


def told(make, joint=TAPED):
    return [
        (one.account.entry.kind, one.account.fate.value, one.over.value)
        for one in so_far(joint, make.entries)
    ]


def test_the_latest_comes_first_by_the_number_of_the_store_and_not_by_clocks(make):
    make("remark", {"text": "late clock"}, "T1", day=20)
    make("remark", {"text": "early clock"}, "T1", day=1)
    assert [one.account.entry.what["text"] for one in so_far(TAPED, make.entries)] == [
        "early clock",
        "late clock",
    ]
    assert [one.account.entry.what["text"] for one in so_far(TAPED, make.entries[::-1])] == [
        "early clock",
        "late clock",
    ]


def test_other_joints_and_faces_are_not_told(make):
    make("remark", {"text": "x"}, "T2")
    make("prepared", {}, face="F3")
    make("weather", {"air_c": 12.0})
    assert told(make) == []


def test_an_entry_of_a_whole_face_is_told_for_each_joint_at_it(make):
    make("prepared", {}, face="F2")
    assert told(make) == [("prepared", "stands", "face")]


def test_a_hole_in_a_face_is_of_no_joint_and_its_seal_neither(make):
    hole = make("hole", HOLE, face="F1")
    make("hole sealed", {"hole": hole.id, "product": "p", "detail": "boot"}, face="F1")
    assert told(make) == []


def test_repairs_of_what_was_found_here_are_told_wherever_they_were_noted(make):
    hole = make("hole", HOLE, "T1")
    flaw = make("flaw", {"text": "lap open"}, "T1")
    other = make("flaw", {"text": "lap open"}, "T2")
    make("hole sealed", {"hole": hole.id, "product": "p", "detail": "boot"})
    make("mended", {"flaw": flaw.id, "product": "p"})
    make("mended", {"flaw": other.id, "product": "p"})
    assert [kind for kind, _, _ in told(make)] == ["mended", "hole sealed", "flaw", "hole"]


def test_the_first_strip_of_its_lot_is_told_and_that_of_another_lot_is_not(make):
    make("tug", {"method": "tape", "crew": "B", "held": True}, "T2", day=3)
    make("tug", {"method": "tape", "crew": "B", "held": True}, "T2", day=4)
    make("tug", {"method": "tape", "crew": "C", "held": True}, "T2", day=3)
    make("done", TAPE, "T1", day=3)
    assert told(make) == [("done", "stands", "joint"), ("tug", "stands", "lot")]


def test_the_strip_of_a_lot_is_no_more_told_when_the_done_mark_is_withdrawn(make):
    make("tug", {"method": "tape", "crew": "B", "held": True}, "T2")
    done = make("done", TAPE, "T1")
    make("withdrawn", {"reason": "wrong corner"}, "T1", supersedes=done.id)
    assert told(make) == [("done", "withdrawn", "joint")]


def test_a_withdrawn_entry_says_who_took_it_back_and_why(make):
    done = make("done", TAPE, "T1")
    back = make("withdrawn", {"reason": "wrong corner"}, supersedes=done.id)
    (one,) = so_far(TAPED, make.entries)
    assert one.account.fate is Fate.WITHDRAWN
    by = one.to_json()["by"]
    assert by == {
        "id": back.id,
        "author": "lead",
        "device_time": back.stamp.time.isoformat(),
        "reason": "wrong corner",
    }


def test_a_correction_stands_and_what_it_corrected_is_told_too(make):
    first = make("done", TAPE, "T1")
    second = make("done", {**TAPE, "method": "liquid"}, "T1", supersedes=first.id)
    third = make("done", {**TAPE, "method": "stretch"}, "T1", supersedes=second.id)
    found = so_far(TAPED, make.entries)
    assert [one.account.fate.value for one in found] == ["stands", "corrected", "corrected"]
    assert [one.account.by and one.account.by.id for one in found] == [None, third.id, second.id]


def test_a_correction_to_another_joint_takes_its_history_with_it(make):
    """The first was noted at the wrong joint: both joints tell it, only the right one tells that it stands."""
    first = make("done", TAPE, "T2")
    make("done", TAPE, "T1", supersedes=first.id)
    assert told(make) == [("done", "stands", "joint"), ("done", "corrected", "joint")]
    other = SiteJoint("T2", "outside corner", ("F9",), 2.4, "tape")
    assert told(make, other) == [("done", "corrected", "joint")]


def test_an_entry_that_a_person_gave_this_joint_is_told_here(make):
    old = make("done", TAPE, "gone")
    make("placed", {"entry": old.id}, "T1")
    assert told(make) == [("done", "stands", "joint")]


def test_of_two_rivals_the_one_passed_over_is_marked(make):
    first = make("done", TAPE, "T1")
    a = make("done", {**TAPE, "method": "liquid"}, "T1", supersedes=first.id, device="p1", known=1)
    b = make("done", {**TAPE, "method": "stretch"}, "T1", supersedes=first.id, device="p2", known=1)
    assert [one.account.fate.value for one in so_far(TAPED, make.entries)] == [
        "stands",
        "stands",
        "corrected",
    ]
    choice = make("chosen", {"entry": b.id, "against": [a.id], "reason": "seen again"})
    found = {one.account.entry.id: one.account for one in so_far(TAPED, make.entries)}
    assert (found[a.id].fate, found[a.id].by) == (Fate.PASSED_OVER, choice)
    assert found[b.id].fate is Fate.STANDS


def test_a_correction_outweighs_a_withdrawal_that_knew_nothing_of_it(make):
    first = make("done", TAPE, "T1")
    right = make("done", {**TAPE, "method": "liquid"}, "T1", supersedes=first.id)
    make("withdrawn", {"reason": "x"}, supersedes=first.id, device="p2", known=1)
    found = {one.account.entry.id: one.account for one in so_far(TAPED, make.entries)}
    assert (found[first.id].fate, found[first.id].by) == (Fate.CORRECTED, right)


STEP = st.tuples(
    st.sampled_from(["done", "correct", "withdraw", "choose", "place", "remark"]),
    st.integers(0, 30),
    st.integers(0, 30),
)


@settings(max_examples=150, deadline=None)
@given(steps=st.lists(STEP, max_size=12))
def test_what_stands_by_the_accounts_is_what_stands_in_the_ledger(new_maker, steps):
    """Whatever is corrected, withdrawn, chosen or placed, in whatever mixture: two ways to the same set; each other has its reason."""
    make = new_maker()
    for what, first, second in steps:
        there = make.entries
        one = there[first % len(there)] if there else None
        if what == "done" or one is None:
            make("done", TAPE, "T1")
        elif what == "remark":
            make("remark", {"text": "x"}, "T1")
        elif what == "correct":
            make(one.kind, dict(one.what), "T1", supersedes=one.id)
        elif what == "withdraw":
            make("withdrawn", {"reason": "x"}, "T1", supersedes=one.id)
        elif what == "choose":
            make("chosen", {"entry": one.id, "against": [there[second % len(there)].id]})
        else:
            make("placed", {"entry": one.id}, "T1")
    found = accounts(make.entries)
    assert [one.entry for one in found if one.fate is Fate.STANDS] == list(standing(make.entries).entries)
    assert all((one.by is None) == (one.fate is Fate.STANDS) for one in found)
    about = {one.account.entry.id for one in so_far(TAPED, make.entries) if one.account.fate is Fate.STANDS}
    book = Book.of(standing(make.entries).entries, House((TAPED,)))
    counted = {one.entry.id for one in book.by_joint.get("T1", ())}
    assert counted <= about, "whatever the state follows from is told"
