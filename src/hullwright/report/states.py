"""The house by state: the unrolled hull with every joint drawn as bare, prepared, sealed, proved, covered or punctured."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from hullwright.joints.model import Joint
from hullwright.report.faces import BASE, SPREAD_OUT, Scene, mark, pieces_words, scale_bar
from hullwright.report.look import PAPER, Look
from hullwright.report.svg import document, element, number, path, text, title
from hullwright.report.unrolled import HALO, WIDE, Floats, Layout, Sheet

LOOKS: Final = {
    "not yet due": Look("#a9a9a2", "#7d7d77", 0.8, "1 4", "ring"),
    "bare": Look("#8a8a84", "#9a9a94", 1.0, "2 3", "cross"),
    "prepared": Look("#6b5b1f", "#d8c468", 1.6, "4 3", "ring"),
    "sealed": Look("#b3541e", "#f0a06a", 2.4, "9 2", "square"),
    "proved": Look("#1d6b4f", "#77cfae", 3.2, "", "dot"),
    "covered": Look("#22303c", "#b7c6d2", 4.2, "1.2 1.2", "diamond"),
    "punctured": Look("#a3231f", "#f28b82", 3.4, "2 2", "cross"),
}
"""From nothing done to closed in: the line grows heavier and fuller, so that grey print tells the states apart."""
_MEANS: Final = {
    "not yet due": "its stage has not come",
    "bare": "nothing logged",
    "prepared": "cleaned, primed or filled",
    "sealed": "done, not proved yet",
    "proved": "what its method asks for was read or seen",
    "covered": "closed in",
    "punctured": "a hole or flaw is open",
}


RING: Final = ".ring{fill:none;stroke:var(--ink);stroke-width:1.6px}"


def _name(state: str) -> str:
    """Give the name of a state as a class of the picture, which has no spaces."""
    return state.replace(" ", "_")


def house_by_state(scene: Scene, layout: Layout, states: Mapping[str, str], *, heading: str) -> str:
    """Draw the whole hull on one sheet, joints by state.

    Parameters
    ----------
    scene : Scene
    layout : sequence of (face number, transform)
        As :func:`hullwright.report.unrolled.unrolled` takes it.
    states : mapping of str to str
        State by joint id; joints that are not in it (counted over a whole face) are not drawn.
    heading : str

    Returns
    -------
    str
        SVG document.
    """
    sheet = Sheet(scene.hull, layout)
    body: list[str] = []
    for face, place in sheet.faces():
        rings = "".join(path(place(face.frame.drop(loop)), closed=True) for loop in face.loops)
        body.append(element("path", title(face.id), d=rings, class_="sheet", fill_rule="evenodd"))
        body += [element("path", d=path(place(o.polygon), closed=True), class_="hole") for o in face.openings]
        mine = [joint for joint in scene.on_face(face.id, owned=True) if joint.id in states]
        for joint in sorted(
            mine, key=lambda one: (list(LOOKS).index(states[one.id]), one.kind.piece, one.id)
        ):
            body.append(_joint(joint, place(face.frame.drop(joint.points)), states[joint.id], sheet.unit))
    numbers, key = sheet.labels.listed(20, sheet.deep + 30, WIDE)
    low = sheet.deep + key
    rows = [_row(scene, states, state, low + 34 + 20 * k) for k, state in enumerate(LOOKS)]
    counts = ", ".join(f"{_count(states, state)} {state}" for state in LOOKS)
    bar = scale_bar(scene.show, sheet.scale, 980, low + 40)
    return document(
        1200, low + 20 * len(LOOKS) + 50,
        text(heading, 20, 26, font_size=16.0, font_weight="600") + "".join(body) + sheet.labels.drawn() + numbers + "".join(rows) + bar,
        name=heading, style=_style(sheet.unit), description=f"{len(states)} joints: {counts}",
    )  # fmt: skip


def _count(states: Mapping[str, str], state: str) -> int:
    return sum(one == state for one in states.values())


def _joint(joint: Joint, at: Floats, state: str, unit: float) -> str:
    if joint.kind in SPREAD_OUT:
        return ""
    label = title(f"{joint.name}: {state}")
    ring = ""
    if state == "punctured":  # to be found at a glance, also where the joint itself is small
        x, y = (float(value) for value in at.mean(axis=0))
        ring = element("circle", cx=x, cy=y, r=9.0, class_="ring")
    if joint.kind.piece:
        return ring + mark(LOOKS[state].mark, at[0], 2.4 * unit, label, class_=f"s-{_name(state)} piece")
    return ring + element("path", label, d=path(at), class_=f"s-{_name(state)}")


def _row(scene: Scene, states: Mapping[str, str], state: str, y: float) -> str:
    mine = [joint for joint in scene.joints.joints if states.get(joint.id) == state]
    length, pieces = sum(j.length for j in mine), sum(j.count for j in mine if j.kind.piece)
    amount = [scene.show.run_length(length)] if length else []
    amount += [pieces_words(pieces)] if pieces >= 0.5 else []
    words = (
        f"{state}: {len(mine)} joint{'' if len(mine) == 1 else 's'}{''.join(f', {one}' for one in amount)}"
    )
    return (
        element("path", d=path([(20, y), (70, y)]), class_=f"s-{_name(state)}")
        + mark(LOOKS[state].mark, (84, y), 4.0, class_=f"s-{_name(state)} piece")
        + text(words, 98, y + 4, font_size=13.0, font_weight="600" if mine else "400")
        + text(_MEANS[state], 480, y + 4, font_size=12.0, class_="faint")
    )


def _style(unit: float) -> str:
    light, dark = [], []
    for state, look in LOOKS.items():
        dash = " ".join(f"calc({float(part) * look.weight:g}*var(--w,1px))" for part in look.dash.split())
        light.append(
            f".s-{_name(state)}{{stroke:{look.ink};stroke-width:calc({look.weight:g}*var(--w,1px));"
            f"stroke-dasharray:{dash or 'none'};fill:none}}.s-{_name(state)}.piece{{fill:{look.ink};stroke-dasharray:none;stroke-width:calc(1.6*var(--w,1px))}}"
        )
        dark.append(
            f".s-{_name(state)}{{stroke:{look.ink_dark}}}.s-{_name(state)}.piece{{fill:{look.ink_dark}}}"
        )
    dark_rules = "@media (prefers-color-scheme:dark){" + "".join(dark) + "}"
    return PAPER + BASE + HALO + RING + f"svg{{--w:{number(unit)}px}}" + "".join(light) + dark_rules
