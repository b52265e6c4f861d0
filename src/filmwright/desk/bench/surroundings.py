"""What lies around a plan text that is being written: lab file and drawing, of a folder or as frozen in a lot."""

from __future__ import annotations

import functools
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from filmwright.desk.accepted import Accepted, accepted_into, with_accepted
from filmwright.desk.files import LAB_NAME, Work, check_accepted, drawing_of
from filmwright.desk.lots import raw_drawing
from filmwright.errors import BadInput, Problem, Problems
from filmwright.flow import Masks, flow_from_text, lab_from_text, masks_from_text
from filmwright.knowledge import Lab, book
from filmwright.masks import Drawing, read_drawing
from filmwright.record import digest

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench

_DRAWINGS = (".oas", ".gds", ".gdsii")


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """Lab file and drawing around a plan text; small enough to be handed to another process.

    Attributes
    ----------
    file : str
        How the plan is called in messages.
    lab_text, lab_name : str
        The lab file and how it is called; empty text: no lab file.
    folder : str
        Where the plan lies, with its drawing beside it; empty for a lot.
    drawing : bytes
        Of a lot, as frozen; empty where there is none.
    drawing_name : str
        Its file name.
    accepted : tuple of Accepted
        Calibrations of the record that join the lab file.
    """

    file: str
    lab_text: str = ""
    lab_name: str = LAB_NAME
    folder: str = ""
    drawing: bytes = b""
    drawing_name: str = ""
    accepted: tuple[Accepted, ...] = ()

    @staticmethod
    def of_plan(
        place: Path, name: str, accepted: tuple[Accepted, ...] = (), lab: Path | None = None
    ) -> Surroundings:
        """Around a plan file of the served folder; the lab file is the one beside it unless another is named."""
        beside = lab or place.parent / LAB_NAME
        try:
            text = beside.read_bytes().decode("utf-8-sig") if beside.is_file() else ""
        except (OSError, UnicodeDecodeError):
            text = ""
        return Surroundings(
            file=name, lab_text=text, lab_name=beside.name, folder=str(place.parent), accepted=accepted
        )

    @property
    def key(self) -> str:
        """Digest of all that a review of the same text may depend on."""
        folder = Path(self.folder) if self.folder else None
        stamps = [
            (each.name, each.stat().st_mtime_ns, each.stat().st_size)
            for each in (sorted(folder.iterdir()) if folder is not None and folder.is_dir() else ())
            if each.suffix.lower() in _DRAWINGS
        ]
        return digest(
            repr((self.file, digest(self.lab_text), self.folder, digest(self.drawing), stamps, self.accepted))
        )

    def lab(self) -> Lab:
        """The lab, joined by what was accepted into the record.

        Raises
        ------
        BadInput
        """
        read = _lab(self.lab_text, self.lab_name) if self.lab_text.strip() else Lab(name="no lab file")
        return with_accepted(read, self.accepted)

    def lab_or_none(self) -> Lab | None:
        """The lab; None where its file cannot be read."""
        try:
            return self.lab()
        except BadInput:
            return None

    def drawings(self) -> tuple[str, ...]:
        """Names of the drawings that a plan here may name."""
        if not self.folder:
            return (self.drawing_name,) if self.drawing_name else ()
        folder = Path(self.folder)
        if not folder.is_dir():
            return ()
        return tuple(sorted(each.name for each in folder.iterdir() if each.suffix.lower() in _DRAWINGS))

    def devices(self, text: str) -> tuple[str, ...]:
        """Names of the devices on the drawing that a text names; none where it cannot be read."""
        try:
            drawing = self.drawn(masks_from_text(text, self.file), Problems())
        except BadInput:
            return ()
        labels = drawing.labels if drawing is not None else ()
        return tuple(sorted({label.text.partition(":")[0] for label in labels}))

    def drawn(self, masks: Masks, problems: Problems) -> Drawing | None:
        """The drawing; what is wrong with it goes to ``problems``."""
        if not masks.drawing or not masks.levels:
            return None
        if not self.folder:
            return _frozen_drawing(self.drawing, self.drawing_name) if self.drawing else None
        place = Path(self.folder) / masks.drawing
        if Path(masks.drawing).name != masks.drawing or not place.resolve().is_relative_to(
            Path(self.folder).resolve()
        ):
            problems.add(
                Problem(
                    what="the drawing of the masks",
                    expected="a file beside the plan",
                    got=f'"{masks.drawing}"',
                    why="only files of this folder are read",
                    remedy="put the drawing beside the plan and name it alone",
                    file=self.file,
                    line=next((level.line for level in masks.levels.values()), None),
                )
            )
            return None
        stamp = (place.stat().st_mtime_ns, place.stat().st_size) if place.is_file() else (0, 0)
        drawing, found = _beside(str(place), self.file, stamp, _Levels(masks))
        problems.found.extend(found)
        return drawing

    def work(self, text: str) -> tuple[Work | None, tuple[Problem, ...]]:
        """A plan text with all that lies around it, or every problem of text, lab file and drawing."""
        problems = Problems()
        lab = Lab(name="no lab file")
        try:
            lab = self.lab()
        except BadInput as bad:
            problems.found.extend(bad.problems)
        flow = None
        try:
            flow = flow_from_text(text, self.file, lab)
            check_accepted(flow, problems)
        except BadInput as bad:
            problems.found.extend(bad.problems)
        masks = (
            Masks(drawing=flow.drawing, grid=flow.grid, levels=flow.masks)
            if flow is not None
            else masks_from_text(text, self.file)
        )
        drawing = self.drawn(masks, problems)
        if flow is None or problems.found:
            return None, tuple(
                sorted(problems.found, key=lambda each: (each.file != self.file, each.line or 0))
            )
        return Work(flow=flow, lab=lab, lab_text=self.lab_text, drawing=drawing, facts=book()), ()


@functools.lru_cache(maxsize=8)
def _lab(text: str, name: str) -> Lab:
    return lab_from_text(text, name)


@functools.lru_cache(maxsize=4)
def _frozen_drawing(raw: bytes, name: str) -> Drawing:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / (Path(name).name or "drawing.oas")
        path.write_bytes(raw)
        return read_drawing(path)


class _Levels:
    """The levels of a plan as far as the reading of its drawing depends on them, so that it is read once."""

    def __init__(self, masks: Masks) -> None:
        self.masks = masks
        self._key = repr((masks.drawing, masks.grid, sorted(masks.levels.items(), key=lambda one: one[0])))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Levels) and self._key == other._key

    def __hash__(self) -> int:
        return hash(self._key)


@functools.lru_cache(maxsize=16)
def _beside(
    place: str, file: str, stamp: tuple[int, int], levels: _Levels
) -> tuple[Drawing | None, tuple[Problem, ...]]:
    """A drawing beside a plan, as it was at a stamp of time and size."""
    problems = Problems()
    drawing = drawing_of(Path(file), levels.masks, problems, lies=Path(place))
    return drawing, tuple(problems.found)


def accepted_of(bench: Bench) -> tuple[Accepted, ...]:
    """What was accepted into the record of a bench; nothing where there is no record yet."""
    store = getattr(bench, "store", None)
    return accepted_into(store) if store is not None else ()


def of_lot(bench: Bench, lot: str) -> Surroundings:
    """Around the flow of a lot: lab file and drawing as they were frozen when it was started."""
    held = bench.lot(lot)
    drawing = raw_drawing(bench.store, lot)
    return Surroundings(
        file=f"flow of lot {lot}",
        lab_text=held.lab_text,
        lab_name="lab.yaml (as frozen)",
        drawing=drawing[1] if drawing else b"",
        drawing_name=drawing[0] if drawing else "",
        accepted=accepted_into(bench.store, before=held.name),
    )
