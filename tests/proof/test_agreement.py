"""States, ready, tape and lots give one answer, whatever house and log: no joint is proved that another of them says is lacking."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from hullwright.proof.cover import ready
from hullwright.proof.entries import Entry, Receipt, Spot, Stamp
from hullwright.proof.kinds import KINDS
from hullwright.proof.ledger import standing
from hullwright.proof.lots import Answer, Need
from hullwright.proof.okay import Record, covering
from hullwright.proof.site import House, SiteJoint
from hullwright.proof.states import Book, State

NOT_PROVED = {"unproved", "bare", "prepared", "punctured", "not yet due", "due a hole by a later trade"}
DAYS = st.integers(0, 4)
NOTCHES = [float(um) for um in range(200, 900, 50)]
LIQUID = {"method": "liquid", "crew": "A", "surface": "wood panel", "product": "film"}
TAPE = {"method": "tape", "crew": "A", "surface": "wood panel", "product": "roll"}
NEEDS = {"film": Need(250e-6, 0.6)}
SCALARS = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8),
    st.sampled_from([1e308, -1e308, 1e-308, 5e-324, 10**400, -(10**400), math.inf, -math.inf, math.nan, "nan", "1e999", "liquid", "tape", ""]),
)  # fmt: skip
VALUES = st.one_of(SCALARS, st.lists(SCALARS, max_size=4))
NOON = datetime(2024, 5, 3, 12, tzinfo=UTC)


@st.composite
def houses(draw):
    joints = []
    for k in range(draw(st.integers(1, 7))):
        method = draw(st.sampled_from(["liquid", "liquid", "tape", "tape", "sealant", "gasket", "boot", ""]))
        stage = draw(st.sampled_from(["sheathing", "sheathing", "openings", "services", "units", "later"]))
        product = {"liquid": "film", "tape": "roll"}.get(method, "")
        about = {"stage": stage, "product": product}
        z, face = 0.8 * k, draw(st.sampled_from([("F1",), ("F2",), ("F1", "F2")]))
        if draw(st.booleans()):
            length = float(draw(st.integers(1, 12)))
            line = ((0.0, 0.0, z), (length, 0.0, z))
            joints.append(
                SiteJoint(
                    f"B{k}", "horizontal seam", face, length, method, points=line, run=f"R{k % 3}", **about
                )
            )
        else:
            kind = draw(st.sampled_from(["pipe", "rafter tail", "three-way corner", "rough-opening corner"]))
            at = ((float(k), 0.0, z + 0.4),)
            joints.append(
                SiteJoint(
                    f"P{k}", kind, face, 0.0, method, points=at, mark=f"M{k % 4}", run=f"Q{k % 2}", **about
                )
            )
    return House(tuple(joints), needs=NEEDS)


def entries_of(rows):
    return [
        Entry(f"e{k}", kind, Stamp("Ana", "p1", NOON + timedelta(minutes=k), k, k), Spot(joint, "", face, place), what, receipt=Receipt(k + 1))
        for k, (kind, what, joint, face, place) in enumerate(rows)
    ]  # fmt: skip


@st.composite
def crews(draw, house):
    """A log that often does all that a joint needs, so that proved joints are met too, over several days and two crews."""
    rows = [("trade through", {}, "", face, None) for face in ("F1", "F2") if draw(st.booleans())] + [
        ("unit set", {}, "", face, None) for face in ("F1", "F2") if draw(st.booleans())
    ]
    for joint in draw(st.permutations(house.joints)):
        if not draw(st.integers(0, 4)):
            continue
        method = joint.method or draw(st.sampled_from(["liquid", "tape", "boot"]))
        base = {"liquid": LIQUID, "tape": TAPE}.get(method, {"method": method, "surface": "wood panel"})
        lot = {**base, "crew": draw(st.sampled_from(["A", "a", "B"]))}
        x, _, z = joint.points[0]
        at, all_of = (x + 0.01, 0.0, z), joint.faces[0]
        rows.append(("done", lot, joint.id, "", None))
        more = [
            ("seen", {"seen_by": "Ana", "sound": draw(st.booleans())}, joint.id, "", None),
            ("rolled", {"seen_by": "Ana"}, joint.id, "", None),
            ("probe", {"tried": draw(st.sampled_from([2, 14, 30])), "failed": draw(st.sampled_from([0, 0, 1]))}, joint.id, "", None),
            ("tug", {**lot, "held": draw(st.sampled_from([True, True, False]))}, joint.id, "", None),
            ("photo", {"sha256": "1" * 64, "of": [joint.id]}, "", all_of, None),
            ("smoke", {"leaked": draw(st.booleans())}, joint.id, "", None),
            ("hole", {"text": "x", "made_by": "y"}, joint.id, all_of, at),
            ("flaw", {"text": "x"}, joint.id, all_of, at),
            ("gauge reading", {**lot, "method": "liquid", "notches_um": NOTCHES, "last_wet_um": 300.0, "next_dry_um": 350.0}, joint.id, all_of, at),
        ]  # fmt: skip
        kept = draw(st.lists(st.sampled_from(more), max_size=8))
        good = [*more[1:2], ("seen", {"seen_by": "Ana", "sound": True}, joint.id, "", None), more[4]]
        good += [
            ("probe", {"tried": 30, "failed": 0}, joint.id, "", None),
            ("tug", {**lot, "held": True}, joint.id, "", None),
        ]
        film = {**lot, "method": "liquid", "notches_um": NOTCHES, "last_wet_um": 600.0, "next_dry_um": 650.0}
        good += [("gauge reading", film, joint.id, all_of, (x + 0.5 * k, 0.0, z)) for k in range(16)]
        rows += draw(st.sampled_from([kept, good, good, [*good, *kept], [*kept, *good]]))
    return rows


@st.composite
def wrong(draw, house):
    """Entries that could be in a store, however wrong their figures, on places of the house."""
    rows = []
    for _ in range(draw(st.integers(0, 6))):
        kind = draw(st.sampled_from([*KINDS, "unknown"]))
        own = [field.name for field in KINDS.get(kind, ())]
        keys = draw(st.lists(st.sampled_from([*own, "sure", "strange"]), unique=True, max_size=8))
        joint = draw(st.sampled_from(["", "nosuch", *(joint.id for joint in house.joints)]))
        rows.append(
            (kind, {key: draw(VALUES) for key in keys}, joint, draw(st.sampled_from(["", "F1", "F9"])), None)
        )
    return rows


def stored(data, rows):
    """The entries as the store gives them, over some days."""
    out = []
    for entry in entries_of(rows):
        stamp = replace(entry.stamp, time=entry.stamp.time + timedelta(days=data.draw(DAYS)))
        spot = Spot(entry.spot.joint, "", entry.spot.face, entry.spot.place)
        out.append(replace(entry, stamp=stamp, spot=spot))
    return out


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_states_ready_tape_and_lots_agree(data):
    """Source: the rule itself: proved is what states, ready, tape and lots all say, over random houses and logs."""
    house = data.draw(houses())
    entries = stored(data, data.draw(crews(house)))
    _agree(house, entries)


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_entries_that_are_wrong_break_nothing_and_prove_nothing(data):
    house = data.draw(houses())
    rows = data.draw(crews(house))
    more = data.draw(wrong(house))
    entries = stored(data, [*rows, *more])
    _agree(house, entries)


def _agree(house, entries):
    record = Record(house, tuple(entries))
    found = {one.joint: one for one in covering(record).joints}
    book = Book.of(standing(entries).entries, house)
    joints = {joint.id: joint for joint in house.joints}
    proved = {name for name, one in found.items() if one.state is State.PROVED}
    for face in sorted({face for joint in house.joints for face in joint.faces}):
        answer = ready(house, face, entries)
        there = {joint.id for joint in house.on_face(face)}
        assert sum(answer.states.values()) == answer.joints == len(there)
        lacking = {b.joint for b in answer.blockers if b.joint and b.reason in NOT_PROVED}
        assert lacking == there - proved, "ready and states say the same of each joint"
        if answer.ready:
            assert there <= proved
        json.dumps(answer.to_json(), allow_nan=False)
    _by_hand(house, entries, proved)
    days = {day.key.id: day for day in book.tape.judged}
    answers = book.answers
    for name in proved:
        one = found[name]
        assert not one.missing
        assert not one.open_holes
        assert not one.open_flaws
        for lot in one.lots:
            if lot in days:
                assert days[lot].result.answer != "bad"
                assert days[lot].probed
                assert name not in days[lot].unrolled
        for one in () if joints[name].piece else book.by_joint[name]:
            if one.entry.kind == "done" and not one.lacking and one.entry.what["method"] == "liquid":
                lot = book.film.of_done[one.entry.id, name]
                assert answers.get(lot) is Answer.PROVED, "no band is proved on a lot that is not"
    for day in days.values():
        if day.result.answer == "proved":
            for name in day.joints:
                words = " ".join(found[name].missing)
                assert (
                    "probed" not in words
                    or joints[name].method == "sealant"
                    or _other(book, name, day.key.id)
                )
    for one in (*found.values(), *book.film.judged, *book.tape.judged):
        if getattr(one, "result", True) is not None:
            json.dumps(one.to_json(), allow_nan=False)


def _by_hand(house, entries, proved):
    """What can be seen without the rules: an open hole, tape without a tug that held, no look at a piece, no *done*."""
    sound = standing(entries).entries
    closed = {one.what["hole"] for one in sound if one.kind == "hole sealed"}
    about = {one.id: [e for e in sound if e.spot.joint == one.id] for one in house.joints}
    for joint in house.joints:
        if joint.id not in proved:
            continue
        kinds = {entry.kind for entry in about[joint.id]}
        assert "done" in {e.kind for e in sound}
        assert not [e for e in about[joint.id] if e.kind == "hole" and e.id not in closed]
        if joint.method == "tape" and not [
            e for e in sound if e.kind == "done" and e.what["method"] != "tape"
        ]:
            assert any(e.kind == "tug" and e.what["held"] for e in sound)
            assert any(e.kind == "probe" and e.what["tried"] for e in sound)
        if joint.piece and "smoke" not in kinds:
            assert any(e.kind == "seen" and e.what["sound"] for e in sound), joint


def _other(book, name, lot):
    """Whether a joint was also done in another lot or by another method: that may still lack its own probes."""
    dones = [one for one in book.by_joint[name] if one.entry.kind == "done" and not one.lacking]
    lots = {book.tape.of_done.get((one.entry.id, name)) for one in dones}
    return len(dones) > 1 or any(day is None or day.key.id != lot for day in lots)


def test_the_logs_of_this_test_prove_something():
    """The property is about proved joints: they must be met."""
    met = 0

    @given(st.data())
    @settings(max_examples=40, deadline=None, database=None)
    def count(data):
        nonlocal met
        house = data.draw(houses())
        record = Record(house, tuple(stored(data, data.draw(crews(house)))))
        met += sum(one.state is State.PROVED for one in covering(record).joints)

    count()
    assert met > 5


def test_a_figure_that_is_null_is_one_that_was_not_said():
    house = House((SiteJoint("P0", "pipe", ("F1",), 0.0, "boot"),))
    lot = {"method": "boot", "crew": "A", "surface": "x"}
    null = {"of": None, "from_m": None, "to_m": None, "coat": None, "product": None, "substitute": None}
    (bare,), (full,) = (
        covering(Record(house, tuple(entries_of([("done", what, "P0", "", None)])))).joints
        for what in (lot, lot | null)
    )
    assert full == bare
    assert bare.state is State.SEALED
