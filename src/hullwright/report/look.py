"""How things are drawn: one look per method, by pattern, weight and colour together.

The palette is our own: five inks far apart in lightness (so that grey print tells them apart) and in hue along the
blue–yellow axis (which most colour-blind eyes keep). No meaning rests on colour alone: dash and weight differ too.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Look:
    """Ink, weight (in units of the thinnest line) and dash of a method.

    Parameters
    ----------
    ink, ink_dark : str
        On light and on dark ground.
    weight : float
    dash : str
        SVG dash array in units of the weight; '' is unbroken.
    mark : str
        Shape of a piece: ``ring``, ``dot``, ``square``, ``diamond``, ``cross``.
    """

    ink: str
    ink_dark: str
    weight: float
    dash: str
    mark: str


LOOKS: Final = {
    "tape": Look("#2f6f8f", "#7fc1de", 2.0, "", "square"),
    "stretch": Look("#14435c", "#a9d8ec", 2.4, "5 1.6", "diamond"),
    "liquid": Look("#b3541e", "#f0a06a", 3.4, "", "dot"),
    "sealant": Look("#6b5b1f", "#d8c468", 2.0, "1 1.6", "ring"),
    "gasket": Look("#4b4453", "#bfb3cc", 2.6, "8 2 1.5 2", "ring"),
    "boot": Look("#1d6b4f", "#77cfae", 2.0, "3 1.5", "ring"),
    "coat": Look("#8c3b5a", "#e79ab8", 1.2, "1 2.5", "cross"),
    "listed": Look("#a3231f", "#f28b82", 2.6, "6 1.5 1 1.5", "diamond"),
    "cut_tails": Look("#5a6b2a", "#c2d483", 2.2, "10 2", "cross"),
    "unsealed": Look("#8a8a84", "#8a8a84", 1.0, "2 3", "cross"),
}
SPARE: Final = (
    Look("#22303c", "#b7c6d2", 2.2, "12 3", "diamond"),
    Look("#3b3f75", "#a9afe8", 1.8, "6 2 2 2", "square"),
    Look("#7a2f2f", "#e59a9a", 2.8, "2 2", "ring"),
)


def look(method: str, known: tuple[str, ...] = ()) -> Look:
    """Give the look of a method; methods of the user's own take a spare one by their place in `known`.

    Parameters
    ----------
    method : str
    known : tuple of str
        All methods on the drawing, sorted.
    """
    if method in LOOKS:
        return LOOKS[method]
    others = [name for name in known if name not in LOOKS]
    return SPARE[(others.index(method) if method in others else 0) % len(SPARE)]


def slug(method: str) -> str:
    """Method as a CSS class."""
    return "m-" + "".join(c if c.isalnum() else "-" for c in method.lower())


PAPER: Final = """
:root{--ground:#fbfaf6;--ink:#22282b;--faint:#8b9093;--sheet:#f1efe7;--hole:#dfe6e6;--line:#c9c6ba}
@media (prefers-color-scheme:dark){:root{--ground:#171b1d;--ink:#e8e6df;--faint:#8f979b;--sheet:#22282b;--hole:#2f3b40;--line:#3d4549}}
"""


def style(methods: tuple[str, ...]) -> str:
    """CSS for the methods on a drawing, light and dark.

    Parameters
    ----------
    methods : tuple of str
        Sorted.
    """
    light, dark = [], []
    for method in methods:
        shape, name = look(method, methods), slug(method)
        dash = " ".join(f"{float(part) * shape.weight:g}" for part in shape.dash.split()) or "none"
        light.append(
            f".{name}{{stroke:{shape.ink};stroke-width:calc({shape.weight:g}*var(--w,1px));stroke-dasharray:{dash};fill:none}}.{name}.piece{{fill:{shape.ink}}}"
        )
        dark.append(f".{name}{{stroke:{shape.ink_dark}}}.{name}.piece{{fill:{shape.ink_dark}}}")
    return PAPER + "".join(light) + "@media (prefers-color-scheme:dark){" + "".join(dark) + "}"
