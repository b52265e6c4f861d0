"""One or two sentences under a picture: what the step did to the wafer, and what it is for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from filmwright.outputs.frame import length_text
from filmwright.outputs.legend import Legend
from filmwright.units import convert

if TYPE_CHECKING:
    from filmwright.flow import Step
    from filmwright.wafer import Plan

_WHY: Mapping[str, str] = {
    "clean": "dust and grease under a film lift it, or leave a hole in it",
    "deposit": "the film covers all of the wafer; a later step says where it may stay",
    "dehydrate": "water on the surface keeps a resist from holding; heat drives it out",
    "prime": "a primed surface sheds water, so that the resist holds and no bath creeps under it",
    "coat": "the resist is the stencil that the next step goes through",
    "bake": "the bake drives out the solvent, so that the resist keeps its shape in the developer",
    "expose": "light changes the resist where the plate is open; nothing is to be seen of it yet",
    "reversal bake": "the heat turns the exposed resist insoluble: the picture is reversed",
    "flood expose": "light on everything makes soluble what was not exposed before",
    "post-exposure bake": "the heat lets what the light began go on: the exposed resist cross-links",
    "hard bake": "a hotter bake makes the resist hold on better and dissolve more slowly in what follows",
    "develop": "the developer takes away the soluble part of the resist: the drawing shows for the first time",
    "inspect": "a resist can still be stripped and done again; after the next step it cannot",
    "etch": "what the resist leaves open goes; what lies beneath is attacked for as long as it lies open",
    "rinse": "a rest of the bath would go on etching, and dries to a stain",
    "strip": "the resist has done its work; any rest of it would be buried in the stack",
    "lift off": "the solvent takes the resist, and the metal on it floats away; what lies on the wafer stays",
    "anneal": "heat lets atoms find better places: contacts, stress and the channel change, the shape does not",
    "measure": "a number taken now still tells which step it belongs to",
    "probe": "the devices say what the whole wafer became",
    "park": "here the wafer may wait: nothing ages quickly in this state",
}


def why(step: Step) -> str:
    """Why the step is done: the plan's own reason, else the usual one of its kind; a whole sentence."""
    text = step.because or _WHY.get(step.kind, "")
    return text[:1].upper() + text[1:].rstrip(".") + "." if text else ""


def what_changed(before: Plan, after: Plan, legend: Legend) -> str:
    """What came and went, as a sentence; films are named by their signs with thickness, everywhere or in places."""
    was, now = _films(before), _films(after)
    came = [
        f"{_sign(material, legend)}, {_thickness(now[film, material])}"
        for film, material in now
        if (film, material) not in was
    ]
    gone = [_sign(material, legend) for film, material in was if (film, material) not in now]
    less = [
        _sign(material, legend)
        for film, material in was
        if (film, material) in now and _area(now[film, material]) < 0.9999 * _area(was[film, material])
    ]
    parts = [f"New: {' and '.join(came)}" if came else ""]
    parts.append(f"{'g' if came else 'G'}one: {', '.join(dict.fromkeys(gone))}" if gone else "")
    stays = "stay" if len(set(less)) > 1 else "stays"
    parts.append(f"{' and '.join(dict.fromkeys(less))} {stays} only in places" if less else "")
    text = "; ".join(part for part in parts if part)
    return f"{text[:1].upper()}{text[1:]}." if text else ""


Spread = Mapping[float, float]
"""Area [m²] by thickness [m]."""


def _films(plan: Plan) -> dict[tuple[str, str], dict[float, float]]:
    found: dict[tuple[str, str], dict[float, float]] = {}
    for column, area in plan.areas().items():
        for layer in column.layers:
            spread = found.setdefault((layer.film, layer.material), {})
            spread[layer.thickness] = spread.get(layer.thickness, 0.0) + area
    return found


def _area(spread: Spread) -> float:
    return sum(spread.values())


def _thickness(spread: Spread) -> str:
    """The thickness that covers most."""
    return length_text(convert(max(spread, key=lambda each: spread[each]), "nm"))


def _sign(material: str, legend: Legend) -> str:
    return legend.symbols.get(material, material)


def reading_time(words: Sequence[str]) -> float:
    """Seconds that people take to read a caption and to look once over the picture."""
    return 2.5 + 0.33 * sum(len(text.split()) for text in words)
