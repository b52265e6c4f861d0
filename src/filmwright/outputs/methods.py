"""The methods paragraph: how the wafer was made, in the past tense, from what was run."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from filmwright.outputs.words import duration_text
from filmwright.units import show


@dataclass(frozen=True, kw_only=True)
class MethodsStep:
    """What the paragraph needs of one step; numbers as run, or as planned where nothing was logged.

    Attributes
    ----------
    kind : str
        Step kind, as in a plan.
    material, method, medium, mask, resist : str
    thickness : float or None [m]
    thickness_measured : bool
    temperature : float or None [K]
    time : float or None [s]
    pressure : float or None [Pa]
    power : float or None [W]
    dose : float or None [J/m²]
    speed : float or None [1/s]
    over_etch : float or None
        Fraction of the time to the end point.
    logged : bool
        Whether the numbers were logged; the paragraph says where they were not.
    """

    kind: str
    material: str = ""
    method: str = ""
    medium: str = ""
    mask: str = ""
    resist: str = ""
    thickness: float | None = None
    thickness_measured: bool = False
    temperature: float | None = None
    time: float | None = None
    pressure: float | None = None
    power: float | None = None
    dose: float | None = None
    speed: float | None = None
    over_etch: float | None = None
    logged: bool = True


def methods_paragraph(start: str, steps: Sequence[MethodsStep], *, invented: bool = False) -> str:
    """The paragraph.

    Parameters
    ----------
    start : str
        The wafer as bought, e.g. ``silicon wafers (100 mm) with 300 nm silicon dioxide``.
    steps : sequence of MethodsStep
    invented : bool
        Said at the end when the run is an example.
    """
    sentences = [f"The devices were made on {start}."]
    sentences += [text for step in steps if (text := _sentence(step))]
    planned = sum(not step.logged for step in steps)
    if planned:
        sentences.append(
            f"For {planned} of {len(steps)} steps nothing was logged; their planned settings are given."
        )
    if invented:
        sentences.append("The run is invented.")
    return " ".join(sentences)


def _sentence(step: MethodsStep) -> str:
    writer = _SENTENCES.get(step.kind)
    return writer(step) if writer else ""


def _with(step: MethodsStep, *names: str) -> str:
    """Conditions in brackets: ``(0.8 Pa, 150 W)``."""
    found = [show(value, name) for name in names if (value := getattr(step, name)) is not None]
    return f" ({', '.join(found)})" if found else ""


def _lasting(step: MethodsStep) -> str:
    return f" for {duration_text(step.time)}" if step.time is not None else ""


def _deposited(step: MethodsStep) -> str:
    size = (
        f" ({show(step.thickness, 'length')}{', measured' if step.thickness_measured else ''})"
        if step.thickness
        else ""
    )
    by = f" by {step.method}" if step.method else ""
    at = _with(step, "pressure", "power", "temperature")
    return f"{step.material.capitalize()}{size} was deposited{by}{at}."


def _coated(step: MethodsStep) -> str:
    size = f", {show(step.thickness, 'length')} thick," if step.thickness else ""
    return f"Resist ({step.resist}){size} was spun on{_with(step, 'speed')}."


def _exposed(step: MethodsStep) -> str:
    return f"The {step.mask} level was exposed{_with(step, 'dose')}{_lasting(step)}."


def _etched(step: MethodsStep) -> str:
    medium = f" in {step.medium}" if step.medium else ""
    extra = (
        f", over-etched by {100 * step.over_etch:.0f} % of the time to the end point"
        if step.over_etch
        else ""
    )
    at = _with(step, "pressure", "power", "temperature")
    return f"{step.material.capitalize()} was etched{medium}{at}{_lasting(step)}{extra}."


def _plain(verb: str) -> Callable[[MethodsStep], str]:
    def sentence(step: MethodsStep) -> str:
        medium = f" in {step.medium}" if step.medium else ""
        at = f" at {show(step.temperature, 'temperature')}" if step.temperature is not None else ""
        return f"{verb}{medium}{at}{_lasting(step)}."

    return sentence


def _lifted(step: MethodsStep) -> str:
    medium = f" in {step.medium}" if step.medium else ""
    return f"{step.material.capitalize() or 'The film'} was lifted off{medium}{_lasting(step)}."


_SENTENCES: dict[str, Callable[[MethodsStep], str]] = {
    "deposit": _deposited,
    "coat": _coated,
    "expose": _exposed,
    "etch": _etched,
    "lift off": _lifted,
    "clean": _plain("The wafers were cleaned"),
    "bake": _plain("They were baked"),
    "reversal bake": _plain("They were baked to reverse the image"),
    "post-exposure bake": _plain("They were baked after exposure"),
    "hard bake": _plain("They were hard-baked"),
    "develop": _plain("The resist was developed"),
    "strip": _plain("The resist was stripped"),
    "anneal": _plain("They were annealed"),
}
