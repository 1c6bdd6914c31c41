"""The hull as a glTF 2.0 binary: one node per face, one per method with its joints as lines."""

from __future__ import annotations

from itertools import pairwise
from typing import Any, Final

import numpy as np

from hullwright.report.faces import Scene
from hullwright.report.look import look

SHEET: Final = (216, 212, 200, 255)


def solid(scene: Scene) -> bytes:
    """Write the hull and its joints.

    Parameters
    ----------
    scene : Scene
        Hull, joints and methods.

    Returns
    -------
    bytes
        A ``.glb`` file, in metres, y up as glTF asks (plan north is -z).

    Notes
    -----
    Format: Khronos glTF 2.0 specification, ISO/IEC 12113:2022.
    """
    import trimesh  # noqa: PLC0415 - heavy, only here
    from trimesh.path.entities import Line  # noqa: PLC0415 - see above

    segment: Any = Line  # the library's own signatures are untyped here

    world: Any = trimesh.Scene()
    hull = scene.hull
    for number, face in enumerate(hull.faces):
        triangles = hull.mesh_triangles[hull.mesh_face == number]
        used, index = np.unique(triangles, return_inverse=True)
        mesh = trimesh.Trimesh(
            _y_up(hull.mesh_points[used]), index.reshape(triangles.shape), process=False, face_colors=SHEET
        )
        mesh.metadata.update({"kind": face.kind.value, "area_m2": face.area})
        world.add_geometry(mesh, node_name=face.id, geom_name=face.id)
    lines = [joint for joint in scene.joints.joints if not joint.kind.piece]
    for method in scene.used(lines):
        mine = [joint for joint in lines if scene.method(joint) == method]
        corners = _y_up(np.concatenate([joint.points for joint in mine]))
        starts = np.cumsum([0, *(len(joint.points) for joint in mine)])
        entities = [segment(np.arange(a, b)) for a, b in pairwise(starts)]
        rgba = [*bytes.fromhex(look(method).ink[1:]), 255]
        drawn = trimesh.path.Path3D(
            entities=entities, vertices=corners, colors=[rgba] * len(entities), process=False
        )
        world.add_geometry(drawn, node_name=f"joints: {method}", geom_name=f"joints: {method}")
    written: bytes = world.export(file_type="glb")
    return written


def _y_up(
    points: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return np.stack([points[:, 0], points[:, 2], -points[:, 1]], axis=1)
