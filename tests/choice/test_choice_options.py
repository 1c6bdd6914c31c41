"""Which options are allowed, and the rule that bars each other one."""

from __future__ import annotations

from dataclasses import replace

import pytest

from hullwright.building.model import Crew
from hullwright.catalog import load
from hullwright.choice.options import allowed, spot_of
from hullwright.evidence import STATED, Figure
from hullwright.joints.model import JointKind as K
from hullwright.joints.model import Run

INF = float("inf")
INCH = 0.0254


def run(kind: K, **changes) -> Run:
    base = Run(
        id="r", kind=kind, face="main/south", joints=(0,), quantity=10.0, stage="sheathing",
        substrates=("coated panel",), backed=True, rated=False, rigid=True, level=False, gap=0.0, depth=0.0,
        upslope=1.0, height=1.0, width=0.1, section_depth=0.0, bridged=False,
    )  # fmt: skip
    return replace(base, **changes)


def sort(house, one: Run, *, catalog=None, fixed=(), **building):
    stated, hull, _ = house
    stated = replace(stated, **building)
    cat = catalog or load()
    faces = {face.id: face for face in hull.faces}
    spot = spot_of(stated, one, faces.get(one.face), cat, fixed=fixed)
    return allowed(spot, stated, cat)


def methods(got) -> set[str]:
    return {option.method for option in got.options}


def rules(got, method: str) -> set[str]:
    return {bar.rule.id for bar in got.barred if bar.option.method == method}


def test_flat_seam_takes_all_ways(house):
    got = sort(house, run(K.SEAM_UPRIGHT, gap=INCH / 8, depth=INCH / 2, bridged=True))
    assert methods(got) == {"tape", "stretch", "liquid", "coat"}
    assert "unsealed-on-request" in rules(got, "unsealed")
    # Rule: no film over a gap wider than its sheet allows (1/16 in): fill first.
    assert all(
        option.filler
        for option in got.options
        if option.method in ("liquid", "coat") and "silyl" in option.product
    )
    assert "film-over-gap" in rules(got, "liquid")


def test_rated_takes_listed_systems_only(house):
    got = sort(house, run(K.PARTY_WALL, rated=True))
    assert methods(got) == {"listed"}
    assert rules(got, "tape") == {"rated-listed-only"}
    assert "listed" not in methods(sort(house, run(K.SEAM_UPRIGHT)))


def test_flue_keeps_its_clearance(house):
    assert methods(sort(house, run(K.FLUE, face="main/roof south"))) == {"flue_collar"}
    assert "flue_collar" not in methods(sort(house, run(K.PIPE)))


@pytest.mark.parametrize(
    ("kind", "rule"),
    [
        (K.EAVE, "eave-least-grade"),
        (K.SILL, "sill-least-grade"),
        (K.OPENING_CORNER, "opening-corner-least-grade"),
    ],
)
def test_least_grade_bars_plain_tape(house, kind, rule):
    got = sort(house, run(kind))
    assert "tape" not in methods(got)
    assert rule in rules(got, "tape")
    assert {"stretch", "liquid"} <= methods(got)


def test_tape_at_an_inside_corner_is_allowed_with_care(house):
    got = sort(house, run(K.INSIDE_CORNER))
    tape = [option for option in got.options if option.method == "tape"]
    assert tape
    assert all("tape-tents-inside" in option.advice for option in tape)


def test_unbacked_seam_is_liquid_or_blocked_first(house):
    got = sort(house, run(K.SEAM_LEVEL, backed=False))
    assert all(option.blocking for option in got.options if option.method in ("tape", "stretch"))
    assert any(option.method == "tape" for option in got.options)
    assert any(option.method == "liquid" and not option.blocking for option in got.options)
    assert "unbacked-not-rolled" in rules(got, "tape")


def test_gap_over_the_sheet(house):
    wide = sort(house, run(K.SEAM_UPRIGHT, gap=0.020, depth=0.01))
    assert not methods(wide) & {"tape", "stretch", "liquid", "coat"}
    assert "gap-over-sheet" in rules(wide, "tape")
    medium = sort(house, run(K.SEAM_UPRIGHT, gap=0.009, depth=0.01))
    assert all(option.filler for option in medium.options)


@pytest.mark.parametrize("state", ["dusty", "damp", "rough"])
def test_poor_concrete_bars_bare_tape(house, state):
    joint = run(K.CHANGE_OF_MATERIAL, substrates=("coated panel", "concrete"))
    got = sort(house, joint, surfaces={"main/south": (state,)})
    tapes = [option for option in got.options if option.method == "tape"]
    assert tapes
    assert all(option.primer and option.cleaning for option in tapes)
    assert "stretch" not in methods(got)
    assert "poor-concrete-bare-tape" in rules(got, "stretch")
    sound = sort(house, joint)
    assert any(option.method == "stretch" and not option.primer for option in sound.options)


def test_no_tape_on_damp_panels(house):
    got = sort(house, run(K.SEAM_UPRIGHT), surfaces={"wall": ("damp",)})
    assert not methods(got) & {"tape", "stretch"}
    assert "no-tape-on-damp" in rules(got, "tape")


def test_most_exact_surface_wins(house):
    got = sort(
        house, run(K.SEAM_UPRIGHT), surfaces={"wall": ("damp",), "main": ("damp",), "main/south": ("clean",)}
    )
    assert "tape" in methods(got)


def test_rough_side_offers_primer_and_says_why(house):
    got = sort(house, run(K.SEAM_UPRIGHT, substrates=("wood panel",)), surfaces={"wall": ("rough",)})
    tapes = {bool(option.primer): option for option in got.options if option.method == "tape"}
    assert set(tapes) == {True, False}
    assert "rough-face-up-to-primer" in tapes[False].advice


def test_floor_line_wants_a_moving_film(house):
    catalog = load()
    stiff = replace(catalog.products["silyl-flashing-20"], movement=0.1)
    rigid = replace(catalog, products={**catalog.products, "silyl-flashing-20": stiff})
    got = sort(house, run(K.FLOOR_LINE), catalog=rigid)
    assert "silyl-flashing-20" not in {option.product for option in got.options}
    assert "floor-line-moves" in rules(got, "liquid")
    assert "tape-slack-at-floor" in next(option for option in got.options if option.method == "tape").advice


def test_moving_piece_bars_plain_tape(house):
    got = sort(house, run(K.PIPE, rigid=False))
    assert "moving-piece" in rules(got, "tape")
    assert {"stretch", "liquid", "boot"} <= methods(got)


def test_silicone_is_not_put_where_others_follow(house):
    catalog = load()
    slick = replace(catalog.products["silyl-flashing-20"], id="slick", chemistry="silicone")
    more = replace(catalog, products={**catalog.products, "slick": slick})
    assert "slick" not in {o.product for o in sort(house, run(K.SEAM_UPRIGHT), catalog=more).options}
    late = sort(house, run(K.PIPE, stage="later"), catalog=more)
    assert "slick" in {o.product for o in late.options}


def test_temperature_only_where_stated(house):
    catalog = load()
    frost = replace(
        catalog, figures={**catalog.figures, "site.low_temperature": Figure(-8.0, "degC", STATED)}
    )
    cold = sort(house, run(K.SEAM_UPRIGHT), catalog=frost)
    assert "too-cold" in rules(cold, "liquid")
    assert "liquid" not in methods(cold)
    assert "liquid" in methods(sort(house, run(K.SEAM_UPRIGHT)))


def test_days_in_the_sun(house):
    site = replace(house[0].site, bare_days=150.0)
    got = sort(house, run(K.SEAM_UPRIGHT), site=site)
    assert "too-long-in-the-sun" in rules(got, "stretch")
    assert "acrylic-seam-tape" in {o.product for o in got.options}


def test_sealant_wants_width(house):
    assert "sealant-needs-width" in rules(sort(house, run(K.CHANGE_OF_MATERIAL, gap=0.003)), "sealant")
    assert "sealant" in methods(sort(house, run(K.CHANGE_OF_MATERIAL, gap=0.008)))


def test_tails_can_be_cut(house):
    got = sort(house, run(K.RAFTER_TAIL, width=0.04, section_depth=0.18))
    cut = next(option for option in got.options if option.method == "cut_tails")
    assert "tails-structure" in cut.advice
    assert "cut_tails" not in methods(sort(house, run(K.BEAM)))


def test_bitumen_against_vinyl(house):
    catalog = load()
    black = replace(catalog.products["acrylic-seam-tape"], id="black", chemistry="bitumen")
    more = replace(catalog, products={**catalog.products, "black": black})
    got = sort(house, run(K.OPENING_JAMB, substrates=("coated panel", "vinyl flange")), catalog=more)
    assert "black" not in {o.product for o in got.options}
    assert "surface-clash" in rules(got, "tape")


def test_bare_heads_on_walls_not_on_roofs(house):
    assert "unsealed" in methods(sort(house, run(K.OVERDRIVEN)))
    assert "unsealed" not in methods(sort(house, run(K.OVERDRIVEN, face="main/roof south")))


def test_user_may_leave_a_seam_bare(house):
    assert "unsealed" not in methods(sort(house, run(K.SEAM_UPRIGHT)))
    assert "unsealed" in methods(sort(house, run(K.SEAM_UPRIGHT), fixed=("unsealed",)))
    # A hard rule does not yield to the user.
    assert methods(sort(house, run(K.PARTY_WALL, rated=True), fixed=("tape",))) == {"listed"}


def test_crew_without_practice(house):
    crew = Crew(2, 45.0, INF, 8.0, ("tape",))
    got = sort(house, run(K.SEAM_UPRIGHT), crew=crew)
    assert all("unpractised" in o.advice for o in got.options if o.method == "liquid")
    assert all("unpractised" not in o.advice for o in got.options if o.method == "tape")


def test_inert_edges_need_nothing(house):
    got = sort(house, run(K.FOUNDATION_CORNER, substrates=("concrete", "concrete")))
    assert methods(got) == {"unsealed"}


@pytest.mark.parametrize("kind", list(K))
def test_every_kind_has_a_way(house, kind):
    """No joint kind of the trade is left without a method on plain clean panels, rated or not."""
    joint = run(kind, section_depth=0.1 if kind in (K.BOX, K.BEAM, K.RAFTER_TAIL) else 0.0)
    assert sort(house, joint).options
    assert sort(house, replace(joint, rated=True)).options
