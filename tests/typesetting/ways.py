"""The ways to set a name, asked for in one go: what all lines share is given by its fields."""

from nameplate.typesetting.block import Block
from nameplate.typesetting.ways import ways_to_set


def ways_of(name, line2, font, *, words, features=(), fallbacks=(), lines=(), **block):
    return ways_to_set(name, line2, font, Block(words, **block), features=features, fallbacks=fallbacks, lines=lines)


def settings(*of, **keys):
    return tuple(way.setting for way in ways_of(*of, **keys))
