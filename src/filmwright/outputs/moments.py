"""Sections of a wafer at one moment, each a picture by itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from filmwright.outputs.callouts import callouts_of
from filmwright.outputs.geometry import Bodies, same_shape
from filmwright.outputs.legend import Legend
from filmwright.outputs.section import SectionPicture, section_svg, step_window
from filmwright.outputs.small_section import small_section_svg

if TYPE_CHECKING:
    from filmwright.wafer import Section


def moment_section_svg(
    section: Section,
    before: Section | None,
    legend: Legend,
    *,
    title: str,
    cut: str = "",
    cut_length_nm: float = 0.0,
    invented: bool = False,
) -> str:
    """A section with its legend and what is worth a number; what changed since ``before`` stands out.

    Parameters
    ----------
    section : Section
    before : Section or None
        None: nothing is emphasised.
    legend : Legend
    title, cut : str
    cut_length_nm : float
    invented : bool
    """
    return section_svg(
        SectionPicture(
            section=section,
            previous=before,
            title=title,
            kinds=legend.kinds,
            symbols=legend.symbols,
            callouts=callouts_of(section, before, legend),
            cut=cut,
            cut_length_nm=cut_length_nm,
            prefix="m-",
            invented=invented,
        )
    )


def same_section(before: Section | None, after: Section | None) -> bool:
    """Whether nothing changed that a picture shows; also where there is no section."""
    if before is None or after is None:
        return before is after
    return before.layers is after.layers or same_shape(before, after)


def small_sections_svg(before: Bodies | None, after: Bodies | None, legend: Legend) -> tuple[str, str]:
    """Small sections before and after a step, in one window; empty where the step changes no shape."""
    if before is None or after is None or same_shape(before, after):
        return "", ""
    window = step_window(after, before, legend.kinds, fold=True)
    return (
        small_section_svg(before, kinds=legend.kinds, symbols=legend.symbols, window=window, title="before"),
        small_section_svg(
            after, previous=before, kinds=legend.kinds, symbols=legend.symbols, window=window, title="after"
        ),
    )
