"""Plan text ↔ steps: line numbers kept, names resolved, dimensions right."""

from filmwright.flow.completion import Completion, Names, Offer, complete
from filmwright.flow.drawn import Masks
from filmwright.flow.extra import steps_from_text
from filmwright.flow.grammar import CALIBRATED, LOGGED, SPREAD
from filmwright.flow.history import Done, DoneKind, Lived, as_run, lived, step_of, steps_asked
from filmwright.flow.hours import clock, zone_named
from filmwright.flow.lab import lab_from_text, read_lab
from filmwright.flow.reader import flow_from_text, masks_from_text, read_flow, read_masks
from filmwright.flow.schema import lab_schema, plan_schema
from filmwright.flow.types import (
    Body,
    CutAsked,
    End,
    Expectation,
    ExpectedDevices,
    ExpectedFilm,
    Flow,
    MaskLevel,
    SourceAsked,
    StartFilm,
    Step,
    StepKind,
)
from filmwright.flow.ways import Ways

__all__ = [
    "CALIBRATED",
    "LOGGED",
    "SPREAD",
    "Body",
    "Completion",
    "CutAsked",
    "Done",
    "DoneKind",
    "End",
    "Expectation",
    "ExpectedDevices",
    "ExpectedFilm",
    "Flow",
    "Lived",
    "MaskLevel",
    "Masks",
    "Names",
    "Offer",
    "SourceAsked",
    "StartFilm",
    "Step",
    "StepKind",
    "Ways",
    "as_run",
    "clock",
    "complete",
    "zone_named",
    "flow_from_text",
    "lab_from_text",
    "lab_schema",
    "lived",
    "masks_from_text",
    "plan_schema",
    "read_flow",
    "read_lab",
    "read_masks",
    "step_of",
    "steps_asked",
    "steps_from_text",
]
