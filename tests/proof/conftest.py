"""A maker of stored entries for the tests of states."""

import uuid
from datetime import datetime, timedelta, timezone
from types import MappingProxyType

import pytest

from hullwright.proof.entries import Entry, Receipt, Spot, Stamp
from hullwright.proof.kinds import check

ZONE = timezone(timedelta(hours=-5))


class Maker:
    """Makes entries as the store gives them back: numbered in order, each device counting for itself."""

    def __init__(self):
        self.entries = []
        self._sequence = {}

    def __call__(
        self,
        kind,
        what,
        joint="",
        face="",
        *,
        device="p1",
        known=None,
        supersedes="",
        day=3,
        offset=None,
        place=None,
        joint_kind="",
        mark="",
        run="",
        hour=9.0,
        version=2,
    ):
        number = len(self.entries) + 1
        self._sequence[device] = self._sequence.get(device, 0) + 1
        stamp = Stamp(
            "lead",
            device,
            datetime(2024, 5, day, tzinfo=ZONE) + timedelta(hours=hour),
            self._sequence[device],
            number - 1 if known is None else known,
        )
        entry = Entry(
            str(uuid.uuid4()),
            kind,
            stamp,
            Spot(joint, joint_kind, face, place, "v1", run, mark),
            MappingProxyType(what),
            supersedes,
            Receipt(number, stamp.time, offset),
            version,
        )
        self.entries.append(check(entry))
        return entry


@pytest.fixture
def make():
    return Maker()


@pytest.fixture(scope="session")
def new_maker():
    """Makes makers, for tests that need many."""
    return Maker
