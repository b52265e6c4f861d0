"""Walk a flow over a wafer: a Trace with every state, its inputs, its model and its warnings."""

from filmwright.emulate.bath import bath_of
from filmwright.emulate.day import NIGHT, DayPlan, Parking, Slot, parkings, phases, plan_day
from filmwright.emulate.device_list import Capacitance, Listed, list_devices
from filmwright.emulate.edges import Edges, EdgeSeen, emulated_edges
from filmwright.emulate.end_trace import EndTrace, end_trace
from filmwright.emulate.expected_look import colours_in_words, with_colours
from filmwright.emulate.film_results import film_results
from filmwright.emulate.look import Look, Seen, check_aperture, lamp_named, looks_of, spectra_of
from filmwright.emulate.marks import MarkContrast, mark_contrasts
from filmwright.emulate.outlook import ledger_of_heat, with_outlook
from filmwright.emulate.predict import Prediction, gate_of, predict
from filmwright.emulate.swing import swing_of, with_swing
from filmwright.emulate.trace import (
    CORNERS,
    EDGE,
    MIDDLE,
    NOMINAL,
    PLACES,
    THICK_SLOW,
    THIN_FAST,
    Corner,
    Failure,
    Misaligned,
    Safety,
    State,
    Trace,
)
from filmwright.emulate.walk import walk

__all__ = [
    "CORNERS",
    "EDGE",
    "MIDDLE",
    "NIGHT",
    "NOMINAL",
    "PLACES",
    "THICK_SLOW",
    "THIN_FAST",
    "Capacitance",
    "Corner",
    "DayPlan",
    "EdgeSeen",
    "Edges",
    "EndTrace",
    "Failure",
    "Listed",
    "Look",
    "MarkContrast",
    "Misaligned",
    "Parking",
    "Prediction",
    "Safety",
    "Seen",
    "Slot",
    "State",
    "Trace",
    "bath_of",
    "check_aperture",
    "colours_in_words",
    "emulated_edges",
    "end_trace",
    "gate_of",
    "lamp_named",
    "ledger_of_heat",
    "list_devices",
    "film_results",
    "looks_of",
    "mark_contrasts",
    "parkings",
    "phases",
    "plan_day",
    "predict",
    "spectra_of",
    "swing_of",
    "walk",
    "with_colours",
    "with_outlook",
    "with_swing",
]
