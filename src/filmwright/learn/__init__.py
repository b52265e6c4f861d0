"""Learns from what was measured: rates, biases, maps, yields and causes. It proposes; a person accepts."""

from filmwright.learn.belief import Z95, RateBelief, aged, drift_from_history, kalman_step
from filmwright.learn.compare import Explanation, Factor, Share, share_out
from filmwright.learn.conditions import ConditionCheck, Conditions, Differing, compare_conditions
from filmwright.learn.correlation import Correlation, CorrelationMatrix, correlations
from filmwright.learn.evidence import Judgement, Proposal, ThicknessEvidence, WidthEvidence, as_calibration
from filmwright.learn.films import FilmModel, GrownFilm, grown_film
from filmwright.learn.leakage import Leakage, Leaking, LeakShare, leakage
from filmwright.learn.maps import FORMULAS, Formula, MapFit, NonUniformity, fit_map, non_uniformity
from filmwright.learn.population import GATE_LEAKAGE, LOGARITHMIC, Group, LeftOut, Population, population
from filmwright.learn.propose import propose
from filmwright.learn.rates import setting_for
from filmwright.learn.regression import CRITERION, CleanFit, clean_fit
from filmwright.learn.robust import Robust, median_interval, robust, weighted_mean
from filmwright.learn.sharing import ITSELF, SharedOut, over_wafers, share_out_many
from filmwright.learn.sizes import Sized, SizeEffect, size_effects
from filmwright.learn.splits import (
    SplitComparison,
    SplitStudy,
    SplitValue,
    compare_all,
    compare_splits,
    confounded,
    detectable_difference,
    power,
    wafers_needed,
)
from filmwright.learn.wafer_map import EDGE, MapPart, MapPoint, WaferMap, wafer_map
from filmwright.learn.yields import CauseCount, DeviceOutcome, YieldSummary, wilson_interval, yield_by_cause

__all__ = [
    "ITSELF",
    "CRITERION",
    "EDGE",
    "FORMULAS",
    "GATE_LEAKAGE",
    "LOGARITHMIC",
    "Z95",
    "CauseCount",
    "CleanFit",
    "ConditionCheck",
    "Conditions",
    "Correlation",
    "CorrelationMatrix",
    "DeviceOutcome",
    "Differing",
    "Explanation",
    "Factor",
    "FilmModel",
    "Formula",
    "Group",
    "GrownFilm",
    "Judgement",
    "LeakShare",
    "Leakage",
    "Leaking",
    "LeftOut",
    "MapFit",
    "MapPart",
    "MapPoint",
    "NonUniformity",
    "Population",
    "Proposal",
    "RateBelief",
    "Robust",
    "Share",
    "SharedOut",
    "SizeEffect",
    "Sized",
    "SplitComparison",
    "SplitStudy",
    "SplitValue",
    "ThicknessEvidence",
    "WaferMap",
    "WidthEvidence",
    "YieldSummary",
    "aged",
    "as_calibration",
    "clean_fit",
    "compare_all",
    "compare_conditions",
    "compare_splits",
    "confounded",
    "correlations",
    "detectable_difference",
    "drift_from_history",
    "fit_map",
    "grown_film",
    "kalman_step",
    "leakage",
    "median_interval",
    "non_uniformity",
    "population",
    "power",
    "over_wafers",
    "propose",
    "robust",
    "setting_for",
    "share_out",
    "share_out_many",
    "size_effects",
    "wafer_map",
    "wafers_needed",
    "weighted_mean",
    "wilson_interval",
    "yield_by_cause",
]
