"""The story of a wafer: one page that steps through all steps, section and plan side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from filmwright.outputs import palette
from filmwright.outputs.columns import ColumnLayer
from filmwright.outputs.pages import render

if TYPE_CHECKING:
    from filmwright.review import Finding


@dataclass(frozen=True, kw_only=True)
class StorySetting:
    """One knob: name, what it is set to, its 95 % band, what it rests on."""

    name: str
    value: str
    band: str = ""
    rests_on: str = ""
    because: str = ""


@dataclass(frozen=True, kw_only=True)
class StoryStep:
    """One step of the story.

    Attributes
    ----------
    number, code, title, tool : str
    caption, changed : str
        Why the step is done; what came and went.
    seconds : float
        How long the story rests on it when it plays.
    section, plan, view : str
        SVG: the section, the die from above by materials, and as a microscope shows it; empty where there is none.
    trace : str
        SVG: what is seen while the film of an etch goes; empty for other steps.
    settings : tuple of StorySetting
    look, warnings, cautions : tuple of str
    findings : tuple of Finding
    duration : str
    line : int
        Of the plan text.
    """

    number: str
    title: str
    code: str = ""
    tool: str = ""
    caption: str = ""
    changed: str = ""
    seconds: float = 4.0
    section: str = ""
    plan: str = ""
    view: str = ""
    trace: str = ""
    settings: tuple[StorySetting, ...] = ()
    look: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    duration: str = ""
    line: int = 0


@dataclass(frozen=True, kw_only=True)
class StoryColumn:
    """What lies at a kind of place.

    Attributes
    ----------
    key : str
        As the plan's pictures name it.
    picture : str
        SVG.
    layers : tuple of ColumnLayer
        Lowest first.
    colour, colour_name : str
        Under the microscope, ``#rrggbb`` and a word; empty when not known.
    """

    key: str
    picture: str
    layers: tuple[ColumnLayer, ...]
    colour: str = ""
    colour_name: str = ""


@dataclass(frozen=True, kw_only=True)
class Story:
    """A whole story.

    Attributes
    ----------
    title, digest, because : str
    steps : tuple of StoryStep
    findings : tuple of Finding
        Those that concern the whole flow.
    invented : bool
    edges_page : str
        Where the page of the edges lies beside this one; empty without one.
    columns : tuple of StoryColumn
        Every column that the plan's pictures name.
    kinds : mapping from material to its class
        Of all materials of those columns.
    """

    title: str
    steps: Sequence[StoryStep]
    digest: str = ""
    because: str = ""
    findings: Sequence[Finding] = ()
    invented: bool = False
    edges_page: str = ""
    columns: Sequence[StoryColumn] = ()
    kinds: Mapping[str, str] = field(default_factory=dict)


def story_html(story: Story) -> str:
    """The story as one self-contained page: slider, keys, swipe, play; the plan to look into; readable without script."""
    return render(
        "story.html",
        {
            "story": story,
            "sections": _once([step.section for step in story.steps]),
            "plans": _once([step.plan for step in story.steps]),
            "views": _once([step.view for step in story.steps]),
            "patterns": palette.patterns(story.kinds, "col-"),
            "facts": _facts(story),
        },
    )


def _facts(story: Story) -> dict[str, Any]:
    """What the page's script needs to know, as plain lists."""
    return {
        "steps": [
            {"number": step.number, "title": step.title, "seconds": round(step.seconds, 1)}
            for step in story.steps
        ],
        "columns": {
            column.key: {
                "colour": column.colour,
                "name": column.colour_name,
                "layers": [
                    [layer.film, layer.sign, layer.thickness, round(layer.nm, 3), layer.born, *layer.marks]
                    for layer in column.layers
                ],
            }
            for column in story.columns
        },
    }


def _once(pictures: Sequence[str]) -> list[tuple[str, str]]:
    """Each picture with the numbers of the steps that show it; a picture that repeats is kept once."""
    kept: dict[str, list[int]] = {}
    for k, picture in enumerate(pictures):
        if picture:
            kept.setdefault(picture, []).append(k)
    return [(picture, " ".join(map(str, steps))) for picture, steps in kept.items()]
