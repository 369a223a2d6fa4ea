"""A catalogue of what can stand in a file that anybody may have changed, and strategies that put it there."""

import copy

from hypothesis import strategies as st

#: Values of every kind that JSON knows, of sizes and forms that no reader expects.
CATALOGUE = (
    None,
    True,
    False,
    0,
    -1,
    1,
    2,
    0.5,
    -0.0,
    1e-300,
    1e6,
    1e300,
    2**53,
    -(2**53),
    "",
    "x" * 5000,
    "lettering",
    "..\u0000/",
    "nan",
    [],
    {},
    [[]],
    [[], [], []],
    [0, 0],
    [[0, 0], [1, 1]],
    [[0, 0], [10, 10], [10, 0], [0, 10]],
    [[0, 0], [0, 0], [0, 0]],
    [[0, 0], [1e6, 0], [1e6, 1e6], [0, 1e6]],
    ["1", "lettering", 1, 1],
    ["1", "spoon", 1, 1],
    [["1"], {}, 1.5, None],
    {"outer": 5},
    [{"outer": [[0, 0], [9, 0], [0, 9]], "holes": [[[0, 0], [99, 0], [0, 99]]]}],
    [{"outer": [[-1e6, -1e6], [1e6, -1e6], [0, 1e6]]}],
    {"version": 1},
)


def nodes(document, path=()):
    """Give the path of every node of a document."""
    yield path
    if isinstance(document, dict | list):
        items = document.items() if isinstance(document, dict) else enumerate(document)
        for key, value in items:
            yield from nodes(value, (*path, key))


def replaced(document, path, value):
    """Give the document with another value at one node."""
    if not path:
        return value
    changed = copy.deepcopy(document)
    node = changed
    for key in path[:-1]:
        node = node[key]
    node[path[-1]] = value
    return changed


def spoiled(document):
    """Draw the document with one or two of its nodes replaced, left out, or given a stranger beside them."""
    return st.one_of(
        st.builds(lambda at, value: replaced(document, at, value), st.sampled_from(list(nodes(document))), VALUES),
        st.builds(
            lambda at, key, value: _with_key(document, at, key, value),
            st.sampled_from(list(nodes(document))),
            st.text(max_size=5),
            VALUES,
        ),
        st.builds(lambda at: _without(document, at), st.sampled_from([at for at in nodes(document) if at])),
    )


def _with_key(document, at, key, value):
    changed = copy.deepcopy(document)
    node = changed
    for step in at:
        node = node[step]
    if isinstance(node, dict):
        node[key] = value
    elif isinstance(node, list):
        node.append(value)
    return changed


def _without(document, at):
    changed = copy.deepcopy(document)
    node = changed
    for step in at[:-1]:
        node = node[step]
    del node[at[-1]]
    return changed


VALUES = st.one_of(
    st.sampled_from(CATALOGUE),
    st.recursive(
        st.none()
        | st.booleans()
        | st.integers(-(2**53), 2**53)
        | st.floats(allow_nan=False, allow_infinity=False)
        | st.text(max_size=8),
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
        max_leaves=6,
    ),
)
