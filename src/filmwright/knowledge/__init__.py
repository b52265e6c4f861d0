"""What is known: shipped facts, each with its source, the lab's own tools and calibrations, and what to
believe.

``book()`` holds the shipped facts; :func:`believe` chooses between a book value and the lab's own
calibrations.
"""

from filmwright.knowledge.belief import believe
from filmwright.knowledge.colour_tables import (
    ColourName,
    Tabulated,
    colour_names,
    lamp_temperatures,
    lights,
    observer,
    tabulated_light,
)
from filmwright.knowledge.limits import Limit, electrode_potential, limits, usual_time, wafer_thickness
from filmwright.knowledge.names import UnknownName
from filmwright.knowledge.optics import OpticalConstants, optical, optical_choices, optically_unknown
from filmwright.knowledge.shipped import Book, Property, book, version
from filmwright.knowledge.types import (
    Belief,
    CalibratedQuantity,
    Calibration,
    Hazard,
    Lab,
    Material,
    MaterialKind,
    Medium,
    MediumKind,
    Method,
    Rate,
    Resist,
    Tool,
    Verdict,
    Wait,
)

__all__ = [
    "Belief",
    "Book",
    "CalibratedQuantity",
    "Calibration",
    "ColourName",
    "Hazard",
    "Lab",
    "Limit",
    "Material",
    "MaterialKind",
    "Medium",
    "MediumKind",
    "Method",
    "OpticalConstants",
    "Property",
    "Rate",
    "Resist",
    "Tabulated",
    "Tool",
    "UnknownName",
    "Verdict",
    "Wait",
    "believe",
    "book",
    "electrode_potential",
    "colour_names",
    "lamp_temperatures",
    "lights",
    "limits",
    "observer",
    "optical",
    "optical_choices",
    "optically_unknown",
    "tabulated_light",
    "usual_time",
    "version",
    "wafer_thickness",
]
