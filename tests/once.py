"""What a pure function gave before, for tests that ask it the same again."""

import pickle
from functools import wraps


def once(function):
    """Have a function of frozen values give again what it gave for the same; `function.__wrapped__` gives it anew.

    Not for tests that put something in place of a function, nor for those that compare two runs.
    """
    given = {}

    @wraps(function)
    def asked(*values, **keys):
        key = pickle.dumps((values, sorted(keys.items())))
        if key not in given:
            given[key] = function(*values, **keys)
        return given[key]

    return asked
