"""Faces and letterings for the jigs' tests, made of plain shapes so that their measures can be worked out by hand."""

import math

import numpy as np
import pytest

from nameplate.geometry import region as rg
from nameplate.model import Face, Lettering, Order
from tests.shapes import ellipse


def apple():
    body = rg.union(rg.moved(ellipse(70, 90), -20), rg.moved(ellipse(70, 90), 20))
    stalk = rg.from_ring([(-3, 30), (3, 30), (7, 58), (-1, 58)])
    box = rg.bounds(rg.union(body, stalk))
    return rg.moved(rg.union(body, stalk), -box.centre[0], -box.centre[1])


def shield(width=90.0, height=100.0):
    t = np.linspace(0, math.pi / 2, 40)
    right = np.column_stack([width / 2 * np.cos(t), height * 0.1 - height * 0.6 * np.sin(t)])
    corners = [(-width / 2, height / 2), (width / 2, height / 2)]
    return rg.from_ring(np.vstack([right, (right[::-1] * [-1, 1])[1:], corners]))


def scribble(width=60.0, height=20.0, stroke=3.0):
    """A wavy line with a loop and a bar: as much like handwriting as a test needs."""
    t = np.linspace(0, 6 * math.pi, 120)
    wave = np.column_stack([t / t[-1] * width - width / 2, height / 2 * np.sin(t) * (1 - t / t[-1] / 2)])
    ring = rg.difference(rg.moved(ellipse(12, 12, 64), width / 2, 0), rg.moved(ellipse(5, 5, 64), width / 2, 0))
    bar = rg.capsule([(-width / 2, 0), (-width / 2, height * 0.6)], stroke)
    return rg.union(rg.capsule(wave, stroke), ring, bar)


@pytest.fixture
def faces():
    shapes = {
        "ellipse": ellipse(110, 80),
        "rectangle": rg.rectangle(-60, -20, 60, 20),
        "shield": shield(),
        "apple": apple(),
    }
    return {name: make_face(shape, name) for name, shape in shapes.items()}


def make_face(outline, name="face", inset=6.0):
    return Face(outline, rg.offset(outline, -inset), rg.EMPTY, name)


def make_lettering(region, size=30.0):
    return Lettering(rg.as_region(region), size, 20.0, ("Wren",), len(rg.solids(region)))


@pytest.fixture
def face_of():
    return make_face


@pytest.fixture
def lettering_of():
    return make_lettering


@pytest.fixture
def ellipse_of():
    return ellipse


@pytest.fixture
def handwriting():
    return make_lettering(scribble())


@pytest.fixture
def order():
    return Order("007", 8, "Wren Abara")
