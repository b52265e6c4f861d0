"""Pages of what is known: one for every material, chemistry, resist, hazard and substance, and what attacks what."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from filmwright.knowledge import (
    Absence,
    Book,
    Exposure,
    Hazard,
    Material,
    Medium,
    Rate,
    Resist,
    Substance,
    optical_choices,
    optically_unknown,
)
from filmwright.process import source_temperature
from filmwright.sources import Source, Value
from filmwright.units import to_si, write

MADE = "<!-- Made by tools/reference_pages.py; run `make docs` after a change. -->\n"
SITE = "The site's own procedures, local codes and data sheets go first; nothing here is a permission.\n"
_COLUMNS = 6
"""Media side by side in one table of the matrix."""
_VALUE = ["value", "", "bounds", "condition", "source", "kind"]
_LETTER = {
    "published": "p",
    "published, read in a transcription": "p",
    "common practice": "c",
    "from memory": "m",
}
_TORR = (1e-8, 1e-6, 1e-4, 1e-2)
_ATMOSPHERE = "101325 Pa"


def table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """A table; a bar in a cell is kept as a bar."""
    cells = [list(head), *([cell.replace("|", "\\|").replace("\n", " ") for cell in row] for row in rows)]
    lines = ["| " + " | ".join(row) + " |" for row in cells]
    lines.insert(1, "|" + "---|" * len(cells[0]))
    return "\n".join(lines) + "\n"


def slug(name: str) -> str:
    """The file name of a page: letters, digits and hyphens."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower().replace("µ", "u")).strip("-")


def cited(source: Source) -> str:
    """Citation and place."""
    return f"{source.citation} {source.where}".rstrip()


def shown(value: Value) -> list[str]:
    """A value as five cells: number, bounds, condition, source, kind."""
    low, high = write(value.low, value.unit), write(value.high, value.unit)
    return [
        write(value.value, value.unit),
        f"{low} to {high}",
        value.condition,
        cited(value.source),
        value.source.kind,
    ]


def _linked(folder: str, names: Iterable[str], up: str = "../") -> str:
    return ", ".join(f"[{name}]({up}{folder}/{slug(name)}.md)" for name in names) or "none"


def _answers(book: Book, thing: Material | Resist) -> str:
    """Values, then what has none and which of the two kinds of nothing that is."""
    parts = [table(_VALUE, ([name, *shown(value)] for name, value in thing.values.items()))]
    rows = []
    for name, asked in book.properties.items():
        answer = book.known(thing, name)
        if not isinstance(answer, Absence) or name in _curves(thing):
            continue
        if isinstance(thing, Material):
            told = asked.asked_of and (thing.kind in asked.asked_of or asked.elsewhere)
        else:
            told = "resist" in asked.asked_of
        if told or name in thing.missing:
            rows.append([name, answer.says, answer.why])
    if rows:
        parts.append("## Without a number\n\n" + table(["value", "answer", "why"], rows))
    return "\n".join(parts)


def _curves(thing: Material | Resist) -> set[str]:
    if not isinstance(thing, Material):
        return set()
    tables = (("vapour pressure", thing.vapour), ("sputtering coefficients", thing.sputtering))
    return {name for name, there in tables if there}


def _vapour(material: Material) -> str:
    rows, temperatures = [], []
    for curve in material.vapour.values():
        a, b, c, d = (f"{number:g}" for number in curve.coefficients)
        span = f"{write(curve.low, 'K')} to {write(curve.high, 'K')}"
        rows.append([curve.phase, a, b, c, d, span, cited(curve.source), curve.source.kind])
    for torr in _TORR:
        pressure = to_si(torr, "torr") / to_si(float(_ATMOSPHERE.split()[0]), "Pa")
        for curve in material.vapour.values():
            kelvin = source_temperature(pressure, curve.coefficients)
            if curve.low <= kelvin <= curve.high:
                temperatures.append([f"{torr:g} torr", write(kelvin, "°C"), curve.phase])
                break
        else:
            temperatures.append([f"{torr:g} torr", "outside the range", ""])
    return (
        "## Vapour pressure\n\nlog₁₀(p / 101 325 Pa) = A + B/T + C·log₁₀T + D·T/1000, T in K.\n\n"
        + table(["phase", "A", "B", "C", "D", "holds for", "source", "kind"], rows)
        + "\n"
        + table(["pressure", "temperature", "phase"], temperatures)
    )


def _sputtering(material: Material) -> str:
    rows = []
    for fit in material.sputtering.values():
        span = f"{write(fit.low, 'eV')} to {write(fit.high, 'eV')}"
        units = {"binding energy": "eV", "threshold": "eV", "reduced": "1/eV", "M": "g/mol"}
        numbers = "; ".join(
            f"{name} {write(number, units.get(name, ''))}" for name, number in fit.coefficients.items()
        )
        rows.append([fit.law, fit.ion, numbers, span, cited(fit.source), fit.source.kind])
    return "## Sputtering\n\n" + table(["law", "ion", "coefficients", "holds for", "source", "kind"], rows)


def _optics(material: Material) -> str:
    sets = optical_choices(material.name)
    if not sets:
        return f"## Optical data\n\n{optically_unknown(material.name)}\n"
    rows = ([each.name, each.condition, cited(each.source), each.source.kind] for each in sets)
    return "## Optical data\n\nThe first is used unless another is named.\n\n" + table(
        ["data set", "condition", "source", "kind"], rows
    )


def _verdict(rate: Rate) -> list[str]:
    """Six cells: verdict, rate, bounds, condition, source, kind."""
    if rate.value is not None:
        return [rate.verdict, *shown(rate.value)]
    source = rate.source
    return [
        rate.verdict,
        "",
        "",
        rate.condition,
        cited(source) if source else "",
        source.kind if source else "",
    ]


def _attackers(book: Book, material: Material) -> str:
    rows, unknown = [], []
    for medium in sorted(book.media.values(), key=lambda each: each.name):
        rate = medium.rate(material.name)
        name = f"[{medium.name}](../chemistries/{slug(medium.name)}.md)"
        if material.name in medium.dissolves:
            rows.append([name, "dissolves", "", "", "", "", ""])
        elif rate.verdict == "unknown":
            unknown.append(medium.name)
        else:
            rows.append([name, *_verdict(rate)])
    told = f"\nUnknown, and never to be taken for safe: {', '.join(unknown)}.\n" if unknown else ""
    return (
        "## What attacks it\n\n"
        + table(["in", "verdict", "rate", "bounds", "condition", "source", "kind"], rows)
        + told
    )


def material_page(book: Book, material: Material) -> str:
    """Everything on file about a material."""
    also = f"Also: {', '.join(material.aliases)}. " if material.aliases else ""
    adhesion = (
        "Peels from oxides without an adhesion layer beneath. " if material.needs_adhesion_layer else ""
    )
    parts = [
        f"{MADE}# {material.name}\n",
        f"{material.symbol}, {material.kind}; families: {', '.join(sorted(material.families)) or 'none'}. {also}{adhesion}\n",
        _answers(book, material),
    ]
    if material.vapour:
        parts.append(_vapour(material))
    if material.sputtering:
        parts.append(_sputtering(material))
    if material.composition:
        rows = ([f"{name} of the metals", *shown(value)] for name, value in material.composition.items())
        parts.append(
            "## Composition\n\n" + table(["part", "", "bounds", "condition", "source", "kind"], rows)
        )
    parts += [_optics(material), _attackers(book, material)]
    return "\n".join(parts)


def _limit(limit: Exposure) -> str:
    return f"{write(limit.value, limit.unit)} ({limit.what})"


def _limits(limits: tuple[Exposure, ...] | Exposure | Absence) -> str:
    if isinstance(limits, Absence):
        return f"{limits.says}: {limits.why}"
    return "; ".join(_limit(each) for each in (limits if isinstance(limits, tuple) else (limits,)))


def _hazard_lines(hazard: Hazard) -> str:
    lines = [" ".join(hazard.cautions)]
    lines += [f"* usual gear: {', '.join(hazard.gear)}"] if hazard.gear else []
    lines += [f"* usual waste: {hazard.waste}"] if hazard.waste else []
    lines += [f"* never with: {', '.join(sorted(hazard.never_with))}"] if hazard.never_with else []
    lines += [f"* interlock or alarm: {hazard.interlock}"] if hazard.interlock else []
    lines += ["* a second person is usual"] if hazard.second_person else []
    return lines[0] + "\n\n" + "\n".join(lines[1:]) + "\n"


def chemistry_page(book: Book, medium: Medium) -> str:
    """Everything on file about a bath, developer, solvent or plasma."""
    made = medium.contains or medium.gases
    facts = [
        f"* families: {', '.join(sorted(medium.families)) or 'none'}",
        f"* {'made of' if medium.contains else 'gases'}: {_linked('substances', made)}",
        f"* temperature: {write(medium.temperature, '°C') if medium.temperature else 'does not apply'}",
    ]
    facts += [f"* also: {', '.join(medium.aliases)}"] if medium.aliases else []
    facts += [f"* {medium.note}"] if medium.note else []
    parts = [f"{MADE}# {medium.name}\n", f"{medium.kind}\n\n" + "\n".join(facts) + "\n"]
    if medium.hazard:
        link = f"[{medium.hazard}](../hazards/{slug(medium.hazard)}.md)"
        parts.append(f"## Caution: {link}\n\n{_hazard_lines(book.hazard(medium.hazard))}\n{SITE}")
    if medium.dissolves:
        parts.append(f"Dissolves: {_linked('materials', sorted(medium.dissolves))}\n")
    rows = []
    for name, rate in medium.rates.items():
        energy = (
            write(rate.activation_energy.value, "eV")
            if rate.activation_energy
            else "not known"
            if rate.value
            else ""
        )
        sideways = f"{rate.sideways:g}" if rate.verdict == "attacks" else ""
        rows.append([f"[{name}](../materials/{slug(name)}.md)", *_verdict(rate), energy, sideways])
    if rows:
        head = [
            "material",
            "verdict",
            "rate",
            "bounds",
            "condition",
            "source",
            "kind",
            "activation energy",
            "sideways",
        ]
        parts.append("## Rates\n\n" + table(head, rows))
    unknown = [
        name for name in sorted(book.materials) if name not in medium.rates and name not in medium.dissolves
    ]
    if unknown:
        parts.append(f"Unknown, and never to be taken for safe: {', '.join(unknown)}.\n")
    return "\n".join(parts)


def resist_page(book: Book, resist: Resist) -> str:
    """Everything on file about a resist."""
    return "\n".join(
        [
            f"{MADE}# {resist.name}\n",
            f"{resist.tone}; on the wafer: {_linked('materials', [resist.material])}; "
            f"developer: {_linked('chemistries', [resist.developer])}; "
            f"strippers: {_linked('chemistries', resist.strippers)}.\n",
            _answers(book, resist),
        ]
    )


def hazard_page(book: Book, hazard: Hazard) -> str:
    """What hurts, what is usual against it, and where it is met."""
    used = sorted(medium.name for medium in book.media.values() if medium.hazard == hazard.key)
    methods = sorted(method.name for method in book.methods.values() if method.hazard == hazard.key)
    parts = [f"{MADE}# {hazard.key}\n", _hazard_lines(hazard), SITE]
    if hazard.substances:
        rows = []
        for name in hazard.substances:
            each = book.substance(name)
            link = f"[{name}](../substances/{slug(name)}.md)"
            rows.append([link, ", ".join(each.phrases) or "none", _limits(each.limits)])
        parts.append(
            "## What it is about\n\n" + table(["substance", "statements", "limits of exposure"], rows)
        )
    if used:
        parts.append(f"Met in: {_linked('chemistries', used)}.\n")
    if methods:
        parts.append(f"Met in: {', '.join(methods)}.\n")
    parts.append(f"Sources: {'; '.join(str(source) for source in hazard.sources)}.\n")
    return "\n".join(parts)


def substance_page(book: Book, substance: Substance) -> str:
    """Class, limits and alarm of a chemical or gas."""
    used = sorted(m.name for m in book.media.values() if substance.name in (*m.contains, *m.gases))
    rows = [
        ["formula", substance.formula],
        ["registry number", substance.registry_number],
        ["supplied as", substance.state],
        ["classified for", substance.condition or "as supplied"],
        ["classes", "; ".join(substance.classes) or "not classified"],
        ["statements", ", ".join(substance.phrases) or "none"],
        ["classified by", str(substance.classified_by)],
        ["limits of exposure", _limits(substance.limits)],
        ["alarm", _limits(substance.alarm)],
        ["burns in air", _limits(substance.flammable)],
        ["warms the climate", _limits(substance.warming)],
        ["never with", ", ".join(substance.never_with) or "nothing on file"],
    ]
    parts = [f"{MADE}# {substance.name}\n", table(["", ""], rows), SITE]
    limits = () if isinstance(substance.limits, Absence) else substance.limits
    if limits:
        rows = [
            [each.what, write(each.value, each.unit), cited(each.source), each.source.kind] for each in limits
        ]
        parts.append("## Limits of exposure\n\n" + table(["set by", "limit", "source", "kind"], rows))
    if used:
        parts.append(f"Met in: {_linked('chemistries', used)}.\n")
    return "\n".join(parts)


def _kinds(values: Iterable[Value]) -> str:
    counted: dict[str, int] = {}
    for value in values:
        letter = _LETTER[value.source.kind]
        counted[letter] = counted.get(letter, 0) + 1
    return ", ".join(f"{counted[letter]} {letter}" for letter in "pcm" if letter in counted)


def _index(title: str, folder: str, said: str, head: list[str], rows: Iterable[list[str]]) -> str:
    linked = ([f"[{name}]({folder}/{slug(name)}.md)", *rest] for name, *rest in rows)
    return f"{MADE}# {title}\n\n{said}\n\n" + table(head, linked)


_LETTERS = "p: published, c: common practice, m: from memory, to be measured before it is relied on."


def _materials(book: Book) -> str:
    rows = []
    for each in sorted(book.materials.values(), key=lambda material: material.name):
        holes = sum(nothing.says == "not known" for nothing in each.missing.values())
        rows.append([each.name, each.symbol, each.kind, _kinds(each.values.values()), str(holes)])
    said = f"Bounds enclose about 95 % of what one meets. {_LETTERS}"
    return _index("Materials", "materials", said, ["material", "sign", "kind", "values", "not known"], rows)


def _chemistries(book: Book) -> str:
    rows = []
    for each in sorted(book.media.values(), key=lambda medium: (medium.kind, medium.name)):
        rates = _kinds(rate.value for rate in each.rates.values() if rate.value)
        hazard = f"[{each.hazard}](hazards/{slug(each.hazard)}.md)"
        rows.append([each.name, each.kind, str(len(each.rates) + len(each.dissolves)), rates, hazard])
    said = (
        "At a glance: [what attacks what](matrix.md). A pair that is not listed is unknown, and unknown is never "
        f"taken for safe. {_LETTERS}"
    )
    head = ["chemistry", "kind", "pairs on file", "rates", "hazard"]
    return _index("Chemistries and plasmas", "chemistries", said, head, rows)


def _resists(book: Book) -> str:
    resists = sorted(book.resists.values(), key=lambda resist: resist.name)
    rows = [[each.name, each.tone, each.developer, _kinds(each.values.values())] for each in resists]
    said = f"Generic resists: replace a number by your own reading. {_LETTERS}"
    return _index("Resists", "resists", said, ["resist", "tone", "developer", "values"], rows)


def _hazards(book: Book) -> str:
    rows = [
        [key, ", ".join(sorted(each.never_with)), each.interlock]
        for key, each in sorted(book.hazards.items())
    ]
    return _index("Hazards", "hazards", SITE.strip(), ["hazard", "never with", "interlock or alarm"], rows)


def _substances(book: Book) -> str:
    rows = []
    for _, each in sorted(book.substances.items()):
        alarm = _limits(each.alarm) if each.state == "gas" else ""
        rows.append([each.name, each.formula, ", ".join(each.phrases) or "none", _limits(each.limits), alarm])
    head = ["substance", "formula", "statements", "limits of exposure", "alarm"]
    return _index("Chemicals and gases", "substances", SITE.strip(), head, rows)


def indexes(book: Book) -> dict[str, str]:
    """The lists that lead to the pages."""
    return {
        "materials.md": _materials(book),
        "chemistries.md": _chemistries(book),
        "resists.md": _resists(book),
        "hazards.md": _hazards(book),
        "substances.md": _substances(book),
    }


def _effect(medium: Medium, material: str) -> str:
    """One cell of the matrix."""
    rate = medium.rate(material)
    if material in medium.dissolves:
        return "dissolves"
    if rate.verdict == "unknown" or rate.source is None:
        return "?"
    letter = _LETTER[rate.source.kind]
    if rate.verdict == "does not attack":
        return f"no {letter}"
    if rate.value is None:
        return f"attacks {letter}"
    middle, low, high = (_bare(each) for each in (rate.value.value, rate.value.low, rate.value.high))
    return f"{middle} ({low}–{high}) {letter}"


def _bare(rate: float) -> str:
    return write(rate, "nm/min").removesuffix(" nm/min")


def matrix(book: Book) -> str:
    """What every medium does to every material, at a glance; bounds and sources stand on the pages."""
    parts = [
        f"{MADE}# What attacks what\n",
        "Rates in nm/min with their bounds, at the condition that the page of the chemistry states; *no*: does not attack; "
        "*attacks*: at a rate that is not on file; *dissolves*: takes it away whole; *?*: **unknown, never to be taken for safe**. "
        "The letter is the kind of the source: p published, c common practice, m from memory. "
        "Materials of which nothing is on file in a whole table are left out of it.\n",
    ]
    for kind in sorted({medium.kind for medium in book.media.values()}):
        media = sorted((m for m in book.media.values() if m.kind == kind), key=lambda m: m.name)
        parts.append(f"## {kind}\n")
        for start in range(0, len(media), _COLUMNS):
            some = media[start : start + _COLUMNS]
            rows = []
            for material in sorted(book.materials):
                cells = [_effect(medium, material) for medium in some]
                if set(cells) != {"?"}:
                    rows.append([f"[{material}](materials/{slug(material)}.md)", *cells])
            if rows:
                heads = (f"[{medium.name}](chemistries/{slug(medium.name)}.md)" for medium in some)
                parts.append(table(["material", *heads], rows))
    return "\n".join(parts)


def pages(book: Book) -> dict[str, str]:
    """Path below the folder of the reference → text."""
    made = {**indexes(book), "matrix.md": matrix(book)}
    makers: tuple[tuple[str, Iterable[str], Callable[[str], str]], ...] = (
        ("materials", book.materials, lambda name: material_page(book, book.materials[name])),
        ("chemistries", book.media, lambda name: chemistry_page(book, book.media[name])),
        ("resists", book.resists, lambda name: resist_page(book, book.resists[name])),
        ("hazards", book.hazards, lambda name: hazard_page(book, book.hazards[name])),
        ("substances", book.substances, lambda name: substance_page(book, book.substances[name])),
    )
    for folder, names, make in makers:
        for name in names:
            path = f"{folder}/{slug(name)}.md"
            if path in made:
                raise ValueError(f"two of {folder} share the page {path}")
            made[path] = make(name)
    return made
