"""What follows from an evaporation: charge, source temperature, crystal, free flight, residual gas, film over the wafer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from filmwright.emulate.context import Context
from filmwright.emulate.follows import Followed, between, chosen, follows
from filmwright.emulate.geometry import (
    Placed,
    measured_unevenness,
    over_wafer,
    placed,
    share_at,
    uneven_by_geometry,
)
from filmwright.emulate.heated import heat_of_evaporation, wafer_temperature
from filmwright.flow import Step
from filmwright.knowledge import Belief, Material, Method, VapourCurve, limits
from filmwright.process import (
    CHARGE,
    CHARGE_IN_POCKET,
    CRYSTAL_LIFE,
    FREE_FLIGHT,
    QUARTZ_LOAD,
    RESIDUAL_WATER,
    SOURCE_TEMPERATURE,
    Derivation,
    Input,
    Setting,
    evaporated_mass,
    impingement_rate,
    loaded_frequency,
    mean_free_path,
    residual_gas_ratio,
    scattered_share,
    temperature_for_rate,
)
from filmwright.units import ROOM_TEMPERATURE, convert, write


def evaporated(
    step: Step, ctx: Context, method: Method, film: Input, rate: Belief | None, tooling: Input
) -> Followed:
    """What an evaporation uses up, how hot its source is, what the crystal will say, and how well the vacuum does."""
    material = ctx.facts.material(step.material)
    numbers: list[Setting] = []
    where = placed(step, ctx, method)
    if where is None:
        return Followed()
    place = share_at(where, method.arrival["offset"].value if "offset" in method.arrival else 0.0)
    mass = temperature = None
    if "density" in material.values:
        mass = _charge(film, material, place)
        numbers.append(follows("charge evaporated", mass))
        numbers += _pocket(step, ctx, film, material, where, place)
        temperature, curve = _temperature(material, method, rate, place)
        if temperature is not None:
            numbers.append(follows("source temperature", temperature))
        warm = heat_of_evaporation(ctx, method, material, rate, place, (temperature, curve))
        numbers += wafer_temperature(step, ctx, warm, film.value / rate.value if rate else 0.0)
    crystal = tuple(_crystal(step, ctx, film, tooling))
    radius = ctx.flow.body.diameter / 2
    numbers += [
        *crystal,
        *over_wafer(where, film, radius),
        uneven_by_geometry(where, radius, measured_unevenness(step, ctx)),
        *_vacuum(step, ctx, method, material, rate),
    ]
    return Followed(numbers=tuple(numbers), look=_line(step, mass, temperature, crystal))


def _charge(film: Input, material: Material, place: Derivation) -> Derivation:
    return CHARGE.derive(
        evaporated_mass,
        {
            "thickness": film,
            "density": Input.known("ρ", "density", material.values["density"]),
            "share": between("c", "part that arrives on unit area", place),
        },
        unit="g",
    )


def _pocket(
    step: Step, ctx: Context, film: Input, material: Material, where: Placed, place: Derivation
) -> Iterator[Setting]:
    """How much of the charge of its pocket the lot has then taken; nothing where the pocket's volume is not on file."""
    volume = where.place.values.get("volume") if where.place is not None else None
    if volume is None or where.place is None:
        return
    before = sum(
        each.asked["thickness"].value
        for each in ctx.flow.steps[: next(k for k, each in enumerate(ctx.flow.steps) if each is step)]
        if each.kind == "deposit" and (each.tool, each.material) == (step.tool, step.material)
    )
    lot = replace(film, name="films of the lot from this pocket", value=before + film.value)
    yield follows(
        "charge of the pocket used",
        CHARGE_IN_POCKET.derive(
            lambda mass, usable, density, volume: mass / (usable * density * volume),
            {
                "mass": between("m", "mass that leaves the source in the lot", _charge(lot, material, place)),
                "usable": Input.known(
                    "g", "usable part of a charge", ctx.facts.models["evaporation"]["usable charge"]
                ),
                "density": Input.known("ρ", "density", material.values["density"]),
                "volume": Input.known("V", f"volume of {where.place.name}", volume),
            },
            unit="%",
            notes=(f"films of the lot from {where.place.name}: {write(lot.value, 'nm')}",),
        ),
    )


def _temperature(
    material: Material, method: Method, rate: Belief | None, place: Derivation
) -> tuple[Derivation | None, VapourCurve | None]:
    """Temperature of the source for the rate, and the curve of the phase in which it then is."""
    if rate is None or "molar mass" not in material.values or "source radius" not in method.arrival:
        return None, None
    inputs = {
        "rate": Input.known("R", "rate on the wafer", rate),
        "share": between("c", "part that arrives on unit area", place),
        "source_radius": Input.known("a", "radius of the source", method.arrival["source radius"]),
        "density": Input.known("ρ", "density", material.values["density"]),
        "molar_mass": Input.known("M", "molar mass", material.values["molar mass"]),
    }
    found: tuple[Derivation | None, VapourCurve | None] = (None, None)
    for curve in material.vapour.values():
        this = _on_curve(curve, inputs)
        if this.result is not None and curve.low <= this.result <= curve.high:
            return this, curve
        found = (this, curve)
    return found


def _on_curve(curve: VapourCurve, inputs: Mapping[str, Input]) -> Derivation:
    values = ", ".join(f"{number:g}" for number in curve.coefficients)
    said = f"A, B, C, D = {values} of the {curve.phase}, {curve.low:g} to {curve.high:g} K"
    derived = SOURCE_TEMPERATURE.derive(
        lambda **given: temperature_for_rate(**given, coefficients=curve.coefficients),
        inputs,
        unit="°C",
        notes=(said,),
    )
    if derived.result is not None and not curve.low <= derived.result <= curve.high:
        return replace(derived, notes=(said, "outside the range of the curve: extrapolated"))
    return derived


def _crystal(step: Step, ctx: Context, film: Input, tooling: Input) -> Iterator[Setting]:
    """Frequency that the film takes off the crystal over the films of the lot before it, and the life that is then used."""
    quartz = ctx.facts.models["quartz crystal"]
    bare = limits()["monitor crystal"]
    before = [_layer(ctx, each) for each in _before(step, ctx)]
    own = _layer(ctx, step)
    if own is None or None in before:
        return
    under = [layer for layer in before if layer is not None]

    def loaded(*layers: tuple[float, float, float]) -> float:
        return loaded_frequency(
            bare.value, layers, quartz["frequency constant"].value, quartz["density"].value
        )

    fresh = loaded(*under)

    def shift(thickness: float, tooling: float, density: float, ratio: float) -> float:
        return fresh - loaded(*under, (thickness / tooling, density, ratio))

    values = ctx.facts.material(step.material).values
    derived = QUARTZ_LOAD.derive(
        shift,
        {
            "thickness": film,
            "tooling": tooling,
            "density": Input.known("ρ", "density", values["density"]),
            "ratio": Input.known("Z", "acoustic impedance ratio", values["acoustic impedance ratio"]),
        },
        unit="kHz",
        notes=(f"films of this lot on the crystal before it: {len(under) or 'none'}",),
    )
    yield follows("crystal frequency shift", derived)
    lot = bare.value - fresh
    geometry = tool.geometry if (tool := ctx.lab.tools.get(step.tool)) is not None else None
    used = geometry.values.get("crystal life used") if geometry is not None else None
    life = CRYSTAL_LIFE.derive(
        lambda shift, usable, start: start + (lot + shift) / (bare.value * usable),
        {
            "start": Input.known("L_0", "used before the lot", used)
            if used is not None
            else chosen("L_0", "used before the lot", 0.0, "%", "a fresh crystal"),
            "shift": between("Δf_lot", "shift by this film", derived),
            "usable": Input.known("s", "usable part of the frequency", quartz["usable shift"]),
        },
        unit="%",
        notes=(
            f"f_q = {write(bare.value, bare.unit)}; the films of the lot before took {write(lot, 'kHz')}",
        ),
    )
    yield follows("crystal life used by the lot", life)


def _before(step: Step, ctx: Context) -> Iterator[Step]:
    """Films that the same monitor has seen in this lot."""
    for other in ctx.flow.steps:
        if other is step:
            return
        if (
            other.kind == "deposit"
            and other.tool == step.tool
            and "monitor thickness" in ctx.facts.method(other.method).settings
        ):
            yield other


def _layer(ctx: Context, step: Step) -> tuple[float, float, float] | None:
    values = ctx.facts.material(step.material).values
    if not {"density", "acoustic impedance ratio"} <= values.keys():
        return None
    known = ctx.believe("tooling factor", step, material=step.material)
    thickness = step.asked["thickness"].value / (known.value if known else 1.0)
    return thickness, values["density"].value, values["acoustic impedance ratio"].value


def _vacuum(
    step: Step, ctx: Context, method: Method, material: Material, rate: Belief | None
) -> Iterator[Setting]:
    """How many atoms are scattered, and what arrives with them."""
    models = ctx.facts.models
    asked = step.asked.get("pressure")
    tool = ctx.lab.tools.get(step.tool)
    own = tool.geometry if tool is not None else None
    pressure = (
        chosen("p", "pressure", asked.value, asked.unit, f"the plan, line {step.line}")
        if asked
        else Input.known("p", "base pressure", own.values["base pressure"])
        if own is not None and "base pressure" in own.values
        else Input.known("p", "base pressure, usual elsewhere", models["evaporation"]["base pressure"])
    )
    warm = chosen("T", "gas temperature", ROOM_TEMPERATURE, "K", "room temperature")
    yield follows(
        "atoms scattered on their way",
        FREE_FLIGHT.derive(
            lambda throw, pressure, diameter, temperature: scattered_share(
                throw, mean_free_path(pressure, diameter, temperature)
            ),
            {
                "throw": Input.known("h", "throw", method.arrival["throw"]),
                "pressure": pressure,
                "diameter": Input.known("D", "diameter of nitrogen", models["nitrogen"]["molecule diameter"]),
                "temperature": warm,
            },
            unit="%",
        ),
    )
    if rate is None or not {"density", "molar mass"} <= material.values.keys():
        return

    def ratio(
        pressure: float, water: float, temperature: float, rate: float, density: float, mass: float
    ) -> float:
        return residual_gas_ratio(impingement_rate(pressure, water, temperature), rate, density, mass)

    yield follows(
        "residual water per film atom",
        RESIDUAL_WATER.derive(
            ratio,
            {
                "pressure": pressure,
                "water": Input.known("m_w", "molar mass of water, over N_A", models["water"]["molar mass"]),
                "temperature": warm,
                "rate": Input.known("R", "rate on the wafer", rate),
                "density": Input.known("ρ", "density", material.values["density"]),
                "mass": Input.known("M", "molar mass", material.values["molar mass"]),
            },
            unit="",
        ),
    )


def _line(
    step: Step, mass: Derivation | None, temperature: Derivation | None, crystal: tuple[Setting, ...]
) -> tuple[str, ...]:
    """The numbers for the run sheet: what to have in the crucible and what the monitor will have seen."""
    said = []
    if mass is not None and mass.result is not None:
        said.append(f"about {convert(mass.result, 'g'):.2g} g of {step.material} leaves the source")
    if temperature is not None and temperature.result is not None:
        said.append(f"source near {round(convert(temperature.result, '°C'), -1):.0f} °C")
    if crystal and crystal[0].value is not None and crystal[1].value is not None:
        said.append(
            f"crystal {write(crystal[0].value, 'kHz')} lower, {crystal[1].value:.1%} of its life used by the lot"
        )
    return ("; ".join(said),) if said else ()
