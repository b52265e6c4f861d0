"""What a finished lot came to, kept beside its entries so that they need not be read again."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from filmwright import __version__
from filmwright.desk.logbooks import Use
from filmwright.record import Ending

if TYPE_CHECKING:
    from filmwright.desk.bench.progress import Progress

RULES = f"{__version__}, form 1"
"""By which endings are worked out; another version of the program works them out anew."""


@dataclass(frozen=True, kw_only=True)
class Ended:
    """A lot in which no wafer that is here has a step left.

    Attributes
    ----------
    lot : str
    head : int
        Position of its last entry.
    title : str
        Of its flow.
    present : int
        Wafers and pieces that are here and not scrapped.
    uses : tuple of Use
        Of tools, their runs not yet told.
    """

    lot: str
    head: int
    title: str
    present: int
    uses: tuple[Use, ...]

    def ending(self) -> Ending:
        """As it is kept."""
        uses = [[use.tool, use.day, use.step, use.wafers, use.medium, use.material] for use in self.uses]
        told = {"title": self.title, "present": self.present, "uses": uses}
        return Ending(lot=self.lot, head=self.head, rules=RULES, told=json.dumps(told, ensure_ascii=False))


def ended(progress: Progress, head: int, title: str, uses: tuple[Use, ...]) -> Ended:
    """What a lot came to."""
    return Ended(lot=progress.lot, head=head, title=title, present=len(progress.present), uses=uses)


def ended_of(ending: Ending) -> Ended:
    """What was kept."""
    told = json.loads(ending.told)
    uses = tuple(
        Use(tool=tool, day=day, lot=ending.lot, step=step, wafers=wafers, medium=medium, material=material)
        for tool, day, step, wafers, medium, material in told["uses"]
    )
    return Ended(lot=ending.lot, head=ending.head, title=told["title"], present=told["present"], uses=uses)
