"""Fifteen mistakes in each of the three sound flows, as people make them: the rule that must tell each, and its weight."""

from dataclasses import dataclass

from broken_flows import DELAY, SWITCH, THERMOMETER, Text, after, swap, without


@dataclass(frozen=True)
class Fault:
    """One mistake.

    ``beside``: further rules that may speak up, because they tell of the same mistake at another place.
    """

    what: str
    example: str
    rule: str
    severity: str
    changes: tuple[Text, ...]
    beside: frozenset[str] = frozenset()


def _fault(what: str, example: str, rule: str, severity: str, *changes: Text, beside: str = "") -> Fault:
    more = frozenset(each.strip() for each in beside.split(";") if each.strip())
    return Fault(what, example, rule, severity, changes, more)


_SWITCH = (
    _fault("strip forgotten before the hot insulator", SWITCH, "organic in heat", "stop", without("name: strip after the gate etch")),
    _fault("gold without titanium beneath", SWITCH, "noble metal without adhesion", "stop", without("name: contact adhesion")),
    _fault("gate mask of the other tone", SWITCH, "expected devices", "stop", swap("gate:    {layer: 1/0, drawn: opaque}", "gate:    {layer: 1/0, drawn: clear}")),
    _fault("channel mask of the other tone", SWITCH, "film not cleared", "stop", swap("channel: {layer: 2/0, drawn: opaque}", "channel: {layer: 2/0, drawn: clear}")),
    _fault("minutes typed for seconds", SWITCH, "time does not fit the film", "warn", swap("until: end point + 25 %", "time: 20 min")),
    _fault("millitorr typed as torr", SWITCH, "sputter pressure off the range", "warn", swap("pressure: 5 mTorr", "pressure: 5 Torr")),
    _fault("the developer with sodium", SWITCH, "alkali at the gate", "warn", swap("  - pattern: opening\n", "  - pattern: opening\n    developer: sodium-based developer\n"), beside="chamber refuses"),
    _fault("a hasty clean between print and etch", SWITCH, "bath takes resist", "stop", after("- pattern: channel", "  - clean: acetone\n    name: hasty clean\n    time: 30 s")),
    _fault("annealed over night", SWITCH, "thermal ledger", "warn", swap("time: 60 min", "time: 14 h"), beside="longer than the tool is open"),
    _fault("probed higher than foreseen", SWITCH, "probed beyond the plan", "warn", swap("gate: 6 V", "gate: 12 V")),
    _fault("lift-off in a solvent that leaves the under-layer", SWITCH, "bath leaves resist", "stop", swap("contact lift-off\n    in: dimethyl sulfoxide stripper", "contact lift-off\n    in: acetone")),
    _fault("lift-off with the everyday resist", SWITCH, "lift-off profile", "warn", swap("resist: lift-off two-layer", "resist: positive 1.3 um")),
    _fault("probed and foreseen at what another lot bore", SWITCH, "gate field", "stop", swap("probe voltage: 6 V", "probe voltage: 20 V"), swap("gate: 6 V", "gate: 20 V")),
    _fault("pads opened in hydrofluoric acid", SWITCH, "fluoride bath on titanium", "stop", swap("with: boron trichloride plasma", "in: buffered hydrofluoric acid 5:1")),
    _fault("ammonia and peroxide after titanium", SWITCH, "etch attacks film", "stop", after("name: strip after the gate etch", "  - clean: SC-1\n    name: second clean")),
)  # fmt: skip

_DELAY = (
    _fault("acetone on the acid bench", DELAY, "never together", "stop", swap("ground etch\n    in: dimethyl sulfoxide stripper", "ground etch\n    in: acetone\n    tool: acid bench")),
    _fault("molybdenum etched through the insulator", DELAY, "film must survive", "stop", swap("until: end point + 15 %", "until: end point + 60 %")),
    _fault("etched without its lithography", DELAY, "etched without resist", "stop", without("- pattern: opening")),
    _fault("strip forgotten before the cold metal", DELAY, "forgotten strip", "stop", without("name: strip after the opening")),
    _fault("chromium in the bath for zinc oxide", DELAY, "bath does not etch", "stop", swap("in: ceric ammonium nitrate chromium etch", "in: dilute acetic acid")),
    _fault("acid and peroxide after zinc oxide", DELAY, "attacked, rate not on file", "stop", after("name: strip after the piezo etch", "  - clean: SC-2\n    name: second clean")),
    _fault("fingers of the other tone", DELAY, "expected devices", "stop", swap("fingers: {layer: 4/0, drawn: opaque}", "fingers: {layer: 4/0, drawn: clear}")),
    _fault("nitride opened in hot acid under resist", DELAY, "resist in hot bath", "stop", swap("with: carbon tetrafluoride and oxygen plasma\n    until: end point + 25 %\n    power: 100 W\n    pressure: 50 mTorr", "in: hot phosphoric acid\n    until: end point + 25 %")),
    _fault("sputtered at whatever pressure", DELAY, "sputter pressure missing", "warn", swap("thickness: 110 nm ± 5 %\n    pressure: 4 mTorr\n", "thickness: 110 nm ± 5 %\n")),
    _fault("plasma at whatever power", DELAY, "plasma without recipe", "warn", swap("until: end point + 15 %\n    power: 100 W\n    pressure: 30 mTorr\n", "until: end point + 15 %\n")),
    _fault("plasma-baked resist in acetone", DELAY, "hardened resist", "warn", swap("opening\n    in: dimethyl sulfoxide stripper", "opening\n    in: acetone")),
    _fault("no primer before the wet etch", DELAY, "wet etch without priming", "warn", swap("  - pattern: ground\n", "  - pattern: ground\n    prime: no\n")),
    _fault("piezo etched by the clock, too short", DELAY, "film not cleared", "stop", swap("until: end point + 30 %", "time: 60 s")),
    _fault("developed three times too long", DELAY, "development off the range", "warn", swap("  - pattern: fingers\n", "  - pattern: fingers\n    develop time: 3 min\n")),
    _fault("chromium put down with another tool", DELAY, "tool does not serve", "warn", swap("thickness: 70 nm ± 5 %\n", "thickness: 70 nm ± 5 %\n    tool: metal sputter\n")),
)  # fmt: skip

_THERMOMETER = (
    _fault("dose typed ten times too high", THERMOMETER, "dose off the range", "warn", swap("  - pattern: opening\n", "  - pattern: opening\n    dose: 1000 mJ/cm^2 ± 20 %\n")),
    _fault("opened to the air before the gold", THERMOMETER, "vacuum broken on adhesion", "warn", after("name: adhesion under gold", "  - park: nitrogen box over the weekend\n    longest: 3 day")),
    _fault("a lift-off with a film that covers walls", THERMOMETER, "lift-off profile", "warn", swap("name: top metal\n    method: electron-beam evaporation", "name: top metal\n    method: direct-current sputtering\n    pressure: 5 mTorr")),
    _fault("platinum without titanium beneath", THERMOMETER, "noble metal without adhesion", "stop", without("name: adhesion under platinum")),
    _fault("annealed at a furnace's heat", THERMOMETER, "too hot for a film", "stop", swap("temperature: 350 degC", "temperature: 900 degC")),
    _fault("opening etched by the clock, too short", THERMOMETER, "film not cleared", "stop", swap("until: end point + 20 %", "time: 40 s")),
    _fault("lift-off forgotten before the anneal", THERMOMETER, "organic in heat", "stop", without("name: top lift-off")),
    _fault("strip forgotten before the next coat", THERMOMETER, "coated over resist", "stop", without("name: strip after the opening")),
    _fault("nanometres typed for tens of them", THERMOMETER, "film not closed", "warn", swap("thickness: 120 nm ± 5 %", "thickness: 5 nm ± 5 %")),
    _fault("height measured before the lift-off", THERMOMETER, "measured under resist", "warn", after("name: meander metal", "  - measure: step height\n    name: early height\n    of: platinum")),
    _fault("evaporated in poor vacuum", THERMOMETER, "evaporated in poor vacuum", "warn", swap("thickness: 90 nm ± 4 %\n", "thickness: 90 nm ± 4 %\n    pressure: 10 mTorr\n")),
    _fault("a second insulator after the gold", THERMOMETER, "chamber refuses", "stop", after("name: top lift-off", "  - deposit: aluminium oxide\n    name: seal\n    method: atomic layer deposition\n    temperature: 200 degC\n    thickness: 20 nm"), beside="pad unreachable"),
    _fault("the wrong film measured", THERMOMETER, "nothing to measure", "warn", swap("of: platinum", "of: gold")),
    _fault("furnace nitride on platinum", THERMOMETER, "metal in furnace", "stop", after("name: meander height", "  - deposit: silicon nitride\n    name: furnace nitride\n    method: low-pressure chemical vapour deposition\n    thickness: 50 nm")),
    _fault("opening level never etched", THERMOMETER, "expected devices", "stop", without("name: pad opening")),
)  # fmt: skip

FAULTS = (*_SWITCH, *_DELAY, *_THERMOMETER)
