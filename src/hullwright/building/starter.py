"""A commented building file to start from: a small simple house that is valid as it stands."""

from __future__ import annotations

from importlib import resources
from typing import Final

from hullwright.errors import InputError, Problem

_FILES: Final = {"us": "starter-us.yaml", "metric": "starter-metric.yaml"}


def starter(system: str = "us") -> str:
    """Give a commented building file of a small simple house.

    Parameters
    ----------
    system : str
        ``us`` (feet and inches) or ``metric``.

    Returns
    -------
    str
        Text of a valid building file.

    Raises
    ------
    InputError
        Where `system` is another word.

    Examples
    --------
    >>> starter("us").splitlines()[0]
    '# A building file: the house as hullwright reads it. Change it line by line to your house.'
    """
    if system not in _FILES:
        problem = Problem("no such system of units", got=system, allowed="us, metric")
        raise InputError(f"no starter file for {system!r}", [problem])
    return resources.files("hullwright.building").joinpath(_FILES[system]).read_text(encoding="utf-8")
