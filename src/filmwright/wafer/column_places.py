"""Places that no drawing shows: the rim of the front and the back.

*Rim*: outside the printed dies every plate looks like its field, so resist stays there where it stays at the die's own corners.
Films, baths and plasmas reach the rim as they reach the die; at the wafer's edge a solvent gets under everything.

Not told apart on the rim: the bevel beyond it, where an edge-bead remover or a wafer clamp keeps films away for some millimetres, and the
bead itself, where resist is thicker. Whether metal there joins front and back is not read.

*Back*: the wafer lies on it. Only what comes from all sides reaches it: a conformal film, an oxidation, a bath (an etch that
goes sideways) and a solvent. Nothing is spun or printed on it. A wafer as bought has its films on both faces.
"""

from __future__ import annotations

from filmwright.numerics import Region
from filmwright.wafer.actions import Action, Alter, Clear, Coat, Grow, Heat, Print, Remove
from filmwright.wafer.column import Column, etched
from filmwright.wafer.plan import altered, laid

RIM, BACK = "rim", "back"

_ALL_ROUND = 1.0
"""Side-wall fraction of a film that comes from all sides."""


def on_rim(column: Column, action: Action, born: int, die: Region) -> Column:
    """The rim's column after an action.

    Parameters
    ----------
    column : Column
    action : Action
    born : int
        Order number of a new film.
    die : Region [nm]
    """
    return in_the_open(column, action, born, isinstance(action, Print) and stays_in_field(action.keep, die))


def in_the_open(column: Column, action: Action, born: int, keeps: bool = False) -> Column:
    """A column far from every edge after an action.

    Parameters
    ----------
    column : Column
    action : Action
    born : int
        Order number of a new film.
    keeps : bool
        Whether a print leaves its resist here.
    """
    match action:
        case Grow() | Coat():
            return laid(column, action, born)
        case Print():
            developed = column.top.material == action.material and not keeps
            return Column(column.layers[:-1]) if developed else column
        case Remove():
            return etched(column, action.rates, action.time)[0]
        case Clear():
            return dissolved(column, action)
        case Alter():
            return altered(column, action)
        case Heat():
            return column


def on_back(column: Column, action: Action, born: int) -> Column:
    """The back's column after an action.

    Parameters
    ----------
    column : Column
    action : Action
    born : int
        Order number of a new film.
    """
    match action:
        case Grow() if not action.line_of_sight and (action.side_wall >= _ALL_ROUND or action.consumes):
            return laid(column, action, born)
        case Remove():
            wet = {name: rate for name, rate in action.rates.items() if rate.sideways > 0}
            return etched(column, wet, action.time)[0]
        case Clear():
            return dissolved(column, action)
        case _:
            return column


def stays_in_field(keep: Region, die: Region) -> bool:
    """Whether resist remains at most of the corners of the die."""
    x0, y0, x1, y1 = die.bounds
    corners = [keep.holds(x, y) for x in (x0, x1) for y in (y0, y1)]
    return sum(corners) > len(corners) / 2


def dissolved(column: Column, action: Clear) -> Column:
    """Without the materials of a solvent that gets under everything, and without what stood on them."""
    for place, layer in enumerate(column.layers):
        if place and layer.material in action.materials:
            return Column(column.layers[:place])
    return column
