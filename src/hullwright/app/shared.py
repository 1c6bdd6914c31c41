"""Links to one house that only look and that end: made, opened, taken back."""

from __future__ import annotations

import secrets
import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from hullwright.app.access import ENDED, LINK_DAYS, MOST_LINK_DAYS, Access, Visitor, new_device, shown_name
from hullwright.app.refusals import ForbiddenError, NotSignedInError, UnknownError
from hullwright.errors import InputError, Problem, Where
from hullwright.store.access import LinkRow

LOOKS: Final = "guest"
"""Role of those who come by a link."""
MOST_NAME: Final = 100
MOST_OPENED: Final = 50
"""How often one link lets a device in: one that is passed on and on comes to an end before its time (estimate)."""


@dataclass(frozen=True, slots=True)
class Made:
    """A link, shown once.

    Parameters
    ----------
    id, key : str
    ends : datetime
    """

    id: str
    key: str
    ends: datetime


def make(access: Access, by: Visitor, house: str, name: str, days: int = LINK_DAYS) -> Made:
    """Make a link to a house.

    Parameters
    ----------
    access : Access
    by : Visitor
    house : str
    name : str
        Whom or what it is for.
    days : int
        Life [days]; 1 to 90.

    Raises
    ------
    InputError
        Where name or life are not allowed: nothing is clamped.
    UnknownError
        Where the one who makes it is not in that house.
    """
    by.check("people", house)
    problems = []
    if isinstance(days, bool) or not 1 <= days <= MOST_LINK_DAYS:
        allowed = f"1 to {MOST_LINK_DAYS} days"
        problems.append(Problem("a link can't last so long", Where(key="days"), str(days)[:80], allowed))
    if not name.strip() or len(name) > MOST_NAME or not name.isprintable():
        allowed = f"1 to {MOST_NAME} characters that can be shown"
        problems.append(Problem("a link needs a name", Where(key="name"), repr(name)[:80], allowed))
    if problems:
        raise InputError("this link can't be made", problems)
    now = access.now()
    made = Made(str(uuid.uuid4()), secrets.token_urlsafe(32), now + timedelta(days=days))
    row = LinkRow(
        made.id, str(uuid.uuid4()), house, name, by.name, now.isoformat(), made.ends.isoformat(), ""
    )
    access.store.add_link(row, made.key, LOOKS, f"link: {name}")
    access.note(by, "make link", house, f"{name}, until {row.ends_at}")
    return made


def enter(access: Access, key: str, device_name: str, token: str | None) -> str | None:
    """Open a house with the key of a link.

    Parameters
    ----------
    access : Access
    key : str
    device_name : str
    token : str or None
        Of the session that this browser has already.

    Returns
    -------
    str or None
        Token of the session: a new one, or the browser's own where its person is in that house anyway. None where the key is of no link.

    Raises
    ------
    NotSignedInError
        Where the link has ended or was taken back.
    ForbiddenError
        Where it was opened :data:`MOST_OPENED` times already, or the browser is signed in for another house: that session, and
        what waits there to be sent, is not thrown away.
    """
    fresh, device, code = new_device()
    now = access.now().isoformat()
    own = _own(access, token)
    if own is not None and token is not None:
        kept = _keep_own(access, key, own, token)
        if kept is not None or not own.ends_at:
            return kept
    found = access.store.open_link(key, (device, shown_name(device_name)), fresh, code, now, most=MOST_OPENED)
    if found is None:
        return None
    link, lets_in = found
    line = (f"link: {link.name}", device if lets_in else "")
    action = "open link" if lets_in else "refuse link"
    access.store.add_audit((now, *line, action, link.house, shown_name(device_name)))
    if not link.open_at(now):
        raise NotSignedInError(ENDED)
    if not lets_in:
        raise ForbiddenError(f"this link was opened {MOST_OPENED} times already: ask for a new one")
    return fresh


def listed(access: Access, by: Visitor, house: str) -> list[dict[str, Any]]:
    """Give the links of a house with their end and how often each was opened; never a key."""
    by.check("people", house)
    now = access.now().isoformat()
    return [
        {
            "id": link.id,
            "name": link.name,
            "made_by": link.made_by,
            "made_at": link.made_at,
            "ends_at": link.ends_at,
            "uses": uses,
            "state": "taken back" if link.taken_back_at else "open" if link.open_at(now) else "ended",
        }
        for link, uses in access.store.links(house)
    ]


def take_back(access: Access, by: Visitor, house: str, link: str) -> None:
    """End a link and every session that was opened with it.

    Raises
    ------
    UnknownError
        Where this house has no such link, or it was taken back already.
    """
    by.check("people", house)
    if not access.store.take_link_back(link, house, access.now().isoformat()):
        raise UnknownError("there is no such link")
    access.note(by, "take link back", house, link)


def _own(access: Access, token: str | None) -> Visitor | None:
    """Give who is signed in in this browser already, by a link or as a person."""
    try:
        visitor = access.visitor(token)
    except (NotSignedInError, ForbiddenError):
        return None
    return None if visitor.state == "revoked" else visitor


def _keep_own(access: Access, key: str, own: Visitor, token: str) -> str | None:
    link = access.store.find_link(key)
    if link is None:
        return None
    if own.ends_at:
        # A link that is opened again in one browser goes on with its session; another link takes its place.
        return token if own.person == link.person else None
    if not link.open_at(access.now().isoformat()):
        access.note(own, "refuse link", link.house, link.name)
        raise NotSignedInError(ENDED)
    if own.state == "active" and own.within(link.house):
        access.note(own, "open link", link.house, f"{link.name}: signed in already")
        return token
    access.note(own, "refuse link", link.house, f"{link.name}: signed in for another house")
    raise ForbiddenError(
        f"this browser is signed in as {own.name} already: open the link in a private window or another browser"
    )
