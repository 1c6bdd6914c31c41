"""Which working day does an entry belong to, and which crew: as people on site would say it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, timedelta

from hullwright.proof.entries import Entry
from hullwright.proof.rules import LOT


def same_name(text: str) -> str:
    """Give a name as it is compared: letter case and spaces make no other crew, product or surface.

    Examples
    --------
    >>> same_name(" Crew  A ") == same_name("crew a")
    True
    """
    return " ".join(text.casefold().split())


def work_days(entries: Iterable[Entry]) -> dict[str, date]:
    """Give the working day of each entry by its id.

    The day is the device's own. Work of a crew that goes on over midnight, with no break longer than four hours and before six
    in the morning, belongs to the day on which it began.

    Parameters
    ----------
    entries : iterable of Entry
        Those that name a crew count for that crew.

    Examples
    --------
    >>> from datetime import datetime
    >>> from hullwright.proof.entries import Stamp
    >>> made = [Entry(str(h), "done", Stamp("a", "p", datetime.fromisoformat(f"2024-05-0{d}T{h:02}:00:00-05:00"), h), what={"crew": "A"})
    ...         for d, h in ((3, 22), (4, 1), (4, 9))]
    >>> [day.day for day in work_days(made).values()]
    [3, 3, 4]
    """
    crews: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        crews[same_name(str(entry.what.get("crew", "")))].append(entry)
    out: dict[str, date] = {}
    gap = timedelta(hours=LOT["night_gap_h"])
    for own in crews.values():
        before: Entry | None = None
        for entry in sorted(own, key=lambda one: (one.stamp.time, one.stamp.sequence)):
            time, day = entry.stamp.time, entry.stamp.time.date()
            goes_on = before is not None and time - before.stamp.time <= gap
            if before is not None and goes_on and time.hour < LOT["night_until_h"]:
                day = out[before.id]
            out[entry.id] = day
            before = entry
    return out
