"""What must be signed off before a run starts, and what has nothing to be signed off."""

from hullwright.proof.cover import ready
from hullwright.proof.locate import locate
from hullwright.proof.site import House, SiteJoint
from hullwright.proof.start import gaskets_late, may_start, not_to_start, started_too_early

PIPE = SiteJoint("P1", "pipe", ("F1",), 0.0, "boot")
BOOT = {"method": "boot", "crew": "B", "surface": "wood panel"}


def blockers(house, face, make):
    return {blocker.id for blocker in ready(house, face, make.entries).blockers}


def early_on(joints, make, unnailed=frozenset()):
    return started_too_early(joints, locate(make.entries, House(tuple(joints))), unnailed)


def test_a_gasket_goes_under_the_plate_before_any_nail(make):
    sill = SiteJoint("G1", "sill to foundation", ("F1",), 3.0, "gasket")
    done = {"method": "gasket", "crew": "B", "surface": "concrete"}
    make("done", done, "G1", "F1")
    assert early_on([sill], make) == ()  # it waits for no nailing
    assert gaskets_late(locate(make.entries, House((sill,)))) == ()
    make("nailing", {"passed": True}, face="F1")
    late = make("done", done, "G1", "F1")
    assert gaskets_late(locate(make.entries, House((sill,)))) == (late,)


def test_no_run_starts_before_the_nailing_is_signed_off(make):
    assert may_start("F1", make.entries) == ("nailing not signed off",)
    early = make("done", BOOT, "P1")
    make("nailing", {"passed": False}, face="F1")
    assert may_start("F1", make.entries) == ("nailing not signed off",)
    make("nailing", {"passed": True}, face="F1")
    assert may_start("F1", make.entries) == ()
    assert may_start("F2", make.entries) != ()
    make("done", BOOT, "P1")
    assert early_on([PIPE], make) == (early,)
    make("straps", {"passed": False}, face="F1")
    assert may_start("F1", make.entries) == ("straps and hold-downs failed their inspection",)
    assert "F1:straps" in blockers(House((PIPE,)), "F1", make)
    assert not_to_start(["F2", "F1"], make.entries) == {
        "F1": ("straps and hold-downs failed their inspection",),
        "F2": ("nailing not signed off",),
    }
    make("straps", {"passed": True}, face="F1")
    assert may_start("F1", make.entries) == ()
    assert not_to_start(["F1"], make.entries) == {}


def test_on_concrete_nothing_is_nailed_and_nothing_waits_for_it(make):
    slab, edge = frozenset({"slab"}), SiteJoint("E1", "sill to foundation", ("F1", "slab"), 3.0, "tape")
    drain = SiteJoint("D1", "pipe", ("slab",), 0.0, "boot")
    assert may_start("slab", make.entries, nailed=False) == ()
    assert not_to_start(["slab", "F1"], make.entries, slab) == {"F1": ("nailing not signed off",)}
    on_slab, on_both = make("done", BOOT, "D1"), make("done", {**BOOT, "method": "tape"}, "E1")
    assert early_on([drain, edge], make, slab) == (on_both,), "a wall stands on it"
    assert early_on([drain, edge], make) == (on_slab, on_both)
    at_work = House((drain, edge), unnailed=slab)
    assert "slab:nailing" not in blockers(at_work, "slab", make)
    assert "F1:nailing" in blockers(at_work, "F1", make)


def test_straps_that_failed_stop_the_work_on_concrete_too(make):
    make("straps", {"passed": False}, face="slab")
    assert not_to_start(["slab"], make.entries, frozenset({"slab"})) == {
        "slab": ("straps and hold-downs failed their inspection",)
    }
    make("straps", {"passed": True}, face="slab")
    assert not_to_start(["slab"], make.entries, frozenset({"slab"})) == {}
