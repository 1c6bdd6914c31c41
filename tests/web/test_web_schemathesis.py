"""The service against its own OpenAPI document, by schemathesis: no crash, documented codes only, answers to their schemas."""

import warnings

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis.errors import Unsatisfiable
from schemathesis.specs.openapi import checks
from web_kit import actions

from hullwright.web.api import document

pytestmark = pytest.mark.usefixtures("idle")
CHECKS = [
    schemathesis.checks.not_a_server_error, checks.status_code_conformance, checks.content_type_conformance,
    checks.response_schema_conformance, checks.unsupported_method,
]  # fmt: skip
LEFT_OUT = {
    ("/api/session", "delete"): "it ends the session that the others ask with; tests of its own",
    ("/api/houses/{house}/jobs/{job}/events", "get"): "a stream; tests of its own",
}
OPERATIONS = sorted((path, method) for path, method, _ in actions() if (path, method) not in LEFT_OUT)
MODES = (schemathesis.GenerationMode.POSITIVE, schemathesis.GenerationMode.NEGATIVE)


@pytest.fixture(scope="module")
def asked(old_world):
    """The document with a house that is there, so that most requests pass the door."""
    found = document(old_world.app)
    return schemathesis.openapi.from_dict(found)


def try_out(page, operation, examples, number):
    for mode in MODES:
        page.right = mode is MODES[0]
        strategy = operation.as_strategy(generation_mode=mode)

        @seed(number)
        @settings(
            max_examples=examples, deadline=None, database=None, phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )  # fmt: skip
        @given(case=strategy)
        def one(case):
            if "house" in (case.path_parameters or {}) and page.right:
                case.path_parameters["house"] = "shed"
            page.sent += 1
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # of the client's library, about itself
                request = case.as_transport_kwargs(base_url="http://localhost:8765")
                headers = {**request.pop("headers", {}), **page.headers_of()}
                request.pop("cookies", None)
                answer = page.request(
                    request.pop("method"), request.pop("url"), headers=headers,
                    **{key: value for key, value in request.items() if key in {"params", "json", "data", "content"} and value is not None},
                )  # fmt: skip
                try:
                    case.validate_response(answer, checks=CHECKS)
                except BaseExceptionGroup as found:  # of many kinds; as one that travels between processes
                    raise AssertionError("; ".join(str(each) for each in found.exceptions)) from None

        try:
            one()
        except Unsatisfiable:
            assert mode is MODES[1]  # nothing wrong can be made where nothing is asked for


class Asker:
    """A browser that counts, with the token that the page sends, or without anything."""

    def __init__(self, page, *, signed):
        self.page, self.signed, self.sent, self.right = page, signed, 0, True

    def headers_of(self):
        return {"X-Hullwright-Token": self.page.who["token"]} if self.signed else {}

    def request(self, *args, **more):
        return self.page.request(*args, **more)


@pytest.mark.parametrize(("path", "method"), OPERATIONS)
def test_as_a_lead(old_desk, asked, path, method):
    asker = Asker(old_desk, signed=True)
    try_out(asker, asked[path][method.upper()], 4, 1)
    assert asker.sent >= 4


@pytest.mark.parametrize(("path", "method"), OPERATIONS)
def test_without_a_session(old_world, asked, path, method):
    page = old_world.page()
    asker = Asker(page, signed=False)
    try_out(asker, asked[path][method.upper()], 1, 2)
    assert asker.sent >= 1


@pytest.mark.slow
@pytest.mark.parametrize(("path", "method"), OPERATIONS)
def test_as_a_lead_for_long(old_desk, asked, path, method):
    for number in range(3):
        try_out(Asker(old_desk, signed=True), asked[path][method.upper()], 60, number)


def test_nothing_else_is_left_out():
    every = {(path, method) for path, method, _ in actions()}
    assert set(LEFT_OUT) < every
    assert len(OPERATIONS) == len(every) - len(LEFT_OUT)
