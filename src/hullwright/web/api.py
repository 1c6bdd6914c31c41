"""The service as one ASGI application."""

from __future__ import annotations

from importlib.metadata import version
from typing import Any, Final

from fastapi import FastAPI
from fastapi.responses import JSONResponse

from hullwright.web import faults, pages
from hullwright.web.gate import Gate
from hullwright.web.models.common import Error
from hullwright.web.routes import drawings, fantest, houses, people, session, shared, site, work
from hullwright.web.service import Service

ROUTERS: Final = (
    session.router,
    houses.router,
    work.router,
    fantest.router,
    site.router,
    drawings.router,
    people.router,
    shared.router,
)
DESCRIPTION: Final = """\
Houses, plans and logs. Every write carries the token of `GET /api/session` as `X-Hullwright-Token`; the session itself is a
cookie. Every error has one shape. Lengths in metres and other SI units as the keys say; money in the file's currency."""


def create(service: Service) -> FastAPI:
    """Make the application.

    Parameters
    ----------
    service : Service

    Returns
    -------
    FastAPI
    """
    app = FastAPI(
        title="hullwright", version=version("hullwright"), description=DESCRIPTION, docs_url=None, redoc_url=None,
        openapi_url=None, responses=faults.DOCUMENTED, separate_input_output_schemas=False,
        generate_unique_id_function=lambda route: route.name,
    )  # fmt: skip
    app.state.service = service
    for router in ROUTERS:
        app.include_router(router)
    faults.install(app)

    @app.get("/api/openapi.json", include_in_schema=False)
    def openapi() -> JSONResponse:
        return JSONResponse(document(app))

    pages.install(app)
    app.add_middleware(Gate, service=lambda: app.state.service)
    return app


def document(app: FastAPI) -> dict[str, Any]:
    """Give the OpenAPI document: routes, models, every error."""
    found: dict[str, Any] = app.openapi()
    found["components"]["securitySchemes"] = {
        "session": {"type": "apiKey", "in": "cookie", "name": "hullwright_session"},
        "token": {"type": "apiKey", "in": "header", "name": "X-Hullwright-Token"},
    }
    for path, methods in found["paths"].items():
        for method, operation in methods.items():
            first = path == "/api/session" and method == "post"
            keys: dict[str, list[str]] = {"session": []} if method == "get" else {"session": [], "token": []}
            operation["security"] = [] if first else [keys]
    assert Error.__name__ in found["components"]["schemas"]
    return found
