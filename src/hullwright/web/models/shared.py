"""Links to one house that only look and that end."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from hullwright.app.access import LINK_DAYS, MOST_LINK_DAYS
from hullwright.web.models.common import Answer, Given, Sent


class LinkAsk(Sent):
    """For whom a link is, and how long it lasts."""

    name: Annotated[str, Field(min_length=1, max_length=100)]
    days: Annotated[int, Field(ge=1, le=MOST_LINK_DAYS)] = LINK_DAYS


class LinkMade(Answer):
    """A link: shown once."""

    id: str
    address: str = Field(description="with the key in the fragment; never given again")
    svg: str = Field(description="the address as a QR code")
    ends_at: str


class Link(Given):
    """A link without its key."""

    id: str
    name: str
    made_by: str
    made_at: str
    ends_at: str
    uses: int = Field(description="how often it was opened")
    state: Literal["open", "ended", "taken back"]


class Links(Answer):
    """Links of a house."""

    links: list[Link]
