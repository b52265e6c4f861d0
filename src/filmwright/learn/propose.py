"""What to change in the next run, most telling first."""

from __future__ import annotations

import math
from collections.abc import Iterable

from filmwright.learn.evidence import Judgement, Proposal, ThicknessEvidence, WidthEvidence
from filmwright.learn.rates import propose_rates
from filmwright.learn.widths import propose_biases


def propose(
    thicknesses: Iterable[ThicknessEvidence] = (),
    widths: Iterable[WidthEvidence] = (),
    *,
    judgement: Judgement | None = None,
    days_to_next: float = 0.0,
) -> tuple[Proposal, ...]:
    """Proposals for rates, settings and print biases; nothing is changed until a person accepts.

    Parameters
    ----------
    thicknesses : iterable of ThicknessEvidence
    widths : iterable of WidthEvidence
    judgement : Judgement or None
        What is taken where the tool has no history.
    days_to_next : float [days]
        Idle time until the next run; the band of its settings grows with it.

    Returns
    -------
    tuple of Proposal
        Worthwhile changes first, by the size of the change over its spread; a setting follows its rate.
    """
    found = [*propose_rates(thicknesses, judgement or Judgement(), days_to_next), *propose_biases(widths)]
    return tuple(
        sorted(
            found,
            key=lambda each: (not each.change_worthwhile, each.quantity in ("time", "cycles"), -_size(each)),
        )
    )


def _size(each: Proposal) -> float:
    apart = abs(each.new - each.old)
    return apart / each.new_std if each.new_std > 0 else math.inf if apart else 0.0
