"""Frozen answers of the verbs, each with its fields for programs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from filmwright.units import convert, plain, write

if TYPE_CHECKING:
    from filmwright.emulate import HeatLedger, Listing, Reading
    from filmwright.learn import Proposal
    from filmwright.measure import CurveResult, Geometry, OutputCurve, Sweep
    from filmwright.outputs import Plot
    from filmwright.process import Setting
    from filmwright.record import Event
    from filmwright.review import Finding, Lost


@dataclass(frozen=True, kw_only=True)
class Suggestion:
    """Lines of a plan that findings ask to change, and what the review says then.

    Attributes
    ----------
    difference : str
        A unified diff; empty when no remedy is mechanical.
    followed : tuple of Finding
        Those whose change it is.
    left : tuple of Finding
        Of the changed plan.
    counts : mapping from severity to int
        Of the changed plan.
    """

    difference: str
    followed: tuple[Finding, ...]
    left: tuple[Finding, ...]
    counts: Mapping[str, int]

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "difference": self.difference,
            "followed": [{"rule": each.rule, "step": each.step, "line": each.line} for each in self.followed],
            "left": [each.fields() for each in self.left],
            "counts": dict(self.counts),
        }


def _lost_fields(lost: Lost) -> dict[str, Any]:
    """A loss in nanometres."""
    lengths = {name: _finite(convert(getattr(lost, name), "nm")) for name in ("typical", "most", "before")}
    return {
        "film": lost.film,
        "material": lost.material,
        "place": lost.place,
        "step": lost.step,
        "kind": lost.kind,
        "title": lost.title,
        "line": lost.line,
        **{f"{name}_nm": value for name, value in lengths.items()},
    }


def _heat_fields(ledger: HeatLedger) -> dict[str, Any]:
    """The heat of a flow, times in minutes, temperatures in degrees Celsius."""
    return {
        "steps": [
            {
                "step": each.step,
                "kind": each.kind,
                "line": each.line,
                "peak_degC": _finite(convert(each.peak, "degC")),
                "time_min": _finite(convert(each.time, "min")),
                "up_min": _finite(convert(each.up, "min")),
                "down_min": _finite(convert(each.down, "min")),
                "atmosphere": each.atmosphere,
            }
            for each in ledger.steps
        ],
        "films": [
            {
                "film": each.film,
                "material": each.material,
                "peak_degC": _finite(convert(each.peak, "degC")),
                "hot_min": _finite(convert(each.hot, "min")),
                "limit_degC": None if each.limit is None else _finite(convert(each.limit.value, "degC")),
                "at_limit_min": None if each.limit is None else _finite(convert(each.spent, "min")),
                "source": "" if each.limit is None else str(each.limit.source),
            }
            for each in ledger.films
        ],
        "diffused": [
            {
                "what": each.what,
                "film": each.film,
                "length_nm": _finite(convert(each.length, "nm")),
                "thickness_nm": _finite(convert(each.thickness, "nm")),
                "outside_measured_temperatures": each.outside,
                "source": str(each.source),
            }
            for each in ledger.diffused
        ],
    }


@dataclass(frozen=True, kw_only=True)
class ReviewAnswer:
    """Findings of a plan; with what every film lost, and with changes of the plan, where they were asked for."""

    flow: str
    findings: tuple[Finding, ...]
    counts: Mapping[str, int]
    losses: tuple[Lost, ...] | None = None
    suggestion: Suggestion | None = None
    heat: HeatLedger | None = None

    @property
    def stopped(self) -> bool:
        """Whether there is a stop."""
        return self.counts["stop"] > 0

    def fields(self) -> dict[str, Any]:
        """For programs."""
        found: dict[str, Any] = {
            "flow": self.flow,
            "findings": [each.fields() for each in self.findings],
            "counts": dict(self.counts),
        }
        if self.losses is not None:
            found["losses"] = [_lost_fields(each) for each in self.losses]
        if self.suggestion is not None:
            found["suggestion"] = self.suggestion.fields()
        if self.heat is not None:
            found["heat"] = _heat_fields(self.heat)
        return found


@dataclass(frozen=True, kw_only=True)
class SettingLine:
    """One setting as it is printed."""

    setting: Setting

    @property
    def name(self) -> str:
        """Name of the setting."""
        return self.setting.name

    @property
    def shown(self) -> str:
        """Value with unit and spread, or the words."""
        return setting_text(self.setting)

    @property
    def evidence(self) -> str:
        """What it rests on."""
        return self.setting.evidence

    def fields(self) -> dict[str, Any]:
        """For programs."""
        s = self.setting
        return {
            "name": s.name,
            "value": None if s.value is None else _finite(convert(s.value, s.unit)),
            "unit": s.unit,
            "spread": None if s.spread is None else _finite(plain(s.spread, s.unit)),
            "source": str(s.source),
            "kind": s.source.kind,
            "evidence": s.evidence,
            "because": s.because,
            "text": s.text,
        }


def _finite(number: float) -> float | None:
    return float(f"{number:.9g}") if math.isfinite(number) else None


def setting_text(setting: Setting) -> str:
    """A setting as people write it, e.g. ``231 s ± 9 s``."""
    if setting.value is None:
        return setting.text
    text = write(setting.value, setting.unit)
    if setting.spread:
        spread = plain(setting.spread, setting.unit)
        text += f" ± {spread:.2g}" if spread < 100 else f" ± {spread:.0f}"
    return text


@dataclass(frozen=True, kw_only=True)
class StepSettings:
    """What to dial in at one step."""

    number: str
    code: str
    line: int
    title: str
    name: str
    tool: str
    settings: tuple[SettingLine, ...]
    duration: float
    cautions: tuple[str, ...]
    gear: tuple[str, ...] = ()
    waste: str = ""
    interlock: str = ""
    neighbours: tuple[str, ...] = ()
    alarms: tuple[str, ...] = ()
    second_person: bool = False
    warnings: tuple[str, ...] = ()
    follows: tuple[SettingLine, ...] = ()
    readings: tuple[Reading, ...] = ()
    tables: tuple[Listing, ...] = ()

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "number": self.number,
            "code": self.code,
            "line": self.line,
            "name": self.title,
            "written_step": self.name,
            "tool": self.tool,
            "settings": [each.fields() for each in self.settings],
            "duration_s": round(self.duration, 3),
            "cautions": list(self.cautions),
            "gear": list(self.gear),
            "waste": self.waste,
            "interlock": self.interlock,
            "keep_apart_from": list(self.neighbours),
            "alarms": list(self.alarms),
            "second_person": self.second_person,
            "warnings": list(self.warnings),
            "follows": [each.fields() for each in self.follows],
            "readings": [asdict(each) for each in self.readings],
            "tables": [
                {
                    "title": each.title,
                    "note": each.note,
                    "rows": [dict(zip(each.columns, row, strict=True)) for row in each.rows],
                }
                for each in self.tables
            ],
        }


@dataclass(frozen=True, kw_only=True)
class SettingsAnswer:
    """What to dial in, step by step."""

    flow: str
    steps: tuple[StepSettings, ...]

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {"flow": self.flow, "steps": [each.fields() for each in self.steps]}


@dataclass(frozen=True, kw_only=True)
class FilesAnswer:
    """Files that were written, and the one to open."""

    written: tuple[Path, ...]
    open: Path | None = None
    said: tuple[str, ...] = ()

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "written": [str(path) for path in self.written],
            "open": str(self.open) if self.open else None,
            "said": list(self.said),
        }


@dataclass(frozen=True, kw_only=True)
class LotAnswer:
    """A lot that was started."""

    lot: str
    title: str
    wafers: tuple[str, ...]
    record: str

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {"lot": self.lot, "title": self.title, "wafers": list(self.wafers), "record": self.record}


@dataclass(frozen=True, kw_only=True)
class LogLine:
    """One entry of the log."""

    event: Event
    title: str

    @property
    def row(self) -> tuple[str, ...]:
        """Cells as they are printed."""
        e = self.event
        value = "" if e.value is None else write(e.value, e.unit)
        what = f"{e.kind} {e.name}".strip()
        return (
            e.happened[:16].replace("T", " "),
            e.step,
            e.wafer or "all",
            what,
            value or e.text,
            e.who,
            "invented" if e.invented else "",
            e.id[:8],
        )

    def fields(self) -> dict[str, Any]:
        """For programs."""
        e = self.event
        return {
            "id": e.id,
            "about": e.about,
            "step": e.step,
            "title": self.title,
            "wafer": e.wafer,
            "kind": e.kind,
            "name": e.name,
            "value": None if e.value is None else _finite(convert(e.value, e.unit)),
            "unit": e.unit,
            "text": e.text,
            "happened": e.happened,
            "written": e.written,
            "who": e.who,
            "invented": e.invented,
        }


@dataclass(frozen=True, kw_only=True)
class LogAnswer:
    """Entries of a lot: those just written, or all of them.

    ``understood`` is what typed lines say in words; with ``preview`` nothing of it was kept.
    """

    lot: str
    events: tuple[LogLine, ...]
    understood: tuple[str, ...] = ()
    preview: bool = False

    def fields(self) -> dict[str, Any]:
        """For programs."""
        told = {"understood": list(self.understood), "kept": not self.preview} if self.understood else {}
        return {"lot": self.lot, "events": [each.fields() for each in self.events], **told}


@dataclass(frozen=True, kw_only=True, eq=False)
class ExtractAnswer:
    """Parameters of measured curves; ``problems`` are files that could not be read beside others that could.

    ``results``, ``sweeps`` and ``geometries`` have one entry for each curve, for notebooks and figures. ``families`` are the
    output curves, ``checklists`` what is to be said beside the parameters, where it was asked for.
    ``explanations`` tell what was understood of each file, where that was asked for; ``refused`` counts the files that could
    not be read. ``everything`` asks for every parameter and its definition where many curves would be shown in a table.
    """

    curves: tuple[dict[str, Any], ...]
    problems: tuple[str, ...] = ()
    noticed: tuple[str, ...] = ()
    results: tuple[CurveResult, ...] = ()
    sweeps: tuple[Sweep, ...] = ()
    geometries: tuple[Geometry, ...] = ()
    output_curves: tuple[OutputCurve, ...] = ()
    families: tuple[dict[str, Any], ...] = ()
    checklists: tuple[dict[str, Any], ...] = ()
    written: tuple[Path, ...] = ()
    explanations: tuple[dict[str, Any], ...] = ()
    refused: int = 0
    everything: bool = False

    @property
    def stopped(self) -> bool:
        """Whether files were refused beside others that were read."""
        return self.refused > 0

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "curves": list(self.curves),
            "families": list(self.families),
            "checklists": list(self.checklists),
            "problems": list(self.problems),
            "noticed": list(self.noticed),
            "written": [str(path) for path in self.written],
            **({"explanations": list(self.explanations)} if self.explanations else {}),
        }

    def rows(self) -> tuple[Mapping[str, Any], ...]:
        """One row for each curve and parameter."""
        from filmwright.outputs import parameter_rows

        return parameter_rows(self.results, self.sweeps, self.geometries)

    def table(self) -> Any:
        """The rows as a pandas table, units in the heads of its columns or beside the value."""
        from filmwright.outputs import frame

        return frame(self.rows())

    def to_csv(self, path: str | Path) -> Path:
        """Write the rows for spreadsheets."""
        from filmwright.desk.curve_files import write_rows

        return write_rows(self.rows(), Path(path), "csv")

    def to_parquet(self, path: str | Path) -> Path:
        """Write the rows as Parquet."""
        from filmwright.desk.curve_files import write_rows

        return write_rows(self.rows(), Path(path), "parquet")

    def plots(self) -> tuple[Plot, ...]:
        """Figures of the first devices, to draw live or for print."""
        from filmwright.desk.curve_files import plots_of

        return plots_of(self)

    def to_figure(self, path: str | Path) -> tuple[Path, ...]:
        """Write the figures for print; the ending says the kind: .svg, .pdf or .png."""
        from filmwright.desk.curve_files import write_figure

        return write_figure(self.plots(), Path(path))

    def _repr_html_(self) -> str:
        from filmwright.desk.curve_files import notebook_html

        return notebook_html(self.rows(), self.plots())


@dataclass(frozen=True, kw_only=True)
class CompareRow:
    """One parameter of one device: planned, as run, measured (None where not known, for the reason ``why_not``), in ``unit``."""

    device: str
    parameter: str
    unit: str
    planned: float | None
    as_run: float | None
    measured: float | None
    measured_std: float | None = None
    why_not: str = ""

    @property
    def cells(self) -> tuple[str, ...]:
        """Cells as they are printed."""
        spread = f" ± {self.measured_std:.2g}" if self.measured_std else ""
        numbers = [("—" if x is None else f"{x:.3g}") for x in (self.planned, self.as_run, self.measured)]
        return (
            self.device,
            f"{self.parameter} [{self.unit}]",
            numbers[0],
            numbers[1],
            numbers[2] + spread if self.measured is not None else f"not measured: {self.why_not}",
        )

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "device": self.device,
            "parameter": self.parameter,
            "unit": self.unit,
            "as_planned": self.planned,
            "as_run": self.as_run,
            "measured": self.measured,
            "measured_std": self.measured_std,
            "why_not_measured": self.why_not,
        }


@dataclass(frozen=True, kw_only=True)
class CompareAnswer:
    """Predicted as planned, predicted as run, and measured."""

    lot: str
    rows: tuple[CompareRow, ...]
    said: tuple[str, ...] = ()
    shares: tuple[dict[str, Any], ...] = ()
    explained: tuple[dict[str, Any], ...] = ()
    open: Path | None = None

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "lot": self.lot,
            "rows": [each.fields() for each in self.rows],
            "shares": list(self.shares),
            "explained": list(self.explained),
            "said": list(self.said),
            "open": str(self.open) if self.open else None,
        }

    def table(self) -> Any:
        """The rows as a pandas table, the unit beside the numbers."""
        from filmwright.outputs import frame

        return frame([each.fields() for each in self.rows])

    def _repr_html_(self) -> str:
        from filmwright.outputs import table_html

        names = (
            "device",
            "parameter",
            "unit",
            "as_planned",
            "as_run",
            "measured",
            "measured_std",
            "why_not_measured",
        )
        return table_html([each.fields() for each in self.rows], names)


def _proposal_fields(proposal: Proposal) -> dict[str, Any]:
    """A proposal in the unit in which people write it."""
    p = proposal
    numbers = {name: _finite(convert(getattr(p, name), p.unit)) for name in ("old", "new", "low", "high")}
    spreads = {name: _finite(plain(getattr(p, name), p.unit)) for name in ("old_std", "new_std")}
    return {
        "what": p.what,
        "quantity": p.quantity,
        "tool": p.tool,
        "material": p.material,
        "medium": p.medium,
        "recipe": p.recipe,
        **numbers,
        **spreads,
        "unit": p.unit,
        "change_worthwhile": p.change_worthwhile,
        "why": p.why,
        "warnings": list(p.warnings),
        "evidence": list(p.evidence),
        "invented": p.invented,
    }


@dataclass(frozen=True, kw_only=True)
class NextAnswer:
    """What to change in the next run."""

    lot: str
    proposals: tuple[Proposal, ...]
    said: tuple[str, ...] = field(default=())

    @staticmethod
    def shown(proposal: Proposal) -> str:
        """Old and new value with their bands, as printed."""
        old = f"{write(proposal.old, proposal.unit)} ± {plain(proposal.old_std, proposal.unit):.2g}"
        new = f"{write(proposal.new, proposal.unit)} ± {plain(proposal.new_std, proposal.unit):.2g}"
        return f"{old}  →  {new}   (95 %: {write(proposal.low, proposal.unit)} to {write(proposal.high, proposal.unit)})"

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "lot": self.lot,
            "proposals": [_proposal_fields(each) for each in self.proposals],
            "said": list(self.said),
        }
