"""Pictures of sections for the bench, each drawn once."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from typing import TYPE_CHECKING

from filmwright.outputs import legend_of, moment_section_svg, same_section, small_sections_svg

if TYPE_CHECKING:
    from filmwright.emulate import Trace
    from filmwright.knowledge import Book
    from filmwright.wafer import Section

_KEPT = 800
_UNCHANGED = "Unchanged along this cut"

Drawn = tuple[str, str]


class Pictures:
    """Draws sections and remembers what was drawn; for one thread."""

    def __init__(self, facts: Book) -> None:
        self.legend = legend_of(facts.materials)
        self._drawn: OrderedDict[tuple[object, ...], tuple[object, Drawn]] = OrderedDict()

    def alone(self, trace: Trace, section: Section | None, title: str) -> str:
        """A section, nothing emphasised; empty without one."""
        return "" if section is None else self._section(trace, section, None, title)

    def after(
        self, trace: Trace, before: Section | None, section: Section | None, title: str
    ) -> tuple[str, bool]:
        """A section after a step, what is new standing out, and whether anything changed."""
        if section is None:
            return "", False
        if same_section(before, section):
            return self._section(trace, section, None, _UNCHANGED), False
        return self._section(trace, section, before, title), True

    def differ(self, before: Section | None, section: Section | None) -> bool:
        """Whether a step changed anything along the cut."""
        return section is not None and not same_section(before, section)

    def small(self, before: Section | None, section: Section | None, draw: bool = True) -> Drawn | None:
        """Small sections before and after a step; empty where it changes no shape. None: not drawn yet, and not to be now."""
        key = ("small", _key(before), _key(section))
        if not draw and key not in self._drawn:
            return ("", "") if key[1] == key[2] else None
        return self._remembered(
            key, (before, section), lambda: small_sections_svg(before, section, self.legend)
        )

    def _section(self, trace: Trace, section: Section, before: Section | None, title: str) -> str:
        def draw() -> Drawn:
            svg = moment_section_svg(
                section,
                before,
                self.legend,
                title=title,
                cut=trace.cut,
                cut_length_nm=trace.cut_length_nm,
                invented=trace.flow.invented,
            )
            return svg, ""

        return self._remembered((title, _key(before), _key(section)), (before, section), draw)[0]

    def _remembered(self, key: tuple[object, ...], held: object, draw: Callable[[], Drawn]) -> Drawn:
        """A drawing by what its sections are made of; these are held, so that no other gets their identity."""
        if key not in self._drawn:
            self._drawn[key] = (held, draw())
            if len(self._drawn) > _KEPT:
                self._drawn.popitem(last=False)
        self._drawn.move_to_end(key)
        return self._drawn[key][1]


def _key(section: Section | None) -> int:
    """Sections of the same pieces look alike, whatever else was done between."""
    return 0 if section is None else id(section.layers.pieces)
