"""A die of many equal transistors in plan: 5 masks, 40 elementary steps, then its nets and devices; how the time grows."""

from __future__ import annotations

import statistics
import time

from filmwright.masks import Drawing, drawing_of, many_transistors, resist_left
from filmwright.numerics import Region, repeats
from filmwright.units import to_si
from filmwright.wafer import (
    MARGIN_NM,
    Action,
    Clear,
    Coat,
    EtchRate,
    Grow,
    Heat,
    Plan,
    Print,
    Remove,
    plan_memo,
    read_devices,
    read_nets,
)

NM, UM = to_si(1, "nm"), to_si(1, "um")
COUNTS = (1, 50, 500, 5000)
LEVELS = tuple((number, 0) for number in range(1, 6))
KINDS = {
    "silicon": "insulator",
    "silicon dioxide": "insulator",
    "titanium": "conductor",
    "gold": "conductor",
    "aluminium oxide": "insulator",
    "indium gallium zinc oxide": "semiconductor",
    "silicon nitride": "insulator",
    "resist": "organic",
}
STRIP = Clear(materials=frozenset({"resist"}))
BAKE = Heat(temperature=380.0, time=60.0)


def _sight(material: str, film: str, nm: float) -> Grow:
    return Grow(material=material, film=film, thickness=nm * NM, line_of_sight=True, side_wall=0.0)


def _pattern(keep: Region, film: str, **how: float) -> list[Action]:
    """Dehydrate, coat, bake, expose and develop, bake: five steps."""
    coat = Coat(material="resist", film=film, thickness=1.3 * UM, levelling=20 * UM)
    return [BAKE, coat, BAKE, Print(material="resist", keep=keep, **how), BAKE]


def _wet(material: str, nm: float) -> Remove:
    return Remove(rates={material: EtchRate(down=NM, sideways=NM)}, time=1.25 * nm)


def forty(drawing: Drawing) -> list[Action]:
    """A bottom-gate transistor with an opening, a lift-off and a protecting film, in 40 steps."""

    def keep(level: int, drawn: str) -> Region:
        return resist_left(drawing.region((level, 0)), drawing.die, drawn, "positive")

    gate = [_sight("titanium", "gate", 60), *_pattern(keep(1, "opaque"), "r1"), _wet("titanium", 60), STRIP]
    insulator = Grow(material="aluminium oxide", film="dielectric", thickness=50 * NM)
    channel = Grow(material="indium gallium zinc oxide", film="channel", thickness=20 * NM, side_wall=0.4)
    island = [*_pattern(keep(2, "opaque"), "r2"), _wet("indium gallium zinc oxide", 20), STRIP]
    opening = [*_pattern(keep(3, "clear"), "r3", bias=-0.1 * UM), _wet("aluminium oxide", 50), STRIP]
    lift_off = _pattern(keep(4, "clear"), "r4", bias=-0.5 * UM, undercut=0.5 * UM)
    contact = [*lift_off, _sight("titanium", "adhesion", 10), _sight("gold", "contact", 100), STRIP]
    cover = Grow(material="silicon nitride", film="cover", thickness=200 * NM, side_wall=0.6)
    down = Remove(rates={"silicon nitride": EtchRate(down=NM, sideways=0.0)}, time=240)
    window = [*_pattern(keep(5, "clear"), "r5"), down, STRIP]
    return [*gate, insulator, channel, *island, *opening, *contact, cover, *window]


def read(drawing: Drawing) -> tuple[int, int, int]:
    """Plan, nets and devices of a drawing, nothing remembered: how many steps, nets and devices."""
    plan_memo.forget()
    resist_left.cache_clear()
    drawn = repeats([drawing.region(level) for level in LEVELS], drawing.die, MARGIN_NM)
    actions = forty(drawing)
    films = [("silicon dioxide", 300 * NM)]
    plan = Plan.start(drawing.die, ("silicon", 525 * UM), films, drawn)
    for action in actions:
        plan, _ = plan.apply(action)
    nets = read_nets(plan, KINDS, drawing.labels)
    return len(actions), len(nets.nets), len(read_devices(plan, KINDS, nets).found)


def times() -> tuple[dict[int, float], tuple[int, int, int]]:
    """Median of five for each number of transistors [s], and steps, nets and devices of the largest die."""
    found, sizes = {}, (0, 0, 0)
    for count in COUNTS:
        drawing = drawing_of(many_transistors(count))
        runs = []
        for _ in range(5):
            begin = time.perf_counter()
            sizes = read(drawing)
            runs.append(time.perf_counter() - begin)
        found[count] = statistics.median(runs)
    return found, sizes


def growth() -> list[tuple[str, float, str, float, str]]:
    """The largest die beside each smaller one."""
    taken, (steps, nets, devices) = times()
    most = COUNTS[-1]
    size = f"{steps} steps, 5 masks, {nets} nets, {devices} transistors"
    name = f"die of {most}: plan, nets and devices"
    return [(name, taken[most], f"the same with {count}", taken[count], size) for count in COUNTS[:-1]]
