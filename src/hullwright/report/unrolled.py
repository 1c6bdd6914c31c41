"""The unrolled hull: all faces laid out flat edge to edge like a paper model, each joint drawn once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.hull.model import Face, Hull
from hullwright.joints.model import Joint
from hullwright.report.faces import BASE, SPREAD_OUT, Place, Scene, css, draw, legend, scale_bar
from hullwright.report.labels import Labels
from hullwright.report.labels import place as place_labels
from hullwright.report.look import PAPER
from hullwright.report.svg import document, element, number, path, text, title

Floats = NDArray[np.float64]
Layout = Sequence[tuple[int, Floats]]


WIDE: Final = 1160.0
TOP: Final = 50.0


def unrolled(scene: Scene, layout: Layout) -> str:
    """Draw the whole hull on one sheet, joints by method.

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
    sheet = Sheet(scene.hull, layout)
    unit = sheet.unit
    body = [
        draw(scene, face, scene.on_face(face.id, owned=True), place, unit=unit)
        for face, place in sheet.faces()
    ]
    numbers, key = sheet.labels.listed(20, sheet.deep + 30, WIDE)
    low = sheet.deep + key
    words, rows = legend(scene, scene.joints.joints, 20, low + 30)
    heading = text(
        "The hull unrolled: every joint once, by method", 20, 26, font_size=16.0, font_weight="600"
    )
    bar = scale_bar(scene.show, sheet.scale, 980, low + 40)
    return document(
        1200, low + rows + 60, heading + "".join(body) + sheet.labels.drawn() + numbers + words + bar,
        name="The hull unrolled", style=css(scene.used(scene.joints.joints), unit) + HALO,
        description=f"{len(scene.hull.faces)} faces edge to edge, {len(scene.joints.joints)} joints by method",
    )  # fmt: skip


def weighed(scene: Scene, layout: Layout, shares: Mapping[str, float], *, heading: str) -> str:
    """Draw the whole hull with one weight per joint: the thicker, the larger its share.

    Parameters
    ----------
    scene : Scene
    layout : sequence of (face number, transform)
    shares : mapping of str to float
        Share by joint id; joints that are not in it are drawn thin.
    heading : str

    Returns
    -------
    str
        SVG document.
    """
    sheet = Sheet(scene.hull, layout)
    most = max(shares.values(), default=1.0) or 1.0
    body: list[str] = []
    for face, place in sheet.faces():
        rings = "".join(path(place(face.frame.drop(loop)), closed=True) for loop in face.loops)
        body.append(element("path", title(face.id), d=rings, class_="sheet", fill_rule="evenodd"))
        body += [element("path", d=path(place(o.polygon), closed=True), class_="hole") for o in face.openings]
        for joint in sorted(scene.on_face(face.id, owned=True), key=lambda j: shares.get(j.id, 0.0)):
            body.append(
                _weighed_joint(joint, place(face.frame.drop(joint.points)), shares.get(joint.id, 0.0) / most)
            )
    numbers, key = sheet.labels.listed(20, sheet.deep + 24, WIDE)
    low = sheet.deep + key
    rows = sorted(shares.items(), key=lambda item: -item[1])[:8]
    said = {joint.id: joint.name for joint in scene.joints.joints}
    words = [
        text(f"{share:.1%}  {said.get(name, name)}", 20, low + 44 + 17 * k, font_size=12.0)
        for k, (name, share) in enumerate(rows)
    ]
    style = (
        PAPER
        + BASE
        + HALO
        + f"svg{{--w:{number(sheet.unit)}px}}.w{{stroke:#8c2f1b;fill:none;stroke-linecap:round}}.p{{fill:#8c2f1b;fill-opacity:.75}}@media (prefers-color-scheme:dark){{.w{{stroke:#ff9d7a}}.p{{fill:#ff9d7a}}}}"
    )
    top = text(heading, 20, 26, font_size=16.0, font_weight="600")
    foot = text(
        "The thicker the line, the larger its share of the leakage. Largest shares:",
        20,
        low + 24,
        font_size=12.0,
        class_="faint",
    )
    height = low + 60 + 17 * len(rows)
    return document(
        1200,
        height,
        top + "".join(body) + sheet.labels.drawn() + numbers + foot + "".join(words),
        name=heading,
        style=style,
        description=f"{len(shares)} joints by share",
    )


def _weighed_joint(joint: Joint, at: Floats, share: float) -> str:
    label = title(f"{joint.name}: {share:.0%} of the largest")
    if joint.kind in SPREAD_OUT:
        return ""
    if joint.kind.piece:
        return element(
            "circle", label, cx=float(at[0, 0]), cy=float(at[0, 1]), r=1.0 + 9.0 * share**0.5, class_="p"
        )
    return element("path", label, d=path(at), class_="w", stroke_width=0.5 + 13.0 * share**0.8)


HALO: Final = ".name{paint-order:stroke;stroke:var(--sheet);stroke-width:4px;stroke-opacity:.8}.leader{stroke:var(--ink);stroke-width:.6;stroke-opacity:.7}"


class Sheet:
    """Where each face lies on the paper."""

    def __init__(self, hull: Hull, layout: Layout) -> None:
        self.hull, self.layout = hull, layout
        corners = np.concatenate(
            [_on_sheet(hull.faces[k].frame.drop(np.concatenate(hull.faces[k].loops)), at) for k, at in layout]
        )
        self.low, self.high = corners.min(axis=0), corners.max(axis=0)
        self.scale = float(WIDE / max(self.high[0] - self.low[0], 1e-9))
        self.deep = TOP + float(self.high[1] - self.low[1]) * self.scale
        self.unit = min(1.0, max(0.35, self.scale / 40))

    def faces(self) -> Iterator[tuple[Face, Place]]:
        """Each face with its way to the paper."""
        for k, at in self.layout:
            yield self.hull.faces[k], _Placer(at, self.low, self.high, self.scale, TOP)

    @cached_property
    def labels(self) -> Labels:
        """Names of the faces, none over another."""
        faces = [
            (face.id, [place(face.frame.drop(loop)) for loop in face.loops]) for face, place in self.faces()
        ]
        return place_labels(faces, (4.0, TOP - 14.0, 1196.0, self.deep + 14.0))


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
