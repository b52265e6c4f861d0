"""What is printed for a lot, from an open bench: labels as PDF."""

from __future__ import annotations

from collections.abc import Sequence

from filmwright.desk.bench.house import Bench
from filmwright.desk.lot_labels import kinds_asked, labels_of
from filmwright.outputs import labels_pdf


def labels_file(bench: Bench, lot: str, kinds: Sequence[str] = ()) -> bytes:
    """Labels of a lot as PDF.

    Parameters
    ----------
    bench : Bench
    lot : str
    kinds : sequence of str
        ``box``, ``carrier``, ``beaker``; none for all. Those of beakers carry the cautions of the lot's own baths, which
        takes a walk through the flow: seconds, not milliseconds.
    """
    return labels_pdf(labels_of(bench.lot(lot), bench.work(lot), kinds_asked(kinds)))
