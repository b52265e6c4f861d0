"""A wafer as it is, and as it was after each thing that was done to it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True, kw_only=True)
class FilmLoss:
    """What a step took from a film that stays.

    Attributes
    ----------
    step, code, title : str
    visit : int
    by : str
        What took it, e.g. an etch or a developer.
    low, high : float [nm]
        Over the places where some of the film is left.
    cleared : float
        Part of the die from which the step took all of it.
    """

    step: str
    code: str
    title: str
    visit: int
    by: str
    low: float
    high: float
    cleared: float = 0.0


@dataclass(frozen=True, kw_only=True)
class FilmNow:
    """One film on the wafer.

    Attributes
    ----------
    film, material : str
    from_step : str
        Code of the step that put it down; empty for a film that was there as bought.
    put_down : float [nm]
    low, high : float [nm]
        Thickness now, over the places where it is.
    share : float
        Part of the die on which it lies.
    measured : bool
        Whether what was put down was measured rather than computed.
    losses : tuple of FilmLoss
    """

    film: str
    material: str
    from_step: str
    put_down: float
    low: float
    high: float
    share: float
    measured: bool = False
    losses: tuple[FilmLoss, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Place:
    """A kind of place of the die that looks alike.

    Attributes
    ----------
    material : str
        On top.
    area : float [mm²]
    share : float
        Part of the die.
    colour, name : str
        ``#rrggbb`` and the colour's everyday name; empty where not known.
    films : tuple of str
        From the body up, each with its thickness.
    """

    material: str
    area: float
    share: float
    colour: str = ""
    name: str = ""
    films: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Moment:
    """The wafer after one thing that was done to it.

    Attributes
    ----------
    place : int
        0 as bought, then counted.
    step, code, title, kind : str
        Of the step; empty as bought.
    lot : str
        Another lot in which it was done; else empty.
    visit : int
    started, finished : str
        ISO times from the record.
    told : bool
        Whether the record says so; else it is taken as done as planned because a later step was begun.
    running : bool
        Begun and not finished: shown as it will be at its end.
    values : tuple of str
        What was set, seen and measured, with units.
    section : str
        SVG of the section along the cut; empty without one.
    changed : bool
        Whether the section differs from the one before.
    films : tuple of FilmNow
    places : tuple of Place
        What lies open, the largest place first.
    colours : str
        In words.
    warnings : tuple of str
    drawn : bool
        Whether the section is drawn already.
    """

    place: int
    step: str = ""
    code: str = ""
    title: str = ""
    kind: str = ""
    lot: str = ""
    visit: int = 1
    started: str = ""
    finished: str = ""
    told: bool = True
    running: bool = False
    values: tuple[str, ...] = ()
    section: str = ""
    changed: bool = False
    films: tuple[FilmNow, ...] = ()
    places: tuple[Place, ...] = ()
    colours: str = ""
    warnings: tuple[str, ...] = ()
    drawn: bool = True

    def fields(self) -> dict[str, Any]:
        """For programs; the picture is left out."""
        return {name: value for name, value in asdict(self).items() if name not in ("section", "drawn")}


@dataclass(frozen=True, kw_only=True)
class AsRunWafer:
    """A wafer from what was really done to it.

    Attributes
    ----------
    lot, wafer : str
    position : int
        Of the last entry that is minded.
    title : str
        Of the flow.
    cut : str
        Along which the sections lie.
    moments : tuple of Moment
        As bought, then after each step that was done.
    devices : tuple of str
        That are on the wafer now, in words.
    problems : tuple of str
        Entries that could not be followed.
    finished : bool
        Whether nothing that changes the wafer is ahead.
    invented : bool
    stamp : tuple of int
        As of :meth:`Bench.stamp`: everything that is minded.
    drawn : bool
        Whether every section is drawn and devices are read off; else only the last section is drawn.
    """

    lot: str
    wafer: str
    position: int
    title: str
    moments: tuple[Moment, ...]
    cut: str = ""
    devices: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    finished: bool = False
    invented: bool = False
    stamp: tuple[int, ...] = ()
    drawn: bool = True

    @property
    def now(self) -> Moment:
        """The wafer as it is."""
        return self.moments[-1]

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "lot": self.lot,
            "wafer": self.wafer,
            "position": self.position,
            "cut": self.cut,
            "moments": [each.fields() for each in self.moments],
            "devices": list(self.devices),
            "problems": list(self.problems),
            "finished": self.finished,
            "invented": self.invented,
        }
