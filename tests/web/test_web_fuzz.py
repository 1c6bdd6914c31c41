"""Whatever is sent to whichever route, made from its own schema and beyond it: an answer of the one shape, never a crash."""

import random
import re
import string

import pytest

from hullwright.web import faults
from hullwright.web.api import document

pytestmark = pytest.mark.usefixtures("idle")

ODD = [
    None, True, 0, -1, 1e308, -1e-308, 2**63, "", " ", "a", "..", "../../etc/passwd", "\u0000", "\u202e", "'", '"; DROP TABLE entry; --', "<script>alert(1)</script>",
    "{{7*7}}", "é" * 50, "x" * 5000, [], {}, [[[[]]]], {"$ref": "#"}, "0" * 64, "11111111-2222-4333-8444-555555555555", "shed", "main/south", "NaN", "1e999",
]  # fmt: skip


class Maker:
    """Values from a JSON Schema, with something odd now and then."""

    def __init__(self, found, seed):
        self.schemas, self.dice = found["components"]["schemas"], random.Random(seed)

    def value(self, schema, depth=0):
        if self.dice.random() < 0.12 or depth > 6:
            return self.dice.choice(ODD)
        if "$ref" in schema:
            return self.value(self.schemas[schema["$ref"].rsplit("/", 1)[1]], depth + 1)
        if "anyOf" in schema:
            return self.value(self.dice.choice(schema["anyOf"]), depth + 1)
        if "enum" in schema or "const" in schema:
            return self.dice.choice(schema.get("enum", [schema.get("const")]))
        maker = getattr(self, schema.get("type", "null"), None)
        return maker(schema, depth) if maker else None

    def object(self, schema, depth):
        made = {
            key: self.value(one, depth + 1)
            for key, one in schema.get("properties", {}).items()
            if key in schema.get("required", ()) or self.dice.random() < 0.6
        }
        if isinstance(schema.get("additionalProperties"), dict):
            made[self.dice.choice(["a", "../x"])] = self.value(schema["additionalProperties"], depth + 1)
        return made

    def array(self, schema, depth):
        return [self.value(schema.get("items", {}), depth + 1) for _ in range(self.dice.randint(0, 3))]

    def string(self, schema, _):
        if "64" in schema.get("pattern", ""):
            return "0" * 64
        if "pattern" in schema:
            return self.dice.choice(["shed", "11111111-2222-4333-8444-555555555555", "fantest"])
        return "".join(self.dice.choices(string.printable, k=self.dice.randint(0, 12)))

    def integer(self, schema, _):
        return self.dice.randint(int(schema.get("minimum", -5)), int(min(schema.get("maximum", 100), 10**6)))

    def number(self, schema, _):
        return self.dice.uniform(schema.get("minimum", -5), schema.get("maximum", 100))

    def boolean(self, *_):
        return self.dice.random() < 0.5


def word(dice, value):
    """A value as a part of an address."""
    text = str(dice.choice(ODD)) if dice.random() < 0.2 else str(value)
    return re.sub(r"[^\w.-]", lambda c: "".join(f"%{b:02x}" for b in c[0].encode("utf-8")), text[:300]) or "x"


@pytest.mark.parametrize(
    "seed", [0, 1, *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(2, 60))]
)
def test_no_request_breaks_the_service(old_world, old_desk, seed):
    found = document(old_world.app)
    make, codes = Maker(found, seed), []
    for path, methods in found["paths"].items():
        for method, operation in methods.items():
            if path == "/api/session":
                continue  # signing in and out has tests of its own
            places, query = {}, {}
            for one in operation.get("parameters", ()):
                where = places if one["in"] == "path" else query
                if one["in"] == "path" or one.get("required") or make.dice.random() < 0.5:
                    where[one["name"]] = make.value(one["schema"])
            if make.dice.random() < 0.7:
                places["house"] = "shed"
            filled = {name: word(make.dice, value) for name, value in places.items()}
            address = path.format(**filled)
            body = operation.get("requestBody", {}).get("content", {})
            more = (
                {"json": make.value(body["application/json"]["schema"])} if "application/json" in body else {}
            )
            if "application/octet-stream" in body:
                more = {"content": make.dice.randbytes(50)}
            answer = old_desk.request(
                method, address, params={k: str(v)[:300] for k, v in query.items()}, **more
            )
            codes.append(answer.status_code)
            said = (method, address, more, answer.status_code, answer.text[:300])
            assert answer.status_code < 500, said
            if answer.status_code >= 400:
                assert answer.status_code in {*faults.WORDS, 405}, said
                assert set(answer.json()["error"]) == {"kind", "message", "problems"}, said
    assert sum(code < 300 for code in codes) > 3  # else only the doors were tried
    assert old_world.file.read_text("utf-8").startswith("# An invented shed.")
