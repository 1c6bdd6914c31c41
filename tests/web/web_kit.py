"""Reads the routes of the service off its routers."""

from hullwright.web.api import ROUTERS


def actions():
    """Path, method and action of every route, read off its dependencies."""
    for router in ROUTERS:
        for route in router.routes:
            found = [name for call in calls(route.dependant) if (name := getattr(call, "action", None))]
            for method in route.methods:
                yield route.path_format, method.lower(), found[0] if found else None


def calls(dependant):
    """Every function that a route depends on."""
    for child in dependant.dependencies:
        yield child.call
        yield from calls(child)
