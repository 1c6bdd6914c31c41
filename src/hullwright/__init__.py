"""hullwright: from a building file to one closed air- and water-tight layer.

The jobs of the command line as functions; each gives a typed object with ``to_json()``::

    import hullwright

    hullwright.check("house.yaml").closed
    planned = hullwright.plan("house.yaml", budget=9000)
    hullwright.order(planned).to_json()
    hullwright.ready("house.yaml", "main/east").ready

Nothing heavy is imported before one of them is used. Three jobs (``joints``, ``fantest``, ``leaks``) share their name with
the room that does them: the room can be called, too.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import Any

_JOBS = (
    "check",
    "curve",
    "fantest",
    "film",
    "hunt",
    "joints",
    "leaks",
    "load",
    "new",
    "order",
    "plan",
    "worth",
)
_RECORD = (
    "backup",
    "experience",
    "fasteners",
    "film_lots",
    "holes",
    "issue",
    "log",
    "log_add",
    "mockup",
    "ok_to_cover",
    "rates",
    "readings",
    "ready",
    "restore",
    "revisions",
    "states",
    "tape",
    "ticket",
    "use",
    "verify",
)
_ROOMS = {"joints", "fantest", "leaks"}

_PUBLIC = ("HullwrightError", *_JOBS, *_RECORD)


class _Room(ModuleType):
    """A room that is also a job."""

    def __call__(self, *args: Any, **options: Any) -> Any:
        """Do the job of the room's name."""
        return getattr(import_module("hullwright.api"), self.__name__.rpartition(".")[2])(*args, **options)


class _Package(ModuleType):
    """The package: a room that is a job becomes callable the moment it is imported."""

    def __setattr__(self, name: str, value: Any) -> None:
        """Take a sub-module."""
        if name in _ROOMS and isinstance(value, ModuleType):
            value.__class__ = _Room
        super().__setattr__(name, value)

    def __getattr__(self, name: str) -> Any:
        """Import a job when it is first asked for."""
        if name in _ROOMS:
            return import_module(f"hullwright.{name}")
        if name in _JOBS:
            return getattr(import_module("hullwright.api"), name)
        if name in _RECORD:
            return getattr(import_module("hullwright.app.record_jobs"), name)
        if name == "HullwrightError":
            return import_module("hullwright.errors").HullwrightError
        raise AttributeError(f"module 'hullwright' has no attribute {name!r}")

    def __dir__(self) -> list[str]:
        """List the public names."""
        return sorted({*super().__dir__(), *_PUBLIC})


sys.modules[__name__].__class__ = _Package
