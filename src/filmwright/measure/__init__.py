"""Instrument tables to transfer curves; transfer curves to parameters with errors, each valid or refused with
the reason.

``read_table(path)`` finds the curves by the meaning of the column names; ``extract(sweeps, Geometry(...))``
reads every
parameter off them; ``extract_many`` does the same for ten thousand curves as arrays.
"""

from filmwright.measure.capacitance_curves import CapacitanceResult, CapacitorSample, read_capacitance
from filmwright.measure.checklist import ChecklistRow, Said, checklist_fields, device_checklist, lot_checklist
from filmwright.measure.conditions import Condition, read_conditions
from filmwright.measure.curve_functions import CurveFunctions, curve_functions
from filmwright.measure.curves import CapacitanceCurve, OutputCurve, Sweep
from filmwright.measure.explaining import Explanation, explain_table, shape_of_file
from filmwright.measure.extraction import Extraction, extract, extract_many
from filmwright.measure.families import Family, families_of
from filmwright.measure.file_names import NamePattern, read_pattern
from filmwright.measure.fit_results import FitResult, FittedPoints, Goodness, Interval, fit_fields
from filmwright.measure.fitting import fit_families
from filmwright.measure.four_contacts import FourReading, PinLine, SheetReading, four_point, van_der_pauw
from filmwright.measure.gated_lengths import GatedLengths, LengthDevice, gated_lengths
from filmwright.measure.light import Angles, Spectrum, is_spectrum, read_angles, read_spectrum
from filmwright.measure.many import Reading, read_tables
from filmwright.measure.mobility_curves import MobilityCurve, mobility_against_gate
from filmwright.measure.naming import named
from filmwright.measure.output_curves import OutputFamily, family_fields, output_families, read_family
from filmwright.measure.probing import Shift, probing_shift
from filmwright.measure.reading import Measurement, read_table
from filmwright.measure.results import CurveResult, Geometry, Parameter, curve_fields
from filmwright.measure.rules import Rule, read_rules, rule_text, with_corrections
from filmwright.measure.small_tables import Meaning, SmallTable, has_columns, read_small_table
from filmwright.measure.step_height import StepHeights, Trace, Window, find_edges, step_heights
from filmwright.measure.ungated_lengths import GapReading, UngatedLengths, ungated_lengths

__all__ = [
    "Angles",
    "CapacitanceCurve",
    "CapacitanceResult",
    "CapacitorSample",
    "ChecklistRow",
    "Condition",
    "CurveFunctions",
    "CurveResult",
    "Explanation",
    "Extraction",
    "Family",
    "FitResult",
    "FittedPoints",
    "FourReading",
    "GapReading",
    "GatedLengths",
    "Geometry",
    "Goodness",
    "Interval",
    "LengthDevice",
    "Meaning",
    "Measurement",
    "MobilityCurve",
    "NamePattern",
    "OutputCurve",
    "OutputFamily",
    "Parameter",
    "PinLine",
    "Reading",
    "Rule",
    "Said",
    "SheetReading",
    "Shift",
    "SmallTable",
    "Spectrum",
    "StepHeights",
    "Sweep",
    "Trace",
    "UngatedLengths",
    "Window",
    "checklist_fields",
    "curve_fields",
    "curve_functions",
    "device_checklist",
    "explain_table",
    "extract",
    "extract_many",
    "families_of",
    "family_fields",
    "find_edges",
    "fit_families",
    "fit_fields",
    "four_point",
    "gated_lengths",
    "has_columns",
    "is_spectrum",
    "lot_checklist",
    "mobility_against_gate",
    "named",
    "output_families",
    "probing_shift",
    "read_angles",
    "read_capacitance",
    "read_conditions",
    "read_family",
    "read_pattern",
    "read_rules",
    "read_small_table",
    "read_spectrum",
    "read_table",
    "read_tables",
    "rule_text",
    "shape_of_file",
    "step_heights",
    "ungated_lengths",
    "van_der_pauw",
    "with_corrections",
]
