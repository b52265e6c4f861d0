"""A solvent that comes into a short section from beyond its ends."""

from __future__ import annotations

from dataclasses import replace

from filmwright.wafer.section import Section


def reached_from_beyond(section: Section, materials: frozenset[str], left: frozenset[str]) -> Section:
    """A section without the dissolvable films that go on beyond its ends, where the solvent reached them.

    A cut across one edge may lie under resist from end to end; the solvent then gets in elsewhere on the die.

    Parameters
    ----------
    section : Section
        After the solvent.
    materials : frozenset of str
        What it dissolves.
    left : frozenset of str
        Films that it left somewhere on the die; these stay here too.
    """
    x0, _, x1, _ = section.window
    gone = [
        k
        for k, piece in enumerate(section.pieces)
        if piece.material in materials
        and piece.film not in left
        and (piece.shape.bounds[0] <= x0 or piece.shape.bounds[2] >= x1)
    ]
    return replace(section, layers=section.layers.without(gone).standing()) if gone else section
