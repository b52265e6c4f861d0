"""One function per verb: a typed request in, a frozen answer out. Clock, seed, transaction and paths live here."""

from filmwright.desk.answers import (
    CompareAnswer,
    CompareRow,
    ExtractAnswer,
    FilesAnswer,
    LogAnswer,
    LotAnswer,
    NextAnswer,
    ReviewAnswer,
    SettingsAnswer,
    StepSettings,
    Suggestion,
)
from filmwright.desk.device_answers import DevicesAnswer, drawn_and_made, stack_text
from filmwright.desk.fit_answers import FitAnswer, interval_text
from filmwright.desk.look_answers import LookAnswer
from filmwright.desk.population_answers import StatisticsAnswer
from filmwright.desk.predict_answers import PredictAnswer

_VERBS = {
    "new": "planning",
    "check_lab": "lab_file",
    "review": "planning",
    "settings": "planning",
    "why": "derivations",
    "day": "day_plan",
    "devices": "device_listing",
    "look": "looking",
    "draw": "pictures",
    "sheet": "pictures",
    "run": "lots",
    "log": "lots",
    "grid": "bench_verbs",
    "today": "bench_verbs",
    "labels": "lot_labels",
    "export_lot": "bundles",
    "import_lot": "bundle_taking",
    "predict": "predicting",
    "extract": "measuring",
    "fit": "fitting",
    "statistics": "population",
    "thickness": "optics",
    "lengths": "length_sets",
    "sheet_resistance": "structures",
    "capacitance": "structures",
    "step_height": "structures",
    "compare": "learning",
    "next": "learning",
    "report": "reporting",
    "demo": "demonstration",
    "KeepingAnswer": "keeping",
    "record_verify": "keeping",
    "record_backup": "keeping",
    "record_restore": "keeping",
    "record_copy": "keeping",
    "people_list": "bench.people_verbs",
    "people_add": "bench.people_verbs",
    "people_link": "bench.people_verbs",
    "people_change": "bench.people_verbs",
}

__all__ = [
    "CompareAnswer",
    "CompareRow",
    "DevicesAnswer",
    "ExtractAnswer",
    "FilesAnswer",
    "FitAnswer",
    "KeepingAnswer",
    "LogAnswer",
    "LookAnswer",
    "LotAnswer",
    "NextAnswer",
    "PredictAnswer",
    "ReviewAnswer",
    "SettingsAnswer",
    "StatisticsAnswer",
    "StepSettings",
    "Suggestion",
    "capacitance",
    "check_lab",
    "compare",
    "day",
    "demo",
    "devices",
    "draw",
    "drawn_and_made",
    "export_lot",
    "extract",
    "fit",
    "grid",
    "import_lot",
    "interval_text",
    "labels",
    "lengths",
    "log",
    "look",
    "new",
    "next",
    "people_add",
    "people_change",
    "people_link",
    "people_list",
    "predict",
    "record_backup",
    "record_copy",
    "record_restore",
    "record_verify",
    "report",
    "review",
    "run",
    "settings",
    "sheet",
    "sheet_resistance",
    "stack_text",
    "statistics",
    "step_height",
    "thickness",
    "today",
    "why",
]


def __getattr__(name: str) -> object:
    """A verb loads only the rooms that it needs: ``review`` must not wait for a database or for plots."""
    if name in _VERBS:
        import importlib

        # The verb "next" is spelled out at home, where it would hide the built-in function.
        spelled = "next_run" if name == "next" else name
        return getattr(importlib.import_module(f"filmwright.desk.{_VERBS[name]}"), spelled)
    raise AttributeError(name)
