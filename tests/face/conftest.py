import pytest

from nameplate.face.drawing.face_outline import read_face_drawing

SVG = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


@pytest.fixture
def write(tmp_path):
    """Write text or bytes to an SVG file and give its path."""

    def to_file(content, name="face.svg"):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return to_file


@pytest.fixture
def read(write):
    """Read a face from the inside of an <svg>, 100 x 80 mm with one user unit a millimetre unless told otherwise."""

    def from_text(inside, head='width="100mm" height="80mm" viewBox="0 0 100 80"', **options):
        return read_face_drawing(write(f"<svg {SVG} {head}>{inside}</svg>"), **options)

    return from_text
