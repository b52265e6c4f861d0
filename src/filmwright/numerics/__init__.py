"""Mathematics that is useful to someone who never saw a clean room."""

from filmwright.numerics.arrival import Timed, crossings_of, taken
from filmwright.numerics.blocks import BlockTridiagonal
from filmwright.numerics.columns import Columns, columns, crossings, descent, excavated, floor_of
from filmwright.numerics.contour import contour, profile_interval
from filmwright.numerics.coverage import OPEN, POCKET, SIDE, Coverage, Edges
from filmwright.numerics.curve_weights import LocalPolynomials, local_polynomials
from filmwright.numerics.curves import (
    CurveNoise,
    integral_ratio_lines,
    largest_transitions,
    level_crossings,
    levels_of_curves,
    logarithm_lines,
    noise_of_curves,
    peaks_of_derivative,
    root_ratio_lines,
    steepest_logarithms,
    steepest_tangents,
)
from filmwright.numerics.dispersion import absorption_band, absorption_edge, bruggeman, cauchy, sellmeier
from filmwright.numerics.fit_errors import FitErrors, ProfileEnds, fit_errors, profile_ends
from filmwright.numerics.fitting import Fitted, fit_many
from filmwright.numerics.flux import deposited
from filmwright.numerics.image_sums import (
    disc_potential,
    half_plane_potential,
    plane_potential,
    rectangle_potential,
    slab_potential,
    strip_potential,
)
from filmwright.numerics.layers import Polarisation, Wave, admittance, forward_index, pile, with_back_side
from filmwright.numerics.layers_many import reflectances_of_many
from filmwright.numerics.least_squares import Solved, least_squares_many
from filmwright.numerics.paths import Path, distances_to, gathered_places
from filmwright.numerics.profile import Profile, lifted, tent_smoothed, under
from filmwright.numerics.region import Polyline, Region
from filmwright.numerics.region_borders import (
    Border,
    along_sides,
    borders,
    facing,
    gap_between,
    holders,
    holding,
    length_of,
)
from filmwright.numerics.region_crossed import crossed, held
from filmwright.numerics.region_gaps import least_gap
from filmwright.numerics.region_repeats import Repeat, Repeats, boxes_holding, boxes_meeting, linked, repeats
from filmwright.numerics.roots import root_between
from filmwright.numerics.sky import Sky, beam_sky, cone_sky, cosine_sky
from filmwright.numerics.straight_line import StraightLine, line_cost, scatter_beyond, straight_line
from filmwright.numerics.sweep import (
    Kernel,
    chains,
    closest,
    nearest,
    swept,
    swept_edges,
    swept_into,
    time_to_border,
)
from filmwright.numerics.timetable import Lag, Latest, Task, Timetable, earliest, latest

__all__ = [
    "BlockTridiagonal",
    "Border",
    "Columns",
    "Coverage",
    "CurveNoise",
    "Edges",
    "FitErrors",
    "Fitted",
    "Kernel",
    "Lag",
    "Latest",
    "LocalPolynomials",
    "OPEN",
    "POCKET",
    "Path",
    "Polarisation",
    "Polyline",
    "Profile",
    "ProfileEnds",
    "Region",
    "Repeat",
    "Repeats",
    "SIDE",
    "Sky",
    "Solved",
    "StraightLine",
    "Task",
    "Timed",
    "Timetable",
    "Wave",
    "absorption_band",
    "absorption_edge",
    "admittance",
    "along_sides",
    "beam_sky",
    "borders",
    "boxes_holding",
    "boxes_meeting",
    "bruggeman",
    "cauchy",
    "chains",
    "closest",
    "columns",
    "cone_sky",
    "contour",
    "cosine_sky",
    "crossed",
    "crossings",
    "crossings_of",
    "deposited",
    "descent",
    "disc_potential",
    "distances_to",
    "earliest",
    "excavated",
    "facing",
    "fit_errors",
    "fit_many",
    "floor_of",
    "forward_index",
    "gap_between",
    "gathered_places",
    "half_plane_potential",
    "held",
    "holders",
    "holding",
    "integral_ratio_lines",
    "largest_transitions",
    "latest",
    "least_gap",
    "least_squares_many",
    "length_of",
    "level_crossings",
    "levels_of_curves",
    "lifted",
    "line_cost",
    "linked",
    "local_polynomials",
    "logarithm_lines",
    "nearest",
    "noise_of_curves",
    "peaks_of_derivative",
    "pile",
    "plane_potential",
    "profile_ends",
    "profile_interval",
    "rectangle_potential",
    "reflectances_of_many",
    "repeats",
    "root_between",
    "root_ratio_lines",
    "scatter_beyond",
    "sellmeier",
    "slab_potential",
    "solve_block_tridiagonal",
    "steepest_logarithms",
    "steepest_tangents",
    "straight_line",
    "strip_potential",
    "swept",
    "swept_edges",
    "swept_into",
    "taken",
    "tent_smoothed",
    "time_to_border",
    "under",
    "with_back_side",
]
