"""Learns from what was measured: rates, biases, maps, yields and causes. It proposes; a person accepts."""

from filmwright.learn.belief import Z95, RateBelief, aged, drift_from_history, kalman_step
from filmwright.learn.compare import Explanation, Factor, Share, share_out
from filmwright.learn.evidence import Judgement, Proposal, ThicknessEvidence, WidthEvidence, as_calibration
from filmwright.learn.films import FilmModel, GrownFilm, grown_film
from filmwright.learn.maps import FORMULAS, Formula, MapFit, NonUniformity, fit_map, non_uniformity
from filmwright.learn.propose import propose
from filmwright.learn.rates import setting_for
from filmwright.learn.robust import Robust, robust, weighted_mean
from filmwright.learn.yields import (
    CauseCount,
    DeviceOutcome,
    SplitComparison,
    SplitValue,
    YieldSummary,
    compare_splits,
    wilson_interval,
    yield_by_cause,
)

__all__ = [
    "FORMULAS",
    "Z95",
    "CauseCount",
    "DeviceOutcome",
    "Explanation",
    "Factor",
    "FilmModel",
    "Formula",
    "GrownFilm",
    "Judgement",
    "MapFit",
    "NonUniformity",
    "Proposal",
    "RateBelief",
    "Robust",
    "Share",
    "SplitComparison",
    "SplitValue",
    "ThicknessEvidence",
    "WidthEvidence",
    "YieldSummary",
    "aged",
    "as_calibration",
    "compare_splits",
    "drift_from_history",
    "fit_map",
    "grown_film",
    "kalman_step",
    "non_uniformity",
    "propose",
    "robust",
    "setting_for",
    "share_out",
    "weighted_mean",
    "wilson_interval",
    "yield_by_cause",
]
