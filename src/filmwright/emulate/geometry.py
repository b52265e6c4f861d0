"""Where the source of a step stands and how the wafer moves: the lab's own geometry, else what is usual."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from filmwright.emulate.context import Context
from filmwright.emulate.follows import chosen, follows
from filmwright.flow import Step
from filmwright.knowledge import Geometry, Method, Motion, SourcePlace
from filmwright.process import (
    FILM_AT_PLACE,
    SHARE_BY_GEOMETRY,
    SHARE_ON_AXIS,
    UNEVEN_BY_GEOMETRY,
    Derivation,
    Emitter,
    FilmShape,
    Input,
    Setting,
    Stage,
    arriving_share,
    film_over_wafer,
    ring_share,
)
from filmwright.sources import Value
from filmwright.units import write

_SYMBOLS = {
    "throw": ("h", "throw, source to wafer"),
    "offset": ("e", "source from the axis"),
    "around": ("ψ", "place of the source on its circle"),
    "tilt": ("τ", "tilt of the source towards the axis"),
    "power": ("n", "power of the cosine"),
    "radius": ("a_t", "radius of the target"),
    "ring": ("r", "eroded ring over target radius, a = r·a_t"),
    "orbit": ("b", "wafer from the axis"),
    "inclination": ("β", "tilt of the wafer towards the axis"),
}


@dataclass(frozen=True, kw_only=True)
class Placed:
    """One source and the wafer before it.

    Attributes
    ----------
    inputs : mapping from name to Input
        Of :data:`_SYMBOLS`; what is absent is zero.
    motion : Motion
    place : SourcePlace or None
        The pocket or gun, where the lab tells which.
    usual : tuple of str
        What the lab does not say and is taken as usual elsewhere.
    """

    inputs: Mapping[str, Input]
    motion: Motion
    place: SourcePlace | None = None
    usual: tuple[str, ...] = field(default=())

    def emitter(self, given: Mapping[str, float]) -> Emitter:
        """The source for values of the inputs."""
        return Emitter(
            throw=given["throw"],
            offset=given.get("offset", 0.0),
            around=given.get("around", 0.0),
            tilt=given.get("tilt", 0.0),
            power=given.get("power", 1.0),
            ring=given.get("ring", 0.0) * given.get("radius", 0.0),
        )

    def stage(self, given: Mapping[str, float]) -> Stage:
        """The wafer's holder for values of the inputs."""
        return Stage(
            motion=self.motion,
            orbit=given.get("orbit", 0.0),
            inclination=given.get("inclination", 0.0),
        )

    @property
    def values(self) -> dict[str, float]:
        """The inputs as they are believed."""
        return {name: each.value for name, each in self.inputs.items()}

    @property
    def said(self) -> tuple[str, ...]:
        """What must be said beside what follows from it."""
        moves = {"at rest": "wafer at rest", "turning": "wafer that turns", "planetary": "wafer on a planet"}
        notes = (moves[self.motion] + (f"; {self.place.name}" if self.place else ""),)
        if not self.usual:
            return notes
        return (
            *notes,
            f"{', '.join(self.usual)}: usual elsewhere, not of this lab; write it under geometry: of the tool",
        )

    def shape(self, wafer_radius: float) -> FilmShape:
        """The film over the wafer."""
        return film_over_wafer(wafer_radius, self.emitter(self.values), self.stage(self.values))


def placed(step: Step, ctx: Context, method: Method, source: SourcePlace | None = None) -> Placed | None:
    """The geometry of a step's source; None for a method without one.

    Parameters
    ----------
    step : Step
    ctx : Context
    method : Method
        As shipped.
    source : SourcePlace or None
        The pocket or gun; None takes the one that holds the material, or the only one.
    """
    usual = _usual(ctx, method)
    if usual is None:
        return None
    tool = ctx.lab.tools.get(step.tool)
    lab = tool.geometry if tool is not None else None
    if source is None and lab is not None:
        only = next(iter(lab.places.values())) if len(lab.places) == 1 else None
        source = lab.holding(step.material) or only
    own = _told(lab, source)
    inputs, missing = {}, []
    for name, (symbol, words) in _SYMBOLS.items():
        value = own.get(name)
        if value is None and name in usual and not (lab is not None and lab.stage and name in _OF_STAGE):
            value = usual[name]
            missing.append(words.partition(",")[0])
        if value is not None and (value.value or value.std):
            inputs[name] = Input.known(symbol, words, value)
    motion: Motion = "planetary" if "orbit" in usual else "turning"
    if lab is not None and lab.stage:
        motion = lab.stage
    return Placed(inputs=inputs, motion=motion, place=source, usual=tuple(missing))


def _told(lab: Geometry | None, source: SourcePlace | None) -> dict[str, Value]:
    """What the lab says, under the names of :data:`_SYMBOLS`; what a pocket or gun says goes before its tool."""
    told: dict[str, Value] = {}
    for names, values in ((_OF_TOOL, lab), (_OF_PLACE, source)):
        if values is not None:
            told |= {
                name: _halved(values.values[key]) if name == "radius" else values.values[key]
                for key, name in names.items()
                if key in values.values
            }
    return told


def _halved(value: Value) -> Value:
    return replace(value, value=value.value / 2, low=value.low / 2, high=value.high / 2)


_BOTH = {"throw": "throw", "cosine power": "power", "target diameter": "radius", "eroded ring": "ring"}
_OF_TOOL = {**_BOTH, "source offset": "offset", "wafer offset": "orbit", "tilt": "inclination"}
_OF_PLACE = {**_BOTH, "offset": "offset", "around": "around", "tilt": "tilt"}
"""Keys of the lab file and what they are here: a tool tilts its wafer, a gun its target."""

_OF_STAGE = {"orbit", "inclination"}
"""What a lab that names its stage has told, also where it left it out."""


def _usual(ctx: Context, method: Method) -> dict[str, Value] | None:
    """What is usual for a method's geometry."""
    arrival = method.arrival
    if "throw" in arrival:
        names = {"throw": "throw", "orbit": "orbit", "inclination": "inclination", "offset": "source offset"}
        return {name: arrival[key] for name, key in names.items() if key in arrival}
    if {"plasma", "argon"} <= method.families:
        facts = ctx.facts.models["magnetron"]
        return {"throw": facts["throw"], "radius": facts["target radius"], "ring": facts["ring radius"]}
    return None


def at_tool(step: Step, ctx: Context, method: Method) -> Method:
    """The method as this lab's tool does it: where its atoms come from, and whether they come along a line of sight."""
    tool = ctx.lab.tools.get(step.tool)
    lab = tool.geometry if tool is not None else None
    where = placed(step, ctx, method) if lab is not None else None
    if where is None or lab is None or "throw" not in method.arrival:
        return method
    told = _told(lab, where.place)
    arrival = dict(method.arrival)
    known = {**lab.values, **(where.place.values if where.place is not None else {})}
    arrival |= {name: known[name] for name in ("throw", "source radius") if name in known}
    if "offset" in told:
        arrival["source offset"] = told["offset"]
    if where.motion != "planetary":
        arrival.pop("orbit", None)
        arrival.pop("inclination", None)
        return replace(method, arrival=arrival)
    arrival["orbit"] = told.get("orbit") or method.arrival["orbit"]
    level = replace(arrival["orbit"], value=0.0, low=0.0, high=0.0, unit="°")
    arrival["inclination"] = told.get(
        "inclination", level if lab.stage else method.arrival.get("inclination", level)
    )
    arrival.setdefault("source offset", replace(level, unit="mm"))
    return replace(method, arrival=arrival, line_of_sight=False)


def share_at(where: Placed, radius: float) -> Derivation:
    """Part of what the source sends that arrives on unit area, at a distance from the wafer's middle."""
    at = chosen("l", "place on the wafer", radius, "mm", "the place that is looked at")
    plain = where.motion == "turning" and not {"tilt", "power", "orbit", "inclination", "ring"} & set(
        where.inputs
    )
    if plain:
        inputs = {"offset": at, "throw": where.inputs["throw"]}
        if "offset" in where.inputs:
            inputs["ring"] = replace(where.inputs["offset"], symbol="a")
        # Turning about its middle under a source beside the axis is the same as a ring of sources.
        return SHARE_ON_AXIS.derive(
            lambda offset, throw, ring=0.0: ring_share(offset, throw, ring),
            inputs,
            unit="1/m^2",
            notes=(*where.said, *(() if "ring" in inputs else ("a = 0, source on the axis",))),
        )
    return SHARE_BY_GEOMETRY.derive(
        lambda place, **given: arriving_share(place, where.emitter(given), where.stage(given)),
        {"place": at, **where.inputs},
        unit="1/m^2",
        notes=where.said,
    )


def uneven_by_geometry(where: Placed, wafer_radius: float, measured: str = "") -> Setting:
    """(max − min)/(2 × mean) over the wafer, and what was measured beside it."""
    derived = UNEVEN_BY_GEOMETRY.derive(
        lambda **given: film_over_wafer(wafer_radius, where.emitter(given), where.stage(given)).uneven,
        where.inputs,
        unit="%",
        notes=(*where.said, *((measured,) if measured else ())),
    )
    return follows("unevenness from the geometry", derived)


def over_wafer(where: Placed, film: Input, wafer_radius: float) -> tuple[Setting, ...]:
    """Film in the middle of the wafer, half-way out and at its edge."""
    shape = where.shape(wafer_radius)
    law = share_at(where, 0.0).law

    def share(symbol: str, words: str, over_mean: float) -> Input:
        # All shares hang on the same geometry: their ratio has not the spread of two numbers.
        return Input(
            symbol=symbol,
            name=words,
            value=over_mean * shape.share,
            unit="1/m^2",
            source=law.source,
            evidence=law.name,
        )

    found = []
    for name, over_mean, radius in (
        ("film in the middle", shape.middle, 0.0),
        ("film half-way out", shape.half, wafer_radius / 2),
        ("film at the edge", shape.edge, wafer_radius),
    ):
        derived = FILM_AT_PLACE.derive(
            lambda film, there, mean: film * there / mean,
            {
                "film": film,
                "there": share("c_l", "part that arrives there on unit area", over_mean),
                "mean": share("c_mean", "mean over the wafer", 1.0),
            },
            unit="nm",
            notes=(f"l = {write(radius, 'mm')} from the middle of the wafer", *where.said),
        )
        found.append(follows(name, derived))
    return tuple(found)


def film_factor(step: Step, ctx: Context, method: Method, place: int) -> float:
    """A film at a place of the wafer over its mean: 1 at the edge, −1 in the middle, 0 at the mean.

    What was measured of the tool goes first; else its geometry; else what is usual for the method.
    """
    shape = own_shape(step, ctx, method)
    if shape is None or not place:
        return ctx.at_place(step, method.non_uniformity, place, +1)
    return shape.edge if place > 0 else shape.middle


def film_unevenness(step: Step, ctx: Context, method: Method) -> float:
    """(max − min)/(2 × mean) of a film, as :func:`film_factor` takes it."""
    shape = own_shape(step, ctx, method)
    return ctx.unevenness(step, method.non_uniformity)[0] if shape is None else shape.uneven


def own_shape(step: Step, ctx: Context, method: Method) -> FilmShape | None:
    """The film over the wafer from the tool's own geometry, where nobody measured it."""
    tool = ctx.lab.tools.get(step.tool)
    if tool is None or tool.geometry is None or tool.non_uniformity is not None:
        return None
    where = placed(step, ctx, method)
    return None if where is None else where.shape(ctx.flow.body.diameter / 2)


def measured_unevenness(step: Step, ctx: Context) -> str:
    """What was measured of the tool, in words; empty where nobody did."""
    tool = ctx.lab.tools.get(step.tool)
    if tool is None or tool.non_uniformity is None:
        return ""
    return f"measured on {tool.name}: {write(tool.non_uniformity, '%')}, which goes first"
