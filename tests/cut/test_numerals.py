import numpy as np
import pytest

from nameplate.cut.numerals import numerals


def plain(value, decimals):
    """The same by Python's own formatting, one number at a time."""
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if decimals else text
    return "0" if text == "-0" else text


@pytest.mark.parametrize("decimals", [0, 1, 4])
def test_numbers_are_written_as_python_writes_them_one_by_one(decimals):
    rng = np.random.default_rng(4)
    spread = rng.uniform(-1, 1, 5000) * 10.0 ** rng.integers(-6, 7, 5000)
    values = np.round(np.concatenate([spread, np.rint(spread), [0.0, -0.0, 1e-4, -1e-4, 9.9999, 99999.0]]), decimals)
    leads = rng.choice(np.frombuffer(b"MLC ", dtype=np.uint8), len(values))
    wanted = "".join(chr(lead) + plain(v, decimals) for lead, v in zip(leads, values, strict=True))
    assert numerals(values, leads, decimals=decimals) == wanted


@pytest.mark.parametrize("value", [0.0, 0.0003, -0.02, 0.5])
def test_small_numbers_alone_keep_their_zeros(value):
    assert numerals(np.array([value]), np.frombuffer(b" ", dtype=np.uint8)) == " " + plain(value, 4)
