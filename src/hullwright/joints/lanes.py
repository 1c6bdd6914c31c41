"""Sheathed faces made flat, each in its lane, in lay coordinates: *a* along the panels' length, *b* across the rows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building, Sheathing
from hullwright.errors import InputError, Problem
from hullwright.hull.model import Face, Hull

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
LEVEL_FACE: Final = 1.0  # deg off level: below that a face has no slope to run off


@dataclass(frozen=True, slots=True)
class Lane:
    """One sheathed face made flat.

    Parameters
    ----------
    face : int
        Face number.
    sheathing : Sheathing
    origin : ndarray (3,)
        Lower left corner of the face's bounding box in lay directions [m].
    along, across : ndarray (3,)
        Unit vectors: panel length, and row to row.
    edges : ndarray (E, 4)
        ``a0, b0, a1, b1`` of loops and opening edges, interior on the left (right where the lay is upright) [m].
    size : tuple of float
        Extent along and across [m].
    upright : bool
        Long edge of the panels upright (along the framing).
    """

    face: int
    sheathing: Sheathing
    origin: Floats
    along: Floats
    across: Floats
    edges: Floats
    size: tuple[float, float]
    upright: bool


def _level_axes(face: Face) -> tuple[Floats, Floats]:
    """Axes of a level face: along its longest edge, so that a turned house is laid like an unturned one."""
    loop = face.loops[0]
    steps = np.roll(loop, -1, axis=0) - loop
    lengths = np.linalg.norm(steps, axis=1)
    longest = steps[lengths > lengths.max() - 1e-3] / lengths.max()
    turned = np.where(
        (longest[:, 0] < -1e-9) | ((abs(longest[:, 0]) <= 1e-9) & (longest[:, 1] < 0)), -1.0, 1.0
    )
    longest = longest * turned[:, None]
    x, y = longest[np.argmax(longest[:, 0]), :2].tolist()
    across = np.array([x, y, 0.0]) / math.hypot(x, y)
    up = np.array([-across[1], across[0], 0.0])
    return across, up if face.normal[2] > 0 else -up


def framing_axes(face: Face) -> tuple[Floats, Floats]:
    """Framing axes of a face: level direction and direction of studs or rafters, unit vectors (3,)."""
    if face.tilt < LEVEL_FACE or face.tilt > 180 - LEVEL_FACE:
        return _level_axes(face)
    return face.frame.across, face.frame.up


def rings(face: Face) -> list[Floats]:
    """Loops of a face and its openings, turned so that the panel lies on the left of each, (k, 3) each [m]."""
    cut = [face.frame.lift(placed.polygon)[::-1] for placed in face.openings]
    return [*face.loops, *cut]


@dataclass(frozen=True, slots=True)
class Axes:
    """Plane coordinates of several faces: origin and two unit vectors each (n, 3) [m]."""

    origin: Floats
    across: Floats
    up: Floats


def frames(faces: Sequence[Face]) -> Axes:
    """Face coordinates of faces."""
    return Axes(
        np.array([face.frame.origin for face in faces]).reshape(-1, 3),
        np.array([face.frame.across for face in faces]).reshape(-1, 3),
        np.array([face.frame.up for face in faces]).reshape(-1, 3),
    )


def flat_edges(loops: Sequence[Sequence[Floats]], axes: Axes) -> tuple[Floats, Ints]:
    """Edges of loops in plane coordinates.

    Parameters
    ----------
    loops : sequence of sequence of ndarray (k, 3)
        Loops of each face [m].
    axes : Axes
        One row a face.

    Returns
    -------
    edges : ndarray (E, 4)
        ``u0, v0, u1, v1`` [m].
    owner : ndarray (E,)
        Face of each edge, ascending.
    """
    rows = [loop for group in loops for loop in group]
    sizes = np.array([len(loop) for loop in rows])
    owner = np.repeat(np.repeat(np.arange(len(loops)), [len(group) for group in loops]), sizes)
    points = np.concatenate(rows) - axes.origin[owner]
    flat = np.stack(
        [np.einsum("ij,ij->i", points, axes.across[owner]), np.einsum("ij,ij->i", points, axes.up[owner])],
        axis=1,
    )
    following = np.arange(1, len(points) + 1)
    ends = np.cumsum(sizes)
    following[ends - 1] = ends - sizes
    return np.concatenate([flat, flat[following]], axis=1), owner


def _no_sheathing(face: Face) -> Problem:
    return Problem(
        f"face {face.id} is a {face.kind.value}, but no sheathing is stated for it",
        got=f"group '{face.group}'",
        allowed="wall, roof, floor or ceiling",
        hint="state the sheathing of that group in the building file",
    )


def lanes(building: Building, hull: Hull) -> tuple[Lane, ...]:
    """Flatten all sheathed faces of the hull.

    Parameters
    ----------
    building : Building
    hull : Hull

    Returns
    -------
    tuple of Lane

    Raises
    ------
    InputError
        Where a face is sheathed and the building states no sheathing for its group.
    """
    faces = [(number, face) for number, face in enumerate(hull.faces) if face.kind.sheathed]
    groups: dict[str, Sheathing] = {str(group): sheathing for group, sheathing in building.sheathing.items()}
    missing = [_no_sheathing(face) for _, face in faces if face.group not in groups]
    if missing:
        raise InputError("panels can't be laid", missing)
    return _flatten(faces, [groups[face.group] for _, face in faces])


def _flatten(faces: Sequence[tuple[int, Face]], sheets: Sequence[Sheathing]) -> tuple[Lane, ...]:
    if not faces:
        return ()
    upright = [sheet.lay == "upright" for sheet in sheets]
    pairs = [framing_axes(face) for _, face in faces]
    along = np.array([pair[1] if turned else pair[0] for pair, turned in zip(pairs, upright, strict=True)])
    across = np.array([pair[0] if turned else pair[1] for pair, turned in zip(pairs, upright, strict=True)])
    origin = np.array([face.loops[0][0] for _, face in faces])
    edges, owner = flat_edges([rings(face) for _, face in faces], Axes(origin, along, across))
    starts = np.searchsorted(owner, np.arange(len(faces)))
    low = np.minimum.reduceat(edges[:, :2], starts)
    edges = edges - np.concatenate([low, low], axis=1)[owner]
    size = np.maximum.reduceat(edges[:, :2], starts).tolist()
    origin = origin + low[:, :1] * along + low[:, 1:] * across
    parts = np.split(edges, starts[1:])
    return tuple(
        Lane(
            number, sheets[i], origin[i], along[i], across[i], parts[i], (size[i][0], size[i][1]), upright[i]
        )
        for i, (number, _) in enumerate(faces)
    )
