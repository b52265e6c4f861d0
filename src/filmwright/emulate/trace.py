"""What happened to a wafer, step by step, with everything needed to explain each state."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from filmwright.emulate.edges import Edges
from filmwright.flow import Flow, Step
from filmwright.knowledge import Belief, Lab
from filmwright.process import Setting
from filmwright.wafer import Action, Devices, Loss, Nets, Wafer


@dataclass(frozen=True, kw_only=True)
class Corner:
    """A corner of the spread.

    Attributes
    ----------
    name : str
    film, rate : float
        How many standard deviations the films are thicker, the etch rates faster.
    place : int
        1 at the wafer's edge, −1 in its middle, 0 at the mean place: films and rates there differ by the unevenness over one
        wafer, and times are those of the whole wafer.
    """

    name: str
    film: float = 0.0
    rate: float = 0.0
    place: int = 0


NOMINAL = Corner(name="nominal", film=0.0, rate=0.0)
THIN_FAST = Corner(name="thin films, fast etches", film=-2.0, rate=2.0)
THICK_SLOW = Corner(name="thick films, slow etches", film=2.0, rate=-2.0)

CORNERS = (NOMINAL, THIN_FAST, THICK_SLOW)

EDGE = Corner(name="the wafer's edge", place=1)
MIDDLE = Corner(name="the wafer's middle", place=-1)

PLACES = (EDGE, MIDDLE)
"""Two places of one wafer: what a time leaves at one of them and takes at the other is not mended by another time."""


@dataclass(frozen=True, kw_only=True)
class Safety:
    """What the step's sheet says about hazards; the site's procedure always goes first.

    Attributes
    ----------
    cautions, gear : tuple of str
    waste : str
    second_person : bool
    interlock : str
    neighbours : tuple of str
        What must never meet it in a beaker, a drain, a bottle or a chamber.
    alarms : tuple of str
        Gases with the level at which their alarm is usually set.
    """

    cautions: tuple[str, ...] = ()
    gear: tuple[str, ...] = ()
    waste: str = ""
    second_person: bool = False
    interlock: str = ""
    neighbours: tuple[str, ...] = ()
    alarms: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One thing to write down at a step, beside what to expect.

    Attributes
    ----------
    name : str
    expected, accepted : str
        In words with units; empty where nothing is computed or the plan sets no tolerance.
    times : int
        How many of them on each wafer.
    """

    name: str
    expected: str = ""
    accepted: str = ""
    times: int = 1


@dataclass(frozen=True, kw_only=True)
class Listing:
    """A small table that belongs to a step, as what to do in which order.

    Attributes
    ----------
    title : str
    columns : tuple of str
    rows : tuple of tuple of str
        As long as the columns.
    note : str
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""

    def __post_init__(self) -> None:
        if any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError(f"{self.title}: every row has {len(self.columns)} cells")


@dataclass(frozen=True, kw_only=True)
class EtchFigures:
    """What decides when an etch is over, and what it reaches.

    Attributes
    ----------
    depth : float [m]
        The thickest uncovered film.
    rate : float [m/s]
        In this bath or plasma, on a small chip.
    end, end_std : float [s]
        To the end point at the mean place, with one standard deviation.
    total : float [s]
        With the over-etch.
    film_uneven, rate_uneven : float
        (max − min)/(2 × mean) over the wafer.
    open_share, loading : float
        Part of the die that is open, and what it does to the rate: k of 1/(1 + k × open share).
    beneath : mapping from material to float [m/s]
        Rates of all other materials that the medium is known to take.
    needed : float
        Over-etch that the worst place needs, as a fraction, at the confidence of the derivation that the step prints.
    used_before, used_by_one : float
        Part of the bath's reagent that earlier films took, and that one more wafer takes; 0 where it is not known.
    """

    depth: float
    rate: float
    end: float
    end_std: float
    total: float
    film_uneven: float = 0.0
    rate_uneven: float = 0.0
    open_share: float = 0.0
    loading: float = 0.0
    beneath: Mapping[str, float] = field(default_factory=dict)
    needed: float = 0.0
    used_before: float = 0.0
    used_by_one: float = 0.0


@dataclass(frozen=True, kw_only=True)
class State:
    """The wafer after one step, and why it looks so.

    Attributes
    ----------
    step : Step
    settings : tuple of Setting
    duration : float [s]
        At the tool, with its overhead.
    safety : Safety
    actions : tuple of Action
    wafer : Wafer
        After the step, nominal.
    exposed : mapping from material to float [m²]
        What the step's medium can touch: uncovered area before the step, over the die; empty for a step without one.
    unknown : tuple of str
        Exposed materials of which nothing is on file for this medium.
    losses : mapping from corner name to tuple of Loss
    on_wafer : mapping from place name to tuple of Loss
        What the step takes at the edge and in the middle of one wafer, at one place of each kind of column.
    thickness, thickness_std : float or None [m]
        Of the film that the step puts down.
    rate : Belief or None
        The rate that decided the time.
    look : tuple of str
        What it should look like afterwards.
    warnings : tuple of str
        From models used outside their range.
    torn : tuple of str
        What a lift-off left behind.
    follows : tuple of Setting
        What follows from the settings: consumption, readings of dials, how well the method fits the film.
    results : mapping from quantity to Belief
        What the lab's own runs say of the film that is put down: ``refractive index``, ``stress``.
    etch : EtchFigures or None
        Of an etch whose rate is known.
    readings : tuple of Reading
        What to write down, beside what to expect.
    tables : tuple of Listing
    """

    step: Step
    settings: tuple[Setting, ...]
    duration: float
    safety: Safety
    actions: tuple[Action, ...]
    wafer: Wafer
    exposed: Mapping[str, float] = field(default_factory=dict)
    unknown: tuple[str, ...] = ()
    losses: Mapping[str, tuple[Loss, ...]] = field(default_factory=dict)
    on_wafer: Mapping[str, tuple[Loss, ...]] = field(default_factory=dict)
    thickness: float | None = None
    thickness_std: float | None = None
    rate: Belief | None = None
    look: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    torn: tuple[str, ...] = ()
    follows: tuple[Setting, ...] = ()
    results: Mapping[str, Belief] = field(default_factory=dict)
    etch: EtchFigures | None = None
    readings: tuple[Reading, ...] = ()
    tables: tuple[Listing, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Failure:
    """A device that does not bear a corner.

    Attributes
    ----------
    device : str
    what : str
        In words.
    """

    device: str
    what: str


@dataclass(frozen=True, kw_only=True)
class Misaligned:
    """A corner of the overlay: the levels after the first lie off it, alike or against each other.

    Attributes
    ----------
    way : str
        In words, e.g. ``every level to the right and up``.
    shift : float [m]
        Along each axis; levels that go against each other go by √½ of it each.
    tried : int
        How many devices were looked at: those that bear it least.
    failures : tuple of Failure
    """

    way: str
    shift: float
    tried: int
    failures: tuple[Failure, ...]


@dataclass(frozen=True, kw_only=True)
class Trace:
    """A flow, walked.

    Attributes
    ----------
    flow : Flow
    lab : Lab
    start : Wafer
        As bought.
    states : tuple of State, one per elementary step
    corners : mapping from corner name to the final Wafer there
    fenced : tuple of (label, label)
        Shorted terminals that only a fence joins.
    misaligned : tuple of Misaligned
        The corners of the overlay.
    cut : str
        Name of the cut of the sections; empty when there is none.
    cut_length_nm : float
    nets, devices
        Read off the final nominal wafer.
    edges : Edges
        Of the final nominal wafer: those where something can go wrong, emulated as sections.
    marks : tuple of (x0, y0, x1, y1) [nm]
        Boxes round the alignment marks of the drawing.
    drawing_notes : tuple of str
        What was decided in reading the drawing.
    on : str
        ISO date for which rates were believed.
    """

    flow: Flow
    lab: Lab
    start: Wafer
    states: tuple[State, ...]
    corners: Mapping[str, Wafer]
    nets: Nets
    devices: Devices
    edges: Edges = field(default_factory=Edges)
    fenced: tuple[tuple[str, str], ...] = ()
    misaligned: tuple[Misaligned, ...] = ()
    cut: str = ""
    cut_length_nm: float = 0.0
    marks: tuple[tuple[float, float, float, float], ...] = ()
    drawing_notes: tuple[str, ...] = ()
    on: str = ""

    @property
    def final(self) -> Wafer:
        """The wafer after the last step."""
        return self.states[-1].wafer if self.states else self.start
