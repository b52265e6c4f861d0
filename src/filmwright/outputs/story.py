"""The story of a wafer: one page that steps through all steps, section and plan side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

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
    number, code, title, tool, caption : str
    section, plan : str
        SVG; empty where there is none.
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
    section: str = ""
    plan: str = ""
    settings: tuple[StorySetting, ...] = ()
    look: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    duration: str = ""
    line: int = 0


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
    """

    title: str
    steps: Sequence[StoryStep]
    digest: str = ""
    because: str = ""
    findings: Sequence[Finding] = ()
    invented: bool = False


def story_html(story: Story) -> str:
    """The story as one self-contained page: slider, buttons, arrow keys; readable without script."""
    sections = _once([step.section for step in story.steps])
    plans = _once([step.plan for step in story.steps])
    return render("story.html", {"story": story, "sections": sections, "plans": plans})


def _once(pictures: Sequence[str]) -> list[tuple[str, str]]:
    """Each picture with the numbers of the steps that show it; a picture that repeats is kept once."""
    kept: dict[str, list[int]] = {}
    for k, picture in enumerate(pictures):
        if picture:
            kept.setdefault(picture, []).append(k)
    return [(picture, " ".join(map(str, steps))) for picture, steps in kept.items()]
