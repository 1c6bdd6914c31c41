r"""How people read a place: "east wall, horizontal seam 2, at 11'-8\""; the id stays in every file and answer."""

from __future__ import annotations

from hullwright.joints.model import Joint
from hullwright.units import Show, feet_inches


def say(joint: Joint, show: Show, at: float | None = None) -> str:
    r"""Say a joint, or a place on it.

    Parameters
    ----------
    joint : Joint
    show : Show
        Units of the reader.
    at : float or None
        Distance along the joint from its first point [m]. It is said from the left end of the wall for what runs along it, from the
        bottom for what runs up it, so that a tape measure finds it; for anything else from the joint's own first point.

    Returns
    -------
    str
        Without a place, a line that is cut into several says which part it is.

    Examples
    --------
    >>> import numpy as np
    >>> from hullwright.joints.model import JointKind
    >>> seam = Joint("main/east/1.2.1", JointKind.SEAM_LEVEL, np.zeros((2, 3)), 4.0, 0.0, ("main/east",), ("wood", "wood"), 0.0, 0.0,
    ...              True, True, 0.0, 2.4, "sheathing", "main", name="east wall, horizontal seam 2", part=1, offset=2.0)
    >>> say(seam, Show("us"), 1.556), say(seam, Show("metric"))
    ('east wall, horizontal seam 2, at 11\'-8"', 'east wall, horizontal seam 2, part 1')
    """
    if at is None or joint.kind.piece:
        return f"{joint.name}, part {joint.part}" if joint.part else joint.name
    return f"{joint.name}, at {tape(joint.offset + at, show)}"


def tape(metres: float, show: Show) -> str:
    r"""Print a distance as a tape measure on the wall is read: whole inches, or centimeters [m].

    Examples
    --------
    >>> tape(3.556, Show("us")), tape(3.556, Show("metric"))
    ('11\'-8"', '3.56 m')
    """
    return feet_inches(metres, 1) if show.us else f"{metres + 0.0:.2f} m"
