"""What a run gave, as plain numbers, and what is proposed from it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from filmwright.knowledge import Calibration

RateQuantity = Literal["deposition rate", "etch rate", "growth per cycle"]
ProposedQuantity = Literal["deposition rate", "etch rate", "growth per cycle", "time", "cycles", "print bias"]


@dataclass(frozen=True, kw_only=True)
class Judgement:
    """What is taken where the lab has no history of its own; judgement, not a standard.

    Attributes
    ----------
    drift_per_sqrt_day : float
        Relative standard deviation that one idle day adds to a rate.
    run_to_run : float
        Relative standard deviation of a rate from one run to the next on the same day.
    surprise : float
        Number of standard deviations beyond which a reading is to be checked before it is believed.
    """

    drift_per_sqrt_day: float = 0.01
    run_to_run: float = 0.02
    surprise: float = 3.0


@dataclass(frozen=True, kw_only=True)
class ThicknessEvidence:
    """One thickness that was measured after one setting on one tool.

    Attributes
    ----------
    tool, recipe, material, medium : str
    of : RateQuantity
    belief_value, belief_std : float [SI]
        The rate by which the setting was chosen; an infinite ``belief_std`` says that nothing was known.
    belief_age_days : float [days]
        Age of that belief when the run was made.
    setting_value : float [s] or number of cycles
        What was really set.
    measured, measured_std : float [m]
        Thickness grown, or removed in the case of an etch.
    target : float [m]
        Thickness wanted next time.
    tolerance : float or None [m]
        Half width that its maker accepts.
    tried_low, tried_high : float or None
        Smallest and largest setting that the lab has tried.
    run : str
        Wafers with the same run, date and setting went through the tool together.
    date : str
        ISO date of the run.
    wafer : str
    cleared : bool
        The film was gone before the time was up: the rate is then only known to be at least this.
    drift_per_sqrt_day : float or None [SI per √day]
        From the history of the tool; None: by judgement.
    invented : bool
    """

    tool: str
    of: RateQuantity
    belief_value: float
    belief_std: float
    belief_age_days: float
    setting_value: float
    measured: float
    measured_std: float
    target: float
    recipe: str = ""
    material: str = ""
    medium: str = ""
    tolerance: float | None = None
    tried_low: float | None = None
    tried_high: float | None = None
    run: str = ""
    date: str = ""
    wafer: str = ""
    cleared: bool = False
    drift_per_sqrt_day: float | None = None
    invented: bool = False

    def __post_init__(self) -> None:
        for what in ("belief_value", "belief_std", "setting_value", "measured", "target"):
            _positive(what, getattr(self, what), infinite=what == "belief_std")
        if not 0 <= self.measured_std < math.inf or not 0 <= self.belief_age_days < math.inf:
            raise ValueError(
                f"spread and age must be at least 0, got {self.measured_std}, {self.belief_age_days}"
            )

    @property
    def rate(self) -> float:
        """Thickness over setting [m/s or m per cycle]."""
        return self.measured / self.setting_value

    @property
    def rate_std(self) -> float:
        """Standard deviation of the rate from the measurement of the thickness alone."""
        return self.measured_std / self.setting_value


@dataclass(frozen=True, kw_only=True)
class WidthEvidence:
    """One line width that was measured in resist.

    Attributes
    ----------
    level : str
        The mask level.
    drawn, measured, measured_std : float [m]
        Width of what remains of the resist, as drawn and as measured.
    bias_now, bias_now_std : float [m]
        The print bias that the plan used: each edge of the resist moves outward by it. An infinite
        ``bias_now_std`` says
        that it was never measured.
    tool, material, recipe : str
        Aligner, resist and exposure recipe.
    wafer : str
    tried_low, tried_high : float or None [m]
        Smallest and largest bias seen so far.
    tolerance : float or None [m]
        Half width that the maker accepts for the line.
    invented : bool
    """

    level: str
    drawn: float
    measured: float
    measured_std: float
    bias_now: float = 0.0
    bias_now_std: float = math.inf
    tool: str = ""
    material: str = ""
    recipe: str = ""
    wafer: str = ""
    tried_low: float | None = None
    tried_high: float | None = None
    tolerance: float | None = None
    invented: bool = False

    def __post_init__(self) -> None:
        for what in ("drawn", "measured", "measured_std"):
            _positive(what, getattr(self, what))
        _positive("bias_now_std", self.bias_now_std, infinite=True)
        if not math.isfinite(self.bias_now):
            raise ValueError(f"bias_now must be finite, got {self.bias_now}")

    @property
    def bias(self) -> float:
        """Outward shift of each edge [m]: half the difference of the widths."""
        return (self.measured - self.drawn) / 2

    @property
    def bias_std(self) -> float:
        """Standard deviation of the bias from the measurement alone [m]."""
        return self.measured_std / 2


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """A change for the next run; a person accepts it or not.

    Attributes
    ----------
    what : str
        In words, e.g. ``deposition rate of titanium in evaporator``.
    tool, material, medium, recipe : str
    quantity : ProposedQuantity
        Rates and the print bias become calibrations when accepted; ``time`` and ``cycles`` are what to
        dial in.
    old, old_std : float [SI]
        What was believed, its spread grown by its age.
    new, new_std : float [SI]
        What the evidence gives.
    unit : str
        Unit in which people write it.
    low, high : float [SI]
        95 % interval of ``new``; of a setting: the settings that the interval of the rate in the next run
        asks for.
    change_worthwhile : bool
        False inside the dead band: the difference is noise.
    why : str
    warnings, evidence : tuple of str
    date : str
        ISO date of the newest evidence; may be empty.
    invented : bool
    """

    what: str
    tool: str
    quantity: ProposedQuantity
    old: float
    old_std: float
    new: float
    new_std: float
    unit: str
    low: float
    high: float
    change_worthwhile: bool
    why: str
    material: str = ""
    medium: str = ""
    recipe: str = ""
    warnings: tuple[str, ...] = ()
    evidence: tuple[str, ...] = ()
    date: str = ""
    invented: bool = False

    @property
    def dial(self) -> float:
        """What to use next time [SI]: the new value outside the dead band, the old one inside."""
        return self.new if self.change_worthwhile else self.old


def as_calibration(proposal: Proposal, *, by: str, date: str) -> Calibration:
    """A proposal that a person accepted, in the shape of the lab's own calibrations.

    Parameters
    ----------
    proposal : Proposal
        Of a rate or a print bias.
    by : str
        Who accepted it.
    date : str
        ISO date for the calibration where the evidence has none.

    Raises
    ------
    ValueError
        For a time or a number of cycles, which follow from a rate and are no calibration.
    """
    from filmwright.knowledge import Calibration

    if proposal.quantity == "time" or proposal.quantity == "cycles":
        raise ValueError(
            f"a setting is not a calibration, accept the rate behind it instead of {proposal.what}"
        )
    return Calibration(
        of=proposal.quantity,
        tool=proposal.tool,
        material=proposal.material,
        medium=proposal.medium,
        recipe=proposal.recipe,
        value=proposal.new,
        std=proposal.new_std,
        unit=proposal.unit,
        date=proposal.date or date,
        by=by,
        evidence="; ".join(proposal.evidence),
        kind="invented" if proposal.invented else "fitted",
    )


def _positive(what: str, value: float, *, infinite: bool = False) -> None:
    if not value > 0 or (math.isinf(value) and not infinite):
        raise ValueError(f"{what} must be above 0, got {value}")
