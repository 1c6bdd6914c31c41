"""An address as a QR code."""

from __future__ import annotations

import io


def svg(text: str) -> str:
    """Draw a QR code (ISO/IEC 18004) as SVG.

    Parameters
    ----------
    text : str

    Returns
    -------
    str

    Examples
    --------
    >>> svg("http://localhost:8765/#invitation=x")[:4]
    '<svg'
    """
    import segno  # noqa: PLC0415 - only where a code is wanted

    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        out, kind="svg", xmldecl=False, scale=6, border=4, light="#fff"
    )
    return out.getvalue().decode("utf-8").strip()


def text(words: str) -> str:
    """Draw a QR code as text for a terminal, two rows of it in one line.

    Parameters
    ----------
    words : str

    Returns
    -------
    str

    Examples
    --------
    >>> len(text("http://192.168.1.20:8767/").splitlines()) > 10
    True
    """
    import segno  # noqa: PLC0415 - only where a code is wanted

    out = io.StringIO()
    segno.make(words, error="m", micro=False).terminal(out, border=2, compact=True)
    return out.getvalue().rstrip("\n")
