"""The leaks on the unrolled hull: line weight is expected leakage; the shade is the chance to be the largest."""

from __future__ import annotations

import numpy as np

from hullwright.app.folder import paper, scene
from hullwright.app.leaks import Leakage
from hullwright.report.unrolled import weighed


def leak_picture(answer: Leakage) -> str:
    """Draw the leaks.

    Parameters
    ----------
    answer : Leakage

    Returns
    -------
    str
        SVG document.
    """
    shown = scene(answer.planned)
    mean = answer.now.mean(axis=0)
    total = float(mean.sum())
    shares = {c.id: float(mean[k]) / total for k, c in enumerate(answer.components) if c.sort == "joint"}
    other = 1.0 - sum(shares.values())
    when = "after the test" if answer.test else "as planned"
    middle = float(np.median(answer.ach50))
    heading = f"Where it leaks, {when}: {middle:.2f} air changes at 50 Pa, {other:.0%} of it through units, panels and services"
    return weighed(shown, paper(shown), shares, heading=heading)
