"""Drawings and named regions: GDSII and OASIS in and out, tones, cuts, and the project's own chips.

The only room that imports the layout library. Coordinates of regions are nanometres, the chips are drawn in micrometres.
"""

from filmwright.masks.chips import CHIPS, DrawnDevice, chip, device_table
from filmwright.masks.chips.many import many_transistors
from filmwright.masks.cuts import check_cut, cut_through
from filmwright.masks.drawing import Drawing, Label, LayerNumber
from filmwright.masks.reading import drawing_of, read_drawing, write_drawing
from filmwright.masks.tone import DrawnTone, ResistTone, plate_note, resist_left

__all__ = [
    "CHIPS",
    "Drawing",
    "DrawnDevice",
    "DrawnTone",
    "Label",
    "LayerNumber",
    "ResistTone",
    "check_cut",
    "chip",
    "cut_through",
    "device_table",
    "drawing_of",
    "many_transistors",
    "plate_note",
    "read_drawing",
    "resist_left",
    "write_drawing",
]
