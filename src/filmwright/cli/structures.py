"""The verbs of test structures."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from filmwright.cli.words import Figure, Json, Record, answer

structure_verbs = typer.Typer()
Files = Annotated[list[Path], typer.Argument(help="Measured tables.", metavar="FILE...")]


@structure_verbs.command(
    epilog='Example:  filmwright lengths T01.csv T02.csv T03.csv T04.csv --lengths-from sizes.csv --capacitance "62 nF/cm^2"'
)
def lengths(  # noqa: PLR0913 - one option per word
    files: Annotated[
        list[Path] | None,
        typer.Argument(help="Measured tables, unless --lot names a lot.", metavar="[FILE]..."),
    ] = None,
    lot: Annotated[
        str, typer.Option("--lot", help="All sets of the masks of a lot, with the curves of its record.")
    ] = "",
    record: Record = None,
    width: Annotated[str, typer.Option("--width", help='Of all, where it is not in a table, "100 um".')] = "",
    lengths_from: Annotated[
        Path | None,
        typer.Option("--lengths-from", help="Table of sizes: file, length (um), width (um), ± (um)."),
    ] = None,
    pattern: Annotated[
        str, typer.Option("--name-pattern", help='What file names say, "{device}_w{width:um}_l{length:um}".')
    ] = "",
    length_error: Annotated[
        str, typer.Option("--length-error", help='Standard error of a length, "0.2 um".')
    ] = "",
    capacitance: Annotated[
        str, typer.Option("--capacitance", help='Areal capacitance for the mobility, "62 nF/cm^2".')
    ] = "",
    threshold: Annotated[
        str, typer.Option("--threshold", help="What makes overdrives equal: tangent or constant current.")
    ] = "tangent",
    overdrives: Annotated[str, typer.Option("--overdrives", help='Else chosen, "4 V, 6 V, 8 V".')] = "",
    contact_length: Annotated[
        str, typer.Option("--contact-length", help='Of ungated contacts along the current, "20 um".')
    ] = "",
    end_resistance: Annotated[
        str, typer.Option("--end-resistance", help='Of an ungated contact, "12 ohm +- 0.5".')
    ] = "",
    figure: Figure = None,
    json: Json = False,
) -> None:
    """Part contacts from channel by a set of lengths: transfer curves of transistors, or a table of length and resistance."""
    answer(
        "lengths", json, files=files or (), lot=lot, record=record, width=width, lengths_from=lengths_from,
        pattern=pattern, length_error=length_error, capacitance=capacitance, threshold=threshold, overdrives=overdrives,
        contact_length=contact_length, end_resistance=end_resistance, figure=figure,
    )  # fmt: skip


@structure_verbs.command(
    "sheet-resistance",
    epilog='Example:  filmwright sheet-resistance pins.csv --spacing "1 mm" --shape "round 100 mm"',
)
def sheet_resistance(  # noqa: PLR0913 - one option per word
    file: Annotated[
        Path,
        typer.Argument(
            help="Table of I+, I-, V+, V- (contacts 1 to 4) and resistance (ohm).", metavar="FILE"
        ),
    ],
    spacing: Annotated[
        str, typer.Option("--spacing", help='Of four pins in a line, "1 mm"; else van der Pauw.')
    ] = "",
    spacing_error: Annotated[
        str, typer.Option("--spacing-error", help='Standard error of a pin\'s place, "10 um".')
    ] = "",
    shape: Annotated[
        str,
        typer.Option(
            "--shape", help='"round 100 mm", "rectangle 20 mm x 10 mm", "strip 5 mm", "half plane".'
        ),
    ] = "",
    at: Annotated[
        str, typer.Option("--at", help='Middle of the pins from the middle of the shape, "5 mm, 0 mm".')
    ] = "",
    thickness: Annotated[str, typer.Option("--thickness", help='Of the conductor, "500 um".')] = "",
    contacts: Annotated[
        str, typer.Option("--contacts", help='Size of van der Pauw contacts, "0.5 mm along the edge".')
    ] = "",
    json: Json = False,
) -> None:
    """Turn readings of four contacts into a sheet resistance: van der Pauw, or four pins in a line near any edge."""
    answer(
        "sheet_resistance", json, file=file, spacing=spacing, spacing_error=spacing_error, shape=shape, at=at,
        thickness=thickness, contacts=contacts,
    )  # fmt: skip


@structure_verbs.command(
    epilog='Example:  filmwright capacitance C03.csv --area "0.04 mm^2" --semiconductor "zinc oxide" --film "50 nm"'
)
def capacitance(  # noqa: PLR0913 - one option per word
    files: Files,
    area: Annotated[str, typer.Option("--area", help='Of the capacitor, "0.04 mm^2".')] = "",
    semiconductor: Annotated[
        str, typer.Option("--semiconductor", help="Material of the book; its permittivity gives depths.")
    ] = "",
    film: Annotated[
        str, typer.Option("--film", help='Thickness of a semiconductor that is a film, "50 nm".')
    ] = "",
    intrinsic: Annotated[
        str, typer.Option("--intrinsic", help='Intrinsic density of one that can invert, "1e10 1/cm^3".')
    ] = "",
    frequency: Annotated[
        str, typer.Option("--frequency", help='Where the table does not say it, "100 kHz".')
    ] = "",
    temperature: Annotated[str, typer.Option("--temperature", help='Else 20 degC, "25 degC".')] = "",
    json: Json = False,
) -> None:
    """Read capacitance against voltage: areal capacitance, carrier density, flat band, threshold, hysteresis."""
    answer(
        "capacitance", json, files=files, area=area, semiconductor=semiconductor, film=film, intrinsic=intrinsic,
        frequency=frequency, temperature=temperature,
    )  # fmt: skip


@structure_verbs.command(
    "step-height", epilog='Example:  filmwright step-height trace.csv --edges "420 um, 580 um"'
)
def step_height(
    files: Annotated[
        list[Path], typer.Argument(help="Stylus traces: position and height, with units.", metavar="FILE...")
    ],
    edges: Annotated[
        str, typer.Option("--edges", help='Where the steps are, else found, "420 um, 580 um".')
    ] = "",
    bow: Annotated[bool, typer.Option("--bow", help="The sample is bowed: take a parabola off too.")] = False,
    json: Json = False,
) -> None:
    """Read step heights off stylus traces in the manner of ISO 5436-1, with errors that know the roughness."""
    answer("step_height", json, files=files, edges=edges, bow=bow)
