"""Lab files that break one rule each: small changes of one small sound lab, made of parts that the rules look at.

The tests check them; the reference pages show each as what the rule is about.
"""

from dataclasses import dataclass

ON = "2026-10-26"

SOUND = """\
lab: Lantern yard
open: 08:00-18:00
process owners: [thin films]
admission:
  metals:
    none: {otherwise: yes}
    gold: {families: [gold]}
tools:
  evaporator:
    does: [electron-beam evaporation]
    admits: {metals: [none, gold]}
    non-uniformity: 3 %
    maintenance:
      - {date: 2026-09-15, done: new crucibles}
  reactor:
    does: [atomic layer deposition]
    admits: {metals: none}
    non-uniformity: 2 %
    recipes:
      warm: {temperature: 200 degC}
  aligner: {does: [expose], non-uniformity: 4 %}
  plate: {does: [bake]}
calibrations:
  - {tool: evaporator, material: titanium, deposition rate: 0.1 nm/s ± 4 %, date: 2026-10-20, by: AB, evidence: stylus}
  - {tool: reactor, recipe: warm, growth per cycle: 0.1 nm ± 1 %, date: 2026-10-20, by: AB, evidence: ellipsometer}
  - {tool: aligner, lamp intensity: 11 mW/cm^2 ± 3 %, date: 2026-10-24, by: AB, evidence: probe}
  - {tool: plate, hot-plate offset: -1 kelvin ± 0.5 kelvin, plate: 90 degC, date: 2026-10-01, by: AB, evidence: thermocouple}
  - {tool: plate, hot-plate offset: -2 kelvin ± 0.5 kelvin, plate: 120 degC, date: 2026-10-01, by: AB, evidence: thermocouple}
baths:
  titanium etch: {medium: dilute hydrogen peroxide and ammonia, made: 2026-10-20, longest age: 14 day}
waits:
  - {after: prime, before: coat, longest: 60 min}
"""

PLAN = """\
flow: two films
wafer: {body: silicon, diameter: 100 mm, films: [{material: silicon dioxide, thickness: 300 nm}]}
steps:
  - {deposit: titanium, method: electron-beam evaporation, thickness: 10 nm}
"""
"""The plan that the rule about steps is asked with."""


@dataclass(frozen=True)
class BrokenLab:
    """A rule about the lab file, what is replaced by what, and what stands on the line that is told."""

    rule: str
    severity: str
    old: str
    new: str
    at: str
    word: str
    """Something that the finding must say."""
    planned: bool = False

    @property
    def text(self) -> str:
        """The lab file with its change."""
        assert self.old in SOUND, self.old
        return SOUND.replace(self.old, self.new, 1)


_EVAPORATED = "  - {tool: evaporator, material: titanium, deposition rate: 0.1 nm/s ± 4 %, date: 2026-10-20, by: AB, evidence: stylus}\n"

BROKEN_LABS = (
    BrokenLab("step without a number", "warn", "material: titanium, deposition", "material: gold, deposition", "evaporator:", "step 1.1", planned=True),
    BrokenLab("tool without a reading", "warn", _EVAPORATED, "", "evaporator:", "deposition rate"),
    BrokenLab("not measured since maintenance", "warn", "date: 2026-09-15", "date: 2026-10-22", "done: new crucibles", "of titanium"),
    BrokenLab("readings that contradict each other", "warn", _EVAPORATED, _EVAPORATED + _EVAPORATED.replace("0.1 nm/s", "0.14 nm/s"), "0.14 nm/s", "5.8 apart"),
    BrokenLab("every reading set aside", "warn", "± 1 %, date", "± 1 %, set aside: cold substrate, date", "cold substrate", "cold substrate"),
    BrokenLab("date in the future", "warn", "date: 2026-10-24", "date: 2026-10-27", "date: 2026-10-27", "2026-10-27"),
    BrokenLab("class of admission without effect", "stop", "  plate: {does: [bake]}", "  plate: {does: [bake], refuses: [organic oil]}", "plate:", "organic oil"),
    BrokenLab("class of admission without effect", "note", "    gold: {families: [gold]}\n", "    gold: {families: [gold]}\n    tin: {families: [tin]}\n", "tin:", "named by none"),
    BrokenLab("number stale or wide", "warn", "0.1 nm/s ± 4 %, date: 2026-10-20", "0.1 nm/s ± 4 %, date: 2026-07-20, after maintenance: yes", "0.1 nm/s", "98 days"),
    BrokenLab("lamp or plate not read lately", "warn", "date: 2026-10-24", "date: 2026-10-14", "lamp intensity", "12 days"),
    BrokenLab("bath spent", "warn", "made: 2026-10-20", "made: 2026-10-01", "titanium etch:", "25 days old"),
    BrokenLab("offsets of a plate that fall", "warn", "offset: -2 kelvin", "offset: -40 kelvin", "-40 kelvin", "80 °C"),
    BrokenLab("recipe without evidence", "warn", "tool: reactor, recipe: warm,", "tool: reactor, material: aluminium oxide,", "warm:", '"warm"'),
    BrokenLab("reading of another tool", "warn", "tool: evaporator, material", "tool: plate, material", "0.1 nm/s", "plate serves bake"),
    BrokenLab("unevenness not known", "note", "expose], non-uniformity: 4 %", "expose]", "aligner:", "aligner"),
    BrokenLab("axis that a chamber does not answer", "note", "    admits: {metals: none}\n", "", "none: {otherwise", "reactor"),
    BrokenLab("wait that names nothing", "note", "before: coat", "before: spinning", "spinning", "spinning"),
    BrokenLab("no opening hours", "note", "open: 08:00-18:00\n", "", "evaporator:", "evaporator, reactor"),
    BrokenLab("no process owner named", "note", "process owners: [thin films]\n", "", "lab:", "nobody"),
    BrokenLab("reading without evidence", "note", "date: 2026-10-24, by: AB, evidence: probe", "date: 2026-10-24, by: AB", "lamp intensity", "no evidence"),
)  # fmt: skip
