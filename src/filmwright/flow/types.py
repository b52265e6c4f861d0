"""A validated plan: what its maker wrote, with every name resolved and every line kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from filmwright.units import Quantity

StepKind = Literal[
    "clean",
    "deposit",
    "dehydrate",
    "prime",
    "coat",
    "bake",
    "expose",
    "reversal bake",
    "flood expose",
    "post-exposure bake",
    "develop",
    "hard bake",
    "inspect",
    "etch",
    "rinse",
    "strip",
    "lift off",
    "anneal",
    "measure",
    "probe",
    "park",
]


@dataclass(frozen=True, kw_only=True)
class End:
    """When a step is over.

    Attributes
    ----------
    rule : 'end point', 'time' or 'measure'
        ``end point``: watch for it, then go on for ``extra`` of the time that it took. ``measure``: measure first,
        then compute the time from what was measured.
    extra : float
        Over-etch as a fraction of the time to the end point.
    text : str
        As written.
    """

    rule: Literal["end point", "time", "measure"]
    extra: float = 0.0
    text: str = ""


DischargeMode = Literal["direct current", "radio frequency"]


@dataclass(frozen=True, kw_only=True)
class SourceAsked:
    """One of several targets that burn at once.

    Attributes
    ----------
    target : str
        A material.
    power : Quantity or None
        None where the composition decides it.
    mode : DischargeMode or ''
        Empty for that of the method.
    gun : str
        Gun of the tool; empty where the lab's file or nobody tells it.
    line : int
    """

    target: str
    power: Quantity | None = None
    mode: DischargeMode | Literal[""] = ""
    gun: str = ""
    line: int = 0


@dataclass(frozen=True, kw_only=True)
class Step:
    """One elementary step: one thing that one person does at one tool.

    *Planned* (``asked``), *as run* (``done``) and *measured* (``measured``) are three fields and never mix.

    Attributes
    ----------
    number : str
        ``written step.elementary step``, e.g. ``3.2``.
    code : str
        Short code for paper, e.g. ``GA-32``; unique in the flow, without look-alike characters.
    kind : StepKind
    title : str
        What to do in a few words, e.g. ``Expose gate``.
    name : str
        The written step's name, unique among written steps.
    line : int
        Line of the plan text.
    material, method, medium, recipe, tool, mask, resist : str
        Resolved names; empty where they do not apply.
    place : str
        Where on the die something is measured: a device or ``open field``; empty where the plan does not say.
    aligned_to : str
        Level whose marks an exposure is aligned to; empty for the first one printed.
    asked : mapping from setting name to Quantity
        What the plan fixes itself: ``thickness``, ``time``, ``temperature``, ``pressure``, ``power``, ``dose`` …
    sources : tuple of SourceAsked
        Targets of a film that comes from several at once; empty for one of its own material.
    composition : mapping from element to float
        Parts of its metals that are wanted, adding up to 1.
    done : mapping from setting name to float [SI]
        What was really set, from the record.
    measured : mapping from name to float [SI]
        What was measured after the step, from the record (``thickness``, ``line width`` …).
    end : End or None
    because : str
        The reason that its maker gave.
    witness : tuple of str
        Witness chips that go along.
    bead_removed : bool
        Of a coat and its exposure: the bead at the edge is taken off.
    hold : str
        What to look at before going on; empty when there is no hold point.
    started, finished : str
        ISO times from the record; empty in a plan.
    acknowledged : mapping from rule to reason
    by_recipe : mapping from setting name to int
        Those of ``asked`` that its recipe sets, each with its line of the lab file.
    visit : int
        How often the wafer has come to it, this time counted; 1 in a plan.
    lot : str
        Of a history that is joined from several lots: the earlier one in which it was done; else empty.
    """

    number: str
    code: str
    kind: StepKind
    title: str
    name: str
    line: int
    material: str = ""
    method: str = ""
    medium: str = ""
    recipe: str = ""
    tool: str = ""
    mask: str = ""
    resist: str = ""
    place: str = ""
    aligned_to: str = ""
    asked: Mapping[str, Quantity] = field(default_factory=dict)
    sources: tuple[SourceAsked, ...] = ()
    composition: Mapping[str, float] = field(default_factory=dict)
    done: Mapping[str, float] = field(default_factory=dict)
    measured: Mapping[str, float] = field(default_factory=dict)
    end: End | None = None
    because: str = ""
    witness: tuple[str, ...] = ()
    bead_removed: bool = False
    hold: str = ""
    started: str = ""
    finished: str = ""
    acknowledged: Mapping[str, str] = field(default_factory=dict)
    by_recipe: Mapping[str, int] = field(default_factory=dict)
    visit: int = 1
    lot: str = ""

    @property
    def told(self) -> str:
        """Its number, and which visit of it and of which lot where that is not plain: no two steps of a history share it."""
        again = f", visit {self.visit}" if self.visit > 1 else ""
        return f"{self.number}{again}" + (f", lot {self.lot}" if self.lot else "")


@dataclass(frozen=True, kw_only=True)
class StartFilm:
    """A film that is on the wafer as bought. ``thickness`` : float [m]."""

    material: str
    thickness: float


@dataclass(frozen=True, kw_only=True)
class Body:
    """The wafer as bought.

    Attributes
    ----------
    material : str
    diameter, thickness : float [m]
    piece : bool
        Cleaved or cut with corners; its diameter is then its longer side.
    films : tuple of StartFilm, lowest first
    line : int
    orientation : str
        Crystal plane of the face, ``100``, ``111`` or ``110``; empty where the plan does not say.
    """

    material: str
    diameter: float
    thickness: float
    piece: bool = False
    films: tuple[StartFilm, ...] = ()
    line: int = 0
    orientation: str = ""


@dataclass(frozen=True, kw_only=True)
class MaskLevel:
    """One plate.

    Attributes
    ----------
    name : str
    layer, datatype : int
    drawn : 'opaque' or 'clear'
        What the drawn shapes are on the plate.
    line : int
    """

    name: str
    layer: int
    datatype: int
    drawn: Literal["opaque", "clear"]
    line: int = 0


@dataclass(frozen=True, kw_only=True)
class CutAsked:
    """A cut through the drawing: from point to point, or along or across the channel of a named device.

    Attributes
    ----------
    name : str
    points : tuple of (x, y) [nm]
        Empty when a device is named.
    through, across : str
        Device name; one of them, or none.
    line : int
    """

    name: str
    points: tuple[tuple[float, float], ...] = ()
    through: str = ""
    across: str = ""
    line: int = 0


@dataclass(frozen=True, kw_only=True)
class ExpectedDevices:
    """Devices that must be found on the wafer.

    Attributes
    ----------
    kind : str
        ``transistors`` or ``capacitors``.
    count : int
    terminals : mapping from role to label, e.g. ``gate`` → ``G``
    line : int
    """

    kind: str
    count: int
    terminals: Mapping[str, str] = field(default_factory=dict)
    line: int = 0


@dataclass(frozen=True, kw_only=True)
class ExpectedFilm:
    """A film that must survive. ``fraction`` : the smallest part of its thickness that may be left where it stays."""

    material: str
    fraction: float
    line: int = 0


@dataclass(frozen=True, kw_only=True)
class Expectation:
    """What its maker wants; only ever checked, never used as input.

    Attributes
    ----------
    devices : tuple of ExpectedDevices
    keep : tuple of ExpectedFilm
    present : tuple of str
        Materials that must be somewhere at the end.
    apart, joined : tuple of (label, label)
        Terminals that must not, or must, be connected.
    probe_voltage : float or None [V]
        The highest voltage that will be put across the dielectric.
    line : int
    lines : mapping from key to int
        Line of each key of the block.
    """

    devices: tuple[ExpectedDevices, ...] = ()
    keep: tuple[ExpectedFilm, ...] = ()
    present: tuple[str, ...] = ()
    apart: tuple[tuple[str, str], ...] = ()
    joined: tuple[tuple[str, str], ...] = ()
    probe_voltage: float | None = None
    line: int = 0
    lines: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Flow:
    """A validated plan.

    Attributes
    ----------
    title : str
    file : str
    text : str
        The plan text as read; its digest names the plan.
    digest : str
        First 12 hexadecimal digits of the SHA-256 of the text.
    body : Body
    drawing : str
        Path of the mask drawing, relative to the plan.
    grid : float or None [m]
        On which the corners of the levels must lie.
    masks : mapping from name to MaskLevel
    cuts : mapping from name to CutAsked
    steps : tuple of Step
    expect : Expectation or None
    invented : bool
        An example: everything shown from it says so.
    because : str
    finished : bool
        False for a history that has not come to the end of its plan.
    readings : tuple of str
        What was assumed in reading, e.g. ``line 14: A read as ångström``.
    """

    title: str
    file: str
    text: str
    digest: str
    body: Body
    drawing: str = ""
    grid: float | None = None
    masks: Mapping[str, MaskLevel] = field(default_factory=dict)
    cuts: Mapping[str, CutAsked] = field(default_factory=dict)
    steps: tuple[Step, ...] = ()
    expect: Expectation | None = None
    invented: bool = False
    because: str = ""
    finished: bool = True
    readings: tuple[str, ...] = ()
