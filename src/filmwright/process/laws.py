"""Named laws for the derivation of settings: each with its equation, where it was read and where it stops."""

from __future__ import annotations

from filmwright.process.derivation import Law
from filmwright.sources import Kind, Source

_BY_DEFINITION: Kind = "common practice"

USUAL_VALUE = Law(
    name="usual value",
    equation="",
    source=Source(citation="what is on file for this resist, bath or tool", kind=_BY_DEFINITION),
    valid="a set point by custom: the range is what other people use, no uncertainty",
)

STEADY_RATE = Law(
    name="film at a steady rate",
    equation="t = d / R",
    source=Source(citation="definition of a rate", kind=_BY_DEFINITION),
    valid="tool, material and recipe of the rate; a rate that does not change while the film grows",
)

BELIEVED_RATE = Law(
    name="rate that is believed today",
    equation="",
    source=Source(
        citation="inverse-variance mean of the readings that agree, each aged by its drift",
        kind=_BY_DEFINITION,
    ),
    valid="until the tool is opened",
)

LINEAR_GROWTH = Law(
    name="linear growth by cycles",
    equation="N = d / g + N_0",
    source=Source(
        citation="S. M. George, Atomic layer deposition: an overview, Chem. Rev. 110, 111-131 (2010), doi 10.1021/cr900056b",
        kind="from memory",
    ),
    valid="saturated pulses within the temperature window; rounded up to whole cycles",
)

TOOLING = Law(
    name="tooling factor of a quartz monitor",
    equation="d_m = d / F",
    source=Source(citation="definition of the tooling factor", kind=_BY_DEFINITION),
    valid="monitor set to 100 %; one source, one place of the crystal; 40 to 200 % were met",
)

_HOLLAND = Source(
    citation="L. Holland, W. Steckelmacher, Vacuum 2, 346 (1952), doi 10.1016/0042-207X(52)93784-4",
    kind="from memory",
)

CHARGE = Law(
    name="mass that leaves the source",
    equation="m = ρ·d / c",
    source=_HOLLAND,
    valid="cosine source, free flight; without what the shutter stops",
)

SHARE_ON_AXIS = Law(
    name="small flat source facing the wafer",
    equation="c = h²·s / (π·(s² - (2·l·a)²)^(3/2)), s = h² + l² + a²",
    source=_HOLLAND,
    valid="free flight; source small beside the throw",
)

SHARE_BY_GEOMETRY = Law(
    name="source and wafer as they stand and move",
    equation="c = mean of (n + 1)/(2π)·(cos θ)^n·cos α / D² over ring, spin and orbit",
    source=Source(
        citation="geometry; L. Holland, W. Steckelmacher, Vacuum 2, 346 (1952); K. L. Chopra, Thin Film Phenomena, ch. 2",
        kind="from memory",
    ),
    valid="free flight; every atom stays; many rounds during the film",
)

FILM_AT_PLACE = Law(
    name="film at a place of the wafer from the geometry",
    equation="d_l = d·c_l / c_mean",
    source=SHARE_BY_GEOMETRY.source,
    valid="c as of source and wafer as they stand and move, its mean by area; free flight: gas makes a sputtered film more even",
)

UNEVEN_BY_GEOMETRY = Law(
    name="film over the wafer from the geometry",
    equation="u = (c_max - c_min) / (2·c_mean)",
    source=SHARE_BY_GEOMETRY.source,
    valid="(max - min)/(2 × mean) of one wafer; free flight: gas makes a sputtered film more even",
)

SOURCE_TEMPERATURE = Law(
    name="free evaporation at the vapour pressure (Hertz, Knudsen, Langmuir)",
    equation="R = Γ·π·a²·c / ρ, Γ = p(T)·√(M / (2π·R_gas·T)), log10(p/atm) = A + B/T + C·log10 T + D·T/1000",
    source=Source(
        citation="C. B. Alcock, V. P. Itkin, M. K. Horrigan, Can. Metall. Q. 23, 309-313 (1984), doi 10.1179/cmq.1984.23.3.309",
        kind="published, read in a transcription",
    ),
    valid="an evenly hot, clean source; a beam heats a smaller and hotter spot, so this is a lower bound of the spot",
    implicit=True,
)

QUARTZ_LOAD = Law(
    name="quartz crystal under all films of the lot (acoustic impedances)",
    equation="Δf = f(films before) - f(films before and this one)",
    source=Source(
        citation="C.-S. Lu, O. Lewis, J. Appl. Phys. 43, 4385 (1972), doi 10.1063/1.1660931; several films: E. Benes, "
        "J. Appl. Phys. 56, 608 (1984), doi 10.1063/1.333990",
        kind="from memory",
    ),
    valid="a fresh crystal at the start of the lot; films without loss; up to 40 % of its frequency",
)

CRYSTAL_LIFE = Law(
    name="life of the crystal",
    equation="L = L_0 + Δf_lot / (f_q·s)",
    source=Source(citation="limit by which crystals are changed", kind=_BY_DEFINITION),
    valid="the whole lot on one crystal; stressed films end it sooner",
)

FREE_FLIGHT = Law(
    name="atoms that meet gas on their way",
    equation="s = 1 - exp(-h·√2·π·D²·p / (k·T))",
    source=Source(
        citation="kinetic theory of gases; M. Ohring, Materials Science of Thin Films, ch. 2",
        kind="from memory",
    ),
    valid="gas at room temperature, hard spheres",
)

RESIDUAL_WATER = Law(
    name="residual water for each film atom (Hertz, Knudsen)",
    equation="n = p / √(2π·m_w·k·T) · M / (R·ρ·N_A)",
    source=Source(
        citation="M. Ohring, Materials Science of Thin Films, ch. 2; counting of arrivals", kind="from memory"
    ),
    valid="every molecule sticks, so an upper bound; the residual gas is taken for water",
)

_WESTWOOD = Source(
    citation="W. D. Westwood, J. Vac. Sci. Technol. 15, 1 (1978), doi 10.1116/1.569429", kind="from memory"
)

POWER_DENSITY = Law(
    name="power on the target",
    equation="w = P / (π·a²)",
    source=Source(citation="definition", kind=_BY_DEFINITION),
    valid="mean over the target; the racetrack gets a few times as much",
)

SPUTTER_YIELD = Law(
    name="sputter yield (Yamamura and Tawara 1996)",
    equation="Y = k·0.042·Q·α/U · S_n(E) / (1 + Γ·k_e·ε^0.3) · (1 - √(E_th/E))^s",
    source=Source(
        citation="Y. Yamamura, H. Tawara, At. Data Nucl. Data Tables 62, 149 (1996), doi 10.1006/adnd.1996.0005",
        kind="published, read in a transcription",
    ),
    valid="argon at normal incidence on an element; E the discharge voltage times the charge of an ion",
)

SPUTTER_RATE = Law(
    name="film from a magnetron by counting of ions and atoms",
    equation="R = Y·u·P / (V·(1 + γ)·e) · M / (ρ·N_A) · c·F",
    source=Source(
        citation="counting of arrivals; gas by J. H. Keller, R. G. Simmons, IBM J. Res. Dev. 23, 24 (1979), doi 10.1147/rd.231.0024",
        kind="from memory",
    ),
    valid="clean metal target, argon; good to a factor of two to three, so it aims a first run and replaces none",
)

THERMALISED = Law(
    name="sputtered atoms slowed down by the gas (Poisson)",
    equation="f = P(n, h/λ), n = ln(E_0 / (1.5·k·T)) / -ln(1 - 2·m·M/(m + M)²), λ = k·T / (p·π·D²)",
    source=_WESTWOOD,
    valid="hard spheres; fast atoms are smaller than that, so an upper bound",
)

REACTIVE_LIMITS = Law(
    name="two states of a reactive process (Berg)",
    equation="dq/dp = 0 of q = α·F·((1 - θ_t)·A_t + (1 - θ_c)·A_c) + p·S / (k·T)",
    source=Source(
        citation="S. Berg, T. Nyberg, Thin Solid Films 476, 215 (2005), doi 10.1016/j.tsf.2004.10.051",
        kind="from memory",
    ),
    valid="steady state, one gas, metal target; good to a factor of three, so it says where to look",
)

SHUTTER = Law(
    name="error of the shutter",
    equation="e = τ / t",
    source=Source(citation="definition", kind=_BY_DEFINITION),
    valid="one opening and one closing",
)

CYCLE_TIME = Law(
    name="time of all cycles",
    equation="t = N·τ",
    source=Source(citation="definition", kind=_BY_DEFINITION),
    valid="without pump-down and heating of the tool",
)

SATURATION = Law(
    name="exposure that saturates a hole (Gordon and others 2003)",
    equation="x = S·√(2π·m·k·T)·(1 + 19/4·a + 3/2·a²)",
    source=Source(
        citation="R. G. Gordon, D. Hausmann, E. Kim, J. Shepard, Chem. Vap. Deposition 9, 73 (2003), doi 10.1002/cvde.200390005",
        kind="from memory",
    ),
    valid="round holes, every molecule that strikes a free site stays: a lower bound",
)

GAS_USED = Law(
    name="gas taken from the bottle",
    equation="V = Q·t",
    source=Source(citation="definition of the standard flow", kind=_BY_DEFINITION),
    valid="volume at 0 °C and one atmosphere; without flushing before and after",
)

_PLUMMER = "J. D. Plummer, M. D. Deal, P. B. Griffin, Silicon VLSI Technology (2000), Table 6-2"

WET_OXIDE = Law(
    name="linear-parabolic oxidation (Deal and Grove 1965)",
    equation="t = (x² + A·x - x_0² - A·x_0) / B, A = B / B_A",
    source=Source(
        citation=f"B. E. Deal, A. S. Grove, J. Appl. Phys. 36, 3770 (1965), doi 10.1063/1.1713945; constants: {_PLUMMER}",
        kind="from memory",
    ),
    valid="steam, 700 to 1200 °C, up to 20 atmospheres, lightly doped silicon",
)

DRY_OXIDE = Law(
    name="dry oxidation with its fast first part (Massoud and others 1985)",
    equation="t = integral of dx / (B / (2·x + B / B_A) + C·exp(-x / L)) from x_0 to d",
    source=Source(
        citation="H. Z. Massoud, J. D. Plummer, E. A. Irene, J. Electrochem. Soc. 132, 2685 (1985), doi 10.1149/1.2113648; "
        f"constants: {_PLUMMER}",
        kind="from memory",
    ),
    valid="dry oxygen, 800 to 1200 °C, lightly doped silicon; up to 20 atmospheres but for C, which was measured at one and below",
)

SILICON_CONSUMED = Law(
    name="silicon that turns into oxide",
    equation="x_Si = d·(M_Si / ρ_Si) / (M_ox / ρ_ox)",
    source=Source(citation="conservation of silicon", kind=_BY_DEFINITION),
    valid="one silicon atom in each formula unit",
)

OXIDE_BENEATH = Law(
    name="oxide beneath an oxide that is there",
    equation="x = thickness whose time from x_0 is t, by the law of the time above",
    source=Source(
        citation="B. E. Deal, A. S. Grove, J. Appl. Phys. 36, 3770 (1965), doi 10.1063/1.1713945",
        kind="from memory",
    ),
    valid="wide places; at the rim of the oxide that is there the growth passes from one thickness to the other over about that thickness",
)

OXIDE_STEP = Law(
    name="steps that an oxidation leaves between two places",
    equation="s = c·(g_a - g_b)",
    source=Source(citation="conservation of silicon", kind=_BY_DEFINITION),
    valid="flat places; c is the share of the oxide that was silicon, seen in the silicon after the oxide is stripped",
)

OXIDE_OF_RAMP = Law(
    name="oxide of a ramp",
    equation="Δx = integral of v(x) / r over the temperatures from T_0 to T_1, beginning with x_0",
    source=Source(
        citation="v: rate of growth by the law of the time above, along the ramp", kind=_BY_DEFINITION
    ),
    valid="if the oxidant flows while it heats up; none in nitrogen",
)

_REGRESSION = Source(
    citation="weighted least squares; J. R. Taylor, An Introduction to Error Analysis (1997), ch. 8",
    kind="from memory",
)

RUN_RESPONSE = Law(
    name="response fitted to the lab's own runs",
    equation="",
    source=_REGRESSION,
    valid="the tool, the film and the settings of the runs; nothing is said of what lies outside them",
)
"""Its equation is written out for the knobs that were turned."""

PURGE = Law(
    name="purge of a mixed chamber at a steady pressure",
    equation="t = V·p / (Q·p_n)·ln(f)",
    source=Source(citation="perfectly mixed vessel", kind=_BY_DEFINITION),
    valid="without dead corners; three times as long is common practice for silane",
)

PUMPED_PURGE = Law(
    name="purge of a pumped chamber",
    equation="t = V / S·ln(f)",
    source=Source(citation="perfectly mixed vessel, dp/dt = -S·p / V", kind=_BY_DEFINITION),
    valid="viscous flow, nothing that comes off the walls: what sticks there sets the purge when it is cold",
)

SHORT_PULSE = Law(
    name="growth of a pulse that does not saturate (Langmuir)",
    equation="g = g_s·(1 - exp(-x / x_0))",
    source=Source(
        citation="R. L. Puurunen, J. Appl. Phys. 97, 121301 (2005), doi 10.1063/1.1940727", kind="from memory"
    ),
    valid="adsorption without desorption on a flat wafer, every molecule stays: the growth of a slower reaction is less",
)

PULSE_TIME = Law(
    name="pulse that gives an exposure",
    equation="t = x / p",
    source=Source(citation="definition of the exposure", kind=_BY_DEFINITION),
    valid="precursor at a steady partial pressure over the whole wafer; a lower bound",
)

DIFFUSION = Law(
    name="diffusion over all heats",
    equation="L = √(Σ D_0·exp(-E/(k·T))·t)",
    source=Source(citation="J. Crank, The Mathematics of Diffusion (1975), ch. 7", kind="from memory"),
    valid="through the grains; along grain boundaries and pinholes it goes much faster, so a small length is no proof",
)

MISMATCH_CHANGE = Law(
    name="change of stress on the way up, by thermal mismatch",
    equation="Δσ = E / (1 - ν)·(α_f - α_s)·(T_0 - T)",
    source=Source(
        citation="elasticity of a thin film on a thick wafer; M. Ohring, ch. 12", kind="from memory"
    ),
    valid="elastic: a film that yields or creeps up there comes back with another stress; it goes back on cooling otherwise",
)
