"""Walk a flow over a wafer: a Trace with every state, its inputs, its model and its warnings."""

from filmwright.emulate.trace import NOMINAL, THICK_SLOW, THIN_FAST, Corner, Safety, State, Trace
from filmwright.emulate.walk import walk

__all__ = ["NOMINAL", "THICK_SLOW", "THIN_FAST", "Corner", "Safety", "State", "Trace", "walk"]
