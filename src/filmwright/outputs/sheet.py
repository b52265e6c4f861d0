"""The run sheet: what it holds, and how it is printed. Text reaches the page as data, never as markup."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from importlib import resources

from filmwright.emulate import Listing, Reading
from filmwright.errors import BadInput, Problem


@dataclass(frozen=True, kw_only=True)
class SheetSetting:
    """One knob on paper.

    Attributes
    ----------
    name, value, band, rests_on : str
        Printed as they are; ``rests_on`` carries the date of the number behind it.
    condition : str
        What decides it at the bench, for a setting that has no number yet or ends at an end point.
    extra : float or None
        Over-etch as a fraction of the end point that was seen; the sheet then has boxes to compute the time.
    per_wafer : mapping from wafer to value, or None
        Where wafers of a split differ: printed in the wafer's own column.
    """

    name: str
    value: str
    band: str = ""
    rests_on: str = ""
    condition: str = ""
    extra: float | None = None
    per_wafer: Mapping[str, str] | None = None


@dataclass(frozen=True, kw_only=True)
class SheetStep:
    """One step on paper; pictures are SVG, empty where nothing changes.

    Attributes
    ----------
    code, number, title, tool, because : str
    recipe : str
        By which recipe, in which bath or by which method, with that word before it.
    settings : tuple of SheetSetting
    duration : str
        For all wafers.
    runs : int
        How many times the tool is loaded for them.
    day : int
        Estimated working day, from 1.
    look : tuple of str
        What it should look like afterwards.
    measure : tuple of str
        What to measure and write down, e.g. ``thickness on the witness``.
    readings : tuple of Reading
        What to read off an instrument, beside what to expect.
    tables : tuple of Listing
        Printed as they are, each row with a box to tick.
    cautions, gear, neighbours, alarms : tuple of str
    waste, interlock : str
    second_person : bool
    hold : str
        What to look at before going on; empty when there is no hold point.
    together : str
        Code of the step that each wafer goes on to before the next wafer begins this one; empty when all may go together.
    wait : str
        Longest wait before the next step, in words; empty when there is none.
    parking : str
        Whether the wafer may be left here, in words; empty when nothing is known.
    not_after : str
        Clock time after which a place to leave the wafer over a night is no longer reached before closing.
    findings : tuple of str
    before, after : str
        SVG.
    """

    code: str
    number: str
    title: str
    tool: str = ""
    recipe: str = ""
    because: str = ""
    settings: tuple[SheetSetting, ...] = ()
    duration: str = ""
    runs: int = 1
    day: int = 1
    look: tuple[str, ...] = ()
    measure: tuple[str, ...] = ()
    readings: tuple[Reading, ...] = ()
    tables: tuple[Listing, ...] = ()
    neighbours: tuple[str, ...] = ()
    alarms: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    gear: tuple[str, ...] = ()
    waste: str = ""
    interlock: str = ""
    second_person: bool = False
    hold: str = ""
    together: str = ""
    wait: str = ""
    parking: str = ""
    not_after: str = ""
    findings: tuple[str, ...] = ()
    before: str = ""
    after: str = ""


@dataclass(frozen=True, kw_only=True)
class OpenFinding:
    """A finding that the process owner has to see before the lot starts."""

    severity: str
    step: str
    what: str
    remedy: str
    acknowledged: str = ""


@dataclass(frozen=True, kw_only=True)
class RunSheet:
    """A whole run sheet.

    Attributes
    ----------
    lot : str
    wafers : tuple of str
        Names; one column each where actuals are written.
    title, digest : str
        Of the flow.
    because : str
        What the lot is for.
    lab, date : str
    rates_of : str
        ISO date for which rates were believed.
    body : str
        The wafer as bought, in words.
    total : str
        Whole duration at the tools, in words.
    days : int
    steps : tuple of SheetStep
    findings : tuple of OpenFinding
    split : mapping from wafer to what is different about it
    invented : bool
    """

    lot: str
    wafers: tuple[str, ...]
    title: str
    digest: str
    steps: tuple[SheetStep, ...]
    because: str = ""
    lab: str = ""
    date: str = ""
    rates_of: str = ""
    body: str = ""
    total: str = ""
    days: int = 1
    findings: tuple[OpenFinding, ...] = ()
    split: Mapping[str, str] | None = None
    invented: bool = False


def qr_svg(text: str) -> str:
    """A QR code as SVG, error correction M, black on white."""
    import segno

    buffer = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        buffer, kind="svg", xmldecl=False, border=2, light="#ffffff", omitsize=True
    )
    return buffer.getvalue().decode()


def lot_text(sheet: RunSheet) -> str:
    """What the QR code of a lot says: its name and the digest of its flow."""
    return f"filmwright lot={sheet.lot} flow={sheet.digest}"


def template(name: str) -> str:
    """The text of a template that ships with the package."""
    return resources.files("filmwright.outputs").joinpath("templates", name).read_text(encoding="utf-8")


def run_sheet_pdf(sheet: RunSheet) -> bytes:
    """The run sheet as PDF: A4, black on white, fonts embedded; the same sheet gives the same bytes.

    Raises
    ------
    BadInput
        When there is no step or no wafer to print, or more wafers than columns fit.
    """
    _check(sheet)
    import typst

    data = asdict(sheet) | {"qr": qr_svg(lot_text(sheet))}
    fonts = typst.Fonts(include_system_fonts=False)
    found = typst.compile(
        template("sheet.typ").encode(),
        font_paths=fonts,
        sys_inputs={"sheet": json.dumps(data, ensure_ascii=False)},
        timestamp=0,
    )
    if not isinstance(found, bytes):
        raise TypeError("the page setter gave several files for one PDF")
    return found


def _check(sheet: RunSheet) -> None:
    problems = []
    if not sheet.steps:
        problems.append(_problem("the run sheet", "at least one step", "none", "add steps to the flow"))
    if not 1 <= len(sheet.wafers) <= MOST_WAFERS:
        problems.append(
            _problem(
                "the wafers of one run sheet",
                f"1 to {MOST_WAFERS}",
                str(len(sheet.wafers)),
                "print one sheet for each group of wafers",
            )
        )
    if problems:
        raise BadInput(*problems)


MOST_WAFERS = 5
"""More columns than this leave no room to write with gloves on."""


def _problem(what: str, expected: str, got: str, remedy: str) -> Problem:
    why = "each wafer needs a column in which a gloved hand can write"
    return Problem(what=what, expected=expected, got=got, why=why, remedy=remedy)
