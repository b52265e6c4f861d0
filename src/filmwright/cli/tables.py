"""Long tables as a person reads them in a terminal of 100 columns."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright.desk import DevicesAnswer, LookAnswer, drawn_and_made, stack_text
from filmwright.emulate import Listed, Seen
from filmwright.units import convert, show, to_si

LONGEST = 60
"""More devices than these are counted, not listed, unless all are asked for."""

MOST_PLACES, SEEN = 16, 1e-5
"""Kinds of place that are told, the largest first, and the share of the die that each has at least."""

FEW = 12
"""So many of one kind are listed all the same."""

_NAMES = {
    "transistor": ("transistor", "transistors"),
    "resistor": ("resistor", "resistors"),
    "cross": ("cross", "crosses"),
    "film": ("film between contacts", "films between contacts"),
    "capacitor": ("capacitor", "capacitors"),
    "track": ("resistor line", "resistor lines"),
}
"""Of each kind of device: one, and several."""

_PAIRS = 6
"""Pairs of terminals that are named; of more, only the number is said."""


def print_devices(answer: DevicesAnswer, console: Console) -> None:
    """The devices by kind, their sets, and what is wrong with the nets."""
    if answer.as_csv:
        sys.stdout.write(answer.csv_text())
        return
    for kind, (one, several) in _NAMES.items():
        of_kind = [each for each in answer.devices if each.device.kind == kind]
        if not of_kind:
            continue
        named = of_kind if answer.everything else [each for each in of_kind if each.device.name]
        console.print(Text(f"{len(of_kind)} {several if len(of_kind) != 1 else one}", style="bold"))
        _print_films(of_kind, console)
        if named and (answer.everything or len(answer.devices) <= LONGEST or len(named) <= FEW):
            if _LAYOUTS.get(kind) is _gaps:
                console.print(
                    Text("   W and L as drawn → as made; the gate reaches over S and D [µm]", style="dim")
                )
            console.print(_LAYOUTS.get(kind, _areas)(named))
        else:
            console.print(_counts(named or of_kind))
        if len(named) < len(of_kind) and named:
            console.print(Text(f"   and {len(of_kind) - len(named)} without a name", style="dim"))
    if not answer.devices:
        console.print(Text("No device is found on the finished die."))
    _print_sets(answer, console)
    _print_nets(answer, console)
    for note in answer.drawing:
        console.print(Text(f"· drawing: {note}", style="dim"))
    if not answer.everything and len(answer.devices) > LONGEST:
        console.print(
            Text(
                "Sizes and counts only: --all lists every device, --csv and --json give them to programs.",
                style="dim",
            )
        )


def _print_films(devices: Sequence[Listed], console: Console) -> None:
    """Dielectric and areal capacitance, once for all devices that share them."""
    shared: dict[str, list[Listed]] = {}
    for each in devices:
        if each.device.dielectric:
            shared.setdefault(stack_text(each.device), []).append(each)
    for films, members in shared.items():
        found = members[0].capacitance
        value = (
            f"{convert(found.value, 'nF/cm^2'):.4g} ± {convert(found.std, 'nF/cm^2'):.2g} nF/cm²"
            if found
            else "a permittivity is not on file"
        )
        console.print(Text(f"   {films}: {value}  ({len(members)})", style="dim"))


def _place(each: Listed) -> str:
    x, y = (convert(to_si(part, "nm"), "um") for part in each.device.place)
    return f"{x:.5g}, {y:.5g}"


def _table(*heads: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for head in heads:
        table.add_column(head, no_wrap=head not in ("L", "nets", "remarks"))
    return table


def _gaps(devices: Sequence[Listed]) -> Table:
    table = _table("   name", "x, y [µm]", "W [µm]", "L [µm]", "over S, D", "nets", "remarks")
    for each in devices:
        d = each.device
        overlaps = ", ".join(
            f"{convert(d.overlaps[r], 'um'):.3g}" for r in ("source", "drain") if r in d.overlaps
        )
        table.add_row(
            Text(f"   {each.name}"),
            Text(_place(each)),
            Text(drawn_and_made(each.drawn_width, d.width)),
            Text(drawn_and_made(each.drawn_length, d.length)),
            Text(overlaps),
            Text(_ends(each)),
            Text(_remarks(each), style="yellow"),
        )
    return table


def _areas(devices: Sequence[Listed]) -> Table:
    table = _table("   name", "x, y [µm]", "area [µm²]", "border [µm]", "capacitance", "nets", "remarks")
    for each in devices:
        d = each.device
        whole = each.capacitance.value * d.area if each.capacitance and d.kind == "capacitor" else None
        table.add_row(
            Text(f"   {each.name}"),
            Text(_place(each)),
            Text(f"{convert(d.area, 'um^2'):.4g}"),
            Text("" if d.perimeter is None else f"{convert(d.perimeter, 'um'):.4g}"),
            Text("" if whole is None else f"{convert(whole, 'pF'):.3g} pF"),
            Text(_ends(each)),
            Text(_remarks(each), style="yellow"),
        )
    return table


def _lines(devices: Sequence[Listed]) -> Table:
    table = _table("   name", "x, y [µm]", "W [µm]", "L [µm]", "squares", "area [µm²]", "nets", "remarks")
    for each in devices:
        d = each.device
        width, length = (f"{convert(size, 'um'):.5g}" for size in d.line) if d.line else ("", "")
        table.add_row(
            Text(f"   {each.name}"),
            Text(_place(each)),
            Text(width),
            Text(length),
            Text("" if d.squares is None else f"{d.squares:.4g}"),
            Text(f"{convert(d.area, 'um^2'):.4g}"),
            Text(_ends(each)),
            Text("" if d.line else "no single line", style="yellow"),
        )
    return table


_LAYOUTS: dict[str, Callable[[Sequence[Listed]], Table]] = {
    "transistor": _gaps,
    "resistor": _gaps,
    "track": _lines,
}
"""How a kind of device is listed, where not by its area."""


def _counts(devices: Sequence[Listed]) -> Table:
    """How many there are of each size."""
    sizes: dict[tuple[str, str], int] = {}
    for each in sorted(
        devices, key=lambda one: (one.device.width or 0, one.device.length or 0, one.device.area)
    ):
        d = each.device
        if d.width is not None and d.length is not None:
            key = drawn_and_made(each.drawn_width, d.width), drawn_and_made(each.drawn_length, d.length)
        else:
            key = f"{convert(d.area, 'um^2'):.3g}", ""
        sizes[key] = sizes.get(key, 0) + 1
    gaps = any(length for _, length in sizes)
    table = _table(
        "   how many", *(("W drawn → made [µm]", "L drawn → made [µm]") if gaps else ("area [µm²]", ""))
    )
    ranked = list(sizes.items())
    for (first, second), count in ranked[: LONGEST // 2]:
        table.add_row(Text(f"   {count}"), Text(first), Text(second))
    if len(ranked) > LONGEST // 2:
        table.add_row(Text("   …"), Text(f"{len(ranked) - LONGEST // 2} more sizes"), Text(""))
    return table


def _ends(each: Listed) -> str:
    """The terminals by role; of a net with more labels than one, its number of labels."""
    parts = []
    for role, net in each.device.nets.items():
        end = each.device.terminals.get(role, "")
        others = len(each.labels.get(role, ())) - 1
        shown = end or f"net {net}"
        parts.append(shown + (f"+{others}" if others > 0 and each.device.kind != "track" else ""))
    return ", ".join(dict.fromkeys(parts))


def _remarks(each: Listed) -> str:
    d = each.device
    said = ["shorted: " + " and ".join(pair) for pair in d.shorts]
    said += ["current flows beside it too"] if d.fringe else []
    said += [f"gated {100 * d.gated:.3g} %"] if d.kind == "transistor" and d.gated < 0.99 else []
    return "; ".join(said)


def _print_sets(answer: DevicesAnswer, console: Console) -> None:
    if answer.sets:
        console.print(Text("Lengths at one width (as made, µm)", style="bold"))
        table = _table("   set", "W", "L", "gaps", "contacts", "")
        for each in answer.sets:
            table.add_row(
                Text(f"   {each.name or '—'}"),
                Text(f"{convert(each.width, 'um'):.4g}"),
                Text(", ".join(f"{convert(length, 'um'):.4g}" for length in each.lengths)),
                Text(str(len(each.members))),
                Text("in a row" if each.arranged == "row" else "their own"),
                Text("gated" if each.gated else "not gated"),
            )
        console.print(table)
    if answer.crosses:
        names = {id(each.device): each.name for each in answer.devices}
        console.print(
            Text.assemble(
                ("Crosses for the sheet resistance (van der Pauw): ", "bold"),
                ", ".join(names[id(each)] for each in answer.crosses),
            )
        )


def _print_nets(answer: DevicesAnswer, console: Console) -> None:
    nets = answer.nets
    pairs = (
        ("shorted", [f"{one} – {other}" for one, other in nets.shorted]),
        ("in parts", list(nets.parted)),
        ("out of reach", [f"{label} under {material}" for label, material in nets.unreachable]),
        ("without metal", list(nets.absent)),
        ("on one net", [f"{one} – {other}" for one, other in nets.shared]),
    )
    told = [(name, items) for name, items in pairs if items]
    console.print(Text("Nets" if told else "Nets: no short, none in parts, every pad in reach", style="bold"))
    for name, items in told:
        more = f" and {len(items) - _PAIRS} more" if len(items) > _PAIRS else ""
        style = "dim" if name == "on one net" else "yellow"
        console.print(Text(f"   {name}: {', '.join(items[:_PAIRS])}{more}", style=style))
    for each in answer.findings:
        mark = {"stop": "■", "warn": "▲", "note": "·"}[each.severity]
        console.print(
            Text(f"   {mark} {each.rule}: {each.what}: {each.got}", style="dim" if mark == "·" else "")
        )


def print_look(answer: LookAnswer, console: Console) -> None:
    """Places with their films, colour and a swatch; the marks; what the colours rest on."""
    console.print(Text.assemble((answer.step, "bold"), f": {answer.seen_with}"))
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for head in ("", "colour", "", "share" if answer.at is None else "", "films, from the top"):
        table.add_column(head, no_wrap=head != "films, from the top")
    total = sum(seen.area for seen in answer.look.seen)
    alike: dict[tuple[str, str], list[Seen]] = {}
    for seen in answer.places:
        alike.setdefault((seen.name, answer.films(seen)), []).append(seen)
    shown = [group for group in alike.values() if sum(s.area for s in group) >= SEEN * total or answer.at][
        :MOST_PLACES
    ]
    for group in shown:
        seen, share = group[0], 100 * sum(each.area for each in group) / total
        table.add_row(
            Text("      ", style=f"on {seen.hex}") if seen.hex else Text("  ?   ", style="reverse dim"),
            Text(seen.name or "not known"),
            Text(seen.hex, style="dim"),
            Text(f"{share:.3g} %" if answer.at is None else ""),
            Text(
                answer.films(seen)
                if not seen.unknown
                else f"{answer.films(seen)} - {'; '.join(seen.unknown)}"
            ),
        )
    console.print(table)
    if len(alike) > len(shown):
        console.print(
            Text(
                f"and {len(alike) - len(shown)} smaller kinds of place; --json has them all",
                style="dim",
            )
        )
    _print_marks(answer, console)
    if answer.look.data:
        console.print(Text("Optical data: " + "; ".join(answer.look.data), style="dim"))
    for note in answer.look.notes:
        console.print(Text(f"▲ {note}", style="yellow"))
    for path in answer.written:
        console.print(Text.assemble("Open ", (str(path), "bold")), soft_wrap=True)


def _print_marks(answer: LookAnswer, console: Console) -> None:
    if not answer.marks:
        return
    console.print(Text("Contrast of the alignment marks (difference over sum of the light)", style="bold"))
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for head in ("exposure", "viewing", *answer.marks[0].lines, "step", ""):
        table.add_column(head)
    for each in answer.marks:
        table.add_row(
            Text(f"{each.state.step.number} {each.state.step.mask}"),
            Text("not known" if each.viewing is None else f"{100 * each.viewing:.2g} %"),
            *(Text(f"{100 * value:.2g} %") for value in each.lines.values()),
            Text(show(each.step, "length") if each.step > 0 else "none"),
            Text("" if each.drawn else "no mark drawn: first level", style="dim"),
        )
    console.print(table)


PRINTERS: dict[type, Callable[[Any, Console], None]] = {DevicesAnswer: print_devices, LookAnswer: print_look}
