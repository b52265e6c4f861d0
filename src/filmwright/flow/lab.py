"""The lab file → :class:`filmwright.knowledge.Lab`: tools, calibrations, limits, waits."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from filmwright.errors import Problems, nearest
from filmwright.flow.admission import Axes, admits_of, leaves_of, read_axes, refused_families
from filmwright.flow.fields import Block, Reading, quantity
from filmwright.flow.geometry import geometry_of
from filmwright.flow.grammar import (
    BATH,
    BOTTLE,
    CALIBRATED,
    CALIBRATION,
    KNOBS,
    LAB,
    RUN,
    RUN_RESULTS,
    TOOL,
    WAIT,
)
from filmwright.flow.hours import hours_of, zone_of
from filmwright.flow.lab_tools import maintenance_of, recipes_of
from filmwright.flow.text import Entry, Node, parse, read_text
from filmwright.knowledge import (
    FAMILY_AXIS,
    AdmissionClass,
    Bath,
    Bottle,
    CalibratedQuantity,
    Calibration,
    Lab,
    RunResult,
    Tool,
    ToolRun,
    Wait,
    book,
    limits,
)
from filmwright.units import Quantity


def read_lab(path: Path | str) -> Lab:
    """Read and validate a lab file; :class:`BadInput` carries all its problems."""
    path = Path(path)
    return lab_from_text(read_text(path, "a lab file"), str(path))


def lab_from_text(text: str, file: str) -> Lab:
    """Validate a lab text; ``file`` is only named in messages."""
    reading = Reading(file=file, problems=Problems(), readings=[])
    block = Block(reading, parse(text, file), LAB, "the lab file")
    invented = block.flag("invented", False)
    axes = read_axes(block.found.get("admission"), reading)
    tools, families = _tools(block.found.get("tools"), reading, axes, invented)
    calibrations = tuple(
        found
        for node in _listed(block, "calibrations", reading)
        if (found := _calibration(node, reading, tools, invented)) is not None
    )
    waits = tuple(
        wait for node in _listed(block, "waits", reading) if (wait := _wait(node, reading)) is not None
    )
    runs = tuple(
        run for node in _listed(block, "runs", reading) if (run := _run(node, reading, invented)) is not None
    )
    lab = Lab(
        name=block.text("lab"),
        file=file,
        tools=tools,
        admission=axes | families,
        calibrations=_one_of_each(calibrations, reading),
        runs=runs,
        limits=_limits(block.found.get("limits"), reading),
        waits=waits,
        baths=_baths(block.found.get("baths"), reading, tools),
        bottles=tuple(
            bottle
            for node in _listed(block, "bottles", reading)
            if (bottle := _bottle(node, reading)) is not None
        ),
        hours=hours_of(block),
        zone=zone_of(block),
        owners=block.texts("process owners"),
        invented=invented,
    )
    reading.problems.raise_any()
    return lab


_FARTHEST = 60.0
"""Differences between plate and wafer [K] beyond it are no offset."""


def _listed(block: Block, key: str, reading: Reading) -> tuple[Node, ...]:
    node = block.found.get(key)
    if node is None:
        return ()
    if node.kind != "list":
        reading.refuse(
            f"the {key}", "a list", node.shown, "each is one entry", "begin each with a dash", node.line
        )
        return ()
    return node.items


def _named(node: Node, what: str, remedy: str, reading: Reading) -> tuple[Entry, ...]:
    if node.kind != "map":
        reading.refuse(what, "a block with names", node.shown, "each is found by its name", remedy, node.line)
    return node.entries


def _tools(
    node: Node | None, reading: Reading, axes: Axes, invented: bool
) -> tuple[dict[str, Tool], dict[str, tuple[AdmissionClass, ...]]]:
    """The tools, and the axis of the families that some of them refuse, where there are any."""
    if node is None:
        return {}, {}
    tools, refuses = {}, {}
    for entry in _named(node, "the tools", "write evaporator: {does: [electron-beam evaporation]}", reading):
        block = Block(reading, entry.value, TOOL, f'the tool "{entry.key}"')
        uneven = block.quantity("non-uniformity")
        overhead, pumped, heated, cooled = (
            found.value if (found := block.quantity(key)) else 0.0
            for key in ("overhead", "pump-down", "heat-up", "cool-down")
        )
        if block.has("refuses"):
            refuses[entry.key] = frozenset(block.texts("refuses"))
        tools[entry.key] = Tool(
            name=entry.key,
            does=block.texts("does"),
            admits=admits_of(block, axes),
            leaves=leaves_of(block, axes),
            recipes=recipes_of(block, entry.key),
            maintenance=maintenance_of(block),
            non_uniformity=uneven.value if uneven else None,
            overhead=overhead,
            pump_down=pumped,
            heat_up=heated,
            cool_down=cooled,
            **{
                field: found.value
                for field in ("heating_rate", "cooling_rate", "chamber_volume", "pumping_speed")
                if (found := block.quantity(field.replace("_", " "))) is not None
            },
            holds=_holds(block),
            hours=hours_of(block),
            faster_at=_faster_at(block, reading),
            geometry=geometry_of(block.found.get("geometry"), entry.key, reading, invented),
            note=block.text("note"),
            line=entry.line,
        )
    return _with_families(tools, refuses)


def _holds(block: Block) -> int:
    """How many wafers one run takes; none at all would be no tool."""
    wafers = block.count("holds")
    if block.has("holds") and wafers == 0 and block.text("holds").strip("0") == "":
        block.reading.refuse(
            block.what("holds"),
            "one wafer or more",
            f'"{block.text("holds")}"',
            "the day is planned by the runs that a lot needs",
            "write how many go into one run, or leave it out for one at a time",
            block.line("holds"),
        )
    return wafers


def _with_families(
    tools: dict[str, Tool], refuses: dict[str, frozenset[str]]
) -> tuple[dict[str, Tool], dict[str, tuple[AdmissionClass, ...]]]:
    classes, admits = refused_families(refuses, {name: tool.line for name, tool in tools.items()})
    for name, admitted in admits.items():
        tools[name] = replace(tools[name], admits={**tools[name].admits, FAMILY_AXIS: admitted})
    return tools, {FAMILY_AXIS: classes} if classes else {}


def _faster_at(block: Block, reading: Reading) -> str:
    said = block.text("faster at")
    if said not in {"", "edge", "middle"}:
        reading.refuse(
            block.what("faster at"),
            "edge or middle",
            f'"{said}"',
            "unevenness runs from the middle of a wafer to its edge",
            "write edge or middle, or leave it out when nobody knows",
            block.line("faster at"),
        )
    return said


def _calibration(node: Node, reading: Reading, tools: dict[str, Tool], invented: bool) -> Calibration | None:
    block = Block(reading, node, CALIBRATION, "a calibration")
    kind = _kind(block, reading)
    if kind is None:
        return None
    tool, setting, found = (
        block.text("tool"),
        _setting(block, kind, reading),
        _with_spread(block, kind, reading),
    )
    bath = block.quantity("temperature")
    if tool and tools and tool not in tools:
        reading.refuse(
            "the tool of a calibration",
            "one of the tools",
            f'"{tool}"',
            "a rate belongs to a tool",
            nearest(tool, tools),
            block.line("tool"),
        )
    recipe = _recipe_of(block, tools.get(tool))
    if found is None:
        return None
    if kind == "hot-plate offset" and abs(found[0].value) > _FARTHEST:
        # "-4 degC" is a temperature of 269 K, no difference of -4 K.
        reading.refuse(
            "the hot-plate offset",
            "a difference in kelvin, wafer less plate",
            f'"{block.text(kind)}"',
            "a temperature on a scale is no difference",
            'write it like "-4 kelvin +- 1 kelvin"',
            block.line(kind),
        )
        return None
    return Calibration(
        of=kind,
        tool=tool,
        value=found[0].value,
        std=found[1],
        unit=found[0].unit,
        date=block.date("date"),
        material=_resolved(block, "material", reading),
        medium=_resolved(block, "medium", reading),
        recipe=recipe,
        by=block.text("by"),
        evidence=block.text("evidence"),
        after_maintenance=block.flag("after maintenance", False),
        kind="invented" if invented else "lab",
        setting=setting,
        set_aside=_set_aside(block, reading),
        temperature=bath.value if bath else None,
        line=node.line,
    )


def _recipe_of(block: Block, tool: Tool | None) -> str:
    """The recipe that a reading holds for: a new name is one of its own, a slip of a name on file would never be used."""
    recipe = block.text("recipe")
    if recipe and tool is not None and recipe not in tool.recipes:
        meant = nearest(recipe, tool.recipes) if tool.recipes else ""
        if meant.startswith("did you mean"):
            block.reading.refuse(
                "the recipe of a calibration",
                f"a recipe of {tool.name}, or a name unlike all of them",
                f'"{recipe}"',
                "no step would take a reading that is bound to a slip of a name",
                meant,
                block.line("recipe"),
            )
    return recipe


def _bottle(node: Node, reading: Reading) -> Bottle | None:
    block = Block(reading, node, BOTTLE, "a bottle")
    opened, expires = block.date("opened"), block.date("expires")
    named = block.found.get("resist")
    if named is None or not opened:
        return None
    return Bottle(
        resist=reading.name(lambda name: book().resist(name).name, named, "the resist of a bottle"),
        opened=opened,
        expires=expires,
        label=block.text("label"),
        line=node.line,
    )


_SETTINGS: dict[str, CalibratedQuantity] = {
    "speed": "resist thickness",
    "power": "deposition rate",
    "wavelength": "lamp intensity",
    "plate": "hot-plate offset",
}
"""The setting at which a reading holds → what is read there."""


def _setting(block: Block, kind: CalibratedQuantity, reading: Reading) -> float | None:
    """The setting [SI] at which a reading holds; one that belongs to another reading would silently do nothing."""
    found = None
    for key, of in _SETTINGS.items():
        given = block.quantity(key)
        if given is None:
            continue
        if of == kind:
            found = given.value
            continue
        reading.refuse(
            block.what(key),
            f"beside a {of}",
            f"beside a {kind}",
            "it would change nothing there",
            f"take it away, or write the {of}",
            block.line(key),
        )
    return found


def _set_aside(block: Block, reading: Reading) -> str:
    reason = block.text("set aside")
    if block.has("set aside") and reason.lower() in {"", "yes", "no", "true", "false"}:
        reading.refuse(
            block.what("set aside"),
            "the reason",
            f'"{reason}"',
            "the next reader must know why a reading does not count",
            "write it like set aside: the stylus was off by a factor",
            block.line("set aside"),
        )
    return reason


def _one_of_each(found: tuple[Calibration, ...], reading: Reading) -> tuple[Calibration, ...]:
    """The calibrations; two offsets of a plate at one temperature and day are a slip of the table."""
    first: dict[tuple[str, float | None, str], int] = {}
    for each in found:
        if each.of != "hot-plate offset" or each.set_aside:
            continue
        key = (each.tool, each.setting, each.date)
        if key in first:
            reading.refuse(
                f"the hot-plate offset of {each.tool or 'a plate'}",
                "given once for each temperature of the plate and day",
                f"a second one (the first is on line {first[key]})",
                "between the two nobody knows which is meant",
                "correct the temperature, or set one aside with the reason",
                each.line,
            )
        first.setdefault(key, each.line)
    return found


def _run(node: Node, reading: Reading, invented: bool) -> ToolRun | None:
    block = Block(reading, node, RUN, "a run")
    told = [name for name in RUN_RESULTS if block.has(name)]
    if not told:
        reading.refuse(
            "a run",
            "at least one of " + ", ".join(RUN_RESULTS),
            "none",
            "a run tells what came of its settings",
            'write what was measured, like "deposition rate: 14 nm/min ± 3 %"',
            node.line,
        )
    found = {name: read for name in told if (read := _with_spread(block, name, reading)) is not None}
    knobs = {name: given.value for name in KNOBS if (given := block.quantity(name)) is not None}
    if not found:
        return None
    return ToolRun(
        tool=block.text("tool"),
        material=_resolved(block, "material", reading),
        results={
            name: RunResult(value=given.value, std=std, unit=given.unit)
            for name, (given, std) in found.items()
        },
        date=block.date("date"),
        knobs=knobs,
        by=block.text("by"),
        evidence=block.text("evidence"),
        kind="invented" if invented else "lab",
        line=node.line,
    )


def _kind(block: Block, reading: Reading) -> CalibratedQuantity | None:
    """What was measured: exactly one quantity in one entry."""
    kinds = [name for name in CALIBRATED if block.has(name)]
    if len(kinds) == 1:
        return kinds[0]
    reading.refuse(
        "a calibration",
        "exactly one of " + ", ".join(CALIBRATED),
        " and ".join(kinds) or "none",
        "one entry is one measurement",
        "write each measurement as an entry of its own"
        if kinds
        else 'write one of them, like "etch rate: 20 nm/min ± 10 %"',
        block.node.line,
    )
    return None


def _with_spread(block: Block, kind: str, reading: Reading) -> tuple[Quantity, float] | None:
    """The reading and its standard deviation; one without is refused."""
    found = block.quantity(kind)
    if found is None:
        return None
    if found.spread is None:
        reading.refuse(
            f"the {kind}",
            "given with ± one standard deviation",
            f'"{block.text(kind)}"',
            "a number without a spread cannot be weighed against another",
            f'write it like "{block.text(kind)} ± 5 %"',
            block.line(kind),
        )
        return None
    return found, found.spread


def _resolved(block: Block, key: str, reading: Reading) -> str:
    node = block.found.get(key)
    if node is None:
        return ""
    facts = book()
    resolve = (
        (lambda name: facts.material(name).name)
        if key == "material"
        else (lambda name: facts.medium(name).name)
    )
    return reading.name(resolve, node, f"the {key} of {block.where}")


def _baths(node: Node | None, reading: Reading, tools: dict[str, Tool]) -> tuple[Bath, ...]:
    if node is None:
        return ()
    found = []
    for entry in _named(node, "the baths", "write chromium etch: {medium: …, made: 2026-03-31}", reading):
        block = Block(reading, entry.value, BATH, f'the bath "{entry.key}"')
        tool = block.text("tool")
        if tool and tools and tool not in tools:
            reading.refuse(
                block.what("tool"),
                "one of the tools",
                f'"{tool}"',
                "a bath stands on a bench of the lab",
                nearest(tool, tools),
                block.line("tool"),
            )
        sizes = {
            key: size.value if (size := block.quantity(key)) else None
            for key in ("temperature", "volume", "area done", "most area", "longest age")
        }
        bath = Bath(
            name=entry.key,
            medium=_resolved(block, "medium", reading),
            made=block.date("made"),
            tool=tool,
            temperature=sizes["temperature"],
            volume=sizes["volume"],
            wafers_done=block.count("wafers done"),
            most_wafers=block.count("most wafers"),
            area_done=sizes["area done"],
            most_area=sizes["most area"],
            longest_age=sizes["longest age"],
            by=block.text("by"),
            note=block.text("note"),
            line=entry.line,
        )
        if bath.medium and bath.made:
            found.append(bath)
    return tuple(found)


def _limits(node: Node | None, reading: Reading) -> dict[str, float]:
    if node is None:
        return {}
    found_limits = {}
    known = limits()
    for entry in _named(node, "the limits", "write organic heat: 100 degC", reading):
        if entry.key not in known:
            reading.refuse(
                f'the limit "{entry.key}"',
                "a limit of the review",
                f'"{entry.key}"',
                "it would change nothing",
                nearest(entry.key, known),
                entry.line,
            )
            continue
        found = quantity(reading, entry.value, known[entry.key].dimension, f"the limit {entry.key}")
        if found is not None:
            found_limits[entry.key] = found.value
    return found_limits


def _wait(node: Node, reading: Reading) -> Wait | None:
    block = Block(reading, node, WAIT, "a wait")
    longest = block.quantity("longest")
    if longest is None:
        return None
    return Wait(
        after=block.text("after"),
        before=block.text("before"),
        longest=longest.value,
        why=block.text("why"),
        line=node.line,
    )
