"""The wafer: what lies where, and what each action does to it."""

from filmwright.wafer.actions import Action, Alter, Clear, Coat, EtchRate, Flux, Grow, Heat, Print, Remove
from filmwright.wafer.column import FENCE, Column, Layer, etched
from filmwright.wafer.column_edge import Edge, meet
from filmwright.wafer.column_places import in_the_open
from filmwright.wafer.device_sets import LengthSet, length_sets, sheet_crosses
from filmwright.wafer.devices import COVERED, Device, DeviceKind, Devices
from filmwright.wafer.devices_read import read_devices
from filmwright.wafer.edge_clear import reached_from_beyond
from filmwright.wafer.edge_fences import has_fence, without_fences
from filmwright.wafer.edge_joins import EdgeJoins
from filmwright.wafer.edge_kinds import EdgeKind, kinds_of_edges, neighbours
from filmwright.wafer.edge_profile import Crossing, EdgeProfile, EdgeReader, Ending, Fence, Stretch
from filmwright.wafer.nets import FilmClimb, Kind, Net, Nets, read_nets
from filmwright.wafer.plan import MARGIN_NM, Plan
from filmwright.wafer.plan_cells import Cell, Loss
from filmwright.wafer.section import Section
from filmwright.wafer.section_layers import Body, Event, print_spans
from filmwright.wafer.section_read import Thin
from filmwright.wafer.wafer import Effect, Wafer

__all__ = [
    "COVERED",
    "FENCE",
    "MARGIN_NM",
    "Action",
    "Alter",
    "Body",
    "Cell",
    "Clear",
    "Coat",
    "Column",
    "Crossing",
    "Device",
    "DeviceKind",
    "Devices",
    "Edge",
    "EdgeJoins",
    "EdgeKind",
    "EdgeProfile",
    "EdgeReader",
    "Effect",
    "Ending",
    "EtchRate",
    "Event",
    "Fence",
    "FilmClimb",
    "Flux",
    "Grow",
    "Heat",
    "Kind",
    "Layer",
    "LengthSet",
    "Loss",
    "Net",
    "Nets",
    "Plan",
    "Print",
    "Remove",
    "Section",
    "Stretch",
    "Thin",
    "Wafer",
    "etched",
    "has_fence",
    "in_the_open",
    "kinds_of_edges",
    "length_sets",
    "meet",
    "neighbours",
    "print_spans",
    "reached_from_beyond",
    "read_devices",
    "read_nets",
    "sheet_crosses",
    "without_fences",
]
