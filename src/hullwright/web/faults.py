"""Every error as one JSON shape, and which status code it gets."""

from __future__ import annotations

import logging
import math
from typing import Any, Final

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from hullwright.app.disk import without_folders
from hullwright.app.refusals import TooManyError
from hullwright.errors import HullwrightError
from hullwright.web.models.common import Error

STATUS: Final[dict[str, int]] = {
    "input": 422,
    "quantity": 422,
    "building_file": 422,
    "massing": 422,
    "catalog": 422,
    "fan_test": 422,
    "output": 507,
    "no": 409,
    "hull_open": 409,
    "infeasible": 409,
    "not_signed_in": 401,
    "forbidden": 403,
    "revoked": 403,
    "unknown": 404,
    "changed": 409,
    "too_many": 429,
    "too_large": 413,
    "misdirected": 421,
    "method": 405,
    "request": 400,
    "error": 500,
}
"""Status code by kind of error."""

WORDS: Final[dict[int, str]] = {
    400: "The request can't be read.",
    401: "Not signed in, or the device waits for the desk.",
    403: "Not allowed for this role, this device or this page.",
    404: "No such thing, or not for this person.",
    409: "It changed meanwhile, or the answer is no.",
    413: "Too many bytes.",
    421: "Asked under a name that this service does not answer to.",
    422: "What was sent can't be used: every problem is listed.",
    429: "Too many tries; Retry-After says when again.",
    500: "Our fault; nothing was changed.",
    507: "It could not be written to disk.",
}
DOCUMENTED: Final[dict[int | str, dict[str, Any]]] = {
    code: {"model": Error, "description": text} for code, text in WORDS.items()
}
_LOG: Final = logging.getLogger("hullwright.web")
_KINDS: Final = {404: "unknown", 405: "method", 413: "too_large"}


def error_json(kind: str, message: str, problems: list[dict[str, Any]] | None = None) -> dict[str, Any]:
    """Give the object of every error."""
    error = {"kind": kind, "message": message, "problems": problems or []}
    return {"schema": {"name": "error", "version": 1}, "error": error, "cautions": []}


def respond(error: HullwrightError) -> JSONResponse:
    """Turn an error of ours into a response."""
    headers = {"Retry-After": str(math.ceil(error.wait))} if isinstance(error, TooManyError) else None
    body = error_json(
        error.kind, error.message, [without_folders(problem.to_json()) for problem in error.problems]
    )
    return JSONResponse(body, status_code=STATUS.get(error.kind, 500), headers=headers)


def install(app: FastAPI) -> None:
    """Let every error leave in one shape."""

    @app.exception_handler(HullwrightError)
    async def _ours(_: Request, error: HullwrightError) -> JSONResponse:
        return respond(error)

    @app.exception_handler(RequestValidationError)
    async def _wrong(_: Request, error: RequestValidationError) -> JSONResponse:
        return JSONResponse(
            error_json("input", "the request can't be used", [_problem(one) for one in error.errors()]), 422
        )

    @app.exception_handler(HTTPException)
    async def _http(_: Request, error: HTTPException) -> JSONResponse:
        kind = _KINDS.get(error.status_code, "request")
        return JSONResponse(error_json(kind, str(error.detail)), error.status_code, headers=error.headers)

    @app.exception_handler(Exception)
    async def _crash(request: Request, error: Exception) -> JSONResponse:
        _LOG.error("unforeseen error at %s", request.url.path, exc_info=error)
        return JSONResponse(error_json("error", "something went wrong here; nothing was changed"), 500)


def _problem(one: dict[str, Any]) -> dict[str, Any]:
    place = [str(part) for part in one.get("loc", ())]
    got = repr(one.get("input"))[:120]
    where = {"file": None, "line": None, "column": None, "key": ".".join(place)}
    return {"message": str(one.get("msg", "")), "where": where, "got": got, "allowed": "", "hint": ""}
