"""One face as SVG: its sheet, its openings, its joints by method. Used by the elevations and by the unrolled hull."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from hullwright.hull.model import Face, Hull
from hullwright.joints.model import Joint, JointKind, JointSet
from hullwright.report.look import PAPER, look, slug, style
from hullwright.report.svg import document, element, number, path, text, title
from hullwright.units import Show

Floats = NDArray[np.float64]
SPREAD_OUT = (JointKind.OVERDRIVEN, JointKind.OVERDRIVEN_COVERED)
"""Counts over a whole face: they have no place of their own to draw, and stand in the legend."""
Place = Callable[[Floats], Floats]


@dataclass(frozen=True, slots=True)
class Scene:
    """What is to be drawn.

    Parameters
    ----------
    hull : Hull
    joints : JointSet
    methods : mapping of str to str
        Method by run id; runs that are not in it are drawn bare.
    show : Show
        Units of the reader.
    names : mapping of str to str
        Methods in words; a method that is not in it is its own word.
    """

    hull: Hull
    joints: JointSet
    methods: Mapping[str, str]
    show: Show
    names: Mapping[str, str] = field(default_factory=dict[str, str])

    def word(self, method: str) -> str:
        """A method in words."""
        return self.names.get(method, method)

    def method(self, joint: Joint) -> str:
        """Method of the run that a joint belongs to."""
        return self.methods.get(joint.run, "unsealed")

    def on_face(self, face: str, *, owned: bool = False) -> list[Joint]:
        """Joints that touch a face; with `owned` only those that name it first (each joint once over the whole hull)."""
        return [j for j in self.joints.joints if (j.faces[:1] == (face,) if owned else face in j.faces)]

    def used(self, joints: Iterable[Joint]) -> tuple[str, ...]:
        """Methods on these joints, sorted."""
        return tuple(sorted({self.method(joint) for joint in joints}))


def pieces_words(count: float) -> str:
    """Pieces in words; expected numbers may be fractions."""
    if 0 < count < 0.5:
        return "under 1 piece"
    return "1 piece" if round(count) == 1 else f"{count:.0f} pieces"


def draw(scene: Scene, face: Face, joints: Iterable[Joint], place: Place, *, unit: float) -> str:
    """Draw one face.

    Parameters
    ----------
    scene : Scene
    face : Face
    joints : iterable of Joint
        Those to draw on it.
    place : callable
        Face coordinates (k, 2) [m] to drawing coordinates (k, 2).
    unit : float
        Drawing length of the thinnest line.

    Returns
    -------
    str
        SVG elements.
    """
    rings = "".join(path(place(face.frame.drop(loop)), closed=True) for loop in face.loops)
    out = [
        element("path", title(f"{face.id}: {face.kind.value}"), d=rings, class_="sheet", fill_rule="evenodd")
    ]
    for opening in face.openings:
        label = f"{opening.opening.kind} {opening.opening.id}, {scene.show.size(opening.opening.width)} × {scene.show.size(opening.opening.height)}"
        out.append(element("path", title(label), d=path(place(opening.polygon), closed=True), class_="hole"))
    shown = (joint for joint in joints if joint.kind not in SPREAD_OUT)
    ordered = sorted(shown, key=lambda j: (j.kind.piece, j.id))
    out += [_joint(scene, joint, place(face.frame.drop(joint.points)), unit) for joint in ordered]
    return "".join(out)


def _joint(scene: Scene, joint: Joint, at: Floats, unit: float) -> str:
    method = scene.method(joint)
    much = pieces_words(joint.count) if joint.kind.piece else scene.show.run_length(joint.length)
    label = title(f"{joint.name}: {scene.word(method)}, {much}")
    if joint.kind.piece:
        return mark(look(method).mark, at[0], 2.2 * unit, label, class_=f"{slug(method)} piece")
    return element("path", label, d=path(at), class_=slug(method))


def mark(shape: str, at: Sequence[float] | Floats, size: float, label: str = "", **values: object) -> str:
    """A mark for a piece: ring, dot, square, diamond or cross."""
    x, y, s = float(at[0]), float(at[1]), size
    if shape == "dot":
        return element("circle", label, cx=x, cy=y, r=s, **values)
    if shape == "ring":
        return element("circle", label, cx=x, cy=y, r=s, **values, fill_opacity="0.15")
    if shape == "square":
        return element("rect", label, x=x - s, y=y - s, width=2 * s, height=2 * s, **values)
    if shape == "diamond":
        return element(
            "path", label, d=path([(x - s, y), (x, y - s), (x + s, y), (x, y + s)], closed=True), **values
        )
    cross = path([(x - s, y - s), (x + s, y + s)]) + path([(x - s, y + s), (x + s, y - s)])
    return element("path", label, d=cross, **values)


BASE = """
svg{background:var(--ground);color:var(--ink)}text{fill:var(--ink)}.faint{fill:var(--faint)}
.sheet{fill:var(--sheet);stroke:var(--line);stroke-width:calc(.7*var(--w,1px))}.hole{fill:var(--hole);stroke:var(--line);stroke-width:calc(.7*var(--w,1px))}
path,rect,circle{stroke-linejoin:round}
"""


def css(methods: tuple[str, ...], unit: float) -> str:
    """CSS of a drawing whose thinnest line is `unit` wide."""
    return PAPER + BASE + style(methods) + f"svg{{--w:{number(unit)}px}}"


def legend(scene: Scene, joints: Sequence[Joint], x: float, y: float) -> tuple[str, float]:
    """Legend of the methods on these joints with their amounts.

    Parameters
    ----------
    x, y : float
        Upper left corner.

    Returns
    -------
    tuple
        SVG and the height it takes.
    """
    out: list[str] = []
    for row, method in enumerate(scene.used(joints)):
        mine = [joint for joint in joints if scene.method(joint) == method]
        length, pieces = sum(j.length for j in mine), sum(j.count for j in mine)
        amount = [scene.show.run_length(length)] if length else []
        amount += [pieces_words(pieces)] if pieces >= 0.5 else []
        middle = y + 18 * row + 9
        out.append(element("path", d=path([(x, middle), (x + 40, middle)]), class_=slug(method)))
        out.append(mark(look(method).mark, (x + 54, middle), 3.5, class_=f"{slug(method)} piece"))
        out.append(text(f"{scene.word(method)}: {', '.join(amount)}", x + 66, middle + 4, font_size=12.0))
    return "".join(out), 18.0 * len(scene.used(joints))


def scale_bar(show: Show, scale: float, x: float, y: float) -> str:
    """Bar of a round length; `scale` is drawing units a metre."""
    length, words = (3.048, "10 ft") if show.us else (2.0, "2 m")
    bar = element(
        "path",
        d=path([(x, y - 4), (x, y), (x + length * scale, y), (x + length * scale, y - 4)]),
        fill="none",
        stroke="currentColor",
        stroke_width=1.2,
    )
    return bar + text(words, x + length * scale + 6, y, font_size=11.0, class_="faint")


def elevation(scene: Scene, face: Face) -> str:
    """One face as a drawing of its own, seen from outside.

    Parameters
    ----------
    scene : Scene
    face : Face

    Returns
    -------
    str
        SVG document.
    """
    outline = face.frame.drop(np.concatenate(face.loops))
    low, high = outline.min(axis=0), outline.max(axis=0)
    size = np.maximum(high - low, 1e-9)
    scale = float(min(860 / size[0], 560 / size[1]))
    joints = scene.on_face(face.id)
    words, deep = legend(scene, joints, 20, 70 + size[1] * scale)
    unit = 1.0

    def place(xy: Floats) -> Floats:
        return np.stack([20 + (xy[..., 0] - low[0]) * scale, 44 + (high[1] - xy[..., 1]) * scale], axis=-1)

    bearing = "" if np.isnan(face.azimuth) else f", faces {face.azimuth:.0f}°"
    heading = text(face.id, 20, 22, font_size=16.0, font_weight="600")
    heading += text(
        f"{face.kind.value}{bearing}, {scene.show.area(face.area)}, seen from outside",
        20,
        38,
        font_size=11.0,
        class_="faint",
    )
    body = heading + draw(scene, face, joints, place, unit=unit) + words
    body += scale_bar(scene.show, scale, 620, 62 + size[1] * scale)
    return document(
        900, 84 + size[1] * scale + deep, body, name=f"{face.id}, seen from outside", style=css(scene.used(joints), unit),
        description=f"{len(joints)} joints by method",
    )  # fmt: skip
