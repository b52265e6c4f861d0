"""What is known: shipped facts, each with its source, the lab's own tools and calibrations, and what to
believe.

``book()`` holds the shipped facts; :func:`believe` chooses between a book value and the lab's own
calibrations.
"""

from filmwright.knowledge.belief import believe
from filmwright.knowledge.bottles import LAMP_LINES, Bottle
from filmwright.knowledge.checking import problems
from filmwright.knowledge.colour_tables import (
    ColourName,
    Tabulated,
    colour_names,
    lamp_temperatures,
    lights,
    observer,
    tabulated_light,
)
from filmwright.knowledge.composition import atoms_of
from filmwright.knowledge.end_points import EmissionLine, emission_line
from filmwright.knowledge.facts import Absence, Exposure, Substance, VapourCurve, YieldCoefficients
from filmwright.knowledge.geometry import Geometry, Motion, SourceKind, SourcePlace
from filmwright.knowledge.lab_parts import FAMILY_AXIS, AdmissionClass, Maintenance, ToolRecipe
from filmwright.knowledge.limits import (
    Limit,
    electrode_potential,
    halide_leaves_at,
    limits,
    usual_time,
    wafer_thickness,
)
from filmwright.knowledge.names import UnknownName
from filmwright.knowledge.optics import OpticalConstants, optical, optical_choices, optically_unknown
from filmwright.knowledge.readings import ReadingKind, ReadingOf, reading, readings
from filmwright.knowledge.shipped import Book, Property, book, read_book, version
from filmwright.knowledge.spent import spent_with
from filmwright.knowledge.types import (
    Bath,
    Belief,
    CalibratedQuantity,
    Calibration,
    Hazard,
    Hours,
    Lab,
    Material,
    MaterialKind,
    Medium,
    MediumKind,
    Method,
    Rate,
    Resist,
    RunResult,
    Tool,
    ToolRun,
    Verdict,
    Wait,
)
from filmwright.knowledge.waits import usual_waits
from filmwright.knowledge.wander import OwnWander

__all__ = [
    "believe",
    "problems",
    "ColourName",
    "Tabulated",
    "colour_names",
    "lamp_temperatures",
    "lights",
    "observer",
    "tabulated_light",
    "atoms_of",
    "EmissionLine",
    "emission_line",
    "Absence",
    "Exposure",
    "Substance",
    "VapourCurve",
    "YieldCoefficients",
    "Geometry",
    "Motion",
    "SourceKind",
    "SourcePlace",
    "FAMILY_AXIS",
    "AdmissionClass",
    "Maintenance",
    "ToolRecipe",
    "Limit",
    "electrode_potential",
    "halide_leaves_at",
    "limits",
    "usual_time",
    "wafer_thickness",
    "UnknownName",
    "OpticalConstants",
    "optical",
    "optical_choices",
    "optically_unknown",
    "ReadingKind",
    "ReadingOf",
    "reading",
    "readings",
    "Book",
    "Property",
    "book",
    "read_book",
    "version",
    "spent_with",
    "Bath",
    "Belief",
    "Bottle",
    "CalibratedQuantity",
    "Calibration",
    "Hazard",
    "Hours",
    "LAMP_LINES",
    "Lab",
    "Material",
    "MaterialKind",
    "Medium",
    "MediumKind",
    "Method",
    "Rate",
    "Resist",
    "RunResult",
    "Tool",
    "ToolRun",
    "Verdict",
    "Wait",
    "usual_waits",
    "OwnWander",
]
