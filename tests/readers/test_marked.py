"""One reader of marked text for building files and fan tests: the same refusals, each in its own words."""

from __future__ import annotations

import pytest

from hullwright.building import nodes
from hullwright.errors import BuildingFileError, FanTestError
from hullwright.readers import fantest_tree

READERS = [(nodes, BuildingFileError, "building file"), (fantest_tree, FanTestError, "fan test")]
BAD = [
    ("a: &x 1\nb: *x\n", 1, "anchors"),
    ("a: !!python/object:os.system 1\n", 1, "tags"),
    ("a: 1\n---\nb: 2\n", 2, "second document"),
    ("a: 1\nb: 2\na: 3\n", 3, "stated twice"),
    ("? [1, 2]\n: 3\n", 1, "a key must be a word"),
    ("a: [1, 2\nb: 3\n", 2, "can't be read as YAML"),
    ("- 1\n- 2\n", 1, "a table of keys"),
    ("# nothing\n", 1, "empty"),
    ("a: 1\nb: \x07\n", 2, "plain text"),
    ("a: " + "[" * 60 + "]" * 60 + "\n", 1, "nested too deep"),
]


@pytest.mark.parametrize(("reader", "error", "noun"), READERS, ids=["building file", "fan test"])
@pytest.mark.parametrize("bad", BAD, ids=[words for _, _, words in BAD])
def test_what_is_not_plain_is_refused_with_its_place(reader, error, noun, bad):
    text, line, words = bad
    with pytest.raises(error) as caught:
        reader.compose(text, "t.yaml")
    (problem,) = caught.value.problems
    assert words in problem.message
    assert (problem.where.file, problem.where.line) == ("t.yaml", line)
    if words in ("empty", "a table of keys"):
        assert noun in str(caught.value)


@pytest.mark.parametrize(("reader", "error", "noun"), READERS, ids=["building file", "fan test"])
@pytest.mark.parametrize("raw", [b"\xff\xfea", b"a: \xff", b"a" * 5_000_001])
def test_bytes_that_are_no_text_are_refused(reader, error, noun, raw):
    with pytest.raises(error, match=noun):
        reader.decode(raw, "t.yaml")
    assert reader.decode(b"\xef\xbb\xbfa: 1", "t.yaml") == "a: 1"


def test_a_table_of_many_tests_may_be_larger_than_one_test():
    raw = b"house,pressure\n" + b"a,50\n" * 1_200_000
    assert len(fantest_tree.decode(raw, "t.csv", most=10_000_000)) == len(raw)
    with pytest.raises(FanTestError, match="too large"):
        fantest_tree.decode(raw, "t.csv")
