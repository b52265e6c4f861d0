"""Where the numbers come from: how many facts of each group are of which kind, and what each source was used for; and the
page at which the reference begins."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from fact_pages import MADE, SITE, cited, table

from filmwright.knowledge import Absence, Book, Exposure, Medium, Substance, optical_choices
from filmwright.sources import Source

_KINDS_MEAN = (
    "Published: read in a copy of the source. Read in a transcription: in somebody's copy of its numbers. "
    "Common practice: what shared clean rooms usually do. From memory: remembered, with wide bounds; "
    "measure it before relying on it. A lab's own calibrations go first.\n"
)
KINDS = ("published", "published, read in a transcription", "common practice", "from memory")
HOME: Mapping[str, str] = {
    "materials.md": "every material: values, what it lacks and why, vapour curve, sputtering, optical data, what attacks it",
    "chemistries.md": "every bath, developer, solvent, clean and plasma, with what it does to each material",
    "matrix.md": "what attacks what, in one table for each kind of bath",
    "resists.md": "spinning, baking, exposure, development, limits and stripping of each resist",
    "substances.md": "classes, statements, limits of exposure and of burning of each chemical and gas, and what it must never meet",
    "hazards.md": "cautions, gear, waste stream, neighbours and interlock of each kind of danger",
    "methods.md": "ways to deposit a film",
    "optics.md": "the optical data sets",
    "sources.md": "where the numbers come from, counted by kind",
    "rules.md": "every rule of the review, with a flow that fails it and one that passes",
    "questions.md": "the questions that the rules answer",
    "lab-rules.md": "every rule by which a lab file is checked",
    "readings.md": "what can be measured, what to expect and how often to measure it",
    "plan.md": "the grammar of the plan, the lab file and the log",
    "commands.md": "every verb of the command line",
}


def facts(book: Book) -> Iterator[tuple[str, Source]]:
    """Every fact that has a source: its group, and the source."""
    for material in book.materials.values():
        yield from (("values of materials", value.source) for value in material.values.values())
        yield from (("vapour curves", curve.source) for curve in material.vapour.values())
        yield from (("coefficients of sputtering", fit.source) for fit in material.sputtering.values())
        yield from (("optical data sets", each.source) for each in optical_choices(material.name))
    for medium in book.media.values():
        yield from _verdicts(medium)
    for resist in book.resists.values():
        yield from (("values of resists", value.source) for value in resist.values.values())
    for substance in book.substances.values():
        yield from _classes(substance)
    for constants in book.models.values():
        yield from (("constants of laws", value.source) for value in constants.values())


def _verdicts(medium: Medium) -> Iterator[tuple[str, Source]]:
    group = "verdicts of plasmas" if medium.kind == "plasma" else "verdicts of wet chemistries"
    for rate in medium.rates.values():
        if rate.source is not None:
            yield group, rate.source
        if rate.activation_energy is not None:
            yield "activation energies", rate.activation_energy.source


def _classes(substance: Substance) -> Iterator[tuple[str, Source]]:
    yield "classes of substances", substance.classified_by
    for group, told in (("limits of exposure", substance.limits), ("limits of burning", substance.flammable)):
        if not isinstance(told, Absence):
            yield from ((group, each.source) for each in told)
    for group, one in (("alarm levels", substance.alarm), ("warming of gases", substance.warming)):
        if isinstance(one, Exposure):
            yield group, one.source


def sources_page(book: Book) -> str:
    """Counts by group and kind, and the sources by how much they carry."""
    told = list(facts(book))
    count = Counter((group, source.kind) for group, source in told)
    groups = list(dict.fromkeys(group for group, _ in told))
    kinds = [*KINDS, *sorted({source.kind for _, source in told} - set(KINDS))]
    rows = []
    for group in [*groups, "all"]:
        numbers = [
            sum(count[each, kind] for each in (groups if group == "all" else [group])) for kind in kinds
        ]
        rows.append(
            [group, *map(str, numbers), str(sum(numbers)), f"{100 * sum(numbers[:2]) / sum(numbers):.0f} %"]
        )
    used = Counter(source for _, source in told)
    cites = [
        [cited(source), source.kind, str(times)]
        for source, times in sorted(used.items(), key=lambda each: (-each[1], cited(each[0])))
    ]
    return "\n".join(
        [
            f"{MADE}# Where the numbers come from\n",
            _KINDS_MEAN,
            SITE,
            "## By kind\n\n" + table(["group", *kinds, "all", "published, either way"], rows),
            "## By source\n\n" + table(["source", "kind", "facts"], cites),
        ]
    )


def home() -> str:
    """The page at which the reference begins."""
    return "\n".join(
        [
            f"{MADE}# Reference\n",
            "Made from the facts and the code themselves. " + SITE,
            table(
                ["page", "what it holds"],
                ([f"[{name.removesuffix('.md')}]({name})", what] for name, what in HOME.items()),
            ),
            "Elsewhere: [a tour](../tour.md) · [adding a fact](../adding-facts.md) · [conventions](../conventions.md) · "
            "[check values](../check-values.md)\n",
        ]
    )


def pages(book: Book) -> dict[str, str]:
    """Path below the folder of the reference → text."""
    return {"sources.md": sources_page(book), "README.md": home()}
