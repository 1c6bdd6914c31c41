"""Panels: seams, backing, number, fasteners."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from joint_kit import found, gable, house, lone_face, mass, rect, sheathing, window

from hullwright.errors import InputError
from hullwright.hull.model import FaceKind
from hullwright.joints.grid import cuts, lay
from hullwright.joints.lanes import lanes
from hullwright.joints.panels import lay_panels
from hullwright.units import FOOT, INCH

GABLE = ((0, 0), (9, 0), (9, 3), (4.5, 6.2), (0, 3))


def lay_one(body, panels):
    group = body.faces[0].group
    return lay_panels(house(sheathing={group: panels}), body)


def box(width, height, **more):
    return lone_face(((0, 0), (width, 0), (width, height), (0, height)), **more)


def lengths(laid):
    return np.linalg.norm(laid.seams.points[:, 1] - laid.seams.points[:, 0], axis=1)


@pytest.mark.parametrize(
    ("framing", "edge", "field", "expected", "bare"),
    [
        # Source: film and practice sheet, fasteners per 4 x 8 panel, recomputed there by N = 2(W/e + 1) + (n - 2)(W/f + 1).
        # Tolerance: none, counts. Bare heads: field rows less their first and last head, hand count.
        (24, 6, 12, 33, 3 * 3),
        (24, 6, 6, 45, 3 * 7),
        (24, 4, 8, 47, 3 * 5),
        (24, 4, 4, 65, 3 * 11),
        (16, 6, 12, 43, 5 * 3),
        (16, 6, 6, 63, 5 * 7),
    ],
)
def test_fasteners_of_a_roof_panel(framing, edge, field, expected, bare):
    body = box(96 * INCH, 48 * INCH, kind=FaceKind.ROOF, group="roof")
    panel = lay_one(body, sheathing(framing=framing * INCH, edge=edge * INCH, field=field * INCH)).panels[0]
    assert (panel.whole, panel.cut) == (1, 0)
    assert panel.fasteners == expected
    assert panel.fasteners - panel.under_bands == bare


@pytest.mark.parametrize(("framing", "expected"), [(16, 34 + 14 + 14), (24, 55)])
def test_fasteners_of_an_upright_wall_panel(framing, expected):
    # Source: the same table, long axis on studs, top and bottom on plates. Tolerance: none, counts.
    panel = lay_one(box(48 * INCH, 96 * INCH), sheathing("upright", framing=framing * INCH)).panels[0]
    assert (panel.whole, panel.cut, panel.fasteners) == (1, 0, expected)


def test_blocked_roof_panel_has_edge_rows_all_round():
    # Source: hand count, 24 in on centre 6/12 with blocking: 33 and 3 between rafters in each of 4 bays on both long edges.
    body = box(96 * INCH, 48 * INCH, kind=FaceKind.ROOF, group="roof")
    panel = lay_one(body, sheathing(framing=24 * INCH, blocking=True)).panels[0]
    assert panel.fasteners == 9 * 2 + 3 * 3 + 2 * 15


def test_fasteners_of_two_by_two_panels_on_a_roof():
    # Source: hand count: four panels of 33, the seams' rows in each panel. Tolerance: none.
    body = box(192 * INCH, 96 * INCH, kind=FaceKind.ROOF, group="roof")
    panel = lay_one(body, sheathing(framing=24 * INCH, stagger=0.0)).panels[0]
    assert (panel.whole, panel.cut, panel.fasteners) == (4, 0, 4 * 33)


def test_seam_share_of_plain_field():
    # Source: check case: 4 x 8 panels have 12 ft of seam per 32 ft2 = 0.375 ft/ft2; 4 in band 12.5 % of the area.
    laid = lay_one(box(96 * FOOT, 48 * FOOT), sheathing())
    inner = shapely.box(8 * FOOT, 4 * FOOT, 88 * FOOT, 44 * FOOT)
    seams = shapely.linestrings(laid.seams.points[:, :, [0, 2]])
    # A window of whole periods, moved off the grid so that no seam runs in its edge.
    window_ = shapely.affinity.translate(inner, 0.31, 0.17)
    share = shapely.length(shapely.intersection(seams, window_)).sum() / window_.area * FOOT
    assert share == pytest.approx(0.375, rel=1e-9)
    assert share / FOOT * 4 * INCH == pytest.approx(0.125, rel=1e-9)


def test_counts_of_a_running_bond_wall():
    # Source: hand count, 96 x 48 ft: 12 rows, six of 12 whole panels, six of 11 and two halves.
    laid = lay_one(box(96 * FOOT, 48 * FOOT), sheathing())
    assert (laid.panels[0].whole, laid.panels[0].cut) == (6 * 12 + 6 * 11, 12)
    assert lengths(laid).sum() == pytest.approx((11 * 96 + 6 * 11 * 4 + 6 * 12 * 4) * FOOT, rel=1e-12)


def test_backing_by_lay():
    level = lay_one(box(32 * FOOT, 16 * FOOT), sheathing()).seams
    assert level.backed[level.upright].all()
    assert not level.backed[~level.upright].any()
    upright = lay_one(box(32 * FOOT, 16 * FOOT), sheathing("upright")).seams
    assert upright.backed[upright.upright].all()
    assert not upright.backed[~upright.upright].any()
    # 48 in panels on 19.2 in framing: 48 / 19.2 = 2.5, every other long edge hangs between studs.
    odd = lay_one(box(32 * FOOT, 16 * FOOT), sheathing("upright", framing=19.2 * INCH)).seams
    assert 0 < odd.backed[odd.upright].sum() < odd.upright.sum()
    blocked = lay_one(box(32 * FOOT, 16 * FOOT), sheathing(blocking=True)).seams
    assert blocked.backed.all()


def test_level_seam_on_the_floor_framing_is_backed():
    body = box(32 * FOOT, 16 * FOOT, floor_heights=(8 * FOOT + 6 * INCH,))
    seams = lay_one(body, sheathing()).seams
    level = seams.place[~seams.upright, 1] / FOOT
    # The seam at 8 ft falls 6 in below the floor line, within a 12 in rim; those at 4 and 12 ft hang.
    assert level[seams.backed[~seams.upright]].tolist() == pytest.approx([8.0])


def test_seam_in_a_floor_line_is_the_floor_line():
    body = box(32 * FOOT, 16 * FOOT, floor_heights=(8 * FOOT,))
    laid = lay_one(body, sheathing())
    assert sorted(set((laid.seams.place[~laid.seams.upright, 1] / FOOT).round(6))) == [4.0, 12.0]
    assert laid.on_seam.tolist() == [True]


def test_panel_ends_land_on_framing_where_lengths_do_not_fit():
    # 2.44 m panels on 0.6 m framing: 2.4 m of each is used; none is whole.
    laid = lay_one(box(12.0, 2.4), sheathing(panel_length=2.44, panel_width=1.2, framing=0.6, stagger=1.2))
    ends = laid.seams.place[laid.seams.upright, 0]
    assert np.allclose(ends / 0.6, np.round(ends / 0.6))
    assert laid.seams.backed[laid.seams.upright].all()
    assert laid.panels[0].whole == 0


def test_small_offcuts_are_shared():
    # Source: hand: 26 ft wall: 8, 16, 24 leaves 2 ft; with a 3 ft least offcut the last two panels share 10 ft, cut on the stud
    # (16 in on centre) at or left of their middle, 21 ft: 240 in.
    row = cuts(0.0, 26 * FOOT, first=0.0, pitch=8 * FOOT, least=3 * FOOT, grid=16 * INCH)
    assert [cut / FOOT for cut in row] == pytest.approx([8, 16, 20])


def test_strip_that_fits_one_panel_is_not_cut():
    # 6 ft wide, running pattern would cut at 5 ft: 1 ft strip; one 8 ft panel covers all.
    assert cuts(0.0, 6 * FOOT, first=5 * FOOT, pitch=8 * FOOT, least=3 * FOOT, grid=0.0) == []


def test_sheathing_that_is_missing_is_named():
    with pytest.raises(InputError, match="main/south"):
        lay_panels(house(sheathing={}), box(4, 3))


def test_turned_house_has_the_same_panels():
    """Level faces are laid along their longest edge, so a house turned on its plot has the same seams."""
    angle = math.radians(27)
    turned = tuple(
        (x * math.cos(angle) - y * math.sin(angle), x * math.sin(angle) + y * math.cos(angle))
        for x, y in rect(0, 0, 11, 7.3)
    )
    plain = found(house(mass(outline=rect(0, 0, 11, 7.3))))[1]
    other = found(house(mass(outline=turned)))[1]
    for one, two in zip(plain.panels, other.panels, strict=True):
        assert (one.whole, one.cut, one.fasteners) == (two.whole, two.cut, two.fasteners)
    # Tolerance: rounding.
    assert sum(j.length for j in plain.joints) == pytest.approx(sum(j.length for j in other.joints), abs=1e-6)


sizes = st.floats(0.9, 2.5)
panel_sets = st.builds(
    sheathing,
    st.sampled_from(["level", "upright"]),
    framing=st.floats(0.3, 0.7),
    panel_width=st.floats(0.5, 1.3),
    panel_length=st.floats(1.4, 3.2),
    stagger=st.floats(0.0, 1.5),
    least_offcut=st.floats(0.0, 0.6),
)
windows = st.tuples(st.floats(0.3, 6.0), st.floats(0.2, 1.6), st.floats(0.3, 2.4), st.floats(0.3, 1.3))


@settings(max_examples=60, deadline=None)
@given(panel_sets, windows)
def test_cells_cover_the_face_once(panels, hole):
    """Panel areas add up to the face less its opening, and each cell agrees with a polygon library."""
    x, z, width, height = hole
    polygon = ((x, z), (x + width, z), (x + width, z + height), (x, z + height))
    body = lone_face(GABLE, openings=(polygon,))
    lane = lanes(house(sheathing={"wall": panels}), body)[0]
    grid = lay([lane])
    outline = shapely.Polygon(GABLE, [polygon])
    # Source: shapely polygon area. Tolerance: double precision over some 50 m2.
    assert grid.cell_area.sum() == pytest.approx(outline.area, abs=1e-9)
    low, high = grid.row_low[grid.cell_row], grid.row_high[grid.cell_row]
    a0, b0, a1, b1 = grid.cell_low, low, grid.cell_high, high
    cells = shapely.box(b0, a0, b1, a1) if lane.upright else shapely.box(a0, b0, a1, b1)
    assert np.allclose(grid.cell_area, shapely.area(shapely.intersection(cells, outline)), atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(panel_sets, windows)
def test_seams_are_the_inner_cell_edges(panels, hole):
    """Seam length equals the length of all cell edges inside the face, found by a polygon library."""
    x, z, width, height = hole
    polygon = ((x, z), (x + width, z), (x + width, z + height), (x, z + height))
    body = lone_face(GABLE, openings=(polygon,))
    building = house(sheathing={"wall": panels})
    lane = lanes(building, body)[0]
    grid = lay([lane])
    outline = shapely.Polygon(GABLE, [polygon])
    low, high = grid.row_low[grid.cell_row], grid.row_high[grid.cell_row]
    first = np.concatenate([[True], np.diff(grid.cell_row) > 0])
    across = np.stack([np.stack([grid.cell_low, low], 1), np.stack([grid.cell_low, high], 1)], 1)[~first]
    along = np.array([[[0.0, b], [lane.size[0], b]] for b in grid.row_low[1:]]).reshape(-1, 2, 2)
    lines = np.concatenate([across, along])
    lines = lines[:, :, ::-1] if lane.upright else lines
    inner = shapely.length(shapely.intersection(shapely.linestrings(lines), outline.buffer(-1e-7))).sum()
    # Source: shapely intersection. Tolerance: pieces shorter than 2 mm are dropped, at most some ten of them.
    assert lengths(lay_panels(building, body)).sum() == pytest.approx(inner, abs=0.02)


def test_openings_cut_seams():
    # Source: hand: 16 x 8 ft wall, level seam at 4 ft is 16 ft less the 4 ft window that it crosses.
    body = box(16 * FOOT, 8 * FOOT, openings=(np.array([[6, 2], [10, 2], [10, 6], [6, 6]]) * FOOT,))
    laid = lay_one(body, sheathing())
    level = ~laid.seams.upright
    assert lengths(laid)[level].sum() == pytest.approx(12 * FOOT)
    # The seam at 8 ft in the lower row is cut to 2 ft below the window; ends at 4 and 12 ft in the upper row stay whole.
    assert sorted((lengths(laid)[~level] / FOOT).round(6).tolist()) == [2.0, 4.0, 4.0]


def test_jamb_and_seam_in_one_line_are_the_jamb():
    body = box(16 * FOOT, 8 * FOOT, openings=(np.array([[8, 0.5], [10, 0.5], [10, 3.5], [8, 3.5]]) * FOOT,))
    laid = lay_one(body, sheathing())
    ends = laid.seams.upright & (np.abs(laid.seams.place[:, 0] - 8 * FOOT) < 1e-6)
    assert sorted((lengths(laid)[ends] / FOOT).round(6).tolist()) == [0.5, 0.5]


def test_gabled_roof_is_laid_from_the_eave():
    body, result = found(house(mass(roof=gable(45))))
    roof = next(f for f in body.faces if f.id == "main/roof south")
    rows = {
        round(float(j.points[0][2]), 4)
        for j in result.joints
        if j.faces == (roof.id,) and j.kind == "horizontal seam"
    }
    # Source: closed form: rows of 48 in up a 45 deg slope of 5.657 m: seams 48 x k in x sin 45 above the eave at 3 m.
    assert rows == {round(3 + 48 * INCH * k / math.sqrt(2), 4) for k in (1, 2, 3, 4)}


def test_window_in_the_house_does_not_change_other_faces():
    one = found(house())[1]
    two = found(house(openings=(window(),)))[1]
    keep = [p for p in one.panels if p.face != "main/south"]
    assert keep == [p for p in two.panels if p.face != "main/south"]


@pytest.mark.parametrize(("height", "across"), [(97.125, 0), (96, 0), (107, 0), (108, 1), (200, 1), (216, 2)])
def test_an_upright_panel_is_taken_a_size_longer_before_a_strip_is_cut(height, across):
    # Source: 97 1/8 in, 9 ft and 10 ft panels are usual (common practice, no source): a rest below 12 in belongs to a longer panel.
    # 216 in is two panels and a rest of 24 in: two cuts. Tolerance: none, counts and lengths of whole strips.
    laid = lay_one(box(32 * FOOT, height * INCH), sheathing("upright", stagger=0.0))
    level = np.abs(laid.seams.points[:, 0, 2] - laid.seams.points[:, 1, 2]) < 1e-9
    assert lengths(laid)[level].sum() == pytest.approx(across * 32 * FOOT)
