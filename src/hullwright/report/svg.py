"""A small SVG writer: everything that a person typed is escaped, every number is finite and short."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

Pair = Sequence[float]


def number(value: float) -> str:
    """Print a number with at most three decimals; refuses what is not finite."""
    if not math.isfinite(value):
        raise ValueError(f"a drawing can't hold {value}")
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def attributes(values: dict[str, object]) -> str:
    """Attributes as text; ``stroke_width`` becomes ``stroke-width``; None is left out."""
    parts: list[str] = []
    for name, value in values.items():
        if value is None:
            continue
        text = number(value) if isinstance(value, float) else str(value)
        parts.append(f" {name.rstrip('_').replace('_', '-')}={quoteattr(text)}")
    return "".join(parts)


def element(tag: str, content: str = "", **values: object) -> str:
    """One element around `content`, which must be SVG already."""
    return f"<{tag}{attributes(values)}>{content}</{tag}>" if content else f"<{tag}{attributes(values)}/>"


def text(words: str, x: float, y: float, **values: object) -> str:
    """Words at a place; escaped."""
    return element("text", escape(words), x=float(x), y=float(y), **values)


def title(words: str) -> str:
    """Tooltip and screen-reader name of the element it stands in."""
    return f"<title>{escape(words)}</title>"


def path(points: Iterable[Pair], *, closed: bool = False) -> str:
    """Path data through points."""
    body = "L".join(f"{number(float(p[0]))} {number(float(p[1]))}" for p in points)
    return f"M{body}{'Z' if closed else ''}"


def document(
    width: float, height: float, body: str, *, name: str, style: str = "", description: str = ""
) -> str:
    """Whole document with a name for screen readers.

    Parameters
    ----------
    width, height : float
        Size of the drawing's own units; it scales to its place.
    body : str
        SVG.
    name, description : str
        Read out loud instead of the picture.
    style : str
        CSS.
    """
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(width)} {number(height)}" role="img" '
        f'font-family="system-ui, sans-serif"><title>{escape(name)}</title><desc>{escape(description)}</desc>'
        f"<style>{style}</style>{body}</svg>\n"
    )
