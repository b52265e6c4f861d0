"""What is printed for a lot, from an open bench: labels as PDF."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from filmwright.desk.lot_labels import kinds_asked, labels_of
from filmwright.errors import BadInput
from filmwright.outputs import labels_pdf

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.bench.surroundings import Surroundings
    from filmwright.record import Lot


def labels_file(bench: Bench, lot: str, kinds: Sequence[str] = ()) -> bytes:
    """Labels of a lot as PDF, made by the process beside the server, so that nobody's tap waits for the walk.

    Parameters
    ----------
    bench : Bench
    lot : str
    kinds : sequence of str
        ``box``, ``carrier``, ``beaker``; none for all. Those of beakers carry the cautions of the lot's own baths, which
        takes a walk through the flow: seconds, not milliseconds.
    """
    from filmwright.desk.bench.live_review import live_review
    from filmwright.desk.bench.surroundings import of_lot

    asked = bench.lot(lot), bench.flow_text(lot), of_lot(bench, lot), tuple(kinds)
    made: bytes = live_review(bench).waited(labels_made, *asked)
    return made


def labels_made(lot: Lot, text: str, around: Surroundings, kinds: tuple[str, ...]) -> bytes:
    """Labels of a lot as PDF, made here.

    Parameters
    ----------
    lot : Lot
    text : str
        The newest version of its flow.
    around : Surroundings
    kinds : tuple of str

    Raises
    ------
    BadInput
        When the flow, the lab file or the drawing cannot be read, or a kind is not known.
    """
    asked = kinds_asked(kinds)
    work, problems = around.work(text)
    if work is None:
        raise BadInput(*problems)
    return labels_pdf(labels_of(lot, work, asked))
