"""Both answers of the emulation in this process: for verbs that wait, and for the worker of the pages."""

from __future__ import annotations

import threading

from filmwright.desk.bench.as_run import AsRunWafer
from filmwright.desk.bench.emulation import Asked, Known
from filmwright.desk.bench.house import Bench
from filmwright.desk.bench.lived import wafer_named
from filmwright.desk.bench.pictures import Pictures
from filmwright.desk.bench.planned import PlannedLot
from filmwright.desk.bench.steps_told import StepsTold
from filmwright.desk.bench.wafer_told import WafersTold
from filmwright.desk.bench.walks import Walks
from filmwright.knowledge import book


class Answers:
    """Emulates wafers from the record; what was worked out before is kept. Of several threads one goes at a time."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._lock = threading.Lock()
        self.walks = Walks(bench)
        pictures = Pictures(book())
        self._wafers = WafersTold(pictures)
        self._steps = StepsTold(pictures, self._wafers)

    def planned(self, lot: str, wafer: str = "", whole: bool = True) -> PlannedLot:
        """What to do at each step of a wafer; of its first one when none is named.

        Parameters
        ----------
        lot, wafer : str
        whole : bool
            Else only the steps at hand are told to their end, with their pictures, those behind them, and what was told before.
        """
        wafer, stamp = self._of(lot, wafer)
        with self._lock:
            walks = self.walks
            found = walks.to_the_end(lot, wafer) if whole else walks.at_hand(lot, wafer)
            return self._steps.told(found, wafer, stamp, whole)

    def as_run(self, lot: str, wafer: str = "", whole: bool = True) -> AsRunWafer:
        """A wafer as it is and was; the first one when none is named. Not ``whole``: sections of the past come later."""
        wafer, stamp = self._of(lot, wafer)
        with self._lock:
            return self._wafers.told(self.walks.as_run(lot, wafer, whole), wafer, stamp, whole)

    def known(self, asked: Asked, lot: str, wafer: str) -> Known:
        """As :meth:`Emulation.known`, but waited for."""
        answer = self.planned(lot, wafer) if asked == "planned" else self.as_run(lot, wafer)
        return Known(answer=answer, fresh=True)

    def close(self) -> None:
        """Nothing is held that must be let go."""

    def _of(self, lot: str, wafer: str) -> tuple[str, tuple[int, ...]]:
        return wafer_named(self.bench, lot, wafer), self.bench.stamp(lot)
