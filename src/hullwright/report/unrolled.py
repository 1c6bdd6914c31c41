"""The unrolled hull: all faces laid out flat edge to edge like a paper model, each joint drawn once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hullwright.report.faces import Scene, css, draw, legend, scale_bar
from hullwright.report.svg import document, number, text

Floats = NDArray[np.float64]


def unrolled(scene: Scene, layout: Sequence[tuple[int, Floats]]) -> str:
    """Draw the whole hull on one sheet.

    Parameters
    ----------
    scene : Scene
    layout : sequence of (face number, transform)
        Transform (3, 2): ``[x, y, 1] @ transform`` takes face coordinates to the sheet [m], y up.

    Returns
    -------
    str
        SVG document.
    """
    hull = scene.hull
    corners = [
        _on_sheet(hull.faces[k].frame.drop(np.concatenate(hull.faces[k].loops)), at) for k, at in layout
    ]
    low, high = np.concatenate(corners).min(axis=0), np.concatenate(corners).max(axis=0)
    scale = float(1160 / max(high[0] - low[0], 1e-9))
    top = 50.0

    def placed(at: Floats) -> _Placer:
        return _Placer(at, low, high, scale, top)

    body: list[str] = []
    names: list[str] = []
    unit = min(1.0, max(0.35, scale / 40))
    for k, at in layout:
        face = hull.faces[k]
        place = placed(at)
        body.append(draw(scene, face, scene.on_face(face.id, owned=True), place, unit=unit))
        outer = place(face.frame.drop(face.loops[0]))
        middle = (outer.min(axis=0) + outer.max(axis=0)) / 2
        size = float(np.clip(np.ptp(outer[:, 0]) / max(len(face.id), 1) * 1.3, 5.0, 13.0))
        names.append(
            text(
                face.id,
                float(middle[0]),
                float(middle[1]),
                font_size=size,
                text_anchor="middle",
                class_="name",
            )
        )
    deep = top + (high[1] - low[1]) * scale
    words, rows = legend(scene, scene.joints.joints, 20, deep + 30)
    heading = text(
        "The hull unrolled: every joint once, by method", 20, 26, font_size=16.0, font_weight="600"
    )
    bar = scale_bar(scene.show, scale, 980, deep + 40)
    halo = f".name{{paint-order:stroke;stroke:var(--sheet);stroke-width:{number(4.0)}px;stroke-opacity:.8}}"
    return document(
        1200, deep + rows + 60, heading + "".join(body) + "".join(names) + words + bar,
        name="The hull unrolled", style=css(scene.used(scene.joints.joints), unit) + halo,
        description=f"{len(hull.faces)} faces edge to edge, {len(scene.joints.joints)} joints by method",
    )  # fmt: skip


def _on_sheet(xy: Floats, at: Floats) -> Floats:
    moved: Floats = np.concatenate([xy, np.ones((len(xy), 1))], axis=1) @ at
    return moved


class _Placer:
    """Face coordinates to drawing coordinates."""

    def __init__(self, at: Floats, low: Floats, high: Floats, scale: float, top: float) -> None:
        self.at, self.low, self.high, self.scale, self.top = at, low, high, scale, top

    def __call__(self, xy: Floats) -> Floats:
        sheet = _on_sheet(np.atleast_2d(xy), self.at)
        return np.stack(
            [
                20 + (sheet[:, 0] - self.low[0]) * self.scale,
                self.top + (self.high[1] - sheet[:, 1]) * self.scale,
            ],
            axis=-1,
        )
