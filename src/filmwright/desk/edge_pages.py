"""The page of the edges: every kind of edge of the finished die, walked once more as a section across it."""

from __future__ import annotations

from filmwright.desk.files import Work
from filmwright.emulate import Edges, Trace, emulated_edges
from filmwright.outputs import edges_html, legend_of
from filmwright.wafer import Kind

EDGES_PAGE = "edges.html"
"""Its name, beside the page of the steps."""


def edges_page(trace: Trace, work: Work) -> tuple[str, str]:
    """The page, and how many kinds of edges there are; both empty where nothing was patterned."""
    edges = all_edges(trace, work)
    if not edges.seen:
        return "", ""
    page = edges_html(edges, legend_of(work.facts.materials), trace.flow.title, invented=trace.flow.invented)
    count = len(edges.seen)
    return page, f"{count} kind{'' if count == 1 else 's'} of edges"


def all_edges(trace: Trace, work: Work) -> Edges:
    """All edges of the finished die; currents through a wafer body are not followed."""
    kinds: dict[str, Kind] = {
        name: "insulator" if material.kind == "substrate" else material.kind
        for name, material in work.facts.materials.items()
    }
    actions = [action for state in trace.states for action in state.actions]
    return emulated_edges(trace.final.plan, trace.start.plan.columns[0], actions, kinds, every=True)
