"""The house by state as a picture: every joint of the unrolled hull as the log has it."""

from __future__ import annotations

from hullwright import hull as hull_room
from hullwright.app.house import House
from hullwright.app.proof import States
from hullwright.report.faces import Scene
from hullwright.report.states import house_by_state
from hullwright.units import Show


def state_picture(house: House, found: States) -> str:
    """Draw the house by state.

    Parameters
    ----------
    house : House
    found : States
        As :func:`hullwright.app.proof.states` gives them for this house.

    Returns
    -------
    str
        SVG document.
    """
    scene = Scene(house.hull, house.joints, {}, Show(house.building.system))
    layout = [
        (piece.face, piece.transform) for sheet in hull_room.unroll(house.hull) for piece in sheet.pieces
    ]
    states = {joint.joint: joint.state.value for joint in found.joints}
    return house_by_state(scene, layout, states, heading=f"{house.building.name}: every joint by its state")
