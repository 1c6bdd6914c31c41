"""What all models share."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Id = Annotated[str, Field(min_length=1, max_length=60, pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]
Uuid = Annotated[
    str, Field(pattern=r"^[0-9a-fA-F]{8}-[0-9a-fA-F]{4}-[0-9a-fA-F]{4}-[0-9a-fA-F]{4}-[0-9a-fA-F]{12}$")
]
Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$", description="SHA-256, hexadecimal")]
Name = Annotated[str, Field(min_length=1, max_length=200)]


class Sent(BaseModel):
    """What a client sends: unknown keys and loose types are refused."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


class Given(BaseModel):
    """What the service gives: keys may be added later, a key once there keeps its meaning."""

    model_config = ConfigDict(extra="allow")


class Head(Given):
    """Name and version of an answer."""

    name: str
    version: int


class Caution(Given):
    """Usual caution."""

    text: str
    source: str


class Answer(Given):
    """An answer as every command prints it."""

    schema_: Annotated[Head, Field(alias="schema")]
    cautions: list[Caution]


class Evidence(Given):
    """How far a figure can be trusted."""

    mark: str
    source: str


class Figure(Given):
    """A figure with its evidence."""

    value: float
    unit: str
    evidence: Evidence


class Spread(Given):
    """A figure with its spread."""

    value: float
    low: float
    high: float
    level: float


class Percentiles(Given):
    """A drawn figure."""

    p10: float
    p50: float
    p90: float
    expected: float | None = None


class Where(Given):
    """Where a problem stands."""

    file: str | None
    line: int | None
    column: int | None
    key: str | None


class Problem(Given):
    """One thing that is wrong."""

    message: str
    where: Where
    got: str
    allowed: str
    hint: str


class ErrorBody(Given):
    """What went wrong."""

    kind: str
    message: str
    problems: list[Problem]


class Error(Answer):
    """The one shape of every error."""

    error: ErrorBody


class Done(Given):
    """Nothing more to say."""

    done: bool
