"""One rule about the lab file, one file; each is checked, listed in the docs, and has a lab that passes and one that fails."""

from importlib import import_module

from filmwright.review.lab_case import LabRule

_FILES = (
    "step_without_number",
    "tool_without_number",
    "opened_since",
    "readings_disagree",
    "all_set_aside",
    "date_in_future",
    "class_unused",
    "number_stale",
    "reading_old",
    "bath_spent",
    "plate_falls",
    "recipe_without_evidence",
    "number_of_another",
    "unevenness_missing",
    "axis_not_answered",
    "wait_names_nothing",
    "no_hours",
    "no_owner",
    "no_evidence",
)

LAB_RULES: tuple[LabRule, ...] = tuple(import_module(f"{__name__}.{file}").RULE for file in _FILES)

__all__ = ["LAB_RULES"]
