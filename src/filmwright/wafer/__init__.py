"""The wafer: what lies where, and what each action does to it."""

from filmwright.wafer.actions import Action, Alter, Clear, Coat, EtchRate, Grow, Heat, Print, Remove
from filmwright.wafer.column import Column, Layer
from filmwright.wafer.devices import Device, DeviceKind, Devices, read_devices
from filmwright.wafer.nets import FilmClimb, Kind, Net, Nets, read_nets
from filmwright.wafer.plan import Plan
from filmwright.wafer.plan_cells import Cell, Loss
from filmwright.wafer.section import Section
from filmwright.wafer.section_layers import Body, Event
from filmwright.wafer.section_read import Thin
from filmwright.wafer.wafer import Effect, Wafer

__all__ = [
    "Action",
    "Alter",
    "Body",
    "Cell",
    "Clear",
    "Coat",
    "Column",
    "Device",
    "DeviceKind",
    "Devices",
    "Effect",
    "EtchRate",
    "Event",
    "FilmClimb",
    "Grow",
    "Heat",
    "Kind",
    "Layer",
    "Loss",
    "Net",
    "Nets",
    "Plan",
    "Print",
    "Remove",
    "Section",
    "Thin",
    "Wafer",
    "read_devices",
    "read_nets",
]
