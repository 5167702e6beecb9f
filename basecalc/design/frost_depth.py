"""How deep frost goes in the design winter: the modified Berggren equation with its coefficient solved exactly.

The equation is printed in feet, pounds, degrees Fahrenheit and British thermal units and is worked in them; names of
inputs say so, and the depth comes out in meters.
"""

from dataclasses import dataclass
from math import erf, erfc, exp, log10, pi, sqrt
from typing import Any, Final

from basecalc.core.errors import OutOfRangeError
from basecalc.core.numbers import number
from basecalc.core.published import Working, sources, table
from basecalc.core.units import FOOT_M
from basecalc.design.frost import HEAVE, FrostSoil
from basecalc.design.platform import bisect
from basecalc.ground.readings import soil_named

FREEZING_F: Final = 32.0
#: Where the equation of the coefficient is bracketed: its left side outgrows the right before 5 for every soil.
_HIGHEST: Final = 5.0
_INCHES_OF_A_FOOT: Final = 12  # Kersten prints Btu in/(ft2 h F)


@dataclass(frozen=True, slots=True)
class Climate:
    """The design winter of a place, checked.

    The freezing index is that of the air: the mean of the three coldest winters in thirty years, or the coldest in ten.

    References
    ----------
    UFC-3-250-01, 19-5.2 (design freezing index); [digitized].
    """

    freezing_index: float  # [F-days], 0 to 10,000
    mean_annual_f: float  # mean annual temperature [F], 32 to 90
    season_days: float  # length of the freezing season [days], 1 to 365

    def __post_init__(self) -> None:
        for field, name, unit, low, high, why in (
            ("freezing_index", "air freezing index", "F-days", 0, 10_000, ""),
            ("mean_annual_f", "mean annual temperature", "F", FREEZING_F, 90, "colder ground is frozen all year"),
            ("season_days", "length of the freezing season", "days", 1, 365, ""),
        ):
            value: Any = getattr(self, field)
            object.__setattr__(self, field, number(name, value, unit, low, high, why=why))


@dataclass(frozen=True, slots=True)
class FrostDepth:
    """How deep frost goes, with everything it rests on."""

    depth_m: float
    sentence: str
    working: tuple[Working, ...]
    source: str


def conductivity(fine: bool, dry_density_pcf: float, water_percent: float) -> float:
    """Return the thermal conductivity of soil [Btu/(h ft F)], the mean of frozen and unfrozen.

    Notes
    -----
    In Btu in/(ft2 h F), gd dry unit weight, 50 to 160 pcf, w water content, 7 to 100 % (silt, clay), 1 to 100 %::

        silt, clay    unfrozen  [0.9 log10 w - 0.2] 10^(0.01 gd)
                      frozen    0.01 10^(0.022 gd) + 0.085 10^(0.008 gd) w
        sand, gravel  unfrozen  [0.7 log10 w + 0.4] 10^(0.01 gd)
                      frozen    0.076 10^(0.013 gd) + 0.032 10^(0.0146 gd) w

    Examples
    --------
    >>> round(conductivity(True, 100, 15), 2)
    0.76

    References
    ----------
    KERSTEN, equations for silt and clay and for sandy soil; [memory], confirmed by the case of TM-5-852-6.
    """
    density = number("dry unit weight", dry_density_pcf, "pcf", 50, 160)
    water = number("water content", water_percent, "%", 7 if fine else 1, 100, why="the range of Kersten's equations")
    if fine:
        unfrozen = (0.9 * log10(water) - 0.2) * 10 ** (0.01 * density)
        frozen = 0.01 * 10 ** (0.022 * density) + 0.085 * 10 ** (0.008 * density) * water
    else:
        unfrozen = (0.7 * log10(water) + 0.4) * 10 ** (0.01 * density)
        frozen = 0.076 * 10 ** (0.013 * density) + 0.032 * 10 ** (0.0146 * density) * water
    return (unfrozen + frozen) / 2 / _INCHES_OF_A_FOOT


def surface_factor(surface: str) -> float:
    """Return the n factor of a surface: its freezing index over that of the air."""
    return float(table("frost_surfaces").exact(surface)["factor"])


def correction(thermal_ratio: float, fusion: float) -> float:
    """Return lambda, by which the modified Berggren equation corrects Stefan's.

    Notes
    -----
    g solves ``g sqrt(pi) exp(g^2) / mu = 1 / erf(g) - alpha / erfc(g)``, then ``lambda = g sqrt(2 / mu)``. The thermal
    ratio alpha, 0 to 100: how far the mean annual temperature lies above freezing, over how far the surface lies below
    it in the season. The fusion parameter mu, above 0, at most 20: heat the ground gives up in cooling below freezing,
    over its latent heat.

    References
    ----------
    TM-5-852-6, Figure 3-1, as its own equation; [read].
    """
    alpha = number("thermal ratio", thermal_ratio, "", 0, 100)
    mu = number("fusion parameter", fusion, "", 0, 20, above=True)

    def excess(g: float) -> float:
        return 1 / erf(g) - alpha / erfc(g) - g * sqrt(pi) * exp(g * g) / mu

    return bisect(excess, 1e-9, _HIGHEST) * sqrt(2 / mu)


def frost_depth(
    climate: Climate,
    soil: str,
    known: FrostSoil | None = None,
    *,
    surface: str = "concrete",
    conductivity_btu: float | None = None,
) -> FrostDepth:
    """Return how deep frost goes below a surface in the design winter, in one soil from the surface down.

    Notes
    -----
    ::

        X = lambda sqrt(48 k n FI / L)  [ft]         lambda = 1 is Stefan's equation, an upper bound

        L  = 144 gd w/100                            volumetric latent heat [Btu/ft3]
        C  = gd (0.17 + 0.75 w/100)                  volumetric heat capacity [Btu/(ft3 F)]
        vs = n FI / d                                how far the surface lies below freezing [F]
        alpha = (MAT - 32) / vs,  mu = vs C / L      thermal ratio and fusion parameter of `correction`

    k thermal conductivity [Btu/(h ft F)]; FI air freezing index [F-days]; n factor of the surface (``frost_surfaces``);
    gd dry unit weight [pcf]; w water content [%]; d length of the season [days]; MAT mean annual temperature [F].
    Pavers are taken as concrete.

    Examples
    --------
    >>> winter = Climate(freezing_index=2500 / 0.75, mean_annual_f=37.2, season_days=160)
    >>> round(frost_depth(winter, "silt", FrostSoil(dry_density_pcf=100, water_percent=15)).depth_m / 0.3048, 1)
    5.8

    References
    ----------
    TM-5-852-6 = UFC-3-130-06, modified Berggren equation; [read].
    """
    known = known or FrostSoil()
    named = soil_named(soil)
    row = table("frost_soils").exact(named.name)
    density = float(row["dry_density"]) if known.dry_density_pcf is None else known.dry_density_pcf
    water = float(row["water"]) if known.water_percent is None else known.water_percent
    if conductivity_btu is None:
        k, from_where = conductivity(named.fine, density, water), f"{sources()['KERSTEN']} [memory]"
    else:
        k, from_where = number("thermal conductivity", conductivity_btu, "Btu/(h ft F)", 0.05, 5), "given"
    n = surface_factor(surface)
    index = n * climate.freezing_index
    assumed = "assumed for the soil, basecalc's own choice"
    latent, capacity = 144 * density * water / 100, density * (0.17 + 0.75 * water / 100)
    below = index / climate.season_days
    working = [
        Working("air freezing index", climate.freezing_index, "F-days"),
        Working("n factor", n, "", f"{surface}; {table('frost_surfaces').cited}"),
        Working("surface freezing index n FI", index, "F-days"),
        Working("mean annual temperature", climate.mean_annual_f, "F"),
        Working("length of the freezing season", climate.season_days, "days"),
        Working("dry unit weight", density, "pcf", assumed if known.dry_density_pcf is None else ""),
        Working("water content", water, "%", assumed if known.water_percent is None else ""),
        Working("thermal conductivity k", k, "Btu/(h ft F)", from_where),
        Working("volumetric latent heat L", latent, "Btu/ft3", "144 gd w/100"),
        Working("volumetric heat capacity C", capacity, "Btu/(ft3 F)", "gd (0.17 + 0.75 w/100)"),
    ]
    text = f"frost in {named.name} below {surface} in a design winter of {climate.freezing_index:,.0f} F-days"
    source = f"{sources()['TM-5-852-6']}, modified Berggren equation"
    if index == 0:
        return FrostDepth(0.0, f"{text}: there is none", tuple(working), source)
    alpha, mu = (climate.mean_annual_f - FREEZING_F) / below, below * capacity / latent
    try:
        factor = correction(alpha, mu)
    except OutOfRangeError as refusal:
        raise OutOfRangeError(f"the frost depth cannot be worked out: {refusal.sentence}") from None
    stefan_m = sqrt(48 * k * index / latent) * FOOT_M
    working += [
        Working("surface below freezing vs", below, "F", "n FI over the season"),
        Working("thermal ratio alpha", alpha, "", "(MAT - 32)/vs"),
        Working("fusion parameter mu", mu, "", "vs C/L"),
        Working("coefficient lambda", factor, "", "solved from its own equation"),
        Working("depth by Stefan, an upper bound", stefan_m, "m", "lambda = 1"),
        Working("frost depth", factor * stefan_m, "m", "lambda sqrt(48 k n FI / L) ft"),
    ]
    text += f", mean annual temperature {climate.mean_annual_f:g} F, season {climate.season_days:g} days; in one soil "
    text += "from the surface down: dry base stone above lets frost go somewhat deeper"
    return FrostDepth(factor * stefan_m, text, tuple(working), source)


def heave_warning(frost: FrostDepth, bottom_m: float, group: str, depth_words: str, bottom_words: str) -> str:
    """Return the warning that a base does not stop heave; nothing where frost stays above its bottom."""
    if frost.depth_m <= bottom_m or group in ("", "NFS"):
        return ""
    return (
        f"Frost goes about {depth_words} deep in the design winter, the bottom of the base lies at {bottom_words}, on "
        f"frost group {group}. {HEAVE}."
    )
