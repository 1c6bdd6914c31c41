"""Entries as clients make them."""

import sys
import uuid
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from types import MappingProxyType

import pytest

from hullwright.proof.entries import Entry, Spot, Stamp
from hullwright.store import postgres_sql as psql
from hullwright.store import sql
from hullwright.store.database import Store
from hullwright.store.entries import Sending
from hullwright.store.place import Address

sys.path.insert(0, str(Path(__file__).parent))

NOON = datetime(2024, 5, 3, 17, 0, tzinfo=UTC)


@pytest.fixture
def remark():
    def make(text="dry", sequence=1, device="p1", key=None, **more):
        stamp = Stamp(
            "lead", device, datetime(2024, 5, 3, 12, tzinfo=timezone(timedelta(hours=-5))), sequence
        )
        return Entry(
            key or str(uuid.uuid4()),
            "remark",
            stamp,
            Spot("S1", "horizontal seam", "F1", (1.0, 2.0, 3.0), "v1"),
            MappingProxyType({"text": text}),
            **more,
        )

    return make


@pytest.fixture
def sending():
    return Sending(NOON)


@pytest.fixture
def layouts(place):
    """Schema versions of the kind of store at hand."""
    return psql.SCHEMA if isinstance(place, Address) else sql.SCHEMA


@pytest.fixture
def file_store(tmp_path):
    with Store(tmp_path / "data" / "store.sqlite3") as opened:
        yield opened


@pytest.fixture
def store(place):
    with Store(place) as opened:
        yield opened
