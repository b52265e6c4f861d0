"""The verbs. Each turns its words into one call of ``desk`` and prints the answer; nothing else happens here."""

from __future__ import annotations

import gc
import os
from pathlib import Path
from typing import Annotated

import typer

from filmwright.cli.lot_verbs import lot_verbs
from filmwright.cli.papers import paper_verbs
from filmwright.cli.people_verbs import people_verbs
from filmwright.cli.plan_verbs import app
from filmwright.cli.record_verbs import record_verbs
from filmwright.cli.serving import serving_verbs
from filmwright.cli.structures import structure_verbs
from filmwright.cli.tool_verbs import tool_verbs
from filmwright.cli.words import (
    Cut,
    Figure,
    Into,
    Json,
    LabFile,
    LotName,
    Plan,
    Record,
    answer,
)


@app.command(epilog='Example:  filmwright draw my-run/plan.yaml --cut "T07 across" --gif story.gif')
def draw(  # noqa: PLR0913 - one option per thing that can be drawn
    plan: Annotated[
        Path | None, typer.Argument(help="The plan (YAML); left out with --lot.", metavar="[PLAN]")
    ] = None,
    lab: LabFile = None,
    cut: Cut = "",
    into: Into = None,
    png: Annotated[
        Path | None, typer.Option("--png", help="Folder for one picture a step, for slides.")
    ] = None,
    gif: Annotated[Path | None, typer.Option("--gif", help="File for all steps as a moving picture.")] = None,
    window: Annotated[
        str,
        typer.Option(
            "--window", help='Draw this place of the die too: "T07", or "x0, y0, x1, y1" with units.'
        ),
    ] = "",
    lot: Annotated[
        str, typer.Option("--lot", help="Draw a wafer of this lot from what was really done to it.")
    ] = "",
    wafer: Annotated[str, typer.Option("--wafer", help="Which wafer or piece; else the first.")] = "",
    at: Annotated[
        str, typer.Option("--at", help="After this step, at this time, or now; else after every step done.")
    ] = "",
    record: Record = None,
    json: Json = False,
) -> None:
    """Draw the wafer: a cross-section per step and one page that steps through them; of a lot, the wafer as it is."""
    answer(
        "draw",
        json,
        plan=plan,
        lab=lab,
        cut=cut,
        into=into,
        png=png,
        gif=gif,
        window=window,
        lot=lot,
        wafer=wafer,
        at=at,
        record=record,
    )


@app.command(epilog="Example:  filmwright devices my-run/plan.yaml --csv")
def devices(
    plan: Plan,
    lab: LabFile = None,
    everything: Annotated[bool, typer.Option("--all", help="List every device, however many.")] = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print a table for spreadsheets.")] = False,
    json: Json = False,
) -> None:
    """List what the finished die holds: every device with W and L as drawn and as made, sets, and faults of the nets."""
    answer("devices", json, plan=plan, lab=lab, everything=everything, as_csv=as_csv)


@app.command(epilog="Example:  filmwright predict my-run/plan.yaml --device T07 --csv")
def predict(  # noqa: PLR0913 - one option per thing that can be asked for
    plan: Plan,
    device: Annotated[str, typer.Option("--device", help="Name of a transistor; else the longest.")] = "",
    lab: LabFile = None,
    record: Record = None,
    lot: Annotated[
        str, typer.Option("--lot", help="As run in this lot of the record; else as planned.")
    ] = "",
    wafer: Annotated[str, typer.Option("--wafer", help="Which wafer of the lot; else its first.")] = "",
    temperature: Annotated[str, typer.Option("--temperature", help='Of the channel, "60 degC".')] = "20 degC",
    section: Annotated[
        bool,
        typer.Option("--section", help="Solve it in two dimensions on its own section too; takes a while."),
    ] = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print the curves for spreadsheets.")] = False,
    figure: Figure = None,
    json: Json = False,
) -> None:
    """Predict a transistor's curves from its films as emulated: parameters with bands, what they rest on, what to mind."""
    answer(
        "predict",
        json,
        plan=plan,
        device=device,
        lab=lab,
        record=record,
        lot=lot,
        wafer=wafer,
        temperature=temperature,
        section=section,
        as_csv=as_csv,
        figure=figure,
    )


@app.command(epilog='Example:  filmwright look my-run/plan.yaml --step 04A --at "T07" --picture seen.svg')
def look(  # noqa: PLR0913 - one option per thing that can be asked for
    plan: Plan,
    lab: LabFile = None,
    step: Annotated[
        str,
        typer.Option(
            "--step", help="After this step, by number or code; start: as bought; else the finished wafer."
        ),
    ] = "",
    at: Annotated[str, typer.Option("--at", help='One place: a device, or "x, y" with units.')] = "",
    light: Annotated[
        str, typer.Option("--light", help="The lamp: D65, D50, incandescent, halogen ...")
    ] = "D65",
    na: Annotated[
        float, typer.Option("--na", help="Numerical aperture of the objective; 0: straight down.")
    ] = 0.0,
    spectrum: Annotated[
        Path | None,
        typer.Option("--spectrum", help="Write the reflectance of the place: .csv, .svg or .png."),
    ] = None,
    picture: Annotated[
        Path | None, typer.Option("--picture", help="Write the die as a microscope shows it: .svg or .png.")
    ] = None,
    window: Annotated[
        str, typer.Option("--window", help='Of the picture: a device, or "x0, y0, x1, y1" with units.')
    ] = "",
    trace: Annotated[
        Path | None,
        typer.Option("--trace", help="Write what is seen during the etch of --step: .svg or .png."),
    ] = None,
    json: Json = False,
) -> None:
    """Tell how the die looks: the colour of every kind of place, a spectrum, a picture, and the contrast of marks."""
    answer(
        "look",
        json,
        plan=plan,
        lab=lab,
        step=step,
        at=at,
        light=light,
        aperture=na,
        spectrum=spectrum,
        picture=picture,
        window=window,
        trace=trace,
    )


@app.command(epilog="Example:  filmwright sheet my-run/plan.yaml --lot K7M-3XP --into sheet.pdf")
def sheet(
    plan: Plan,
    lab: LabFile = None,
    lot: Annotated[str, typer.Option("--lot", help="Name of the lot; else a blank to fill in.")] = "",
    wafers: Annotated[int, typer.Option("--wafers", min=1, max=6, help="Columns to fill in.")] = 2,
    into: Into = None,
    record: Record = None,
    json: Json = False,
) -> None:
    """Print the run sheet as PDF."""
    answer("sheet", json, plan=plan, lab=lab, lot=lot, wafers=wafers, into=into, record=record)


@app.command(
    epilog='Example:  filmwright extract T07.csv --width "100 um" --length "10 um" --capacitance "62 nF/cm^2"'
)
def extract(  # noqa: PLR0913 - one option per word
    files: Annotated[list[Path], typer.Argument(help="Measured tables.", metavar="FILE...")],
    width: Annotated[str, typer.Option("--width", help='Channel width, "100 um".')] = "",
    length: Annotated[str, typer.Option("--length", help='Channel length, "10 um".')] = "",
    capacitance: Annotated[str, typer.Option("--capacitance", help='Areal capacitance, "62 nF/cm^2".')] = "",
    contact_resistance: Annotated[
        str, typer.Option("--contact-resistance", help='Of one contact, times the width: "20 ohm*cm".')
    ] = "",
    checklist: Annotated[
        bool, typer.Option("--checklist", help="Say what has to be reported beside, and what is missing.")
    ] = False,
    everything: Annotated[
        bool,
        typer.Option("--all", help="List every parameter of every curve, with its definition."),
    ] = False,
    page: Annotated[
        Path | None, typer.Option("--page", help="Write one page with the parameters and live figures.")
    ] = None,
    figure: Figure = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", help="Write a table: one row for each curve and parameter.")
    ] = None,
    parquet: Annotated[
        Path | None, typer.Option("--parquet", help="Write the same table as Parquet.")
    ] = None,
    explain: Annotated[
        bool, typer.Option("--explain", help="Tell what was understood of each file, and extract nothing.")
    ] = False,
    read_as: Annotated[
        list[str] | None,
        typer.Option("--read-as", help='Correct the reading: "I2 = gate current, nA", "decimal = comma".'),
    ] = None,
    keep_as: Annotated[
        str, typer.Option("--keep-as", help="Keep the corrections under a name, for tables of this shape.")
    ] = "",
    rules: Annotated[
        Path | None, typer.Option("--rules", help="Reading rules; else reading-rules.toml in this folder.")
    ] = None,
    name_pattern: Annotated[
        str, typer.Option("--name-pattern", help='What file names say: "{device}_w{width:um}_l{length:um}".')
    ] = "",
    lot: Annotated[
        str, typer.Option("--lot", help="Take W, L and capacitance from this lot's drawing.")
    ] = "",
    record: Record = None,
    json: Json = False,
) -> None:
    """Read measured curves and extract parameters, each with its definition, window, error and validity."""
    answer(
        "extract",
        json,
        files=files,
        width=width,
        length=length,
        capacitance=capacitance,
        contact_resistance=contact_resistance,
        checklist=checklist,
        everything=everything,
        into={"page": page, "figure": figure, "csv": csv, "parquet": parquet},
        reading={
            "explain": explain,
            "read_as": read_as or [],
            "keep_as": keep_as,
            "rules": rules,
            "name_pattern": name_pattern,
            "lot": lot,
            "record": record,
        },
    )


@app.command(epilog="Example:  filmwright statistics curves/ --table devices.csv --split annealed=W1,W2")
def statistics(  # noqa: PLR0913 - one option per thing that can be said of devices
    files: Annotated[
        list[Path] | None, typer.Argument(help="Measured tables, or folders of them.", metavar="[FILE]...")
    ] = None,
    lot: Annotated[str, typer.Option("--lot", help="The measured devices of a lot instead of files.")] = "",
    table: Annotated[
        Path | None,
        typer.Option("--table", help="CSV with file, device, wafer, W, L, x, y, split ... of each device."),
    ] = None,
    column: Annotated[
        list[str] | None,
        typer.Option("--column", help='What a column of the table means, "kind=device".'),
    ] = None,
    name_pattern: Annotated[
        str, typer.Option("--name-pattern", help='What file names say: "{wafer}-{device}_l{length:um}".')
    ] = "",
    split: Annotated[
        list[str] | None, typer.Option("--split", help='Which wafers got which variant, "annealed=W1,W2".')
    ] = None,
    parameter: Annotated[
        list[str] | None, typer.Option("--parameter", help="Only this one, as extract names it.")
    ] = None,
    capacitance: Annotated[str, typer.Option("--capacitance", help='Areal capacitance, "62 nF/cm^2".')] = "",
    radius: Annotated[
        str, typer.Option("--radius", help='Of the wafer, "50 mm"; else the outermost device.')
    ] = "",
    polarity: Annotated[str, typer.Option("--polarity", help="n or p; else the commoner one.")] = "",
    as_csv: Annotated[bool, typer.Option("--csv", help="Print a table of the devices.")] = False,
    record: Record = None,
    page: Annotated[
        Path | None, typer.Option("--page", help="Write one page with maps, splits and correlations.")
    ] = None,
    figure: Figure = None,
    json: Json = False,
) -> None:
    """Tell what many devices tell together: yield by cause, medians, maps, sizes, splits by wafer, leakage, what goes with what."""
    answer(
        "statistics",
        json,
        files=files or [],
        lot=lot,
        table=table,
        column=column or [],
        name_pattern=name_pattern,
        split=split or [],
        parameter=parameter or [],
        capacitance=capacitance,
        radius=radius,
        polarity=polarity,
        as_csv=as_csv,
        record=record,
        page=page,
        figure=figure,
    )


@app.command(
    epilog='Example:  filmwright fit T07.csv --width "100 um" --length "10 um" --capacitance "62 nF/cm^2"'
)
def fit(  # noqa: PLR0913 - one option per thing that can be said of a device
    files: Annotated[list[Path], typer.Argument(help="Measured tables.", metavar="FILE...")],
    width: Annotated[str, typer.Option("--width", help='Channel width, "100 um".')] = "",
    length: Annotated[str, typer.Option("--length", help='Channel length, "10 um".')] = "",
    capacitance: Annotated[str, typer.Option("--capacitance", help='Areal capacitance, "62 nF/cm^2".')] = "",
    robust: Annotated[
        bool, typer.Option("--robust", help="Points far off pull with a constant force only.")
    ] = False,
    bulk: Annotated[
        bool, typer.Option("--bulk", help="The channel lies on a grounded bulk: fit its body factor too.")
    ] = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print a table for spreadsheets.")] = False,
    points: Annotated[
        Path | None, typer.Option("--points", help="Write every point with its fit and residual (.csv).")
    ] = None,
    figure: Figure = None,
    json: Json = False,
) -> None:
    """Fit the channel current to all curves of a device at once: parameters with 95 % intervals, and what they do not tell."""
    answer(
        "fit",
        json,
        files=files,
        width=width,
        length=length,
        capacitance=capacitance,
        robust=robust,
        bulk=bulk,
        as_csv=as_csv,
        points=points,
        figure=figure,
    )


@app.command(
    epilog='Example:  filmwright thickness spectrum.csv --films "zinc oxide / silicon nitride 100 nm / chromium"'
)
def thickness(  # noqa: PLR0913 - one option per word
    file: Annotated[Path, typer.Argument(help="A reflectance spectrum, or psi and delta.", metavar="FILE")],
    films: Annotated[
        str,
        typer.Option(
            "--films", help='From the top, parted by /; one without thickness; "clear 1.48" is an index.'
        ),
    ],
    up_to: Annotated[str, typer.Option("--up-to", help='End of the search, "2 um".')] = "2 um",
    free_index: Annotated[
        float, typer.Option("--free-index", help="How far the index of the film may be off, 0.1.")
    ] = 0.0,
    spread: Annotated[str, typer.Option("--spread", help='Of a reflectance, "1 %".')] = "1 %",
    before: Annotated[
        Path | None, typer.Option("--before", help="Angles before the film was grown: answers with a map.")
    ] = None,
    data: Annotated[
        list[str] | None, typer.Option("--data", help="Optical data set to use, main/Mo/Querry.")
    ] = None,
    json: Json = False,
) -> None:
    """Find the thickness of a film from light: every order in range with its interval, or a map of the wafer."""
    answer(
        "thickness",
        json,
        file=file,
        films=films,
        up_to=up_to,
        free_index=free_index,
        spread=spread,
        before=before,
        data=data or [],
    )


@app.command(epilog="Example:  filmwright compare K7M-3XP")
def compare(
    lot: LotName,
    device: Annotated[
        str, typer.Option("--device", help="Share out this device, T07; else the one in the middle.")
    ] = "",
    record: Record = None,
    into: Into = None,
    figure: Figure = None,
    json: Json = False,
) -> None:
    """Hold the measured curves against those predicted from the wafer as planned and as run."""
    answer("compare", json, lot=lot, device=device, record=record, into=into, figure=figure)


@app.command(epilog="Example:  filmwright next K7M-3XP --accept 1 --who AB")
def next(
    lot: LotName,
    accept: Annotated[
        list[int] | None, typer.Option("--accept", help="Take proposal N into the lab's own.")
    ] = None,
    who: Annotated[str, typer.Option("--who", help="Who accepts.")] = "",
    record: Record = None,
    json: Json = False,
) -> None:
    """Propose what to change in the next run; a person accepts."""
    answer("next", json, lot=lot, accept=accept or [], who=who, record=record)


@app.command(epilog="Example:  filmwright report K7M-3XP --into report.html")
def report(lot: LotName, record: Record = None, into: Into = None, json: Json = False) -> None:
    """Write one self-contained report of a lot."""
    answer("report", json, lot=lot, record=record, into=into)


@app.command(epilog="Example:  filmwright demo demo")
def demo(
    folder: Annotated[Path, typer.Argument(help="Folder to write.", metavar="FOLDER")] = Path("demo"),
    json: Json = False,
) -> None:
    """Run the whole job on the bundled, invented example."""
    answer("demo", json, folder=folder)


app.add_typer(lot_verbs)
app.add_typer(structure_verbs)
app.add_typer(serving_verbs)
app.add_typer(paper_verbs)
app.add_typer(people_verbs, name="people")
app.add_typer(record_verbs, name="record")
app.add_typer(tool_verbs)


def main() -> None:
    """Entry point of the command ``filmwright``."""
    # A command lives for seconds: looking for cyclic garbage every few hundred objects costs a tenth of its time.
    gc.set_threshold(200_000, 20, 100)
    # Its matrices are small and many: threads that share out one of them cost more than they gain, most on a busy machine.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    app()
