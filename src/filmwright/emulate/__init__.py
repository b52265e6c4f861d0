"""Walk a flow over a wafer: a Trace with every state, its inputs, its model and its warnings."""

from filmwright.emulate.bath import bath_of
from filmwright.emulate.channel_cut import ChannelCut, UnreadableChannelError, read_channel
from filmwright.emulate.day import (
    NIGHT,
    DayPlan,
    Parking,
    Slot,
    held_waits,
    one_by_one,
    parkings,
    phases,
    plan_day,
    runs_of,
    time_of,
)
from filmwright.emulate.device_list import Capacitance, Listed, list_devices
from filmwright.emulate.edges import Edges, EdgeSeen, emulated_edges
from filmwright.emulate.end_trace import EndTrace, end_trace, end_traces
from filmwright.emulate.expected_look import colours_in_words, with_colours
from filmwright.emulate.exposed import alignment_parents, alignments_between
from filmwright.emulate.families import Families, families
from filmwright.emulate.film_results import film_results
from filmwright.emulate.heat import Diffused, FilmHeat, HeatLedger, HeatOfStep, heat_ledger, heats_of
from filmwright.emulate.heated import HEATED
from filmwright.emulate.latent_image import Lit, clearing_of, lit
from filmwright.emulate.look import Look, Seen, check_aperture, lamp_named, looks_of, spectra_of
from filmwright.emulate.marks import MarkContrast, mark_contrasts
from filmwright.emulate.outlook import ledger_of_heat, with_outlook
from filmwright.emulate.predict import Prediction, assembled, gate_of, predict
from filmwright.emulate.predicted_bands import PredictedBand, bands, drawn_alike
from filmwright.emulate.predicted_film import film_transistor, thickness_of
from filmwright.emulate.predicted_heat import Warming, warming
from filmwright.emulate.predicted_leak import GateLeak, gate_leak
from filmwright.emulate.probing import with_probing
from filmwright.emulate.readings import with_readings
from filmwright.emulate.safety import safety_unwalked
from filmwright.emulate.section_currents import SectionCurrents, currents_on_section, section_of
from filmwright.emulate.sparing import Thinnest
from filmwright.emulate.strips import ashes, hardens
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
    Listing,
    Misaligned,
    Reading,
    Safety,
    State,
    Trace,
)
from filmwright.emulate.walk import Walked, nominal_of, read_off, trace_of, walk, walk_on

__all__ = [
    "held_waits",
    "CORNERS",
    "EDGE",
    "HEATED",
    "MIDDLE",
    "NIGHT",
    "NOMINAL",
    "PLACES",
    "THICK_SLOW",
    "THIN_FAST",
    "Capacitance",
    "ChannelCut",
    "Corner",
    "DayPlan",
    "Diffused",
    "EdgeSeen",
    "Edges",
    "EndTrace",
    "Failure",
    "Families",
    "FilmHeat",
    "GateLeak",
    "HeatLedger",
    "HeatOfStep",
    "Listed",
    "Listing",
    "Lit",
    "Look",
    "MarkContrast",
    "Misaligned",
    "Parking",
    "PredictedBand",
    "Prediction",
    "Reading",
    "Safety",
    "SectionCurrents",
    "Seen",
    "Slot",
    "State",
    "Thinnest",
    "Trace",
    "UnreadableChannelError",
    "Walked",
    "Warming",
    "alignment_parents",
    "alignments_between",
    "ashes",
    "bands",
    "bath_of",
    "check_aperture",
    "clearing_of",
    "colours_in_words",
    "currents_on_section",
    "drawn_alike",
    "emulated_edges",
    "end_trace",
    "end_traces",
    "families",
    "film_results",
    "film_transistor",
    "gate_leak",
    "gate_of",
    "hardens",
    "heat_ledger",
    "heats_of",
    "lamp_named",
    "ledger_of_heat",
    "list_devices",
    "lit",
    "looks_of",
    "mark_contrasts",
    "nominal_of",
    "one_by_one",
    "parkings",
    "phases",
    "plan_day",
    "predict",
    "read_channel",
    "read_off",
    "runs_of",
    "section_of",
    "spectra_of",
    "swing_of",
    "thickness_of",
    "time_of",
    "trace_of",
    "walk",
    "safety_unwalked",
    "walk_on",
    "warming",
    "with_colours",
    "with_outlook",
    "with_probing",
    "with_readings",
    "with_swing",
    "assembled",
]
