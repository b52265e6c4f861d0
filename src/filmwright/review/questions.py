"""What someone who has done this for years asks of a plan; every rule names the questions that it answers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

QUESTIONS: Final[Mapping[str, str]] = {
    "developer": "What does the developer take from each film that it reaches, and was that film meant to stay?",
    "acid": "Which films does a bath reach uncovered that it dissolves?",
    "wet stop": "Does a wet metal etch stop on the channel, and has anybody measured by how much?",
    "plasma beneath": "What does the over-etch of a plasma take from the film beneath: in the field, on pads, on the channel?",
    "stop on file": "Is the rate of the film on which an etch should stop on file, or guessed from how volatile its products are?",
    "field oxide": "How much is left of the oxide that insulates the wafer?",
    "resist lasts": "Does the resist outlast main etch and over-etch, also where it is thin over a step?",
    "dip beside": "What does an oxide dip take from nitride, field oxide and the wafer beside what it is for?",
    "undercut": "How far does a wet etch go under the resist, at the foot, and does that make the channel longer or shorter?",
    "strong cleans": "Does a strong clean come after a metal or an oxide semiconductor is on the wafer?",
    "hydrogen": "Is an oxide semiconductor bare in a plasma with hydrogen, or hot in vacuum so that it loses metal?",
    "ashing": "Does ashing oxidise contacts or change the channel?",
    "organic in heat": "Is there an organic on the wafer when it gets hot, or beneath a film that nobody lifts off?",
    "heat and chambers": "What bears the heat of each step, and may all that lies open, or comes to lie open, enter the chamber?",
    "never mixed": "Which baths, and which wastes, must never meet?",
    "alarms": "Which steps need an interlock and an alarm, and are they named?",
    "gate edge": "What field does the insulator bear at its thinnest place?",
    "climb": "Does a metal that climbs a step stay whole?",
    "marks": "Can the marks of the level below be seen through what lies on them?",
    "tone": "Does drawing, plate and resist together leave what is meant, and does the plate let the operator see the wafer?",
    "resolution": "Is the finest line wider than the gap between plate and resist lets through?",
    "lift-off": "Can the film be lifted off: undercut, line of sight, resist high enough and cool enough?",
    "dose": "Is the dose right for what lies under the resist, for the lamp of today and for the thickness of the resist?",
    "overlay": "Is there overlap enough for the errors of alignment, rotation and run-out?",
    "fringe": "Does current flow beside the contacts, or from device to device?",
    "leads and gate": "Which conductor touches which, over every edge and through every opening?",
    "needle": "Can a probe land on every pad, and does the pad outlast the needle?",
    "stress": "Do stress and expansion crack, peel or bend anything?",
    "monitor": "How far can the monitor's reading of thickness be trusted?",
    "residual gas": "What arrives from the vacuum beside the film?",
    "source lasts": "Do the charge in the pocket and the crystal last for the film, and for the films of the lot after it?",
    "target": "Is each target clean and in one state, is the composition the one wanted, does the pressure leave the atoms their energy?",
    "reflectance": "Which other thicknesses would read the same?",
    "capacitance": "Is there a capacitor of the gate's own stack, and one that can be measured?",
    "turn off": "Can the gate empty the channel within its sweep?",
    "lengths": "Are there lengths enough, and known well enough, to part contacts from channel?",
    "swing": "Is a swing below the thermal limit taken for what it is, an error of units or a leakage?",
    "unevenness": "Which formula stands behind a non-uniformity, and do edge and middle bear one time?",
    "waits": "How long may the wafer wait between two steps, and where?",
    "fences": "What stands along the walls of a film that was etched straight down?",
    "adhesion": "What holds each film, and the resist, on what lies beneath?",
    "titanium and chlorine": "Does hydrofluoric acid reach titanium, does chlorine stay on aluminium, do two metals make a cell?",
    "hardened resist": "Does the strip take a resist that plasma or heat has hardened?",
    "source heat": "Does the heat of the source soften the resist?",
    "ridges": "Is any line narrower than two undercuts?",
    "water": "Does anything stand in water that does not bear it?",
    "channel in plasma": "Was the channel, or the gate, in a plasma that no anneal heals?",
    "light": "Was it dark long enough before the sweep?",
    "typed": "Does what was typed fit the film: times, pressures, doses, slips of ten?",
    "expected": "Is what must be there at the end said, and is it there?",
    "baths": "How old is each bath, how warm, and how much has it dissolved?",
    "known": "What is not known: pairs without an entry, rates that are stale, models outside their range?",
    "measured": "Is what decides the result measured, and can that measurement be made?",
}
"""Key → question."""

ELSEWHERE: Final[Mapping[str, str]] = {
    "never mixed": "the waste of each step stands on the sheet and names the metal that was etched",
    "swing": "`filmwright extract` flags a swing below k T ln 10 / q as not believable",
    "unevenness": "one formula for all, (max − min) / (2 × mean), and every place that prints one names it",
    "reflectance": "`filmwright thickness` lists all orders that fit a measured spectrum",
    "leads and gate": "`filmwright devices` lists the nets that are read off the wafer",
}
"""Key → what answers it beside, or in place of, a rule."""
