"""The shapes of what is known: shipped facts, each value with its source, and the lab's own tools and
calibrations."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Literal

from filmwright.knowledge.bottles import LAMP_LINES, Bottle
from filmwright.knowledge.facts import Absence, VapourCurve, YieldCoefficients
from filmwright.knowledge.geometry import Geometry
from filmwright.knowledge.lab_parts import AdmissionClass, Maintenance, ToolRecipe
from filmwright.knowledge.wander import OwnWander
from filmwright.sources import Source, Value

MaterialKind = Literal["conductor", "semiconductor", "insulator", "organic", "substrate"]
MediumKind = Literal["wet etch", "developer", "solvent", "stripper", "plasma", "rinse", "clean"]
Verdict = Literal["attacks", "does not attack", "unknown"]
CalibratedQuantity = Literal[
    "deposition rate",
    "growth per cycle",
    "etch rate",
    "lamp intensity",
    "resist thickness",
    "tooling factor",
    "clearing dose",
    "print bias",
    "hot-plate offset",
]


@dataclass(frozen=True, kw_only=True)
class Material:
    """A material that can lie on a wafer.

    Attributes
    ----------
    name : str
        Trade name, lower case, e.g. ``indium gallium zinc oxide``.
    symbol : str
        Short sign for pictures and sheets, e.g. ``IGZO``.
    kind : MaterialKind
    aliases : tuple of str
    families : frozenset of str
        What a chamber's admission list asks about: ``gold``, ``zinc``, ``organic``, ``noble metal``,
        ``alkali`` …
    values : mapping from property to Value
        ``density``, ``acoustic impedance ratio``, ``resistivity``, ``permittivity``, ``breakdown field``,
        ``work function``, ``electron affinity``, ``mobility``, ``temperature limit in air``,
        ``temperature limit in vacuum``, ``stress``, ``modulus``, ``expansion`` …, SI inside.
    missing : mapping from property to Absence
        What was asked and has no number: ``does not apply`` and ``not known`` are different answers.
    vapour : mapping from phase to VapourCurve
    sputtering : mapping from law to YieldCoefficients
        Of argon, for the laws whose coefficients are on file.
    formula : str
        Of its formula unit, where the sign is none, e.g. ``InGaZnO4``.
    composition : mapping from element to Value
        Parts of its metals by number, of a film whose composition is a choice.
    needs_adhesion_layer : bool
        Whether it peels from oxides without titanium or chromium beneath.
    """

    name: str
    symbol: str
    kind: MaterialKind
    aliases: tuple[str, ...] = ()
    families: frozenset[str] = frozenset()
    values: Mapping[str, Value] = field(default_factory=dict)
    missing: Mapping[str, Absence] = field(default_factory=dict)
    vapour: Mapping[str, VapourCurve] = field(default_factory=dict)
    sputtering: Mapping[str, YieldCoefficients] = field(default_factory=dict)
    formula: str = ""
    composition: Mapping[str, Value] = field(default_factory=dict)
    needs_adhesion_layer: bool = False


@dataclass(frozen=True, kw_only=True)
class Rate:
    """What a medium does to a material.

    Attributes
    ----------
    verdict : Verdict
        ``does not attack`` is knowledge, ``unknown`` is the lack of it.
    value : Value or None
        Rate [m/s] with its bounds where it attacks and a rate is known; attacked at an unknown rate has
        ``None``.
        Where it does not attack, 0 with the upper bound that was stated, if one was.
    sideways : float
        Rate along the surface over the rate along the normal: 1 isotropic, 0 vertical.
    source : Source or None
        Where the verdict was read; None only for ``unknown``.
    condition : str
    activation_energy : Value or None [J]
        Of the rate, where one is on file.
    """

    verdict: Verdict
    value: Value | None = None
    sideways: float = 1.0
    source: Source | None = None
    condition: str = ""
    activation_energy: Value | None = None


@dataclass(frozen=True, kw_only=True)
class Medium:
    """A bath, a solvent, a developer or a plasma.

    Attributes
    ----------
    name : str
        E.g. ``ceric ammonium nitrate chromium etch`` or ``sulfur hexafluoride and oxygen plasma``.
    kind : MediumKind
    families : frozenset of str
        ``acid``, ``alkaline``, ``oxidiser``, ``solvent``, ``fluorine``, ``chlorine``, ``oxygen``, ``argon``,
        ``hydrofluoric``, ``aqueous`` …
    rates : mapping from material name to Rate
    dissolves : frozenset of str
        Materials that it takes away whole (strip, lift-off), whatever their thickness.
    temperature : float or None [K]
    hazard : str
        Key of a :class:`Hazard`.
    contains : tuple of str
        Substances in it, names of :class:`~filmwright.knowledge.facts.Substance`.
    gases : tuple of str
        Substances that flow into it.
    note : str
        What the sheet should say beside it, e.g. how the bath is mixed.
    """

    name: str
    kind: MediumKind
    aliases: tuple[str, ...] = ()
    families: frozenset[str] = frozenset()
    rates: Mapping[str, Rate] = field(default_factory=dict)
    dissolves: frozenset[str] = frozenset()
    temperature: float | None = None
    hazard: str = ""
    contains: tuple[str, ...] = ()
    gases: tuple[str, ...] = ()
    note: str = ""

    def rate(self, material: str) -> Rate:
        """What it does to a material; ``unknown`` when nothing is on file."""
        return self.rates.get(material, Rate(verdict="unknown"))


@dataclass(frozen=True, kw_only=True)
class Resist:
    """A generic photoresist.

    Attributes
    ----------
    name : str
        E.g. ``positive 1.3 µm``.
    material : str
        The material that lies on the wafer, a key of the materials.
    tone : 'positive' or 'negative'
        Negative includes image reversal.
    values : mapping from property to Value
        ``thickness at reference speed`` [m], ``reference speed`` [1/s], ``spin exponent``, ``dose`` [J/m²],
        ``softbake temperature`` [K], ``softbake time`` [s], ``develop time`` [s], ``postbake temperature``
        and
        ``postbake time`` where there is one, ``temperature limit`` [K], ``side wall angle`` [rad],
        ``lift-off undercut`` [m] (0 when it has none), ``under-layer thickness`` [m] of two layers,
        ``toe length`` [m], ``levelling length`` [m], ``print bias`` [m].
    missing : mapping from property to Absence
    developer : str
        Name of a medium.
    strippers : tuple of str
        Media that dissolve it.
    lines : tuple of str
        Lines of the mercury lamp that its dose counts.
    """

    name: str
    material: str
    tone: Literal["positive", "negative"]
    developer: str
    strippers: tuple[str, ...]
    aliases: tuple[str, ...] = ()
    lines: tuple[str, ...] = LAMP_LINES
    values: Mapping[str, Value] = field(default_factory=dict)
    missing: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Method:
    """A way to deposit a film.

    Attributes
    ----------
    name : str
        E.g. ``electron-beam evaporation``.
    side_wall : Value
        Thickness on a vertical wall over that on the flat.
    line_of_sight : bool
    non_uniformity : Value
        (max − min)/(2 × mean) over a 100 mm wafer.
    temperature : Value
        Of the wafer during deposition [K].
    families : frozenset of str
        ``vacuum``, ``plasma``, ``hydrogen-bearing plasma``, ``aqueous`` …
    hazard : str
    settings : tuple of str
        What the operator dials in, in order, e.g. ``pressure``, ``power``.
    arrival : mapping from name to Value
        From which angles atoms arrive, where films follow from it. Either ``exponent`` of the cosine to which the
        radiance is proportional, or the place of a far source: ``throw`` [m] with ``offset`` [m] (of the die from the source's
        axis) and ``source radius`` [m], or with ``orbit`` [m], ``inclination`` [rad] and ``source offset`` [m] of a planetary.
    """

    name: str
    side_wall: Value
    non_uniformity: Value
    temperature: Value
    line_of_sight: bool = False
    aliases: tuple[str, ...] = ()
    families: frozenset[str] = frozenset()
    hazard: str = ""
    settings: tuple[str, ...] = ()
    arrival: Mapping[str, Value] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Hazard:
    """What hurts and what is usual against it; the site's procedure always goes first.

    Attributes
    ----------
    key : str
    cautions : tuple of str
        Short sentences for the sheet.
    gear : tuple of str
        Protective gear that is usual.
    waste : str
        Waste stream that is usual.
    never_with : frozenset of str
        Medium families that must never meet it in a bottle or on a bench.
    substances : tuple of str
        What it is about, names of :class:`~filmwright.knowledge.facts.Substance`; empty where it is heat, light
        or voltage.
    second_person : bool
    interlock : str
        Interlock or alarm that is usual; empty when none.
    sources : tuple of Source
    """

    key: str
    cautions: tuple[str, ...]
    gear: tuple[str, ...] = ()
    waste: str = ""
    never_with: frozenset[str] = frozenset()
    substances: tuple[str, ...] = ()
    second_person: bool = False
    interlock: str = ""
    sources: tuple[Source, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Hours:
    """When a place is open.

    Attributes
    ----------
    opens, closes : float [s]
        After the midnight before it opens; a closing on the next day is more than a day.
    days : frozenset of int
        On which it opens, 0 for Monday to 6 for Sunday.
    """

    opens: float
    closes: float
    days: frozenset[int] = frozenset(range(7))

    def __post_init__(self) -> None:
        if not 0 <= self.opens < self.closes:
            raise ValueError(f"opens {self.opens:g} s must lie before closes {self.closes:g} s")


@dataclass(frozen=True, kw_only=True)
class Tool:
    """A tool of the lab.

    Attributes
    ----------
    name : str
    does : tuple of str
        Methods and step kinds that it serves, e.g. ``electron-beam evaporation`` or ``coat``.
    admits : mapping from axis to frozenset of str
        Classes of wafers that may enter, and in which they may leave; an axis that is not named shuts nobody out.
    leaves : mapping from axis to str
        The class that a wafer is in after it was in this tool.
    recipes : mapping from name to ToolRecipe
    maintenance : tuple of Maintenance
        In order of date.
    non_uniformity : float or None
        (max − min)/(2 × mean) over the wafer.
    overhead : float [s]
        Load and unload, and what of the next three is not told apart from them.
    pump_down, heat_up, cool_down : float [s]
    heating_rate, cooling_rate : float or None [K/s]
        Of the wafer where the tool ramps; None where nobody wrote it down.
    chamber_volume : float or None [m³]
    pumping_speed : float or None [m³/s]
        At the chamber.
    holds : int
        Wafers in one run; 0 where the lab file does not say, which counts as one.
    hours : Hours or None
        The tool's own; None where it is open with the lab.
    faster_at : str
        ``edge`` or ``middle`` of the wafer, where its rates are higher; empty when nobody knows.
    geometry : Geometry or None
        Of an evaporator or sputter tool, as far as the lab says it.
    note : str
    line : int
        Line of the lab file.
    """

    name: str
    does: tuple[str, ...]
    admits: Mapping[str, frozenset[str]] = field(default_factory=dict)
    leaves: Mapping[str, str] = field(default_factory=dict)
    recipes: Mapping[str, ToolRecipe] = field(default_factory=dict)
    maintenance: tuple[Maintenance, ...] = ()
    non_uniformity: float | None = None
    overhead: float = 0.0
    pump_down: float = 0.0
    heat_up: float = 0.0
    cool_down: float = 0.0
    heating_rate: float | None = None
    cooling_rate: float | None = None
    chamber_volume: float | None = None
    pumping_speed: float | None = None
    holds: int = 0
    hours: Hours | None = None
    faster_at: str = ""
    geometry: Geometry | None = None
    note: str = ""
    line: int = 0

    def runs(self, wafers: int) -> int:
        """How many runs it takes for so many wafers."""
        return -(-wafers // max(self.holds, 1))

    @property
    def around(self) -> float:
        """All that a step takes at the tool besides the process itself [s]."""
        return self.overhead + self.pump_down + self.heat_up + self.cool_down


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """One measurement of how a tool behaves.

    Attributes
    ----------
    of : CalibratedQuantity
    tool : str
    material, medium, recipe : str
        What it holds for; empty where it does not matter.
    value, std : float [SI]
    unit : str
    date : str
        ISO date of the measurement.
    by, evidence : str
        Who measured and what the number rests on.
    after_maintenance : bool
        The first one after the tool was opened: it outdates everything earlier.
    kind : str
        ``lab``, ``fitted`` (from runs) or ``invented`` (examples).
    setting : float or None [SI]
        The setting at which it holds: the spin speed of a resist thickness [1/s], the wavelength of a lamp reading [m], the
        temperature that the plate was set to [K].
    set_aside : str
        Why it does not count; empty where it does.
    temperature : float or None [K]
        Of the bath in which an etch rate was measured.
    line : int
    """

    of: CalibratedQuantity
    tool: str
    value: float
    std: float
    unit: str
    date: str
    material: str = ""
    medium: str = ""
    recipe: str = ""
    by: str = ""
    evidence: str = ""
    after_maintenance: bool = False
    kind: Literal["lab", "fitted", "invented"] = "lab"
    setting: float | None = None
    set_aside: str = ""
    temperature: float | None = None
    line: int = 0


@dataclass(frozen=True, kw_only=True)
class RunResult:
    """What was measured of a run. ``value``, ``std`` : float [SI]; ``unit`` : as written."""

    value: float
    std: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class ToolRun:
    """One run of a recipe at settings of its own, from which a response is fitted.

    Attributes
    ----------
    tool, material : str
    results : mapping from quantity to RunResult
        ``deposition rate``, ``growth per cycle``, ``refractive index``, ``stress``: one of them or more.
    date : str
        ISO date.
    knobs : mapping from setting to float [SI]
    by, evidence : str
    kind : str
    line : int
    """

    tool: str
    material: str
    results: Mapping[str, RunResult]
    date: str
    knobs: Mapping[str, float]
    by: str = ""
    evidence: str = ""
    kind: Literal["lab", "invented"] = "lab"
    line: int = 0


@dataclass(frozen=True, kw_only=True)
class Bath:
    """A bath that stands in the lab today.

    Attributes
    ----------
    name, medium : str
    made : str
        ISO date.
    tool : str
        Bench on which it stands; empty where it is carried about.
    temperature : float or None [K]
        At which it is kept.
    volume : float or None [m³]
    wafers_done, most_wafers : int
        Etched in it so far, and how many at most; 0 where nobody counts.
    area_done, most_area : float or None [m²]
        The same as area of film.
    longest_age : float or None [s]
    by, note : str
    line : int
    """

    name: str
    medium: str
    made: str
    tool: str = ""
    temperature: float | None = None
    volume: float | None = None
    wafers_done: int = 0
    most_wafers: int = 0
    area_done: float | None = None
    most_area: float | None = None
    longest_age: float | None = None
    by: str = ""
    note: str = ""
    line: int = 0

    def age(self, on: str) -> float:
        """Since it was made [s], by whole days; 0 on the day itself, and before it."""
        days = (date.fromisoformat(on) - date.fromisoformat(self.made)).days
        return timedelta(days=max(days, 0)).total_seconds()


@dataclass(frozen=True, kw_only=True)
class Wait:
    """A longest time between two kinds of step.

    Attributes
    ----------
    after, before : str
        Step kinds or names.
    longest : float [s]
    why : str
    source : str
        Of a usual wait; empty for one of the lab.
    line : int
        Of the lab file; 0 for a usual wait.
    """

    after: str
    before: str
    longest: float
    why: str = ""
    source: str = ""
    line: int = 0


@dataclass(frozen=True, kw_only=True)
class Lab:
    """The lab's own file: tools, calibrations, limits.

    Attributes
    ----------
    name : str
    file : str
    tools : mapping from name to Tool
    admission : mapping from axis to tuple of AdmissionClass
        Axes that the site defines.
    calibrations : tuple of Calibration
    runs : tuple of ToolRun
    limits : mapping from rule limit to float [SI]
        The lab's own limits for ``review``.
    waits : tuple of Wait
    baths : tuple of Bath
    bottles : tuple of Bottle
    wanders : tuple of OwnWander
        Drifts that were learned from the logbooks of the tools.
    uses : mapping from tool to tuple of str
        ISO dates on which lots used it, one for each use.
    hours : Hours or None
        None where the lab file says nothing of them.
    zone : str
        Of the clock on the wall, from the data base of time zones; empty where the lab file says nothing.
    owners : tuple of str
        Names or roles of those who may accept a stop; empty where the lab file names none.
    invented : bool
        Whether the whole file is an example.
    """

    name: str
    file: str = ""
    tools: Mapping[str, Tool] = field(default_factory=dict)
    admission: Mapping[str, tuple[AdmissionClass, ...]] = field(default_factory=dict)
    calibrations: tuple[Calibration, ...] = ()
    runs: tuple[ToolRun, ...] = ()
    limits: Mapping[str, float] = field(default_factory=dict)
    waits: tuple[Wait, ...] = ()
    baths: tuple[Bath, ...] = ()
    bottles: tuple[Bottle, ...] = ()
    wanders: tuple[OwnWander, ...] = ()
    uses: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    hours: Hours | None = None
    zone: str = ""
    owners: tuple[str, ...] = ()
    invented: bool = False


@dataclass(frozen=True, kw_only=True)
class Belief:
    """What is believed of a number today, and why.

    Attributes
    ----------
    value, std : float [SI]
    unit : str
    source : Source
    evidence : str
        What it rests on, with its date.
    reason : str
        Why this one was chosen.
    age_days : float or None
        Since the newest measurement behind it; None for a book value.
    alternatives : tuple of str
        What else was on file, each with the reason for not choosing it.
    temperature : float or None [K]
        Of the bath in which it was measured, where that was written down.
    """

    value: float
    std: float
    unit: str
    source: Source
    evidence: str
    reason: str
    age_days: float | None = None
    alternatives: tuple[str, ...] = ()
    temperature: float | None = None
