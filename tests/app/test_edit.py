"""One value of a building file changed in its text: that value and nothing else."""

import difflib
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from hullwright.app.edit import change, read_path, remove
from hullwright.errors import InputError

LOADER = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))
TEXTS = {path.stem: path.read_text("utf-8") for path in EXAMPLES}


def plain(text):
    """Source: the YAML library's own reading, scalars left as text."""
    return yaml.load(text, Loader=LOADER)


def paths(tree, above=""):
    """Path of every value of a tree, leaves and branches."""
    pairs = tree.items() if isinstance(tree, dict) else enumerate(tree)
    for key, value in pairs:
        here = f"{above}[{key}]" if isinstance(key, int) else f"{above}.{key}".lstrip(".")
        yield here
        if isinstance(value, (dict, list)):
            yield from paths(value, here)


def at(tree, key):
    for step in read_path(key):
        tree = tree[step]
    return tree


def changed_lines(old, new):
    return [line for line in difflib.ndiff(old.splitlines(), new.splitlines()) if line[0] in "+-"]


def some(text, most=60):
    """Keys spread over the whole file."""
    keys = list(paths(plain(text)))
    return keys[:: max(1, len(keys) // most)]


@pytest.mark.parametrize("name", TEXTS)
def test_single_values_all_over_the_examples_can_be_changed_and_put_back(name):
    text = TEXTS[name]
    for key in some(text):
        value = at(plain(text), key)
        if isinstance(value, str):
            new = change(text, key, "7.5")
            assert at(plain(new), key) == "7.5"
            assert len(changed_lines(text, new)) in {0, 2}, key  # one line out, one line in
            assert change(new, key, value).replace('"', "") == text.replace('"', "")


@pytest.mark.parametrize("name", TEXTS)
def test_items_can_be_taken_out_and_the_rest_stays(name):
    text = TEXTS[name]
    for key in some(text):
        *above, last = read_path(key)
        before = plain(text)
        holder = before
        for step in above:
            holder = holder[step]
        if len(holder) == 1:
            continue  # would be left empty: goes with its key
        del holder[last]
        assert plain(remove(text, key)) == before, key


def test_a_table_that_would_be_left_empty_goes_too():
    assert remove("a: {b: {c: 1}}\nd: 2\n", "a.b.c") == "d: 2\n"


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(sorted(TEXTS)),
    st.randoms(use_true_random=False),
    st.recursive(
        st.text(max_size=20) | st.integers() | st.booleans() | st.floats(allow_nan=False),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
        max_leaves=5,
    ),
)
def test_any_value_anywhere_is_that_value_or_refused(name, dice, value):
    text = TEXTS[name]
    key = dice.choice(list(paths(plain(text))))
    try:
        new = change(text, key, value)
    except InputError:
        return
    before, after = plain(text), plain(new)
    assert at(after, key) == shown(value)
    put(before, key, shown(value))
    assert after == before
    comments = [line.split("#", 1)[1] for line in text.splitlines() if "#" in line]
    kept = sum(comment in new for comment in comments)
    inside = text.count("#") if not isinstance(at(plain(text), key), str) else 0
    assert kept >= len(comments) - inside


def shown(value):
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        return {key: shown(one) for key, one in value.items()}
    if isinstance(value, list):
        return [shown(one) for one in value]
    return str(value)


def put(tree, key, value):
    *above, last = read_path(key)
    for step in above:
        tree = tree[step]
    tree[last] = value


@pytest.mark.parametrize(
    ("text", "key", "value", "expected"),
    [
        ("a: 1\n", "b", "2", "a: 1\nb: 2\n"),
        ("a: 1", "b", "2", "a: 1\nb: 2\n"),
        ("a:\n  b: 1  # one\nc: 2\n", "a.d", 3, "a:\n  b: 1  # one\n  d: 3\nc: 2\n"),
        ("a: {b: 1}\n", "a.c.d", "x", "a: {b: 1, c: {d: x}}\n"),
        ("a: [1, 2]  # two\n", "a[2]", 3, "a: [1, 2, 3]  # two\n"),
        ("a:\n  - b: 1\n    c: 2\n", "a[1]", {"b": 3}, "a:\n  - b: 1\n    c: 2\n  - {b: 3}\n"),
        ("a: {}\n", "a.b", True, "a: {b: yes}\n"),
        ("a: 8:12 # steep\n", "a", "6:12", "a: 6:12 # steep\n"),
    ],
)
def test_additions_go_where_a_person_would_write_them(text, key, value, expected):
    assert change(text, key, value) == expected


@pytest.mark.parametrize("key", ["b.c", "a[0]", "a.b", "a[5]"])
def test_what_leads_nowhere_is_refused(key):
    text = "a: 1\nb: [1]\n"
    if key == "a.b":
        key = "b[0].x"
    with pytest.raises(InputError):
        change(text, key, "1")
    with pytest.raises(InputError):
        remove(text, key)


@pytest.mark.parametrize(
    "text", ["a: &x 1\nb: *x\n", "a: !!int 1\n", "a: 1\na: 2\n", "a: 1\n---\nb: 2\n", "", "- 1\n"]
)
def test_text_that_is_no_building_file_is_left_alone(text):
    with pytest.raises(InputError):
        change(text, "a", "1")
