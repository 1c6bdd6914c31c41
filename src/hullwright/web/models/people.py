"""Sessions, people, devices, invitations, the audit trail."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from hullwright.web.models.common import Answer, Given, Id, Name, Sent

Role = Literal["lead", "crew", "guest", "trade"]
Key = Annotated[str, Field(min_length=1, max_length=200, description="from the URL fragment")]


class SignIn(Sent):
    """A key from the desk's address, an invitation or a shared link."""

    key: Key
    device: Annotated[str, Field(max_length=100, description="what to call this device")] = "browser"


class Session(Answer):
    """Who is signed in here."""

    state: Literal["active", "waiting"] = Field(
        description="waiting: the desk has not confirmed this device yet"
    )
    person: str
    role: Role
    device: str = Field(description="what entries of this device must carry as `device`")
    check_code: str = Field(description="said aloud at the desk when a device is confirmed")
    token: str = Field(description="to be sent as X-Hullwright-Token with every write")
    houses: list[str]
    may: list[str] = Field(description="actions that this role may do")
    ends_at: str = Field(description="end of the shared link that opened this session; '' else")


class SeenOffline(Sent):
    """The page came up without signal on this device: served by its own worker, whose own call to the service failed."""

    seen_offline: Literal[True]


class Person(Given):
    """A person of a house."""

    id: str
    name: str
    role: Role
    houses: list[str]


class People(Answer):
    """People."""

    people: list[Person]


class Device(Given):
    """A device that signed in."""

    id: str
    name: str
    person: str
    person_name: str
    role: Role
    state: Literal["waiting", "active", "revoked"]
    check_code: str
    made_at: str
    seen_at: str
    here: bool = Field(description="the device that asks")
    ready_at: str = Field(
        description="when this very device was last seen to come up without signal; '' where it was not"
    )


class Devices(Answer):
    """Devices."""

    devices: list[Device]


class InvitationAsk(Sent):
    """Whom to invite, to which houses."""

    name: Name
    role: Role
    houses: Annotated[list[Id], Field(min_length=1, max_length=200)]


class Invitation(Answer):
    """An invitation: shown once, used once, good for ten minutes."""

    id: str
    address: str = Field(description="with the key in the fragment")
    svg: str = Field(description="the address as a QR code")
    expires_at: str


class Audit(Given):
    """One line of the audit trail."""

    number: int
    time: str
    person: str
    device: str
    action: str
    house: str
    what: str


class AuditTrail(Answer):
    """Who did what, the last first."""

    lines: list[Audit]
