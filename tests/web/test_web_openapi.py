"""The OpenAPI document is fresh, complete, and what the service really answers."""

import json
from pathlib import Path

import jsonschema
import pytest
from web_kit import actions

from hullwright import errors
from hullwright.app import refusals
from hullwright.app.access import PERMISSIONS
from hullwright.web import faults
from hullwright.web.api import document
from hullwright.web.openapi import text

KEPT = Path(__file__).parents[2] / "web" / "openapi.json"


def test_kept_document_is_fresh():
    assert KEPT.read_text(encoding="utf-8") == text(), "run: python -m hullwright.web.openapi"


def operations(found):
    for path, methods in found["paths"].items():
        for method, operation in methods.items():
            yield path, method, operation


def test_every_operation_says_all_its_errors_in_the_one_shape(old_world):
    for path, method, operation in operations(document(old_world.app)):
        for code in faults.WORDS:
            schema = operation["responses"][str(code)]["content"]["application/json"]["schema"]
            assert schema == {"$ref": "#/components/schemas/Error"}, (path, method, code)


def test_every_kind_of_error_has_a_code_that_is_documented():

    def tree(kind):
        yield kind
        for child in kind.__subclasses__():
            yield from tree(child)

    for kind in tree(errors.HullwrightError):
        if kind.__module__ in {errors.__name__, refusals.__name__}:
            assert kind.kind in faults.STATUS, kind
    assert {code for kind, code in faults.STATUS.items() if kind != "method"} <= set(faults.WORDS)


def test_every_route_of_the_service_is_documented_and_names_its_action(old_world):
    documented = {(path, method) for path, method, _ in operations(document(old_world.app))}
    found = list(actions())
    assert len(found) > 40
    assert {(path, method) for path, method, _ in found} == documented
    for path, _, action in found:
        assert action in PERMISSIONS or path == "/api/session", path


def test_ids_of_operations_are_unique(old_world):
    ids = [operation["operationId"] for _, _, operation in operations(document(old_world.app))]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize(
    "path",
    [
        "/api/session", "/api/houses", "/api/houses/shed", "/api/houses/shed/check", "/api/houses/shed/joints", "/api/houses/shed/geometry",
        "/api/houses/shed/states", "/api/houses/shed/holes", "/api/houses/shed/lots", "/api/houses/shed/entries", "/api/houses/shed/testday",
        "/api/houses/shed/jobs", "/api/houses/shed/quarantine", "/api/houses/shed/queue", "/api/people", "/api/devices", "/api/audit",
    ],
)  # fmt: skip
def test_answers_keep_to_their_models(old_world, old_desk, path):

    found = document(old_world.app)
    template = path.replace("shed", "{house}")
    answer = old_desk.get(path)
    assert answer.status_code == 200
    schema = found["paths"][template]["get"]["responses"]["200"]["content"]["application/json"]["schema"]
    jsonschema.Draft202012Validator(schema | {"components": found["components"]}).validate(answer.json())


def test_document_is_served_too(old_world):
    assert old_world.page().get("/api/openapi.json").json() == json.loads(text())
