"""What lies above a joint: run-off length up the slope of a roof, height of wall above it on a wall."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.hull.model import Face, FaceKind, Hull
from hullwright.joints.draft import Draft
from hullwright.joints.lanes import LEVEL_FACE, flat_edges, frames
from hullwright.joints.model import JointKind
from hullwright.joints.planes import ends_of
from hullwright.joints.scan import above, shifts

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ROOFS: Final = frozenset({FaceKind.ROOF, FaceKind.FLAT_ROOF})
FOUNDATION: Final = frozenset({FaceKind.SLAB_EDGE, FaceKind.BASEMENT_WALL})
# Joints that the roof's water passes, whatever wall stands beside them.
_ROOF_WATER: Final = frozenset(
    {
        JointKind.EAVE,
        JointKind.RAKE,
        JointKind.RIDGE,
        JointKind.HIP,
        JointKind.VALLEY,
        JointKind.ROOF_TO_WALL_SIDE,
        JointKind.PARAPET_BASE,
        JointKind.RAFTER_TAIL,
    }
)
_SAMPLES: Final = (0.125, 0.375, 0.625, 0.875)  # along a line; exact where the length above it changes evenly


@dataclass(frozen=True, slots=True)
class Above:
    """Length above each draft [m], and whether it is a roof's run-off."""

    length: Floats
    roof: NDArray[np.bool_]


def _flat_run_off(face: Face) -> float:
    """Run-off length on a face without slope: area over half its edge (half the side of a square) on roofs, none elsewhere [m]."""
    if face.kind not in {FaceKind.FLAT_ROOF, FaceKind.PARAPET_TOP, FaceKind.ROOF}:
        return 0.0
    return face.area / (face.perimeter / 2)


def _sloped_above(hull: Hull, faces: Sequence[int], owner: Ints, points: Floats) -> Floats:
    """Mean length above lines on sloped or upright faces.

    Parameters
    ----------
    faces : sequence of int
        The faces that have a slope.
    owner : ndarray (n,)
        Place in `faces` of each line.
    points : ndarray (n, 2, 3)
        Ends [m].
    """
    bodies = [hull.faces[i] for i in faces]
    axes = frames(bodies)
    edges, lane = flat_edges([face.loops for face in bodies], axes)
    width = 4.0 * float(np.abs(edges).max()) + 10.0
    edges[:, [0, 2]] += shifts(lane, width)[:, None]
    shares = np.array(_SAMPLES)[None, :, None]
    samples = points[:, :1] + shares * (points[:, 1:] - points[:, :1]) - axes.origin[owner][:, None]
    u = np.einsum("nsk,nk->ns", samples, axes.across[owner]) + shifts(owner, width)[:, None]
    v = np.einsum("nsk,nk->ns", samples, axes.up[owner])
    found: Floats = above(edges, np.stack([u.ravel(), v.ravel()], axis=1)).reshape(u.shape).mean(axis=1)
    return found


def lengths_above(hull: Hull, drafts: Sequence[Draft]) -> Above:
    """Length above each joint.

    Valleys collect both their roofs; every other joint takes the greater of its sides that water reaches it from: the roof at
    eaves, rakes, ridges, hips and along walls, the wall at the head of a roof and elsewhere. What stands on a foundation takes
    the wall above it too.

    Parameters
    ----------
    hull : Hull
    drafts : sequence of Draft

    Returns
    -------
    Above
    """
    draft_of = np.array([i for i, draft in enumerate(drafts) for _ in draft.faces], dtype=np.int64)
    face_of = np.array([face for draft in drafts for face in draft.faces], dtype=np.int64)
    level = np.array([face.tilt < LEVEL_FACE or face.tilt > 180 - LEVEL_FACE for face in hull.faces])
    reach = np.array(
        [_flat_run_off(face) if flat else 0.0 for face, flat in zip(hull.faces, level.tolist(), strict=True)]
    )
    length = reach[face_of]
    sloped = np.flatnonzero(~level[face_of])
    if len(sloped):
        faces, owner = np.unique(face_of[sloped], return_inverse=True)
        first, last = ends_of([draft.points for draft in drafts])
        ends = np.stack([first, last], axis=1)
        length[sloped] = _sloped_above(hull, faces.tolist(), owner, ends[draft_of[sloped]])
    return _combine(hull, drafts, (draft_of, face_of), length)


def _combine(hull: Hull, drafts: Sequence[Draft], incident: tuple[Ints, Ints], length: Floats) -> Above:
    draft_of, face_of = incident
    is_roof = np.array([face.kind in ROOFS for face in hull.faces])[face_of]
    valley = np.array([draft.kind is JointKind.VALLEY for draft in drafts])
    no_sill = np.array([draft.kind is not JointKind.SILL for draft in drafts])
    roof_only = np.array([draft.kind in _ROOF_WATER for draft in drafts])
    from_roof, from_wall = np.zeros(len(drafts)), np.zeros(len(drafts))
    np.maximum.at(from_roof, draft_of[is_roof], length[is_roof])
    both = np.bincount(draft_of[is_roof], length[is_roof], minlength=len(drafts))
    np.maximum.at(from_wall, draft_of[~is_roof], length[~is_roof])
    length = length + _wall_on_foundation(hull, drafts, from_wall)[face_of] * no_sill[draft_of]
    np.maximum.at(from_wall, draft_of[~is_roof], length[~is_roof])
    from_roof = np.where(valley, both, from_roof)
    only_roofs = np.bincount(draft_of[~is_roof], minlength=len(drafts)) == 0
    roof = roof_only | only_roofs | (from_roof > from_wall)
    return Above(np.where(roof, from_roof, from_wall), roof)


def _wall_on_foundation(hull: Hull, drafts: Sequence[Draft], from_wall: Floats) -> Floats:
    """Mean height of the wall that stands on each foundation face, 0 for all other faces [m]."""
    length = np.zeros(len(hull.faces))
    height = np.zeros(len(hull.faces))
    for draft, wall in zip(drafts, from_wall.tolist(), strict=True):
        if draft.kind is JointKind.SILL:
            for number in draft.faces:
                if hull.faces[number].kind in FOUNDATION:
                    length[number] += draft.length
                    height[number] += draft.length * wall
    return np.divide(height, length, out=height, where=length > 0)
