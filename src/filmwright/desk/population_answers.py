"""The answer that tells of many devices, for people, for spreadsheets and for programs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from filmwright.units import convert, plain

if TYPE_CHECKING:
    from filmwright.learn import (
        CauseCount,
        DeviceOutcome,
        Leakage,
        Population,
        Robust,
        SizeEffect,
        SplitComparison,
        WaferMap,
    )
    from filmwright.outputs import Plot

DECADES = "decades"
"""Unit of what is told of a logarithm."""


@dataclass(frozen=True, kw_only=True)
class StatisticsAnswer:
    """What many devices tell together.

    Attributes
    ----------
    title : str
    told : Population
    outcomes : tuple of DeviceOutcome
        Every device, the excluded ones too.
    units : mapping from parameter to str
    over : str
        What the places lie on: ``wafer`` or ``die``.
    notes : tuple of str
    as_csv : bool
    """

    title: str
    told: Population
    outcomes: tuple[DeviceOutcome, ...]
    units: Mapping[str, str]
    over: str = "wafer"
    notes: tuple[str, ...] = ()
    as_csv: bool = False

    def unit(self, name: str) -> str:
        """The unit in which a parameter is printed."""
        return self.units.get(name, "")

    def shown(self, name: str, value: float) -> float:
        """A value [SI] in the unit in which it is printed."""
        return plain(value, self.unit(name).replace("/decade", ""))

    def level_unit(self, name: str) -> str:
        """Unit of maps, sizes and splits of a parameter: decades where they are those of a logarithm."""
        from filmwright.learn import LOGARITHMIC

        return DECADES if name in LOGARITHMIC else self.unit(name)

    def level(self, name: str, value: float) -> float:
        """A level or a difference of maps, sizes and splits in :meth:`level_unit`."""
        return value if self.level_unit(name) == DECADES else self.shown(name, value)

    def fields(self) -> dict[str, Any]:
        """For programs: units beside numbers, null where nothing can be told."""
        told = self.told
        found: dict[str, Any] = _finite(
            {
                "title": self.title,
                "devices": told.summary.devices,
                "wafers": told.summary.wafers,
                "yield": [_cause_fields(each) for each in told.summary.causes],
                "medians": self._medians(told.summary.medians),
                "excluded": {
                    "devices": [asdict(each) for each in told.left_out],
                    "medians_with_them": self._medians(told.with_left_out.medians) if told.left_out else None,
                },
                "groups": [
                    {
                        "by": each.by,
                        "name": each.name,
                        "working": each.working,
                        "devices": each.devices,
                        "medians": self._medians(each.medians),
                    }
                    for each in told.groups
                ],
                "maps_over": self.over,
                "maps": [self._map(each) for each in told.maps],
                "sizes": {
                    name: [self._size(name, each) for each in effects] for name, effects in told.sizes.items()
                },
                "splits": None if told.splits is None else self._splits(),
                "conditions": [
                    {
                        "first": each.first,
                        "second": each.second,
                        "comparable": each.comparable,
                        "refused": [str(one) for one in each.refused],
                        "said": [str(one) for one in each.said],
                        "not_on_file": list(each.unknown),
                    }
                    for each in told.checks
                ],
                "leakage": None if told.leakage is None else leakage_fields(told.leakage),
                "correlation": self._correlation(),
                "notes": [*told.summary.warnings, *told.notes, *self.notes],
            }
        )
        return found

    def _medians(self, medians: Mapping[str, Robust]) -> dict[str, Any]:
        return {
            name: {
                "median": self.shown(name, each.median),
                "low": self.shown(name, each.low) if math.isfinite(each.low) else None,
                "high": self.shown(name, each.high) if math.isfinite(each.high) else None,
                "spread": self.shown(name, each.spread),
                "unit": self.unit(name),
                "count": each.count,
            }
            for name, each in medians.items()
        }

    def _map(self, found: WaferMap) -> dict[str, Any]:
        name = found.parameter

        def shown(value: float | None) -> float | None:
            return None if value is None else self.level(name, value)

        return {
            "parameter": name,
            "wafer": found.wafer,
            "unit": self.level_unit(name),
            "radius": {"value": convert(found.radius, "mm"), "unit": "mm"},
            "centre": shown(found.centre),
            "parts": [
                {
                    "part": each.part,
                    "rise": shown(each.rise),
                    "low": shown(each.low),
                    "high": shown(each.high),
                    "direction_deg": math.degrees(each.direction),
                    "p_value": each.p_value,
                    "verdict": each.verdict,
                }
                for each in found.parts
            ],
            "edge_less_inside": None
            if found.edge is None
            else dict(zip(("difference", "low", "high"), map(shown, found.edge), strict=True)),
            "residual": shown(found.residual),
            "explained": found.explained,
            "outliers": list(found.outliers),
            "criterion": found.criterion,
            "why_not": found.why_not,
            "points": [
                {
                    "device": each.device,
                    "x_mm": convert(each.x, "mm"),
                    "y_mm": convert(each.y, "mm"),
                    "value": shown(each.value),
                    "std": shown(each.std),
                    "fitted": shown(each.fitted),
                    "residual": shown(each.residual),
                    "outlier": each.outlier,
                    "edge": each.edge,
                    "cause": each.cause,
                }
                for each in found.points
            ],
        }

    def _size(self, name: str, each: SizeEffect) -> dict[str, Any]:
        numbers = {
            what: None if (value := getattr(each, what)) is None else self.level(name, value)
            for what in ("change", "low", "high", "residual")
        }
        return {
            "axis": each.axis,
            "smallest_um": convert(each.smallest, "um"),
            "largest_um": convert(each.largest, "um"),
            **numbers,
            "unit": self.level_unit(name),
            "relative": each.relative,
            "p_value": each.p_value,
            "verdict": each.verdict,
            "why_not": each.why_not,
            "devices": each.devices,
            "wafers": each.wafers,
            "sizes": each.sizes,
            "outliers": [" ".join(place) for place in each.outliers],
        }

    def _splits(self) -> dict[str, Any]:
        study = self.told.splits
        assert study is not None  # asked for only where there are splits
        return {
            "correction": study.correction,
            "counted": study.told,
            "overall": dict(study.overall),
            "confounded": list(self.told.confounded),
            "pairs": [self._pair(each) for each in study.comparisons],
        }

    def _pair(self, each: SplitComparison) -> dict[str, Any]:
        from filmwright.learn import wafers_needed

        name = each.parameter
        between = each.between
        needed = None if not between or each.blocks else wafers_needed(each.difference, between)
        return {
            "parameter": name,
            "first": each.first,
            "second": each.second,
            "difference": self.level(name, each.difference),
            "low": self.level(name, each.low),
            "high": self.level(name, each.high),
            "unit": self.level_unit(name),
            "wafers": list(each.wafers),
            "devices": list(each.devices),
            "compared_within_blocks": each.blocks,
            "p_value": each.p_value,
            "adjusted": each.adjusted,
            "differs": each.called,
            "between_wafers": None if between is None else self.level(name, between),
            "detectable": None if each.detectable is None else self.level(name, each.detectable),
            "wafers_needed_for_this_difference": needed,
            "warnings": list(each.warnings),
        }

    def _correlation(self) -> dict[str, Any] | None:
        found = self.told.correlation
        if found is None:
            return None
        return {
            "method": "Spearman" + (", median of each wafer taken off" if found.within else ""),
            "correction": found.correction,
            "names": list(found.names),
            "matrix": found.array().tolist(),
            "pairs": [{**asdict(each), "goes_together": each.goes_together} for each in found.pairs],
        }

    def plots(self) -> tuple[Plot, ...]:
        """Maps, splits and correlations."""
        from filmwright.desk.population_pictures import plots_of

        return plots_of(self)

    def csv_text(self) -> str:
        """One line a device, for a spreadsheet."""
        from filmwright.outputs import csv_text

        names = list(dict.fromkeys(name for each in self.outcomes for name in each.parameters))
        heads = [
            "wafer",
            "device",
            "kind",
            "split",
            "W [um]",
            "L [um]",
            "x [mm]",
            "y [mm]",
            "cause",
            "excluded",
        ]
        lines: list[list[str]] = [[*heads, *(f"{name} [{self.unit(name)}]" for name in names)]]
        for each in self.outcomes:
            sizes = [
                "" if value is None else f"{convert(value, unit):.6g}"
                for value, unit in ((each.width, "um"), (each.length, "um"), (each.x, "mm"), (each.y, "mm"))
            ]
            values = [
                f"{self.shown(name, each.parameters[name]):.6g}" if name in each.parameters else ""
                for name in names
            ]
            lines.append(
                [
                    each.wafer,
                    each.device,
                    each.kind,
                    each.split,
                    *sizes,
                    each.cause or "works",
                    each.left_out,
                    *values,
                ]
            )
        return csv_text(lines)


def _cause_fields(each: CauseCount) -> dict[str, Any]:
    return asdict(each)


def leakage_fields(found: Leakage) -> dict[str, Any]:
    """How the gate current goes with area and edge, for programs."""
    units = {"area": "A/cm^2", "edge": "A/cm", "each device": "A"}
    return {
        "shares": [
            {
                "part": each.part,
                "value": leak_shown(each.part, each.value),
                "low": leak_shown(each.part, each.low),
                "high": leak_shown(each.part, each.high),
                "unit": units[each.part],
                "share_of_typical_device": each.share,
                "verdict": each.verdict,
            }
            for each in found.shares
        ],
        "scatter_of_ln": found.scatter,
        "condition": found.condition,
        "devices": found.devices,
        "without_current": found.below,
        "outliers": [" ".join(place) for place in found.outliers],
        "why_not": found.why_not,
        "what_would_tell": found.what_would_tell,
    }


def leak_shown(part: str, value: float) -> float:
    """A part of the leakage in A/cm², A/cm or A."""
    if part == "area":
        return value * convert(1.0, "m^2") / convert(1.0, "cm^2")
    return value / convert(1.0, "cm") if part == "edge" else value


def _finite(fields: Any) -> Any:
    """Numbers that JSON does not know become null; digits beyond the eighth are noise."""
    if isinstance(fields, dict):
        return {name: _finite(value) for name, value in fields.items()}
    if isinstance(fields, list | tuple):
        return [_finite(value) for value in fields]
    if isinstance(fields, float):
        return float(f"{fields:.9g}") if math.isfinite(fields) else None
    return fields
