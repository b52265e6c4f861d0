"""The answer that shows the predicted curves of a transistor: for people, for spreadsheets and for programs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from filmwright.units import convert, plain

if TYPE_CHECKING:
    from filmwright.emulate import Families, PredictedBand, Prediction, SectionCurrents
    from filmwright.outputs import Plot

COLUMNS = (
    "curve",
    "gate voltage [V]",
    "drain voltage [V]",
    "drain current [A]",
    "gate current [A]",
    "capacitance [pF]",
)


@dataclass(frozen=True, kw_only=True)
class PredictedNumber:
    """A parameter of the predicted curves, by the definition of measured ones.

    Attributes
    ----------
    name, unit, method : str
    value : float or None [SI]
    band : PredictedBand or None
        What the spreads of all values on file make of it.
    why_not : str
        Why there is no value.
    """

    name: str
    unit: str
    method: str
    value: float | None
    band: PredictedBand | None
    why_not: str = ""

    def printed(self, value: float) -> float:
        """A value of this parameter in its printed unit."""
        return _round(plain(value, self.unit.replace("/decade", "")))

    def fields(self) -> dict[str, Any]:
        """For programs."""
        value = None if self.value is None else self.printed(self.value)
        told: dict[str, Any] = {"value": value, "unit": self.unit, "method": self.method}
        if self.band is not None:
            told["low"], told["high"] = self.printed(self.band.low), self.printed(self.band.high)
            told["band"] = "95 %, from the spreads of the values on file"
            told["from"] = [{"what": what, "share": round(share, 3)} for what, share in self.band.shares[:6]]
        if self.why_not:
            told["why_not"] = self.why_not
        return told


@dataclass(frozen=True, kw_only=True)
class PredictAnswer:
    """Predicted curves of one transistor.

    Attributes
    ----------
    flow, device : str
    which : str
        ``as planned``, or ``as run on wafer …``.
    prediction : Prediction
    curves : Families
    numbers : tuple of PredictedNumber
    frequency : float or None [1/s]
        Up to which the channel follows its gate, turned on.
    leak : str
        Where and through what the gate leaks, or why that is not known.
    warnings : tuple of str
    section : SectionCurrents or None
        Transfer curves in two dimensions on the device's own section, where they were asked for.
    as_csv : bool
    """

    flow: str
    device: str
    which: str
    prediction: Prediction
    curves: Families
    numbers: tuple[PredictedNumber, ...]
    frequency: float | None
    leak: str
    warnings: tuple[str, ...]
    section: SectionCurrents | None = None
    as_csv: bool = False

    def plots(self) -> tuple[Plot, ...]:
        """The predicted families."""
        from filmwright.outputs import predicted_family_plots

        return predicted_family_plots(self.curves, self.device)

    def _repr_html_(self) -> str:
        from filmwright.desk.curve_files import notebook_html

        return notebook_html(
            [{"parameter": each.name, **each.fields()} for each in self.numbers], self.plots()
        )

    def fields(self) -> dict[str, Any]:
        """For programs."""
        curves, made = self.curves, self.prediction
        design = made.design
        return {
            "flow": self.flow,
            "device": self.device,
            "which": self.which,
            "kind": "predicted, not measured",
            "model": "states of the film" if made.transistor is not None else "swing and carriers on file",
            "temperature": {"value": round(made.temperature, 2), "unit": "K"},
            "width": {"value": _in(design.width, "um"), "unit": "um"},
            "length": {"value": _in(design.length, "um"), "unit": "um"},
            "areal_capacitance": {"value": _in(design.areal_capacitance, "nF/cm^2"), "unit": "nF/cm^2"},
            "parameters": {each.name: each.fields() for each in self.numbers},
            "rests_on": {
                name: {
                    "value": _in(value.value, value.unit),
                    "low": _in(value.low, value.unit),
                    "high": _in(value.high, value.unit),
                    "unit": value.unit,
                    "condition": value.condition,
                    "source": str(value.source),
                }
                for name, value in made.rests_on.items()
            },
            "notes": list(made.notes),
            "warnings": list(self.warnings),
            "leakage": self.leak,
            "follows_up_to": None
            if self.frequency is None
            else {"value": _round(self.frequency), "unit": "Hz"},
            "transfer": {
                "gate_voltage": _list(curves.gate),
                "drain_voltages": _list(curves.drains),
                "drain_current": [_list(each) for each in curves.transfer.T],
                "gate_current": None
                if curves.gate_current is None
                else [_list(each) for each in curves.gate_current.T],
                "units": {"voltage": "V", "current": "A"},
            },
            "output": {
                "drain_voltage": _list(curves.drain),
                "gate_voltages": _list(curves.gates),
                "drain_current": [_list(each) for each in curves.output],
                "units": {"voltage": "V", "current": "A"},
            },
            "capacitance": None
            if curves.capacitance is None
            else {
                "gate_voltage": _list(curves.gate),
                "capacitance": _list(curves.capacitance),
                "units": {"voltage": "V", "capacitance": "F"},
            },
            "section": None if self.section is None else _section_fields(self.section),
        }

    def csv_text(self) -> str:
        """One line a point, for a spreadsheet."""
        from filmwright.outputs import csv_text

        about = " ".join(f"{self.device}, {self.which}".split())
        return f"# predicted, not measured: {about}\n" + csv_text([COLUMNS, *self._rows()])

    def _rows(self) -> Iterator[list[str]]:
        curves = self.curves
        for column, drain in enumerate(curves.drains):
            for row, gate in enumerate(curves.gate):
                leaks = curves.gate_current
                yield [
                    "transfer",
                    f"{gate:.6g}",
                    f"{drain:.6g}",
                    f"{curves.transfer[row, column]:.6g}",
                    "" if leaks is None else f"{leaks[row, column]:.6g}",
                    "",
                ]
        for row, gate in enumerate(curves.gates):
            for column, drain in enumerate(curves.drain):
                yield ["output", f"{gate:.6g}", f"{drain:.6g}", f"{curves.output[row, column]:.6g}", "", ""]
        if curves.capacitance is not None:
            for gate, held in zip(curves.gate, curves.capacitance, strict=True):
                yield ["capacitance", f"{gate:.6g}", "0", "", "", f"{convert(float(held), 'pF'):.6g}"]
        if self.section is not None:
            for column, drain in enumerate(self.section.drain):
                for gate, current in zip(self.section.gate, self.section.current[:, column], strict=True):
                    yield ["section", f"{gate:.6g}", f"{drain:.6g}", f"{current:.6g}", "", ""]


def _section_fields(section: SectionCurrents) -> dict[str, Any]:
    """In two dimensions, beside an even film as long and as thick as the section shows."""
    return {
        "length": {"value": _in(section.cut.length, "um"), "unit": "um"},
        "contact": section.cut.contact,
        "nodes": section.nodes,
        "gate_voltage": _list(section.gate),
        "drain_voltages": _list(section.drain),
        "drain_current": [_list(each) for each in section.current.T],
        "drain_current_of_even_film": [_list(each) for each in section.even.T],
        "units": {"voltage": "V", "current": "A"},
        "notes": list(section.notes),
    }


def _round(value: float) -> float:
    return float(f"{value:.6g}")


def _in(value: float | None, unit: str) -> float | None:
    return None if value is None else _round(convert(value, unit) if unit else value)


def _list(values: Any) -> list[float]:
    return [_round(float(each)) for each in values]
