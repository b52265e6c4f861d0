"""The grammar of the plan text and of the lab file: every key, what it takes and what it means.

The reader, the JSON Schema and the reference page are all made from these tables.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from filmwright.knowledge import CalibratedQuantity

Takes = Literal["text", "texts", "quantity", "yes or no", "count", "map", "list", "date"]


@dataclass(frozen=True)
class Key:
    """One key.

    Attributes
    ----------
    takes : Takes
    means : str
        For the reference page.
    dimension : str
        Of a quantity.
    required : bool
    signed : bool
        Whether a quantity may be zero or negative.
    """

    takes: Takes
    means: str
    dimension: str = ""
    required: bool = False
    signed: bool = False


def _quantity(dimension: str, means: str, required: bool = False) -> Key:
    return Key("quantity", means, dimension, required)


PLAN: dict[str, Key] = {
    "flow": Key("text", "title of the plan", required=True),
    "because": Key("text", "what it is for"),
    "invented": Key("yes or no", "an example: everything shown from it says so"),
    "wafer": Key("map", "the wafer as bought", required=True),
    "masks": Key("map", "the drawing and its levels"),
    "cuts": Key("map", "named cuts through the drawing, for the sections"),
    "steps": Key("list", "what is done, in order", required=True),
    "expect": Key("map", "what must be there at the end; only ever checked"),
}

WAFER: dict[str, Key] = {
    "body": Key("text", "material of the wafer", required=True),
    "diameter": _quantity("length", "diameter of the wafer", required=True),
    "thickness": _quantity("length", "thickness of the wafer"),
    "orientation": Key("text", "crystal plane of its face: (100), (111) or (110); (100) unless you say"),
    "shape": Key(
        "text", "round or piece: a piece has a higher bead of resist at its edges (round unless you say)"
    ),
    "films": Key("list", "films on the wafer as bought, lowest first"),
}

FILM: dict[str, Key] = {
    "material": Key("text", "material of the film", required=True),
    "thickness": _quantity("length", "thickness of the film", required=True),
}

MASKS: dict[str, Key] = {
    "drawing": Key("text", "file of the drawing, OASIS or GDSII, beside the plan", required=True),
    "grid": _quantity(
        "length", "grid of the plate writer: corners of the levels that are off it are refused"
    ),
}
"""Besides the levels, each under its own name."""

MASK: dict[str, Key] = {
    "layer": Key("text", "layer/datatype on the drawing, such as 1/0", required=True),
    "drawn": Key("text", "whether the drawn shapes are opaque or clear on the plate", required=True),
}

CUT: dict[str, Key] = {
    "through": Key("text", "name of a device: the cut runs along its channel, from source to drain"),
    "across": Key("text", "name of a device: the cut runs across its channel and beyond the semiconductor"),
    "points": Key("list", "x and y of each corner of a cut that bends"),
    "from": Key("list", "x and y of the first point"),
    "to": Key("list", "x and y of the last point"),
}

EXPECT: dict[str, Key] = {
    "transistors": Key("map", "transistors that must be found"),
    "capacitors": Key("map", "capacitors that must be found"),
    "keep": Key("map", "films that must survive, each with the smallest part that may be left"),
    "present": Key("texts", "materials that must be somewhere on the wafer at the end"),
    "apart": Key("list", "pairs of terminals that must not be connected"),
    "joined": Key("list", "pairs of terminals that must be connected"),
    "probe voltage": _quantity("voltage", "highest voltage that will be put across the dielectric"),
}

DEVICES: dict[str, Key] = {
    "count": Key("count", "how many", required=True),
    "gate": Key("text", "label of the gate terminal"),
    "source": Key("text", "label of the source terminal"),
    "drain": Key("text", "label of the drain terminal"),
    "top": Key("text", "label of the upper electrode"),
    "bottom": Key("text", "label of the lower electrode"),
}

COMMON: dict[str, Key] = {
    "name": Key("text", "name of the step, written once in the plan"),
    "tool": Key("text", "tool of the lab file"),
    "recipe": Key("text", "recipe on that tool"),
    "because": Key("text", "the reason for the step or its numbers"),
    "hold": Key("text", "what to look at before going on"),
    "witness": Key("texts", "witness chips that go along"),
    "accept": Key(
        "map",
        "findings that are accepted, each with the reason; that of a stop begins with process owner and the name of one",
    ),
}

_TIME = _quantity("time", "time, when the plan fixes it itself")
_HEAT = _quantity("temperature", "temperature of the wafer or the bath")
_PRESSURE = _quantity("pressure", "pressure in the chamber")
_POWER = _quantity("power", "power")
_GAS_RATIO = _quantity(
    "number", "flow of one gas over that of the other, the same way round in plan and runs"
)

STEPS: dict[str, dict[str, Key]] = {
    "clean": {"time": _TIME, "temperature": _HEAT},
    "deposit": {
        "method": Key("text", "how the film is deposited", required=True),
        "thickness": _quantity("length", "thickness over flat ground", required=True),
        "temperature": _HEAT,
        "pressure": _PRESSURE,
        "power": _POWER,
        "time": _TIME,
        "gas flow": _quantity("gas flow", "flow of the reactive gas"),
        "gas ratio": _GAS_RATIO,
        "argon flow": _quantity("gas flow", "flow of argon"),
        "pre-sputter time": _quantity("time", "behind a shut shutter, when the plan fixes it itself"),
        "sources": Key("list", "up to four targets that burn at once, where the film is made from several"),
        "composition": Key(
            "map", "parts of the metals by number that are wanted of several sources, such as {In: 1, Zn: 2}"
        ),
        "aspect ratio": _quantity(
            "number", "depth over width of the deepest hole that a film by cycles must coat"
        ),
    },
    "pattern": {
        "resist": Key("text", "the resist", required=True),
        "thickness": _quantity("length", "resist thickness over flat ground"),
        "softbake temperature": _quantity("temperature", "of the wafer in the bake after coating"),
        "softbake time": _quantity("time", "of the bake after coating"),
        "bead removed": Key("yes or no", "whether the bead at the edge is taken off before the exposure"),
        "dose": _quantity("dose", "exposure dose"),
        "gap": _quantity(
            "length", "between plate and resist, of a proximity exposure; contact unless you say"
        ),
        "developer": Key("text", "the developer, when it is not the usual one of the resist"),
        "develop time": _quantity("time", "development time"),
        "align to": Key(
            "text", "the earlier level whose marks it is aligned to (the first one printed unless you say)"
        ),
        "prime": Key("yes or no", "whether the wafer is primed before coating (it is unless you say no)"),
        "hard bake": Key("yes or no", "whether the resist is baked once more after development"),
    },
    "etch": {
        "in": Key("text", "the bath of a wet etch"),
        "with": Key("text", "the plasma of a dry etch"),
        "until": Key("text", "when it is over: end point + 25 %, or measure"),
        "time": _TIME,
        "temperature": _HEAT,
        "pressure": _PRESSURE,
        "power": _POWER,
    },
    "strip": {
        "in": Key("text", "what dissolves or ashes it", required=True),
        "time": _TIME,
        "temperature": _HEAT,
    },
    "lift off": {
        "in": Key("text", "what dissolves the resist", required=True),
        "time": _TIME,
        "temperature": _HEAT,
    },
    "anneal": {
        "temperature": _quantity("temperature", "temperature of the wafer", required=True),
        "time": _quantity("time", "time at temperature", required=True),
    },
    "measure": {
        "of": Key("text", "the film, or the mask level, that is measured"),
        "place": Key("text", "where on the die: a named device, or open field (which it is unless you say)"),
        "wavelength": _quantity("length", "wavelength of a reflectance or an index"),
        "tolerance": _quantity("fraction", "accepted deviation from the plan"),
    },
    "probe": {
        "gate": _quantity("voltage", "highest gate voltage"),
        "drain": _quantity("voltage", "highest drain voltage"),
    },
    "park": {"longest": _quantity("time", "how long the wafer may wait there")},
}
"""The written steps: the first key of a step names what is done, its value the object."""

SOURCE: dict[str, Key] = {
    "target": Key("text", "material of the target", required=True),
    "power": _quantity("power", "its power; leave it out where the composition decides it"),
    "mode": Key("text", "direct current or radio frequency, where it differs from the method"),
    "gun": Key("text", "gun of the tool on which it is"),
}
"""One of the sources of a deposition."""

OBJECT: dict[str, str] = {
    "clean": "the bath",
    "deposit": "the material",
    "pattern": "the mask level",
    "etch": "the material",
    "strip": "what is taken away",
    "lift off": "what is dissolved",
    "anneal": "the atmosphere",
    "measure": "the quantity",
    "probe": "the devices",
    "park": "the place",
}

_HOURS: dict[str, Key] = {
    "open": Key("text", "opening hours, such as 08:00-18:00; all day is 00:00-24:00"),
    "days": Key("texts", "days on which it is open, such as Mon-Fri or [Mon, Wed]; else every day"),
}

LAB: dict[str, Key] = {
    "lab": Key("text", "name of the lab", required=True),
    "invented": Key("yes or no", "an example: everything shown from it says so"),
    "tools": Key("map", "the tools, by name"),
    "process owners": Key("texts", "names or roles of those who may accept a stop; nobody else then may"),
    "admission": Key(
        "map", "axes of the site's own admission rules, each with its classes of wafers by name"
    ),
    "calibrations": Key("list", "what was measured of the tools"),
    "runs": Key(
        "list", "rate, index or stress at other settings of a recipe, from which its response is fitted"
    ),
    "limits": Key("map", "the lab's own limits for the review"),
    "waits": Key("list", "longest waits between steps"),
    "baths": Key("map", "the baths that stand in the lab, by name"),
    "zone": Key("text", "time zone of the clock on the wall, such as Europe/Berlin, for the calendar file"),
    "bottles": Key("list", "bottles of resist in use, with their dates"),
    **_HOURS,
}

TOOL: dict[str, Key] = {
    "does": Key("texts", "methods and kinds of step that it serves", required=True),
    "admits": Key("map", "for an axis of admission the classes of wafers that may enter"),
    "leaves": Key("map", "for an axis of admission the class that a wafer is in after it was in this tool"),
    "refuses": Key("texts", "families of material that may not enter: an axis of admission in short"),
    "non-uniformity": _quantity("fraction", "(max − min)/(2 × mean) over the wafer"),
    "overhead": _quantity("time", "load and unload, and what of the next three is not told apart from them"),
    "pump-down": _quantity("time", "until the chamber is empty enough to begin"),
    "heat-up": _quantity("time", "until the tool is at its temperature"),
    "cool-down": _quantity("time", "until the wafer may be taken out"),
    "heating rate": _quantity("heating rate", "how fast the wafer warms up, where the tool ramps"),
    "cooling rate": _quantity("heating rate", "how fast the wafer cools down, where the tool ramps"),
    "chamber volume": _quantity("volume", "volume that a purge must thin out"),
    "pumping speed": _quantity("pumping speed", "with which a purge is pumped away, at the chamber"),
    "holds": Key("count", "wafers in one run; one at a time unless it says"),
    **_HOURS,
    "geometry": Key(
        "map", "where its sources stand and how it holds the wafer, of an evaporator or sputter tool"
    ),
    "faster at": Key("text", "edge or middle: where on the wafer its rates are higher, if somebody knows"),
    "recipes": Key("map", "its recipes, by name"),
    "maintenance": Key(
        "list", "when it was opened, cleaned or repaired: what was measured before is outdated"
    ),
    "note": Key("text", "anything else"),
}

RECIPE: dict[str, Key] = {
    "material": Key("text", "the film that it is for"),
    "medium": Key("text", "the bath or plasma that it is for"),
    "temperature": _HEAT,
    "pressure": _PRESSURE,
    "power": _POWER,
    "time": _quantity("time", "time, when the recipe fixes it"),
    "gas flow": _quantity("gas flow", "flow of the reactive gas"),
    "dose": _quantity("dose", "exposure dose"),
    "develop time": _quantity("time", "development time"),
    "gases": Key("map", "flow of each gas, such as argon: 20 sccm"),
    "note": Key("text", "anything else"),
}
"""Of each recipe of a tool, under its own name; a step that names it takes its settings."""

MAINTENANCE: dict[str, Key] = {
    "date": Key("date", "when it was done", required=True),
    "done": Key("text", "what was done", required=True),
    "by": Key("text", "who did it"),
}

ADMISSION_CLASS: dict[str, Key] = {
    "materials": Key("texts", "materials that put a wafer into the class where they are uncovered"),
    "families": Key("texts", "families of material that do so"),
    "baths": Key("texts", "baths and plasmas, or families of them, after which a wafer is in the class"),
    "also covered": Key("yes or no", "whether covered materials count too"),
    "cleared by": Key(
        "texts", "baths and plasmas that take a wafer out of it, where a tool or a bath put it in"
    ),
    "otherwise": Key("yes or no", "the class of a wafer that is in no other of the axis"),
}
"""Of each class of an axis, under its own name."""

_OFFSET = Key("quantity", "from the axis of the tool to the middle of the source", "length", signed=True)
_SENDS = Key(
    "quantity",
    "n of the cosine with which the source sends: 1 a small flat source, 0 a point",
    "number",
    signed=True,
)
_RING = _quantity("fraction", "diameter of the ring that is eroded over that of the target")

GEOMETRY: dict[str, Key] = {
    "throw": _quantity("length", "from the source to the plane of the wafers, along the axis of the tool"),
    "stage": Key("text", "at rest, turning (about the wafer's own middle) or planetary"),
    "wafer offset": Key(
        "quantity",
        "from the axis to the middle of the wafer; of a planetary the radius of its way",
        "length",
        signed=True,
    ),
    "tilt": Key("quantity", "of the wafer towards the axis", "angle", signed=True),
    "source offset": _OFFSET,
    "source radius": _quantity("length", "of what evaporates in a pocket"),
    "cosine power": _SENDS,
    "target diameter": _quantity("length", "of a target, where its gun does not say"),
    "eroded ring": _RING,
    "base pressure": _quantity("pressure", "before the process begins"),
    "coated area": _quantity("area", "all that sees the target and takes up reactive gas"),
    "crystal life used": Key(
        "quantity", "of the monitor's crystal, before the lot begins", "fraction", signed=True
    ),
    "pockets": Key("map", "pockets of an evaporator, by name"),
    "guns": Key("map", "guns of a sputter tool, by name"),
}
"""Of a tool. What a pocket or gun says itself goes first; what nobody says is taken as usual elsewhere, and told so."""

POCKET: dict[str, Key] = {
    "holds": Key("text", "the material in it; leave it out where it changes"),
    "volume": _quantity("volume", "of the charge that it takes, level"),
    "offset": _OFFSET,
    "throw": _quantity("length", "where it differs from that of the tool"),
    "source radius": _quantity("length", "of what evaporates in it"),
    "cosine power": _SENDS,
}

GUN: dict[str, Key] = {
    "holds": Key("text", "the target on it; leave it out where it changes"),
    "target diameter": _quantity("length", "of its target"),
    "eroded ring": _RING,
    "throw": _quantity(
        "length", "from the middle of the target to the plane of the wafer, along the tool's axis"
    ),
    "offset": _OFFSET,
    "around": Key("quantity", "where on its circle it stands", "angle", signed=True),
    "tilt": Key("quantity", "of the target towards the axis", "angle", signed=True),
    "most power": _quantity("power", "that its target or cooling bears"),
}

CALIBRATED: dict[CalibratedQuantity, str] = {
    "deposition rate": "rate",
    "growth per cycle": "length",
    "etch rate": "rate",
    "lamp intensity": "intensity",
    "resist thickness": "length",
    "tooling factor": "fraction",
    "clearing dose": "dose",
    "print bias": "length",
    "hot-plate offset": "temperature difference",
}

CALIBRATION: dict[str, Key] = {
    "tool": Key("text", "the tool", required=True),
    "material": Key("text", "the material that it holds for"),
    "medium": Key("text", "the bath or plasma that it holds for"),
    "recipe": Key("text", "the recipe that it holds for"),
    "date": Key("date", "when it was measured", required=True),
    "by": Key("text", "who measured"),
    "evidence": Key("text", "what the number rests on"),
    "after maintenance": Key("yes or no", "the first one after the tool was opened"),
    "speed": _quantity("speed", "spin speed of a resist thickness"),
    "power": _quantity("power", "power of one source at which its deposition rate was measured"),
    "wavelength": _quantity(
        "length", "line of a lamp intensity, such as 365 nm; without it the line of the dose"
    ),
    "plate": _quantity("temperature", "what the plate was set to when its offset was measured"),
    "set aside": Key("text", "why the reading does not count; it is kept and shown with this reason"),
    "temperature": _quantity("temperature", "temperature of the bath of an etch rate"),
    **{
        name: Key(
            "quantity",
            f"the {name}, ± one standard deviation",
            dimension,
            signed=name in ("print bias", "hot-plate offset"),
        )
        for name, dimension in CALIBRATED.items()
    },
}

RUN_RESULTS: dict[str, str] = {
    "deposition rate": "rate",
    "growth per cycle": "length",
    "refractive index": "number",
    "stress": "stress",
}
"""What a run may tell of its film: name → dimension."""

RUN: dict[str, Key] = {
    "tool": Key("text", "the tool", required=True),
    "material": Key("text", "the film", required=True),
    "date": Key("date", "when it was run", required=True),
    **{
        name: Key("quantity", f"the {name}, ± one standard deviation", dimension, signed=name == "stress")
        for name, dimension in RUN_RESULTS.items()
    },
    "temperature": _HEAT,
    "pressure": _PRESSURE,
    "power": _POWER,
    "gas flow": _quantity("gas flow", "flow of the reactive gas"),
    "gas ratio": _GAS_RATIO,
    "by": Key("text", "who ran it"),
    "evidence": Key("text", "what the number rests on"),
}

BATH: dict[str, Key] = {
    "medium": Key("text", "what it is", required=True),
    "made": Key("date", "when it was mixed or filled", required=True),
    "tool": Key("text", "the bench on which it stands; any, unless you say"),
    "temperature": _quantity("temperature", "at which it is kept"),
    "volume": _quantity("volume", "how much of it there is"),
    "wafers done": Key("count", "wafers etched in it so far"),
    "most wafers": Key("count", "wafers after which it is renewed"),
    "area done": _quantity("area", "film dissolved in it so far, as area"),
    "most area": _quantity("area", "area of film after which it is renewed"),
    "longest age": _quantity("time", "age at which it is renewed"),
    "by": Key("text", "who made it"),
    "note": Key("text", "anything else"),
}

KNOBS = ("temperature", "pressure", "power", "gas flow", "gas ratio")
"""Settings of a run over which a response is fitted."""

BOTTLE: dict[str, Key] = {
    "resist": Key("text", "the resist in it", required=True),
    "opened": Key("date", "when it was opened", required=True),
    "expires": Key("date", "until when its maker vouches for it"),
    "label": Key("text", "number or lot on the bottle"),
}

WAIT: dict[str, Key] = {
    "after": Key("text", "the earlier step", required=True),
    "before": Key("text", "the later step", required=True),
    "longest": _quantity("time", "longest wait", required=True),
    "why": Key("text", "what happens otherwise"),
}

LOGGED: dict[str, str] = {
    "time": "time",
    "end point": "time",
    "dark wait": "time",
    "thickness": "length",
    "step height": "length",
    "line width": "length",
    "drawn width": "length",
    "overlay": "length",
    "temperature": "temperature",
    "pressure": "pressure",
    "power": "power",
    "dose": "dose",
    "spin speed": "speed",
    "spin time": "time",
    "lamp intensity": "intensity",
    "cycles": "number",
    "monitor thickness": "length",
    "gas flow": "gas flow",
    "sheet resistance": "resistance",
    "humidity": "fraction",
    "areal capacitance": "areal capacitance",
}
"""What can be written down with a number: name → dimension."""

SPREAD = ", standard deviation"
"""Behind the name of a measured value: its standard deviation, an entry of its own."""
