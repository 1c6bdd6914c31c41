"""Entries, corrections, states by the table, cover and release, holes, places, fasteners."""

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hullwright.errors import InputError, NoAnswerError
from hullwright.proof.cover import check_ok, ready
from hullwright.proof.entries import entry_from_json
from hullwright.proof.fastener_log import count_overdriven
from hullwright.proof.holes import check_seal, register
from hullwright.proof.kinds import KINDS, check
from hullwright.proof.ledger import knows, standing
from hullwright.proof.lotbook import book as book_located
from hullwright.proof.lotbook import judge_lots, unplaced
from hullwright.proof.lots import Answer, Need
from hullwright.proof.okay import Record, covering
from hullwright.proof.place import JointLine, distance_to, needs_place
from hullwright.proof.rules import METHODS, PROOFS, proof_of
from hullwright.proof.site import House, Later, SiteJoint
from hullwright.proof.states import Book, State, state_of
from hullwright.proof.tapebook import judge_tape as judge_located

TEETH = [float(um) for um in range(200, 900, 50)]
SEAM = SiteJoint(
    "S1", "horizontal seam", ("F1",), 4.8, "liquid", points=((0.0, 0.0, 1.2), (4.8, 0.0, 1.2)), product="P"
)
TAPED = SiteJoint("T1", "outside corner", ("F1", "F2"), 2.4, "tape")
PIPE = SiteJoint("P1", "pipe", ("F1",), 0.0, "boot")
LIQUID = {"method": "liquid", "crew": "B", "surface": "wood panel", "product": "P"}
TAPE = {"method": "tape", "crew": "B", "surface": "wood panel"}
BOOT = {"method": "boot", "crew": "B", "surface": "wood panel"}
NEEDS = {"P": Need(250e-6, 0.6)}  # least wet 417 µm


def book(entries):
    return book_located(unplaced(entries))


def judge_tape(entries):
    return judge_located(unplaced(standing(entries).entries)).judged


def state(joint, make):
    return state_of(joint, Book.of(standing(make.entries).entries, House((joint,), needs=NEEDS)))


def read(make, tooth, **more):
    """A reading half a meter further along the seam than the last one."""
    following = TEETH[TEETH.index(tooth) + 1]
    count = sum(entry.kind == "gauge reading" for entry in make.entries)
    more.setdefault("place", (0.5 * count % 4.8, 0.0, 1.2))
    return make(
        "gauge reading",
        {**LIQUID, "notches_um": TEETH, "last_wet_um": tooth, "next_dry_um": following},
        "S1",
        **more,
    )


def joint_states(house, entries):
    return covering(Record(house, tuple(entries))).joints


def breaches(house, entries):
    return covering(Record(house, tuple(entries))).too_early


def prepare(make, joint):
    make("prepared", {}, joint)
    make("surface", {"dry": True, "moisture_share": 0.14, "meter": "pins"}, joint)


def finish_pipe(make):
    make("prepared", {}, "P1")
    make("done", BOOT, "P1")
    make("photo", {"sha256": "0" * 64, "of": ["P1", "F1"]}, face="F1")
    make("seen", {"seen_by": "lead", "sound": True}, "P1")


# --- entries and kinds


def test_entry_survives_its_json(make):
    entry = make("remark", {"text": "dry"}, "S1", place=(1.0, 2.0, 3.5))
    back = entry_from_json(json.loads(json.dumps(entry.full_json())))
    assert back.to_json() == entry.to_json()
    assert back.stamp.time.utcoffset() == entry.stamp.time.utcoffset()


def test_every_problem_of_an_entry_at_once():
    body = {
        "id": "x",
        "kind": "",
        "author": "a\nb",
        "device": "p",
        "device_time": "2024-05-03T10:00:00",
        "device_sequence": -1,
        "place_m": [1, 2, "3"],
        "what": [],
        "colour": "red",
    }
    with pytest.raises(InputError) as caught:
        entry_from_json(body)
    found = {problem.where.key for problem in caught.value.problems}
    assert found == {"id", "kind", "author", "device_time", "device_sequence", "place_m", "what", "colour"}


@settings(max_examples=300, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(
            [
                "id",
                "kind",
                "author",
                "device",
                "device_time",
                "device_sequence",
                "known",
                "joint",
                "place_m",
                "what",
                "supersedes",
            ]
        ),
        st.none()
        | st.booleans()
        | st.integers()
        | st.floats()
        | st.text(max_size=8)
        | st.lists(st.floats(), max_size=4),
    )
)
def test_any_body_is_read_or_refused(body):
    with pytest.raises(InputError):
        entry_from_json(body)


def test_figures_are_checked_by_kind(make):
    with pytest.raises(InputError) as caught:
        make("probe", {"tried": 2, "failed": 3, "colour": 1})
    assert {problem.where.key for problem in caught.value.problems} == {"what.failed", "what.colour"}
    for kind, what in (
        ("done", {**TAPE, "from_m": 2.0, "to_m": 1.0}),
        ("nailing", {"passed": 1}),
        ("weather", {"air_c": 1e9}),
        ("nonsense", {}),
        ("done", TAPE),
    ):
        with pytest.raises(InputError):
            make(kind, what, "" if what == TAPE else "S1")


def test_the_least_can_be_logged(make):
    make("done", TAPE, "T1")
    make("photo", {"sha256": "a" * 64}, "T1")
    make("used", {"product": "P", "method": "liquid", "packs": 2.5})
    make("weather", {"air_c": 14.0, "rain": False})
    assert len(standing(make.entries).entries) == 4
    assert {"done", "photo", "used", "weather"} < set(KINDS)


# --- corrections


def test_a_correction_supersedes(make):
    wrong = read(make, 800.0)
    right = read(make, 400.0, supersedes=wrong.id)
    assert [entry.id for entry in standing(make.entries).entries] == [right.id]
    assert standing(make.entries).rivals == ()


def test_rival_corrections_both_stand_until_a_person_chooses(make):
    wrong = read(make, 800.0)
    one = read(make, 400.0, supersedes=wrong.id, device="p1")
    two = read(make, 450.0, supersedes=wrong.id, device="p2", known=1)
    three = read(make, 500.0, supersedes=two.id, device="p2", known=1)
    now = standing(make.entries)
    assert {entry.id for entry in now.entries} == {one.id, three.id}
    assert now.rivals[0].entries == (one.id, three.id)
    assert now.rivals[0].of == wrong.id
    make("chosen", {"entry": three.id, "against": [one.id]})
    after = standing(make.entries)
    assert [entry.id for entry in after.of_kind("gauge reading")] == [three.id]
    assert after.rivals == ()


def test_a_choice_cannot_drop_a_stranger(make):
    one, other = read(make, 400.0), read(make, 450.0)
    make("chosen", {"entry": one.id, "against": [other.id, one.id]})
    assert {entry.id for entry in standing(make.entries).of_kind("gauge reading")} == {one.id, other.id}


def test_withdrawn_entries_are_gone(make):
    hole = make("hole", {"text": "pipe 60 mm", "made_by": "plumber"}, "P1")
    make("withdrawn", {"reason": "wrong wall"}, supersedes=hole.id)
    assert standing(make.entries).entries == ()


def test_order_of_clocks_does_not_matter(make):
    """The same entries with device times turned round give the same states."""
    prepare(make, "T1")
    make("done", TAPE, "T1", day=3)
    before = state(TAPED, make)
    make.entries = [
        replace(e, stamp=replace(e.stamp, time=e.stamp.time.replace(hour=23 - i)))
        for i, e in enumerate(make.entries)
    ]
    assert state(TAPED, make) == before


# --- states by method


def test_every_method_of_the_table_has_a_way_to_proved():
    assert {"tape", "stretch", "liquid", "sealant", "gasket", "boot", "coat"} <= set(METHODS)
    assert all(proof.needs for proof in PROOFS.values())
    with pytest.raises(InputError, match="can't be proved"):
        proof_of("glue")


def test_liquid_is_proved_by_its_film_lot(make):
    assert state(SEAM, make).state is State.BARE
    prepare(make, "S1")
    assert state(SEAM, make).state is State.PREPARED
    make("done", {**LIQUID, "from_m": 0.0, "to_m": 3.0}, "S1")
    half = state(SEAM, make)
    assert half.state is State.PREPARED
    assert half.missing == ("seal it from 3.00 m on (of 4.80 m)",)
    make("done", {**LIQUID, "from_m": 2.9, "to_m": 4.8}, "S1")
    assert state(SEAM, make).state is State.SEALED
    for tooth in (550.0, 600.0, 550.0, 500.0, 600.0, 550.0, 600.0, 550.0):
        read(make, tooth)
    assert state(SEAM, make).state is State.PROVED


def test_a_joint_done_on_two_days_needs_both_lots(make):
    prepare(make, "S1")
    make("done", {**LIQUID, "from_m": 0.0, "to_m": 3.0}, "S1", day=3)
    for tooth in (550.0, 600.0, 550.0, 500.0, 600.0, 550.0, 600.0, 550.0):
        read(make, tooth, day=3)
    make("done", {**LIQUID, "from_m": 3.0, "to_m": 4.8}, "S1", day=4)
    assert state(SEAM, make).state is State.SEALED
    assert len(state(SEAM, make).lots) == 2


def test_a_hole_between_two_done_marks_is_seen(make):
    prepare(make, "S1")
    make("done", {**LIQUID, "from_m": 0.0, "to_m": 2.0}, "S1")
    make("done", {**LIQUID, "from_m": 2.5, "to_m": 4.8}, "S1")
    assert state(SEAM, make).missing == ("seal it from 2.00 m on (of 4.80 m)",)


def test_tape_needs_rolled_probed_and_the_first_tug(make):
    prepare(make, "T1")
    make("done", TAPE, "T1")
    missing = state(TAPED, make).missing
    assert len(missing) == 3
    make("rolled", {"seen_by": "lead"}, "T1")
    make("probe", {"tried": 27, "failed": 0}, "T1")
    make("tug", {"method": "tape", "crew": "B", "held": False})
    assert len(state(TAPED, make).missing) == 2
    make("probe", {"tried": 1, "failed": 0}, "T1")  # Source: 28 sound probes, Beta(1, 1), 10 %, 95 %
    assert state(TAPED, make).missing == (
        "tug test of the first strip of this product, crew and surface held",
    )
    make("tug", {"method": "tape", "crew": "C", "held": True})  # another crew
    assert state(TAPED, make).state is State.SEALED
    make("tug", {"method": "tape", "crew": "b ", "held": True}, day=4)  # the same crew, on whatever day
    assert state(TAPED, make).state is State.PROVED


def test_a_failed_probe_stays_until_mended_and_looked_at(make):
    finish_pipe(make)
    assert state(PIPE, make).state is State.PROVED
    bad = make("probe", {"tried": 1, "failed": 1}, "P1")
    assert state(PIPE, make).open_flaws == (bad.id,)
    make("mended", {"flaw": bad.id, "product": "P"}, "P1")
    assert state(PIPE, make).missing == ("look at the repair of 2024-05-03",)
    make("seen", {"seen_by": "lead", "sound": True}, "P1")
    assert state(PIPE, make).state is State.PROVED


def test_smoke_stands_for_a_look_and_for_nothing_else(make):
    make("prepared", {}, "P1")
    make("done", BOOT, "P1")
    make("photo", {"sha256": "0" * 64}, "P1")
    make("smoke", {"leaked": True}, "P1")
    assert state(PIPE, make).state is State.SEALED
    make("smoke", {"leaked": False}, "P1", device="p2", known=0)  # made without knowing of the leak
    assert state(PIPE, make).state is State.SEALED
    make("smoke", {"leaked": False}, "P1")
    assert state(PIPE, make).state is State.PROVED
    make("done", TAPE, "T1")
    make("smoke", {"leaked": False}, "T1")
    assert len(state(TAPED, make).missing) == 3  # rolled, tugged, probed: smoke shows none of them


def test_primer_is_asked_for_where_the_plan_has_it(make):
    prepare(make, "T1")
    assert state(replace(TAPED, primer=True), make).missing == ("prime it",)
    assert state(TAPED, make).state is State.PREPARED


def test_a_wet_surface_is_not_prepared(make):
    make("prepared", {}, "T1")
    make("surface", {"dry": False}, "T1")
    assert state(TAPED, make).state is State.BARE


# --- holes


def test_a_hole_outranks_proof_made_without_knowing_of_it(make):
    finish_pipe(make)
    hole = make("hole", {"text": "cable 12 mm", "made_by": "electrician"}, "P1", device="p9", known=0)
    make("seen", {"seen_by": "lead", "sound": True}, "P1", device="p2", known=hole.receipt.number - 1)
    found = state(PIPE, make)
    assert (found.state, found.open_holes) == (State.PUNCTURED, (hole.id,))
    seal = make("hole sealed", {"hole": hole.id, "product": "P", "detail": "collar"}, "P1", device="p9")
    assert state(PIPE, make).state is State.SEALED  # sealed again, not yet looked at
    make("seen", {"seen_by": "lead", "sound": True}, "P1", device="p2", known=seal.receipt.number - 1)
    assert state(PIPE, make).state is State.SEALED  # looked without knowing of the repair
    make("seen", {"seen_by": "lead", "sound": True}, "P1", device="p2")
    assert state(PIPE, make).state is State.PROVED


def test_knowledge_is_by_number_or_by_the_same_device(make):
    first = make("remark", {"text": "a"}, device="p1")
    second = make("remark", {"text": "b"}, device="p1", known=0)
    third = make("remark", {"text": "c"}, device="p2", known=1)
    assert knows(second, first)
    assert not knows(first, second)
    assert knows(third, first)
    assert not knows(third, second)


def test_register_closes_only_by_a_seal(make):
    hole = make("hole", {"text": "scaffold tie", "made_by": "scaffolder", "temporary": True}, face="F1")
    make("seen", {"seen_by": "lead", "sound": True}, face="F1")
    assert register(make.entries).to_json()["open_temporary"] == 1
    seal = make("hole sealed", {"hole": hole.id, "product": "P", "detail": "plug and collar"}, face="F1")
    check_seal(seal, make.entries[:-1])
    assert register(make.entries).open == ()
    with pytest.raises(InputError, match="sealed already"):
        check_seal(seal, make.entries)
    with pytest.raises(InputError, match="no such hole"):
        check_seal(seal, [])


# --- ready to cover


def house(*later):
    return House((PIPE,), later)


def test_ready_lists_all_that_is_in_the_way_and_a_release_must_name_it(make):
    found = ready(house(Later("W1", "F1", "dryer vent")), "F1", make.entries)
    assert [blocker.id for blocker in found.blockers] == [
        "F1:nailing",
        "F1:later W1",
        "F1:photo",
        "P1:photo",
        "P1:bare",
    ]
    make("nailing", {"passed": True}, face="F1")
    finish_pipe(make)
    tie = make("hole", {"text": "tie", "made_by": "scaffolder", "temporary": True}, face="F1")
    found = ready(house(), "F1", make.entries)
    assert [blocker.reason for blocker in found.blockers] == ["temporary hole"]
    with pytest.raises(NoAnswerError, match="can't be covered"):
        check_ok(found, [])
    check_ok(found, [f"F1:hole {tie.id}"])
    make("hole sealed", {"hole": tie.id, "product": "P", "detail": "plug"}, face="F1")
    assert [b.reason for b in ready(house(), "F1", make.entries).blockers] == ["repair not looked at"]
    make("seen", {"seen_by": "lead", "sound": True}, face="F1")
    assert ready(house(), "F1", make.entries).ready
    with pytest.raises(NoAnswerError, match="no joint"):
        ready(house(), "F7", make.entries)


def test_photo_must_have_arrived_where_that_is_asked(make):
    make("nailing", {"passed": True}, face="F1")
    finish_pipe(make)
    found = ready(replace(house(), photos_here=frozenset()), "F1", make.entries)
    assert [blocker.reason for blocker in found.blockers] == [
        "photo not sent yet"
    ] * 2  # of the face, of the pipe
    assert ready(replace(house(), photos_here=frozenset({"0" * 64})), "F1", make.entries).ready


def test_nothing_becomes_covered_without_a_release(make):
    make("nailing", {"passed": True}, face="F1")
    finish_pipe(make)
    stray = make("covered", {"ok": "none"}, face="F1")
    assert joint_states(house(), make.entries)[0].state is State.PROVED
    assert breaches(house(), make.entries) == (stray,)
    release = make("ok to cover", {"signed_by": "lead", "exceptions": []}, face="F1")
    assert joint_states(house(), make.entries)[0].state is State.PROVED
    make("covered", {"ok": release.id}, face="F1")
    assert joint_states(house(), make.entries)[0].state is State.COVERED
    make("hole", {"text": "bracket", "made_by": "siding crew"}, "P1")
    assert joint_states(house(), make.entries)[0].state is State.PUNCTURED


def test_a_release_over_something_unnamed_does_not_hold(make):
    make("nailing", {"passed": True}, face="F1")
    make("prepared", {}, "P1")
    make("done", BOOT, "P1")
    bad = make("ok to cover", {"signed_by": "lead", "exceptions": ["P1:photo", "F1:photo"]}, face="F1")
    make("covered", {"ok": bad.id}, face="F1")
    assert joint_states(house(), make.entries)[0].state is State.SEALED
    good = make(
        "ok to cover", {"signed_by": "lead", "exceptions": ["P1:photo", "F1:photo", "P1:unproved"]}, face="F1"
    )
    make("covered", {"ok": good.id}, face="F1")
    assert joint_states(house(), make.entries)[0].state is State.COVERED


def test_a_release_is_judged_by_what_was_known_when_it_was_signed(make):
    make("nailing", {"passed": True}, face="F1")
    make("prepared", {}, "P1")
    make("done", BOOT, "P1")
    make("photo", {"sha256": "0" * 64, "of": ["P1", "F1"]}, face="F1")
    early = make("ok to cover", {"signed_by": "lead", "exceptions": []}, face="F1")
    make("covered", {"ok": early.id}, face="F1")
    make("seen", {"seen_by": "lead", "sound": True}, "P1")  # too late for that release
    assert joint_states(house(), make.entries)[0].state is State.PROVED
    assert len(breaches(house(), make.entries)) == 1
    sound = make("ok to cover", {"signed_by": "lead", "exceptions": []}, face="F1")
    make("flaw", {"text": "blister"}, "P1")  # found after the release: the release stays good
    make("covered", {"ok": sound.id}, face="F1")
    assert joint_states(house(), make.entries)[0].state is State.COVERED


def test_a_cover_on_another_face_covers_nothing(make):
    make("nailing", {"passed": True}, face="F1")
    finish_pipe(make)
    release = make("ok to cover", {"signed_by": "lead", "exceptions": []}, face="F1")
    make("covered", {"ok": release.id}, face="F2")
    assert joint_states(house(), make.entries)[0].state is State.PROVED


def test_later_trade_holds_until_it_is_through_and_its_joint_is_proved(make):
    vent = replace(PIPE, stage="services")
    planned = House((vent,), (Later("P1", "F1", "dryer vent", "P1"),))
    make("nailing", {"passed": True}, face="F1")
    finish_pipe(make)  # nobody can have sealed what is not there
    found = ready(planned, "F1", make.entries)
    assert (found.states, [b.id for b in found.blockers]) == ({"not yet due": 1}, ["F1:later P1"])
    make("trade through", {"made_by": "HVAC"}, face="F1")
    assert ready(planned, "F1", make.entries).ready


def test_rival_corrections_hold_the_cover_up(make):
    make("nailing", {"passed": True}, face="F1")
    finish_pipe(make)
    done = next(entry for entry in make.entries if entry.kind == "done")
    make("done", BOOT, "P1", supersedes=done.id)
    make("done", {**BOOT, "crew": "C"}, "P1", supersedes=done.id, device="p2", known=0)
    assert "two corrections stand" in [b.reason for b in ready(house(), "F1", make.entries).blockers]


# --- lots from the log


def test_lots_are_product_crew_day_and_surface(make):
    for day, crew in ((3, "B"), (3, "C"), (4, "B")):
        make(
            "gauge reading",
            {**LIQUID, "crew": crew, "notches_um": TEETH, "last_wet_um": 500.0, "next_dry_um": 550.0},
            "S1",
            day=day,
        )
    lots = book(make.entries)
    assert [lot.key.id for lot in lots] == [
        "P/B/2024-05-03/wood panel",
        "P/B/2024-05-04/wood panel",
        "P/C/2024-05-03/wood panel",
    ]
    judged = judge_lots(lots, NEEDS)
    assert all(item.result is not None and item.result.answer is Answer.NOT_YET for item in judged)
    assert judge_lots(lots, {})[0].result is None


def test_a_device_clock_far_off_flags_the_lot_and_refuses_nothing(make):
    for _ in range(4):
        read(make, 600.0, offset=-900.0)
    result = judge_lots(book(make.entries), NEEDS)[0].result
    assert result.answer is Answer.PROVED
    assert "clock" in " ".join(caution.text for caution in result.cautions)
    make.entries = [
        replace(entry, receipt=replace(entry.receipt, clock_offset=299.0)) for entry in make.entries
    ]
    assert "clock" not in " ".join(c.text for c in judge_lots(book(make.entries), NEEDS)[0].result.cautions)


def test_impossible_reading_names_its_entry(make):
    entry = make(
        "gauge reading", {**LIQUID, "notches_um": TEETH, "last_wet_um": 500.0, "next_dry_um": 600.0}, "S1"
    )
    with pytest.raises(InputError) as caught:
        book(make.entries)
    assert entry.id in str(caught.value)


def test_two_products_are_two_lots(make):
    read(make, 500.0)
    make("cut", {**LIQUID, "product": "Q", "dry_um": 300.0}, "S1")
    assert [lot.product for lot in book(make.entries)] == ["P", "Q"]


def test_a_thin_cut_is_said(make):
    for _ in range(4):
        read(make, 600.0)
    make("cut", {**LIQUID, "dry_um": 200.0}, "S1")
    judged = judge_lots(book(make.entries), NEEDS)[0]
    assert "cut" in " ".join(caution.text for caution in judged.result.cautions)
    assert judged.to_json()["cuts"] == [{"joint": "S1", "dry_um": pytest.approx(200.0)}]


# --- the house was edited


def test_move_a_window_after_fifty_readings(make):
    """Fifty readings round a window; the window moves by 0.3 m and its joints get new ids."""
    for i in range(50):
        side, along = ("opening head", 2.1) if i % 2 else ("opening sill", 0.9)
        make(
            "gauge reading",
            {**LIQUID, "notches_um": TEETH, "last_wet_um": 500.0, "next_dry_um": 550.0},
            f"old {side}",
            place=(1.0 + 0.02 * i, 0.0, along),
            joint_kind=side,
        )
    moved = [
        JointLine("new head", "opening head", "F1", np.array([[1.3, 0, 2.1], [2.3, 0, 2.1]])),
        JointLine("new sill", "opening sill", "F1", np.array([[1.3, 0, 0.9], [2.3, 0, 0.9]])),
        JointLine("far head", "opening head", "F1", np.array([[9.3, 0, 2.1], [9.9, 0, 2.1]])),
    ]
    proposals = needs_place(make.entries, moved)
    assert len(proposals) == 50
    for proposal in proposals:
        assert proposal.joint == "new " + proposal.entry.spot.kind.split()[1]
        assert proposal.distance == pytest.approx(max(0.0, 1.3 - proposal.entry.spot.place[0]), abs=1e-9)
    first = proposals[0]
    make("placed", {"entry": first.entry.id}, "new sill", joint_kind="opening sill", face="F1")
    assert len(needs_place(make.entries, moved)) == 49
    kept = next(entry for entry in standing(make.entries).entries if entry.id == first.entry.id)
    assert (kept.spot.joint, kept.spot.place) == ("new sill", first.entry.spot.place)


def test_no_joint_near_means_no_proposal(make):
    make("photo", {"sha256": "0" * 64}, "gone", place=(0.0, 0.0, 0.0), joint_kind="pipe")
    make("photo", {"sha256": "0" * 64}, "gone")
    near = [
        JointLine("P1", "pipe", "F1", np.array([[1.1, 0.0, 0.0]])),
        JointLine("B1", "box or duct", "F1", np.array([[0.0, 0.0, 0.0]])),
    ]
    assert [proposal.joint for proposal in needs_place(make.entries, near)] == [None, None]


def test_distance_to_a_polyline():
    # Source: by hand, 3-4-5 triangle beyond the end; foot of the perpendicular inside. Tolerance: rounding.
    line = np.array([[0.0, 0, 0], [2, 0, 0], [2, 2, 0]])
    assert distance_to((5, -4, 0), line) == pytest.approx(5.0)
    assert distance_to((1, -1, 0), line) == pytest.approx(1.0)
    assert distance_to((2, 1, 2), line) == pytest.approx(2.0)


def test_overdriven_fasteners_by_face(make):
    # Source: panel trade association TT-012(A): 20 of 100 perimeter at 3/32: none; 21: add 11; 1 at 5/32: add 1. Tolerance: none.
    make("overdriven", {"perimeter": 60, "over_1_16": 12, "over_1_8": 0}, face="F1")
    make("overdriven", {"perimeter": 40, "over_1_16": 8, "over_1_8": 0, "sealed": 5}, face="F1")
    make("overdriven", {"perimeter": 100, "over_1_16": 21, "over_1_8": 0}, face="F2")
    make("overdriven", {"perimeter": 100, "over_1_16": 0, "over_1_8": 1}, face="F3")
    found = count_overdriven(make.entries)
    assert [item.strength.add for item in found] == [0, 11, 1]
    assert [item.to_seal for item in found] == [15, 21, 1]
    assert found[0].to_json()["cautions"]


def test_check_gives_the_entry_back(make):
    entry = make("remark", {"text": "x"})
    assert check(entry) is entry


# --- tape lots


def tape_lot(make, joints=4, probes=7):
    for i in range(joints):
        make("done", TAPE, f"T{i}")
        make("rolled", {"seen_by": "lead"}, f"T{i}")
        make("probe", {"tried": probes, "failed": 0}, f"T{i}")


def test_a_tape_lot_is_proved_by_its_own_path(make):
    tape_lot(make)
    make("done", LIQUID, "S1")  # no tape
    make("probe", {"tried": 50, "failed": 5}, "elsewhere")
    assert [lot.result.missing for lot in judge_tape(make.entries)] == [("tug test of the first strip",)]
    make("tug", {"method": "tape", "crew": "C", "held": True})  # another crew
    assert judge_tape(make.entries)[0].result.answer == "not yet"
    make("tug", {"method": "tape", "crew": "B", "held": False})
    assert judge_tape(make.entries)[0].result.answer == "bad"
    make("tug", {"method": "tape", "crew": "B", "held": True})
    found = judge_tape(make.entries)
    assert (found[0].result.answer, found[0].lot.probed) == (
        "proved",
        28,
    )  # Source: 28 sound probes, Beta(1, 1), 10 %, 95 %
    assert found[0].to_json()["not_seen_rolled"] == []


def test_tape_that_nobody_saw_rolled_is_named(make):
    tape_lot(make)
    make("tug", {"method": "tape", "crew": "B", "held": True})
    make("done", TAPE, "T9")
    found = judge_tape(make.entries)[0]
    assert (found.result.answer, found.unrolled) == ("not yet", ("T9",))


def test_stapled_tape_is_a_reject_until_it_is_taped_anew(make):
    prepare(make, "T1")
    make("done", TAPE, "T1")
    make("rolled", {"seen_by": "lead"}, "T1")
    make("probe", {"tried": 40, "failed": 0}, "T1")
    make("tug", {"method": "tape", "crew": "B", "held": True})
    assert state(TAPED, make).state is State.PROVED
    bad = make("staples", {"count": 3}, "T1")
    assert state(TAPED, make).open_flaws == (bad.id,)
    assert judge_tape(make.entries)[0].result.answer == "bad"
    make("mended", {"flaw": bad.id, "product": "P"}, "T1")
    make("probe", {"tried": 4, "failed": 0}, "T1")
    assert state(TAPED, make).state is State.PROVED
    assert judge_tape(make.entries)[0].result.answer == "proved"


def test_failing_tape_needs_more_probes_or_is_bad(make):
    tape_lot(make)
    make("tug", {"method": "tape", "crew": "B", "held": True})
    make("probe", {"tried": 2, "failed": 2}, "T0")
    found = judge_tape(make.entries)[0].result
    assert (found.answer, found.share.a, found.share.b) == ("not yet", 3.0, 29.0)
    make("probe", {"tried": 10, "failed": 8}, "T1")
    assert judge_tape(make.entries)[0].result.answer == "bad"
