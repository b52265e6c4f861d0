"""Flows that break one rule each: small changes of the sound examples, or a few steps of their own.

The tests walk them; the reference pages show each as what the rule is about.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from importlib import resources

from filmwright.flow import Done

SWITCH, DELAY, THERMOMETER = "humidity-switch", "delay-line", "platinum-thermometer"
Text = Callable[[str], str]


def swap(old: str, new: str) -> Text:
    """The text with one thing replaced; it must be there."""

    def change(text: str) -> str:
        assert old in text, old
        return text.replace(old, new, 1)

    return change


def without(*words: str) -> Text:
    """The text without the blocks that hold one of the words."""

    def change(text: str) -> str:
        blocks = text.split("\n\n")
        kept = [block for block in blocks if not any(word in block for word in words)]
        assert len(kept) < len(blocks), words
        return "\n\n".join(kept)

    return change


def after(name: str, block: str) -> Text:
    """The text with a block put behind the one that holds a name."""

    def change(text: str) -> str:
        blocks = text.split("\n\n")
        place = next(k for k, each in enumerate(blocks) if name in each)
        return "\n\n".join([*blocks[: place + 1], block, *blocks[place + 1 :]])

    return change


SOURCES = """\
flow: A channel from three targets at once
wafer:
  body: silicon
  diameter: 100 mm
  films:
    - {material: silicon dioxide, thickness: 300 nm}

steps:
  - deposit: indium gallium zinc oxide
    name: channel of three sources
    method: radio-frequency sputtering
    thickness: 40 nm
    pressure: 5 mTorr
    sources:
      - {target: indium oxide, power: 97 W}
      - {target: gallium oxide, power: 80 W}
      - {target: zinc oxide, power: 73 W}
"""


REACTIVE = """\
flow: An oxide from the target of its metal
wafer:
  body: silicon
  diameter: 100 mm

steps:
  - deposit: aluminium oxide
    name: reactive oxide
    method: reactive sputtering
    thickness: 40 nm
    pressure: 5 mTorr
    power: 200 W
    gas ratio: 0.2
    argon flow: 40 sccm
"""


@dataclass(frozen=True)
class Broken:
    """A rule and the changes that must trip it.

    ``own`` is a plan without masks that passes; then ``example`` is empty and the changes are made to it.
    """

    rule: str
    example: str
    severity: str
    plan: tuple[Text, ...] = ()
    lab: tuple[Text, ...] = ()
    record: tuple[Done, ...] = ()
    sections: bool = field(default=False)
    drawing: str = ""
    own: str = ""
    but: str = ""
    """What differs where neither the plan nor the lab does."""

    @property
    def sound(self) -> str:
        """The plan that passes."""
        return self.own or shipped(self.example, "plan.yaml")

    @property
    def text(self) -> str:
        """The plan with its changes."""
        return changed(self.sound, self.plan)

    @property
    def lab_text(self) -> str:
        """The lab file with its changes."""
        return changed(shipped("lab.yaml"), self.lab)


def shipped(*names: str) -> str:
    """A shipped text; the drawing of the switch is cut down to six of its transistors."""
    text = resources.files("filmwright.desk").joinpath("examples", *names).read_text("utf-8")
    return text.replace("count: 48", "count: 6")


def changed(text: str, changes: tuple[Text, ...]) -> str:
    """A text with its changes."""
    for change in changes:
        text = change(text)
    return text


WET_CONTACTS = (
    swap("contact: {layer: 4/0, drawn: clear}", "contact: {layer: 4/0, drawn: opaque}"),
    without("name: contact lift-off", "pattern: contact"),
    after(
        "name: contact metal",
        "  - pattern: contact\n    resist: positive 1.3 um\n\n  - etch: gold\n    name: contact etch\n"
        "    in: potassium iodide and iodine gold etch\n    until: end point + 300 %\n\n"
        "  - etch: titanium\n    name: adhesion etch\n    in: dilute hydrogen peroxide and ammonia\n    until: end point + 25 %\n\n"
        "  - strip: resist\n    name: strip after the contact etch\n    in: dimethyl sulfoxide stripper",
    ),
)

ALUMINIUM = """\
flow: Aluminium under a titanium cap that is opened
wafer:
  body: silicon
  diameter: 100 mm
  films:
    - {material: silicon dioxide, thickness: 300 nm}

steps:
  - deposit: aluminium
    name: aluminium film
    method: electron-beam evaporation
    thickness: 200 nm

  - deposit: titanium
    name: titanium cap
    method: electron-beam evaporation
    thickness: 20 nm

  - etch: titanium
    name: cap off
    with: boron trichloride and chlorine plasma
    until: end point + 10 %
    power: 100 W
    pressure: 10 mTorr

  - clean: water rinse
    name: water at once

  - anneal: nitrogen
    name: grain growth
    temperature: 150 degC
    time: 10 min
"""

ZINC = """\
flow: Zinc beneath a cap
wafer:
  body: silicon
  diameter: 100 mm
  films:
    - {material: silicon dioxide, thickness: 300 nm}

steps:
  - deposit: zinc
    name: zinc film
    method: thermal evaporation
    thickness: 100 nm

  - deposit: aluminium oxide
    name: cap
    method: atomic layer deposition
    temperature: 80 degC
    thickness: 30 nm
"""

OXIDISED = """\
flow: A field oxide and a gate oxide
wafer:
  body: silicon
  orientation: (100)
  diameter: 100 mm

steps:
  - deposit: silicon dioxide
    name: field oxide
    method: wet oxidation
    thickness: 300 nm
    temperature: 1000 degC
"""

HEATED = """\
flow: Copper over plasma films
wafer:
  body: glass
  diameter: 100 mm

steps:
  - clean: solvent clean

  - deposit: plasma silicon dioxide
    name: insulator
    method: PECVD
    thickness: 300 nm
    temperature: 300 degC

  - deposit: titanium
    name: under metal
    method: electron-beam evaporation
    thickness: 10 nm

  - anneal: nitrogen
    name: line anneal
    temperature: 300 degC
    time: 20 min
"""

COPPER = """\
flow: Copper over oxide
wafer:
  body: silicon
  diameter: 100 mm
  films:
    - {material: silicon dioxide, thickness: 100 nm}

steps:
  - clean: solvent clean

  - deposit: copper
    name: line
    method: electron-beam evaporation
    thickness: 100 nm

  - anneal: nitrogen
    name: line anneal
    temperature: 380 degC
    time: 20 min
"""

HAFNIUM = """\
flow: Hafnium oxide, cleaned
wafer:
  body: silicon
  diameter: 100 mm
  films:
    - {material: silicon dioxide, thickness: 300 nm}

steps:
  - deposit: hafnium oxide
    name: high insulator
    method: atomic layer deposition
    thickness: 30 nm

  - clean: solvent clean
    name: clean before the gate

expect:
  keep:
    hafnium oxide: 90 %
"""

TANTALUM = """\
flow: Nitride that is opened down to tantalum pentoxide
wafer:
  body: silicon
  diameter: 100 mm
  films:
    - {material: silicon dioxide, thickness: 300 nm}

steps:
  - clean: solvent clean

  - deposit: tantalum pentoxide
    name: stop layer
    method: radio-frequency sputtering
    thickness: 60 nm
    pressure: 5 mTorr

  - deposit: silicon nitride
    name: cover
    method: PECVD
    thickness: 80 nm

  - etch: silicon nitride
    name: opening
    with: carbon tetrafluoride and oxygen plasma
    until: end point + 20 %
    power: 100 W
    pressure: 50 mTorr
"""

GLASS = """\
flow: Metals on glass
wafer:
  body: glass
  diameter: 100 mm

steps:
  - deposit: plasma silicon dioxide
    name: seal
    method: PECVD
    thickness: 300 nm

  - clean: buffered hydrofluoric acid 10:1
    name: dip
    time: 30 s

  - deposit: titanium
    name: adhesion
    method: electron-beam evaporation
    thickness: 10 nm

  - deposit: gold
    name: gold over all
    method: electron-beam evaporation
    thickness: 90 nm
"""

BROKEN = (
    Broken("never together", DELAY, "stop", (swap("ground etch\n    in: dimethyl sulfoxide stripper", "ground etch\n    in: acetone\n    tool: acid bench"),)),
    Broken("chamber refuses", SWITCH, "stop", lab=(swap("metals: [none, clean metals, zinc and tin, gold and copper]", "metals: [none, clean metals, gold and copper]"),)),
    Broken("interlock not named", SWITCH, "note", lab=(swap("    note: gas cabinet, scrubber and vacuum interlocks; chlorine alarm by the site's table\n", ""),)),
    Broken("organic in heat", SWITCH, "stop", (without("name: strip after the gate etch"),)),
    Broken("forgotten strip", DELAY, "stop", (without("name: strip after the opening"),)),
    Broken("expected devices", SWITCH, "stop", (swap("gate:    {layer: 1/0, drawn: opaque}", "gate:    {layer: 1/0, drawn: clear}"),)),
    Broken("terminals joined or apart", SWITCH, "stop", (without("name: gate insulator", "name: gate pad opening"),)),
    Broken("pad unreachable", SWITCH, "stop", (without("pattern: opening", "name: gate pad opening", "name: strip after the opening"),)),
    Broken("film must survive", DELAY, "stop", (swap("until: end point + 15 %", "until: end point + 120 %"),)),
    Broken("developer attacks film", SWITCH, "stop", lab=(swap("etch rate: 1.1 nm/min ± 10 %", "etch rate: 9 nm/min ± 10 %"),)),
    Broken("etch attacks film", DELAY, "stop", (swap("until: end point + 15 %", "until: end point + 150 %"),)),
    Broken("no stop on the channel", DELAY, "stop", (swap("with: sulfur hexafluoride and oxygen plasma", "in: phosphoric, acetic and nitric aluminium etch"), swap("    power: 100 W\n    pressure: 30 mTorr\n", ""))),
    Broken("fluoride bath on titanium", SWITCH, "stop", (swap("with: boron trichloride plasma", "in: buffered hydrofluoric acid 5:1"),)),
    Broken("film not cleared", SWITCH, "stop", (swap("until: end point + 25 %", "time: 20 s"),)),
    Broken("unknown pair", "", "warn", (swap("clean: solvent clean", "clean: SC-1"),), own=HAFNIUM),
    Broken("too hot for a film", THERMOMETER, "stop", (swap("temperature: 350 degC", "temperature: 900 degC"),)),
    Broken("noble metal without adhesion", SWITCH, "stop", (without("name: contact adhesion"),)),
    Broken("lift-off profile", SWITCH, "warn", (swap("resist: lift-off two-layer", "resist: positive 1.3 um"),)),
    Broken("lift-off bridged", SWITCH, "stop", (swap("name: contact metal\n    method: electron-beam evaporation\n    thickness: 90 nm", "name: contact metal\n    method: atomic layer deposition\n    thickness: 900 nm"),), sections=True),
    Broken("wet etch without priming", SWITCH, "warn", (swap("  - pattern: gate\n", "  - pattern: gate\n    prime: no\n"),)),
    Broken("hardened resist", DELAY, "warn", (swap("opening\n    in: dimethyl sulfoxide stripper", "opening\n    in: acetone"),)),
    Broken("plasma on bare channel", SWITCH, "warn", (without("name: channel anneal"), after("name: strip after the channel etch", "  - clean: argon ion etch\n    name: hasty clean\n    time: 5 s"))),
    Broken("ash on channel or contact", SWITCH, "warn", (swap("channel etch\n    in: acetone", "channel etch\n    in: oxygen plasma ash"),)),
    Broken("resist budget", SWITCH, "stop", lab=(swap("material: aluminium oxide, etch rate: 38 nm/min", "material: aluminium oxide, etch rate: 3 nm/min"),)),
    Broken("marks hidden", SWITCH, "stop", (swap("thickness: 60 nm ± 5 %", "thickness: 20 nm ± 5 %"), swap("- deposit: indium gallium zinc oxide\n    name: channel film\n    method: radio-frequency sputtering\n    thickness: 25 nm", "- deposit: gold\n    name: channel film\n    method: electron-beam evaporation\n    thickness: 150 nm"), swap("    pressure: 5 mTorr\n    power: 80 W\n", ""))),
    Broken("mark without contrast", DELAY, "warn", (swap("thickness: 70 nm ± 5 %", "thickness: 40 nm ± 5 %"), swap("thickness: 110 nm ± 5 %", "thickness: 70 nm ± 5 %"))),
    Broken("drawing read with a choice", THERMOMETER, "note", drawing="odd thermometer"),
    Broken("metal climbs a step", DELAY, "warn", but="its edges not emulated"),
    Broken("gate field", SWITCH, "stop", (swap("probe voltage: 6 V", "probe voltage: 40 V"),)),
    Broken("undercut against length", SWITCH, "warn", WET_CONTACTS),
    Broken("sputter pressure missing", SWITCH, "warn", (swap("    pressure: 5 mTorr\n", ""),)),
    Broken("rate stale or wide", SWITCH, "warn", lab=(swap("material: indium gallium zinc oxide, deposition rate: 3.1 nm/min ± 5 %, date: 2026-10-12", "material: indium gallium zinc oxide, deposition rate: 3.1 nm/min ± 5 %, date: 2025-01-12"),)),
    Broken("waited too long", SWITCH, "warn", record=(Done(step="3.2", what="finish", happened="2026-10-26T09:00:00+01:00"), Done(step="3.3", what="start", happened="2026-10-26T15:00:00+01:00"))),
    Broken("long rinse", DELAY, "note", record=(*(Done(step=f"{k}.1", what="start", happened="2026-10-26T09:00:00+01:00") for k in range(1, 10)), Done(step="10.2", what="set", name="time", value=1200.0))),
    Broken("fringe current", SWITCH, "note", (swap("channel: {layer: 2/0, drawn: opaque}", "channel: {layer: 1/0, drawn: opaque}"),), drawing="whole switch"),
    Broken("few channel lengths", SWITCH, "note", lab=(swap("\nwaits:", "\nlimits:\n  channel lengths: 40\n\nwaits:"),)),
    Broken("dark wait", SWITCH, "note"),
    Broken("resist at the end", THERMOMETER, "stop", (without("name: top lift-off", "name: grain growth"),)),
    Broken("attacked, rate not on file", DELAY, "stop", (after("name: strip after the ground etch", "  - clean: piranha\n    name: second clean"),)),
    Broken("bath leaves resist", SWITCH, "stop", (swap("contact lift-off\n    in: dimethyl sulfoxide stripper", "contact lift-off\n    in: acetone"),)),
    Broken("time does not fit the film", SWITCH, "warn", (swap("until: end point + 25 %", "time: 38 min"),)),
    Broken("outside the model", THERMOMETER, "warn", lab=(swap("  - {tool: evaporator, material: platinum, deposition rate: 0.08 nm/s ± 5 %", "  - {tool: evaporator, material: silver, deposition rate: 0.08 nm/s ± 5 %"),)),
    Broken("oxidation without silicon", "", "stop", (swap("body: silicon\n", "body: fused silica\n"),), own=OXIDISED),
    Broken("metal through a film", "", "warn", (swap("thickness: 100 nm}", "thickness: 30 nm}"),), own=COPPER),
    Broken("gas from a film", "", "warn", (swap("temperature: 300 degC\n\n", "temperature: 200 degC\n\n"),), own=HEATED),
    Broken("plate ramped too fast", "", "warn", lab=(swap("  anneal oven:\n    does: [anneal]\n", "  anneal oven:\n    does: [anneal]\n    cooling rate: 40 kelvin/min\n"),), own=HEATED),
    Broken("metal in furnace", THERMOMETER, "stop", (after("name: meander height", "  - deposit: silicon nitride\n    name: furnace nitride\n    method: low-pressure chemical vapour deposition\n    thickness: 50 nm"),)),
    Broken("tool does not serve", SWITCH, "warn", (swap("    thickness: 60 nm ± 5 %\n", "    thickness: 60 nm ± 5 %\n    tool: spinner\n"),)),
    Broken("no tool for the step", SWITCH, "warn", lab=(swap("does: [electron-beam evaporation, thermal evaporation]", "does: [thermal evaporation]"),)),
    Broken("coated over resist", SWITCH, "stop", (without("name: strip after the channel etch"),)),
    Broken("bath takes resist", SWITCH, "stop", (after("- pattern: channel", "  - clean: acetone\n    name: hasty clean\n    time: 30 s"),)),
    Broken("resist in hot bath", DELAY, "stop", (swap("with: carbon tetrafluoride and oxygen plasma\n    until: end point + 25 %\n    power: 100 W\n    pressure: 50 mTorr", "in: hot phosphoric acid\n    until: end point + 25 %"),)),
    Broken("fluoride bath on glass", "", "warn", (swap("time: 30 s", "time: 60 min"),), own=GLASS),
    Broken("galvanic couple", THERMOMETER, "warn", (swap("- deposit: gold\n    name: top metal", "- deposit: aluminium\n    name: top metal"), swap("present: [platinum, gold]", "present: [platinum, aluminium]"), after("name: top lift-off", "  - clean: hydrogen peroxide\n    name: last clean\n    time: 10 s"))),
    Broken("chlorine on aluminium", "", "warn", (without("name: water at once"),), own=ALUMINIUM),
    Broken("bath does not etch", "", "stop", (swap("with: boron trichloride and chlorine plasma\n    until: end point + 10 %\n    power: 100 W\n    pressure: 10 mTorr", "in: ammonium chloride zinc oxide etch\n    until: end point + 10 %"),), own=ALUMINIUM),
    Broken("etched without resist", SWITCH, "stop", (without("- pattern: channel"),)),
    Broken("over-etch below unevenness", SWITCH, "warn", (swap("until: end point + 25 %", "until: end point + 1 %"),)),
    Broken("end point not seen", DELAY, "stop", (after("name: piezo film", "  - deposit: zinc oxide\n    name: second piezo film\n    method: radio-frequency sputtering\n    thickness: 100 nm ± 6 %\n    pressure: 4 mTorr"),)),
    Broken("end point too small to see", DELAY, "warn", lab=(swap("\nwaits:", "\nlimits:\n  seen end point: 1 %\n\nwaits:"),)),
    Broken("plasma without recipe", SWITCH, "warn", (swap("    power: 100 W\n    pressure: 10 mTorr\n", ""),)),
    Broken("ridge undercut", SWITCH, "stop", (swap("until: end point + 25 %", "until: end point + 3000 %"),), drawing="whole switch"),
    Broken("thermal ledger", SWITCH, "warn", (swap("time: 60 min", "time: 24 h"),)),
    Broken("expansion mismatch", "", "warn", (swap("temperature: 150 degC", "temperature: 350 degC"),), own=ALUMINIUM),
    Broken("film stress", DELAY, "warn", (swap("thickness: 70 nm", "thickness: 400 nm"),)),
    Broken("wafer bow", DELAY, "warn", (swap("thickness: 70 nm", "thickness: 400 nm"),)),
    Broken("brittle film on polymer", DELAY, "warn", (swap("body: silicon", "body: polyimide foil"),)),
    Broken("vacuum broken on adhesion", SWITCH, "warn", (after("name: contact adhesion", "  - park: nitrogen box overnight\n    longest: 12 h"),)),
    Broken("film not closed", SWITCH, "stop", (swap("thickness: 90 nm ± 5 %", "thickness: 4 nm ± 5 %"),)),
    Broken("native oxide under contact", "", "warn", (after("name: aluminium film", "  - park: nitrogen box overnight\n    longest: 12 h"),), own=ALUMINIUM),
    Broken("metal on bare silicon", SWITCH, "warn", (swap("  films:\n    - {material: silicon dioxide, thickness: 300 nm}\n", ""),)),
    Broken("evaporated onto resist", SWITCH, "warn", (swap("thickness: 90 nm ± 5 %", "thickness: 350 nm ± 5 %"),)),
    Broken("water in a getter", SWITCH, "warn", (swap("    thickness: 60 nm ± 5 %\n", "    thickness: 60 nm ± 5 %\n    pressure: 1e-5 Torr\n"),)),
    Broken("film evaporates", "", "stop", (swap("temperature: 80 degC", "temperature: 300 degC"),), own=ZINC),
    Broken("evaporated in poor vacuum", SWITCH, "warn", (swap("    thickness: 60 nm ± 5 %\n", "    thickness: 60 nm ± 5 %\n    pressure: 10 mTorr\n"),)),
    Broken("resist burned in", SWITCH, "warn", lab=(swap("material: aluminium oxide, etch rate: 38 nm/min", "material: aluminium oxide, etch rate: 4 nm/min"),)),
    Broken("alkali at the gate", SWITCH, "warn", (swap("  - pattern: opening\n", "  - pattern: opening\n    developer: sodium-based developer\n"),)),
    Broken("gate charged by plasma", SWITCH, "warn", lab=(swap("\nwaits:", "\nlimits:\n  antenna: 2\n\nwaits:"),)),
    Broken("level never printed", SWITCH, "warn", (swap("masks:\n", "masks:\n  spare:   {layer: 4/0, drawn: clear}\n"),)),
    Broken("plate hides the wafer", THERMOMETER, "warn", lab=(swap("\nwaits:", "\nlimits:\n  clear plate: 2 %\n\nwaits:"),)),
    Broken("overlap below overlay", SWITCH, "warn", lab=(swap("\nwaits:", "\nlimits:\n  overlay: 2 um\n\nwaits:"),)),
    Broken("line below resolution", SWITCH, "warn", lab=(swap("\nwaits:", "\nlimits:\n  contact gap: 20 um\n\nwaits:"),)),
    Broken("resist thin over steps", DELAY, "warn", (swap("thickness: 320 nm", "thickness: 900 nm"),)),
    Broken("dose off the range", SWITCH, "warn", (swap("  - pattern: channel\n", "  - pattern: channel\n    dose: 900 mJ/cm^2\n"),)),
    Broken("development off the range", SWITCH, "warn", (swap("  - pattern: channel\n", "  - pattern: channel\n    develop time: 3 min\n"),)),
    Broken("dose without band", SWITCH, "warn", (swap("  - pattern: gate\n", "  - pattern: gate\n    dose: 100 mJ/cm^2\n"),)),
    Broken("longer than the tool is open", SWITCH, "warn", lab=(swap("    heat-up: 25 min\n", "    heat-up: 25 min\n    open: 09:00-11:00\n"),)),
    Broken("tooling factor of the monitor", SWITCH, "warn", lab=(swap("tooling factor: 112 % ± 3 %", "tooling factor: 12 % ± 3 %"),)),
    Broken("one dose for unlike stacks", DELAY, "warn", lab=(swap("\nwaits:", "\nlimits:\n  stack dose: 3 %\n\nwaits:"),)),
    Broken("developed before it is clear", SWITCH, "warn", (swap("  - pattern: gate\n", "  - pattern: gate\n    dose: 61 mJ/cm^2\n    develop time: 31 s\n"),)),
    Broken("bake off the range", SWITCH, "warn", (swap("  - pattern: gate\n", "  - pattern: gate\n    softbake temperature: 130 degC\n"),)),
    Broken("resist bottle old", SWITCH, "warn", lab=(swap("\nwaits:", "\nbottles:\n  - {resist: positive 1.3 um, opened: 2026-06-01, expires: 2026-10-01}\n\nwaits:"),)),
    Broken("no marks drawn", SWITCH, "note", but="its drawing cut down to a few transistors, without the marks"),
    Broken("lamp reading old", SWITCH, "warn", lab=(swap("date: 2026-10-23", "date: 2026-09-23"),)),
    Broken("breakdown share", SWITCH, "warn", (swap("probe voltage: 6 V", "probe voltage: 14 V"),)),
    Broken("probed beyond the plan", SWITCH, "warn", (swap("gate: 6 V", "gate: 9 V"),)),
    Broken("channel not depleted", SWITCH, "warn", (swap("- deposit: indium gallium zinc oxide\n    name: channel film\n    method: radio-frequency sputtering\n    thickness: 25 nm", "- deposit: indium gallium zinc oxide\n    name: channel film\n    method: radio-frequency sputtering\n    thickness: 1.4 um"),)),
    Broken("sputter pressure off the range", SWITCH, "warn", (swap("pressure: 5 mTorr", "pressure: 5 Torr"),)),
    Broken("quartz monitor loaded", SWITCH, "warn", lab=(swap("\nwaits:", "\nlimits:\n  monitor shift: 0.1 %\n\nwaits:"),)),
    Broken("tolerance not held", SWITCH, "warn", (swap("thickness: 60 nm ± 5 %", "thickness: 60 nm ± 0.5 %"),)),
    Broken("dried too long ago", SWITCH, "warn", record=(Done(step="3.1", what="finish", happened="2026-10-26T09:00:00+01:00"), Done(step="3.2", what="start", happened="2026-10-26T12:00:00+01:00"))),
    Broken("wait names no step", SWITCH, "note", lab=(swap("waits:\n", "waits:\n  - {after: primer, before: coat, longest: 60 min}\n"),)),
    Broken("length not measured", SWITCH, "warn", (without("name: channel length check"),)),
    Broken("no capacitor beside", SWITCH, "note"),
    Broken("thickness never measured", SWITCH, "warn", lab=(swap("material: gold, deposition rate: 0.20 nm/s ± 4 %", "material: gold, deposition rate: 0.20 nm/s ± 20 %"),)),
    Broken("measured under resist", SWITCH, "warn", (after("name: gate etch", "  - measure: step height\n    name: early height\n    of: titanium"),)),
    Broken("fence along walls", DELAY, "note", (swap("with: sulfur hexafluoride and oxygen plasma", "with: trifluoromethane and oxygen plasma"),), (swap("sulfur hexafluoride and oxygen plasma]", "trifluoromethane and oxygen plasma]"), swap("medium: sulfur hexafluoride and oxygen plasma, material: molybdenum", "medium: trifluoromethane and oxygen plasma, material: molybdenum")), sections=True),
    Broken("terminals shorted", SWITCH, "stop", (without("name: gate insulator", "name: gate pad opening"), swap("  apart: [[G, S], [G, D], [S, D]]\n", ""))),
    Broken("terminal open", SWITCH, "stop", (swap("contact: {layer: 4/0, drawn: clear}", "contact: {layer: 4/0, drawn: opaque}"),)),
    Broken("weak climb", DELAY, "warn", lab=(swap("\nwaits:", "\nlimits:\n  weak climb: 60 %\n\nwaits:"),), sections=True),
    Broken("edge and middle of one wafer", DELAY, "stop", lab=(swap("non-uniformity: 6 %", "non-uniformity: 25 %"),)),
    Broken("bath too old", SWITCH, "warn", lab=(swap("medium: oxalic acid, tool: acid bench, made: 2026-10-19", "medium: oxalic acid, tool: acid bench, made: 2026-09-19"),)),
    Broken("bath exhausted", SWITCH, "warn", lab=(swap("volume: 2 L, wafers done: 6", "volume: 2 L, most wafers: 25, wafers done: 25"),)),
    Broken("bath not on file", DELAY, "note", lab=(swap("  weak acetic acid:\n", "  weak citric acid:\n"), swap("medium: dilute acetic acid, tool: acid bench, made", "medium: citric acid, tool: acid bench, made"))),
    Broken("charge too small", SWITCH, "warn", lab=(swap("holds: gold, volume: 7 cm^3", "holds: gold, volume: 0.1 cm^3"),)),
    Broken("crystal at its end", SWITCH, "warn", lab=(swap("crystal life used: 20 %", "crystal life used: 99.9 %"),)),
    Broken("sputtered atoms slowed down", DELAY, "warn", (swap("pressure: 4 mTorr\n    power: 200 W", "pressure: 40 mTorr\n    power: 200 W"),)),
    Broken("target not cleaned", DELAY, "warn", (swap("    power: 200 W\n", "    power: 200 W\n    pre-sputter time: 2 s\n"),)),
    Broken("gas flow between two states", "", "note", (swap("gas ratio: 0.2", "gas ratio: 0.05"),), own=REACTIVE),
    Broken("composition off", "", "warn", (swap("zinc oxide, power: 73 W", "zinc oxide, power: 200 W"),), own=SOURCES),
    Broken("fails when misaligned", SWITCH, "warn", lab=(swap("\nwaits:", "\nlimits:\n  overlay: 4 um\n\nwaits:"),), sections=True),
    Broken("nothing expected", SWITCH, "note", (without("expect:"),)),
    Broken("channels in one piece", SWITCH, "stop", (without("- pattern: channel", "name: channel etch", "name: strip after the channel etch"),)),
    Broken("stop without a rate", "", "warn", (swap("with: carbon tetrafluoride and oxygen plasma", "with: trifluoromethane and oxygen plasma"),), own=TANTALUM),
    Broken("no clean at the start", SWITCH, "warn", (swap("  - clean: solvent clean\n    because: fingerprints and dicing dust lift the gate metal\n\n", ""),)),
    Broken("barrier at the contact", SWITCH, "warn", (swap("- deposit: titanium\n    name: contact adhesion", "- deposit: nickel\n    name: contact adhesion"),)),
    Broken("pinholes under a plate", THERMOMETER, "warn", lab=(swap("\nwaits:", "\nlimits:\n  area per pinhole: 1 mm^2\n\nwaits:"),)),
    Broken("parked too long", SWITCH, "warn", (after("- pattern: gate", "  - park: nitrogen box\n    name: a weekend\n    longest: 3 day"),)),
    Broken("capacitor too small to read", THERMOMETER, "warn", lab=(swap("\nwaits:", "\nlimits:\n  least capacitance: 10 nF\n\nwaits:"),)),
    Broken("pad thin for a needle", SWITCH, "warn", (swap("thickness: 90 nm ± 5 %", "thickness: 30 nm ± 5 %"),)),
    Broken("nothing to measure", SWITCH, "warn", (swap("of: titanium", "of: gold"),)),
    Broken("sheet resistance of two films", SWITCH, "warn", (after("name: contact lift-off", "  - measure: sheet resistance\n    name: adhesion resistance\n    of: gold"),), lab=(swap("\nwaits:", "\nlimits:\n  parallel film: 0.1 %\n\nwaits:"),)),
    Broken("one reflectance, several thicknesses", DELAY, "warn", (after("name: insulator", "  - measure: reflectance\n    name: insulator reflectance\n    of: silicon nitride"),)),
)  # fmt: skip

AT = {
    "channels in one piece": "etch: aluminium oxide", "stop without a rate": "etch: silicon nitride", "no clean at the start": "deposit: titanium",
    "barrier at the contact": "probe: transistors", "parked too long": "park: nitrogen box", "nothing to measure": "measure: step height",
    "sheet resistance of two films": "measure: sheet resistance", "one reflectance, several thicknesses": "measure: reflectance",
    "charge too small": "deposit: gold", "crystal at its end": "deposit:", "sputtered atoms slowed down": "deposit: molybdenum",
    "target not cleaned": "deposit: molybdenum", "gas flow between two states": "deposit: aluminium oxide",
    "composition off": "deposit: indium gallium zinc oxide",
    "edge and middle of one wafer": "etch: molybdenum",
    "bath too old": "etch: indium", "bath exhausted": "etch: indium", "bath not on file": "etch: zinc oxide",
    "never together": "strip: resist", "chamber refuses": "deposit: titanium", "interlock not named": "etch: aluminium oxide",
    "organic in heat": "deposit: aluminium oxide", "forgotten strip": "deposit: molybdenum", "expected devices": "transistors:",
    "terminals joined or apart": "transistors:", "film must survive": "etch: molybdenum", "developer attacks film": "pattern: contact",
    "etch attacks film": "etch: molybdenum", "no stop on the channel": "etch: molybdenum", "fluoride bath on titanium": "etch: aluminium oxide",
    "film not cleared": "etch: titanium", "unknown pair": "clean: SC-1", "too hot for a film": "anneal: nitrogen",
    "noble metal without adhesion": "deposit: gold", "lift-off profile": "lift off: resist", "lift-off bridged": "deposit: gold",
    "wet etch without priming": "etch: titanium", "hardened resist": "strip: resist", "plasma on bare channel": "clean: argon",
    "ash on channel or contact": "strip: resist", "resist budget": "etch: aluminium oxide", "marks hidden": "pattern: opening",
    "mark without contrast": "pattern: fingers", "drawing read with a choice": "opening: {layer: 2/0",
    "metal climbs a step": "deposit: molybdenum", "gate field": "probe voltage:", "undercut against length": "etch: gold",
    "sputter pressure missing": "deposit: indium gallium zinc oxide", "rate stale or wide": "deposit: indium gallium zinc oxide",
    "waited too long": "pattern: gate", "long rinse": "strip: resist", "dark wait": "probe: transistors",
    "attacked, rate not on file": "clean: piranha", "bath leaves resist": "lift off: resist", "time does not fit the film": "etch: titanium",
    "outside the model": "deposit: platinum", "fence along walls": "etch: molybdenum", "weak climb": "deposit: molybdenum",
    "metal in furnace": "deposit: silicon nitride", "tool does not serve": "deposit: titanium", "no tool for the step": "deposit: titanium",
    "coated over resist": "pattern: opening", "bath takes resist": "clean: acetone", "resist in hot bath": "etch: silicon nitride",
    "fluoride bath on glass": "clean: buffered", "galvanic couple": "clean: hydrogen peroxide", "chlorine on aluminium": "etch: titanium",
    "bath does not etch": "etch: titanium", "etched without resist": "etch: indium", "over-etch below unevenness": "etch: titanium",
    "end point not seen": "etch: zinc oxide", "end point too small to see": "etch: silicon nitride", "plasma without recipe": "etch: aluminium oxide",
    "ridge undercut": "etch: titanium", "thermal ledger": "anneal: air", "expansion mismatch": "anneal: nitrogen", "film stress": "deposit: chromium",
    "wafer bow": "pattern: ground", "brittle film on polymer": "deposit: silicon nitride", "vacuum broken on adhesion": "deposit: gold",
    "film not closed": "deposit: gold", "native oxide under contact": "deposit: titanium", "metal on bare silicon": "probe: transistors",
    "evaporated onto resist": "deposit: gold", "evaporated in poor vacuum": "deposit: titanium", "water in a getter": "deposit: titanium", "film evaporates": "deposit: aluminium oxide", "resist burned in": "etch: aluminium oxide",
    "alkali at the gate": "pattern: opening", "gate charged by plasma": "etch: aluminium oxide", "level never printed": "spare:",
    "overlap below overlay": "probe: transistors", "plate hides the wafer": "pattern: opening", "line below resolution": "pattern: ", "resist thin over steps": "pattern: opening",
    "dose off the range": "pattern: channel", "development off the range": "pattern: channel", "dose without band": "pattern: gate",
    "longer than the tool is open": "anneal: air", "tooling factor of the monitor": "deposit: titanium",
    "lamp reading old": "pattern: gate", "one dose for unlike stacks": "pattern: ", "developed before it is clear": "pattern: gate",
    "bake off the range": "pattern: gate", "resist bottle old": "pattern: gate", "no marks drawn": "pattern: gate", "breakdown share": "probe voltage: 14 V", "probed beyond the plan": "probe: transistors",
    "channel not depleted": "probe voltage:", "sputter pressure off the range": "deposit: indium", "quartz monitor loaded": "deposit:",
    "tolerance not held": "deposit: titanium", "dried too long ago": "pattern: gate", "length not measured": "pattern: contact",
    "no capacitor beside": "probe: transistors", "thickness never measured": "deposit: gold", "measured under resist": "measure: step height",
}  # fmt: skip
"""Rule → what stands on the line of the plan that its finding names."""

DEVICES = {"expected devices", "pad unreachable", "terminals joined or apart", "film must survive"}
"""What is read off the finished wafer: the consequence of many a fault beside the rule that names its cause."""

WITH_IT = {
    # The opening cannot be etched through a channel film that lies all over.
    "channels in one piece": DEVICES | {"film not cleared"},
    "lift-off bridged": DEVICES | {"organic in heat"},
    "resist budget": DEVICES | {"film not cleared", "edge and middle of one wafer"},
    # A channel of gold instead of an oxide breaks more than the view of the marks.
    "marks hidden": DEVICES | {"chamber refuses", "film not cleared", "noble metal without adhesion"},
    # Iodine and ammonia on one bench, and no stop between the titanium and the channel: both are so.
    "undercut against length": {"never together", "no stop on the channel"},
    "alkali at the gate": {"chamber refuses"},
    "resist at the end": {"forgotten strip"},
    "bath leaves resist": {"organic in heat"},
    "metal in furnace": DEVICES | {"too hot for a film"},
    "metal through a film": {"noble metal without adhesion"},
    "fluoride bath on glass": {"etch attacks film"},
    # What lies beneath is not cleared either, so nothing opens to the ground.
    "end point not seen": DEVICES | {"film not cleared"},
    "resist burned in": {"resist budget"},
    # Zinc bears neither the heat nor the vacuum, and nothing stays of it.
    "film evaporates": {"too hot for a film"},
}
"""Rule → further stops that the same change brings, beside what is read off the finished wafer."""
