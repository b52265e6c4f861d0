"""One rule, one file. A rule that stands here is checked, listed in the docs, and has a flow that passes and one that fails."""

from importlib import import_module

from filmwright.review.case import Rule

_FILES = (
    "never_together",
    "interlock_named",
    "organic_in_heat",
    "forgotten_strip",
    "chamber_refuses",
    "expected_devices",
    "terminals_joined",
    "fence_joins",
    "terminals_shorted",
    "terminals_open",
    "pads_unreachable",
    "kept_films",
    "developer_attacks_film",
    "bath_attacks_film",
    "attacked_without_rate",
    "no_stop_layer",
    "fluoride_on_titanium",
    "not_cleared",
    "typed_time",
    "unknown_pair",
    "temperature_limits",
    "noble_metal_adhesion",
    "lift_off_profile",
    "torn_lift_off",
    "priming_before_wet_etch",
    "hardened_resist",
    "bath_leaves_resist",
    "hydrogen_plasma",
    "ash_on_channel",
    "resist_budget",
    "opaque_over_marks",
    "thin_climbs",
    "metal_climbs_step",
    "gate_field",
    "undercut_against_length",
    "sputter_pressure",
    "rate_is_stale",
    "waited_too_long",
    "long_rinse",
    "fringe_current",
    "few_channel_lengths",
    "dark_wait",
    "organic_at_the_end",
    "model_warnings",
)

RULES: tuple[Rule, ...] = tuple(import_module(f"{__name__}.{file}").RULE for file in _FILES)

__all__ = ["RULES"]
