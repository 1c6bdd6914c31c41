"""Houses put together at random."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st
from joint_kit import Roof, house, mass, neighbour, rect, window

pitches = st.sampled_from([12.0, 25.0, 38.0, 45.0, 52.0])
bearings = st.sampled_from([0.0, 90.0, 180.0, 270.0])
roofs = st.one_of(
    st.just(Roof("flat")),
    st.builds(lambda h: Roof("flat", parapet_height=h, parapet_thickness=0.25), st.sampled_from([0.3, 0.8])),
    st.builds(lambda p, b: Roof("shed", p, b), pitches, bearings),
    st.builds(lambda p, b: Roof("gable", p, b), pitches, bearings),
    st.builds(lambda p, b: Roof("hip", p, b), pitches, bearings),
)
tops = st.sampled_from(["roof deck", "roof deck", "roof deck", "ceiling"])
bottoms = st.sampled_from([("slab", 0.0), ("slab", -0.3), ("basement", -2.4), ("crawl space", -0.6)])
storeys = st.sampled_from([(2.7,), (3.0,), (3.0, 2.6)])
steps = st.sampled_from([-4.0, -1.5, 0.0, 2.0, 5.0])


@st.composite
def houses(draw):
    level = draw(bottoms)
    main = mass(storeys=draw(storeys), roof=draw(roofs), top=draw(tops), bottom=level[0], level=level[1])
    masses = [main]
    if draw(st.booleans()):
        kind, low = draw(bottoms)
        x, y = draw(steps), draw(steps)
        outline = rect(
            x, y - 3, x + draw(st.sampled_from([4.0, 6.0, 12.0])), y + draw(st.sampled_from([3.0, 5.0, 8.0]))
        )
        wing = mass(
            "wing", outline, storeys=draw(storeys), roof=draw(roofs), top=draw(tops), bottom=kind, level=low
        )
        masses.append(replace(wing, framing=draw(st.sampled_from(["shared", "shared", "own"]))))
    if draw(st.booleans()):
        masses.append(
            mass("garage", rect(10, 1, 14, 5), storeys=draw(storeys), roof=draw(roofs), inside=False)
        )
    if draw(st.booleans()):
        x = draw(st.sampled_from([-1.0, 0.0, 2.0]))
        y = draw(st.sampled_from([-1.0, 0.0, 1.5]))
        masses.append(
            mass(
                "upper",
                rect(x, y, 8, 6),
                base=main.wall_top,
                roof=draw(roofs),
                top=draw(tops),
                bottom="outside air" if min(x, y) < 0 else "on mass",
            )
        )
    sides = draw(st.sets(st.sampled_from([("party wall", 3), ("shaft", 2)])))
    openings = (window(),) if draw(st.booleans()) else ()
    return house(*masses, neighbours=tuple(neighbour(*side) for side in sides), openings=openings)
