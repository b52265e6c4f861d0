"""The report of a lot: what it holds, and the page. It computes nothing: all arrives as plain values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from filmwright.outputs.pages import render
from filmwright.outputs.plain_table import PlainTable
from filmwright.outputs.plot import Plot
from filmwright.outputs.words import spread_text
from filmwright.units import write

if TYPE_CHECKING:
    from filmwright.review import Finding


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """The first screen, one plain sentence each: what was made, did it work, how sure is that."""

    made: str
    worked: str
    sure: str


@dataclass(frozen=True, kw_only=True)
class YieldRow:
    """How many probed devices ended for one cause (to work is a cause too); ``split`` names a wafer."""

    cause: str
    count: int
    works: bool = False
    split: str = ""


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """A number with its 95 % interval.

    Attributes
    ----------
    name : str
    value, low, high : float or None [SI]
        None when it cannot be told; ``why_not`` then says why.
    unit : str
        To print in.
    count : int
        Devices behind it; 0 when that has no meaning.
    definition, window : str
        By which method, over which data.
    valid : bool
    why_not : str
    group : str
        Device, wafer or split that it belongs to.
    """

    name: str
    unit: str
    value: float | None = None
    low: float | None = None
    high: float | None = None
    count: int = 0
    definition: str = ""
    window: str = ""
    valid: bool = True
    why_not: str = ""
    group: str = ""

    @property
    def text(self) -> str:
        """The value with its unit, or ``cannot tell``."""
        return "cannot tell" if self.value is None else write(self.value, self.unit)

    @property
    def interval(self) -> str:
        """The interval in the same unit, e.g. ``9.8 to 11.4``; empty when there is none."""
        if self.low is None or self.high is None:
            return ""
        low, high = (write(each, self.unit).split(" ")[0] for each in (self.low, self.high))
        return f"{low} to {high}"


@dataclass(frozen=True, kw_only=True)
class AsRunRow:
    """One number of one step: planned, as run and measured are three things.

    Attributes
    ----------
    name, unit : str
    planned, as_run, measured : float or None [SI]
    planned_std, measured_std : float or None [SI]
    apart : bool
        Whether as run or measured lies outside the planned band.
    invented : bool
    """

    name: str
    unit: str
    planned: float | None = None
    as_run: float | None = None
    measured: float | None = None
    planned_std: float | None = None
    measured_std: float | None = None
    apart: bool = False
    invented: bool = False

    @property
    def lived(self) -> bool:
        """Whether anything was logged or measured beside the plan."""
        return self.as_run is not None or self.measured is not None

    def text(self, field: str) -> str:
        """One of the three columns as text; a dash where nothing is known."""
        value = getattr(self, field)
        if value is None:
            return "–"
        std = {"planned": self.planned_std, "measured": self.measured_std}.get(field)
        band = "" if not std else f" ± {spread_text(2 * std, self.unit)}"
        return write(value, self.unit) + band


@dataclass(frozen=True, kw_only=True)
class ReportStep:
    """One step as planned and as run.

    Attributes
    ----------
    number, code, title, tool : str
    happened : str
        ``as planned``, ``changed``, ``skipped``, ``extra``, ``repeated`` or ``not run``.
    when, by, note : str
    rows : tuple of AsRunRow
    """

    number: str
    title: str
    code: str = ""
    tool: str = ""
    happened: str = "as planned"
    when: str = ""
    by: str = ""
    note: str = ""
    rows: tuple[AsRunRow, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A picture with its caption: a figure that pages draw live, or ``svg``, trusted mark-up of this room."""

    title: str
    svg: str = ""
    caption: str = ""
    invented: bool = False
    plot: Plot | None = None

    @property
    def broad(self) -> bool:
        """Whether it needs the whole width of a page."""
        return self.plot is None or len(self.plot.panels) > 1


@dataclass(frozen=True, kw_only=True)
class ComparisonRow:
    """One parameter predicted from the plan, from what was run, and measured; the difference shared out.

    Attributes
    ----------
    name, unit : str
    planned, as_run, measured : Estimate
    shares : tuple of (cause, Estimate)
    rest : Estimate
        What stays unexplained, with its interval.
    """

    name: str
    planned: Estimate
    as_run: Estimate
    measured: Estimate
    shares: tuple[tuple[str, Estimate], ...] = ()
    rest: Estimate | None = None


@dataclass(frozen=True, kw_only=True)
class ProposalRow:
    """One change for the next run.

    Attributes
    ----------
    what, now, proposed, band, gain, evidence : str
    warning : str
        E.g. that it lies outside what was tried.
    inside_noise : bool
        The change is smaller than what can be told apart: do nothing.
    """

    what: str
    now: str
    proposed: str
    band: str = ""
    gain: str = ""
    evidence: str = ""
    warning: str = ""
    inside_noise: bool = False


@dataclass(frozen=True, kw_only=True)
class SourceRow:
    """Where one number comes from."""

    number: str
    value: str
    kind: str
    citation: str
    used_in: str = ""


@dataclass(frozen=True, kw_only=True)
class Unknown:
    """What is not known, and the measurement that would settle it."""

    what: str
    settled_by: str


@dataclass(frozen=True, kw_only=True)
class SafetyRow:
    """What is usual against the hazards of some steps alike.

    Attributes
    ----------
    steps : tuple of str
        Codes with what is done.
    cautions, gear, apart, alarms : tuple of str
    waste, interlock : str
    second_person : bool
    """

    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    gear: tuple[str, ...] = ()
    apart: tuple[str, ...] = ()
    alarms: tuple[str, ...] = ()
    waste: str = ""
    interlock: str = ""
    second_person: bool = False


@dataclass(frozen=True, kw_only=True)
class HeatRow:
    """What one film has seen of heat, ready to print.

    Attributes
    ----------
    film, peak, hot, limit, spent : str
        ``spent``: time at the limit that does as much; both are empty where no limit is on file.
    moved : tuple of str
        What diffused in it, and how far.
    """

    film: str
    peak: str
    hot: str
    limit: str = ""
    spent: str = ""
    moved: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class ReportContent:
    """Everything that a report shows; what is empty is said to be missing, not hidden.

    Attributes
    ----------
    lot, title, digest, date, because : str
    wafers : tuple of str
    invented : bool
        Lot, readings and curves are an example.
    verdict : Verdict
    yields : tuple of YieldRow
    medians : tuple of Estimate
        Over working devices; shown after the yield.
    unknowns : tuple of Unknown
    findings : tuple of Finding
    sections, curves, maps, shares : tuple of Picture
    ends : tuple of Picture
        What is expected to be seen while each plasma etch ends.
    steps : tuple of ReportStep
    parameters : tuple of Estimate
        Per device or wafer, named in ``group``.
    many : tuple of PlainTable
        What the devices tell together.
    many_figures : tuple of Picture
    lengths : tuple of PlainTable
        Contacts and channel from sets of different length.
    length_figures : tuple of Picture
    fit : PlainTable or None
        What the physical model was fitted to.
    checklist : tuple of (what, value, note)
        Conditions of measurement; an empty value is printed as missing.
    comparison : tuple of ComparisonRow
    proposals : tuple of ProposalRow
    sources : tuple of SourceRow
    methods : tuple of str
        Paragraphs.
    safety : tuple of SafetyRow
    heat : tuple of HeatRow
    links : tuple of (text, file name)
    """

    lot: str
    title: str
    digest: str
    verdict: Verdict
    date: str = ""
    because: str = ""
    wafers: tuple[str, ...] = ()
    invented: bool = False
    yields: tuple[YieldRow, ...] = ()
    medians: tuple[Estimate, ...] = ()
    unknowns: tuple[Unknown, ...] = ()
    findings: tuple[Finding, ...] = ()
    sections: tuple[Picture, ...] = ()
    ends: tuple[Picture, ...] = ()
    curves: tuple[Picture, ...] = ()
    maps: tuple[Picture, ...] = ()
    shares: tuple[Picture, ...] = ()
    steps: tuple[ReportStep, ...] = ()
    parameters: tuple[Estimate, ...] = ()
    many: tuple[PlainTable, ...] = ()
    many_figures: tuple[Picture, ...] = ()
    lengths: tuple[PlainTable, ...] = ()
    length_figures: tuple[Picture, ...] = ()
    fit: PlainTable | None = None
    checklist: tuple[tuple[str, str, str], ...] = ()
    comparison: tuple[ComparisonRow, ...] = ()
    proposals: tuple[ProposalRow, ...] = ()
    sources: tuple[SourceRow, ...] = ()
    methods: tuple[str, ...] = ()
    safety: tuple[SafetyRow, ...] = ()
    heat: tuple[HeatRow, ...] = ()
    links: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, kw_only=True)
class YieldTable:
    """Yield by cause, ready to print: total, rows of (cause, works, count, count per split)."""

    total: int
    splits: tuple[str, ...]
    totals: tuple[int, ...]
    rows: tuple[tuple[str, bool, int, tuple[int, ...]], ...]


def yield_table(rows: Sequence[YieldRow]) -> YieldTable:
    """Counts by cause over all devices and per split; working devices first, then the commonest cause."""
    splits = tuple(dict.fromkeys(row.split for row in rows if row.split))
    causes = tuple(dict.fromkeys(row.cause for row in rows))
    found = []
    for cause in causes:
        own = [row for row in rows if row.cause == cause]
        counts = tuple(sum(row.count for row in own if row.split == split) for split in splits)
        found.append((cause, any(row.works for row in own), sum(row.count for row in own), counts))
    found.sort(key=lambda row: (not row[1], -row[2], row[0]))
    totals = tuple(sum(row.count for row in rows if row.split == split) for split in splits)
    return YieldTable(total=sum(row.count for row in rows), splits=splits, totals=totals, rows=tuple(found))


def report_html(content: ReportContent) -> str:
    """The report as one self-contained HTML page."""
    groups: dict[str, list[Estimate]] = {}
    for estimate in content.parameters:
        groups.setdefault(estimate.group, []).append(estimate)
    return render("report.html", {"c": content, "yields": yield_table(content.yields), "groups": groups})


@dataclass(frozen=True, kw_only=True)
class CompareContent:
    """Predicted as planned, predicted as run and measured, on one page.

    Attributes
    ----------
    title : str
    rows : tuple of ComparisonRow
    curves, shares : tuple of Picture
    said : tuple of str
        What cannot be compared, and why.
    invented : bool
    """

    title: str
    rows: tuple[ComparisonRow, ...] = ()
    curves: tuple[Picture, ...] = ()
    shares: tuple[Picture, ...] = ()
    said: tuple[str, ...] = ()
    invented: bool = False


def compare_html(content: CompareContent) -> str:
    """The comparison as one self-contained HTML page."""
    names = ("title", "rows", "curves", "shares", "said", "invented")
    return render("compare.html", {name: getattr(content, name) for name in names})
