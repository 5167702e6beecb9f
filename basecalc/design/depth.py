"""The required base depth: every check side by side, which of them governs and by how much.

Here are practice (rules of the trade), the least base by ground and climate, and the stone trucks that build the base;
the platform, structural and frost checks have rooms of their own.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from math import log
from typing import Any, Final

from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.core.numbers import brief, choice, printed, round_up_to
from basecalc.core.published import Working, sources, table
from basecalc.core.units import INCH_M, POUND_KG, PSI_KPA
from basecalc.core.words import amount
from basecalc.design.frost import FrostGround, frost_check, index_below, required_frost, water_matters, water_reach
from basecalc.design.platform import geotextile_information, platform_depth
from basecalc.design.settings import (
    DEFAULT_SETTINGS,
    NONE,
    Check,
    DesignSettings,
    Reinforcement,
    Traffic,
    designed_cbr,
    limit,
)
from basecalc.design.settings import reinforcement as described
from basecalc.design.settings import traffic as traffic_level
from basecalc.design.structural import structural_depth
from basecalc.ground.classes import Strength, class_of_cbr, middle, weak_edge
from basecalc.ground.classes import strength as ground_strength


def speaks_of(level: Traffic) -> bool:
    """Return whether practice has a depth for this traffic: nothing heavier than the light level of the table."""
    light = traffic_level("light")
    return level.wheel_load_kn <= light.wheel_load_kn and level.passes <= light.passes and level.esal <= light.esal


def practice_m(cbr: float) -> float:
    """Return the depth of practice for light traffic without reinforcement [m].

    Notes
    -----
    Between the edges of a band of ``practice_depths``, linear in log CBR:
    ``h = h1 + (h2 - h1) ln(CBR / CBR1) / ln(CBR2 / CBR1)`` [practice].
    """
    row = table("practice_depths").band("CBR", cbr)
    weak, strong = float(row["above"]), float(row["up_to"])
    first, last = float(row["depth_at_above"]), float(row["depth_at_up_to"])
    return (first + (last - first) * log(cbr / weak) / log(strong / weak)) * INCH_M


def practice_depth(cbr: float, level: Traffic, *, counts: bool = False) -> Check:
    """Return the check by practice, or that practice has no depth for this traffic."""
    cbr = designed_cbr(cbr)
    rules = table("practice_depths")
    if not speaks_of(level):
        text = f"practice has no depth for traffic '{level.name}', only for light traffic"
        return Check("practice", None, False, text, (Working("traffic", level.name),), rules.cited)
    row = rules.band("CBR", cbr)
    first, last = float(row["depth_at_above"]), float(row["depth_at_up_to"])
    text = f"rule of the trade for light traffic without reinforcement over CBR {cbr:.3g} %: {first:g} in"
    if first != last:
        text += f" at CBR {row['above']:g} down to {last:g} in at CBR {row['up_to']:g}"
    working = (
        Working("CBR of the ground", cbr, "%"),
        Working("depth at the weak edge of the band", first, "in", f"CBR {row['above']:g}"),
        Working("depth at the strong edge of the band", last, "in", f"CBR {row['up_to']:g}"),
    )
    return Check("practice", practice_m(cbr), counts, text, working, rules.cited)


_NEWTON: Final = 9.80665
_WAYS: Final = 2  # in and out
_MOST_PASSES: Final = 100_000
_TANDEM_AXLES: Final = 3


@dataclass(frozen=True, slots=True)
class StoneTrucks:
    """The loaded trucks that bring the stone of a job."""

    loads: int
    axles: int | None = None

    @property
    def words(self) -> str:
        """The trucks as a sheet prints them."""
        kind = "tandem behind" if (self.axles or 0) >= _TANDEM_AXLES else "single axle behind"
        return f"{self.loads} loaded stone truck{'s' if self.loads != 1 else ''}, {kind}"


def truck_traffic(trucks: StoneTrucks) -> Traffic:
    """Return what the trucks put on the base, as a traffic level of the platform method.

    Notes
    -----
    ``P = W / (2 a)`` and ``N = 2 a n``: P wheel load, W load of a group of a axles (table ``stone_trucks``), n loads;
    each axle passes twice, in and out.

    References
    ----------
    23-CFR-658-17 [read] for W; tire pressure: common practice, no source.
    """
    tandem = (trucks.axles or 0) >= _TANDEM_AXLES
    row = table("stone_trucks").exact("tandem behind" if tandem else "single axle behind")
    group = float(row["in_group"])
    wheel_kn = float(row["axle_load"]) / group / 2 * POUND_KG * _NEWTON / 1000
    passes = min(max(_WAYS * group * trucks.loads, 1.0), float(_MOST_PASSES))
    return Traffic(
        "loaded stone trucks", wheel_kn, float(row["tire_pressure"]) * PSI_KPA, passes, float(row["rut"]), 1.0,
        "the trucks that bring the stone",
    )  # fmt: skip


def construction_check(
    cbr: float, trucks: StoneTrucks, reinforcement: Reinforcement = NONE, base_cbr: float = 20.0, *, counts: bool = True
) -> Check:
    """Return the construction check: the platform check for the stone trucks that build the base."""
    source = f"{table('stone_trucks').cited}; equation as in the platform check"
    try:
        made = platform_depth(cbr, truck_traffic(trucks), reinforcement, base_cbr)
    except OutOfRangeError as refusal:
        if counts:
            raise
        return Check("construction", None, False, f"{trucks.words}: {refusal.sentence}", (), source)
    what = "they drive on the base" if counts else "for information: whether they may drive on the base"
    text = f"{trucks.words}, on the finished base; {what}; {made.sentence}"
    return replace(made, name="construction", counts=counts, sentence=text, source=source)


_DRIVEWAY: Final = "residential driveway"
_WEAK: Final = "driveway, weak fine soil"
_WET: Final = "driveway, wet ground"
_FROST: Final = "driveway, soil that frost lifts"
#: Frost groups that lift when they freeze.
LIFTED: Final = ("F3", "F4")


@dataclass(frozen=True, slots=True)
class Site:
    """What the place adds to the strength of the ground; where nothing is said the soil counts as fine."""

    fine: bool = True
    water_below_finish_m: float | None = None
    freezes: bool = True
    trucks: StoneTrucks | None = None


UNKNOWN: Final = Site()


def least_m(use: str, settings: DesignSettings = DEFAULT_SETTINGS) -> float:
    """Return the least base of a row of the table [m], by the inch or by the millimeter as the owner digs."""
    row = table("least_bases").exact(use)
    step_mm = printed(settings.step_m * 1000)
    return float(row["base_metric"]) / 1000 if step_mm == int(step_mm) else float(row["base"]) * INCH_M


def water_near(site: Site, settings: DesignSettings) -> bool:
    """Return whether water is near enough to the bottom of the dig, under the least base of wet ground, to count."""
    if site.water_below_finish_m is None:
        return False
    bottom_m = settings.paver_m + settings.bedding_m + least_m(_WET, settings)
    above_m = min(site.water_below_finish_m, 0.0)  # water above the finish: measured from itself
    reach = water_reach(min(site.water_below_finish_m - above_m, 30.0), bottom_m - above_m)
    return water_matters(reach, fine=site.fine)


def least_rows(
    cbr: float, settings: DesignSettings, site: Site = UNKNOWN, frost: FrostGround | None = None
) -> tuple[str, ...]:
    """Return the rows of the table of least bases that apply to a driveway, the deepest first."""
    rows = [_DRIVEWAY]
    if site.fine and printed(cbr) < limit("firm ground of the least base"):
        rows.append(_WEAK)
    if water_near(site, settings):
        rows.append(_WET)
    if frost is not None and site.freezes and frost.group in LIFTED:
        rows.append(_FROST)
    return tuple(sorted(rows, key=lambda use: -least_m(use, settings)))


def minimum_check(cbr: float, settings: DesignSettings, site: Site, frost: FrostGround | None) -> Check:
    """Return the least base: the greatest row that applies, or the owner's own where that is deeper.

    Notes
    -----
    Rows of ``least_bases``, each with its source: a driveway on firm, drained ground; fine soil below the CBR of firm
    ground; water near the bottom of the dig; soil that frost lifts, F3 and F4. They are not added up.
    """
    rules = table("least_bases")
    working, sentences, cited = [], [], ""
    for use in least_rows(cbr, settings, site, frost):
        row, depth_m = rules.exact(use), least_m(use, settings)
        source = ", ".join(part for part in (str(sources()[str(row["source"])]), str(row["place"])) if part)
        cited = cited or f"{source}, [{row['trust']}]"
        working.append(Working(f"least base, {use}", depth_m, "m", f"{source} [{row['trust']}]"))
        sentences.append(f"{row['base']:g} in ({row['base_metric']:g} mm) on {row['ground']}")
    working.append(Working("least base of the owner", settings.minimum_depth_m, "m"))
    text = f"least base of a driveway: {', '.join(sentences)}; or the owner's own where it is deeper"
    return Check("minimum", minimum_m(cbr, settings, site, frost), True, text, tuple(working), cited)


def minimum_m(cbr: float, settings: DesignSettings, site: Site, frost: FrostGround | None) -> float:
    """Return the least base [m]; on firm ground the owner's figure alone, which is never below 6 in (150 mm)."""
    extra = [least_m(use, settings) for use in least_rows(cbr, settings, site, frost) if use != _DRIVEWAY]
    return max(settings.minimum_depth_m, *extra) if extra else settings.minimum_depth_m


def least_because(cbr: float, settings: DesignSettings, site: Site, frost: FrostGround | None) -> str:
    """Return in words what calls for more than the least base of firm ground; else nothing."""
    use = least_rows(cbr, settings, site, frost)[0]
    if use == _DRIVEWAY or settings.minimum_depth_m > least_m(use, settings):
        return ""
    return str(table("least_bases").exact(use)["ground"])


UNITS: Final = ("in", "mm")
_TITLES: Final = {
    "platform": "platform check",
    "structural": "structural check",
    "practice": "practice",
    "frost": "frost check",
    "minimum": "minimum",
    "construction": "construction check",
    "reinforcement limit": "limit of the saving by reinforcement",
}


@dataclass(frozen=True, slots=True)
class BaseDepth:
    """The required base depth with everything it rests on.

    Parameters
    ----------
    strength
        The ground as it was judged.
    cbr
        CBR it was designed with [%].
    cbr_from
        Where that CBR comes from, in words.
    traffic, reinforcement, settings
        What it was designed for.
    checks
        Every check switched on, then those for information; practice is always among them.
    required_m
        Required depth, rounded up to the step of the settings [m].
    governs
        Name of the check that asks for the most.
    unreinforced_m
        Required depth without reinforcement, rounded likewise [m].
    reason
        Which check governs and by how much, as text.
    frost
        The ground in frost and thaw, if it was given.
    site
        What the place adds: fine soil, water, the stone trucks.
    """

    strength: Strength
    cbr: float
    cbr_from: str
    traffic: Traffic
    reinforcement: Reinforcement
    settings: DesignSettings
    checks: tuple[Check, ...]
    required_m: float
    governs: str
    unreinforced_m: float
    reason: str
    frost: FrostGround | None = None
    site: Site = UNKNOWN

    __repr__ = brief

    def check(self, name: str) -> Check | None:
        """Return the check of that name; None where it was not made."""
        return next((check for check in self.checks if check.name == name), None)


def design_cbr(strength: Strength, settings: DesignSettings = DEFAULT_SETTINGS) -> tuple[float, str]:
    """Return the CBR [%] that a base is designed with, and where it comes from in words."""
    word = strength.strength_class
    if strength.cbr is not None:
        cbr = designed_cbr(strength.cbr)
        if strength.as_read is not None:
            return cbr, f"measured CBR {strength.as_read:.3g} %, counted as {cbr:.3g} %"
        return cbr, f"measured CBR {cbr:.3g} %"
    weak = weak_edge(word)
    if weak < (least := limit("weakest ground designed")):
        raise OutOfRangeError(
            f"strength is '{word}' without a measured CBR; below CBR {least:g} % no base depth is given, "
            "a licensed engineer must design it"
        )
    if settings.class_edge == "weak":
        return weak, f"{word}, taken at the weak edge of its class, CBR {weak:.3g} %"
    cbr = middle(word)
    return cbr, f"{word}, taken in the middle of its class, CBR {cbr:.3g} %"


def base_depth(
    strength: Strength | str | float,
    traffic: Traffic | str,
    reinforcement: Reinforcement | str = NONE,
    settings: DesignSettings = DEFAULT_SETTINGS,
    *,
    unit: str = "in",
    frost: FrostGround | None = None,
    aperture_stability: float | str | None = None,
    site: Site = UNKNOWN,
) -> BaseDepth:
    """Return the required base depth, every check, and which of them governs.

    Parameters
    ----------
    strength
        The ground: a class, with the measured CBR [%] where there is one; or its word, or the CBR alone.
    traffic
        What drives on the base: a level, or its name.
    reinforcement
        What is laid, or its kind; a geogrid never saves more than half, and never goes below the minimum.
    settings
        The owner's design settings.
    unit
        Unit of the depths in the reason, 'in' or 'mm'.
    frost
        The ground in frost and thaw. The frost check counts where the settings switch it on; else it is only shown.
        Soil that frost lifts takes a deeper least base either way.
    aperture_stability
        Of a geogrid named by its kind: the modulus from its own test report [m-N/deg], above 0, at most 0.8.
    site
        What the place adds to the strength; without it the soil counts as fine and water as far away.

    Raises
    ------
    OutOfRangeError
        Ground too soft, or outside what a check is meant for.
    InputError
        An unknown word or unit, or a frost check without the ground in frost.

    Notes
    -----
    ``required = the next whole step at or above max(checks that count)``, by default 1 in. A class without a measured
    CBR is designed at the weak edge of its band. With a geogrid the checks are made anew, and
    ``required >= (1 - greatest saving) x the depth without it``; the minimum holds either way.

    Examples
    --------
    >>> made = base_depth("soft", "light")
    >>> round(made.required_m / 0.0254), made.governs
    (24, 'platform')
    """
    unit = choice("unit", unit, UNITS)
    strength, traffic = ground_strength(strength), traffic_level(traffic)
    if not isinstance(reinforcement, Reinforcement):
        reinforcement = described(reinforcement, aperture_stability)
    cbr, cbr_from = design_cbr(strength, settings)
    checks = _checks(cbr, traffic, NONE, settings, frost, site)
    unreinforced = round_up_to(_greatest(checks), settings.step_m)
    if reinforcement.kind != "none":
        checks = _reinforced(cbr, traffic, reinforcement, settings, frost, site, _greatest(checks))
    counting = sorted((check for check in checks if check.counts), key=lambda check: -(check.depth_m or 0.0))
    required = round_up_to(_greatest(checks), settings.step_m)
    return BaseDepth(
        strength, cbr, cbr_from, traffic, reinforcement, settings,
        tuple(sorted(checks, key=lambda check: not check.counts)),
        required, counting[0].name, unreinforced,
        _reason(counting, required, unit, "" if strength.cbr is not None else cbr_from),
        frost, site,
    )  # fmt: skip


def depth_column(
    cbrs: Any,
    traffic: Traffic | str,
    reinforcement: Reinforcement | str = NONE,
    settings: DesignSettings = DEFAULT_SETTINGS,
    *,
    frost: FrostGround | None = None,
    aperture_stability: float | str | None = None,
    site: Site = UNKNOWN,
) -> list[float]:
    """Return the required base depth of each row of a column [m]: `base_depth` of one after the other.

    Parameters
    ----------
    cbrs
        Measured CBR of the ground [%], one a row, each 0.4 to 100.
    traffic, reinforcement, settings, frost, aperture_stability, site
        As in `base_depth`, the same in every row.

    Raises
    ------
    InputError
        A row that is missing or not a number, not one column, or a frost check without the ground in frost.
    OutOfRangeError
        A row that is not finite, too soft, or outside what a check is meant for: the first such row is named.

    Examples
    --------
    >>> [round(depth / 0.0254) for depth in depth_column([0.4, 0.8, 3.0], "light")]
    [24, 15, 8]
    """
    items: list[Any] = list(cbrs) if isinstance(cbrs, Iterable) and not isinstance(cbrs, str) else [()]
    if any(isinstance(item, Iterable) and not isinstance(item, str) for item in items):
        raise InputError("CBRs must be one column, with a number in each row")
    depths = []
    for position, item in enumerate(items, 1):
        try:
            value = item.item() if hasattr(item, "item") else item
            cbr = designed_cbr(value if isinstance(value, bool | int | float | Decimal | str) else None)
            depths.append(
                base_depth(
                    Strength(class_of_cbr(cbr), cbr), traffic, reinforcement, settings, frost=frost,
                    aperture_stability=aperture_stability, site=site,
                ).required_m
            )  # fmt: skip
        except BasecalcError as refusal:
            raise refusal.at(f"row {position}") from None
    return depths


def _checks(
    cbr: float, traffic: Traffic, reinforcement: Reinforcement, settings: DesignSettings, frost: FrostGround | None,
    site: Site,
) -> list[Check]:  # fmt: skip
    *checks, practice = _ground_checks(cbr, traffic, reinforcement, settings)
    require_ground_check(settings, practice.counts, traffic)
    counts = "frost" in settings.checks
    if counts or frost is not None:
        index = index_below(frost := required_frost(frost), cbr)
        in_thaw = [] if index is None else _ground_checks(index, traffic, reinforcement, settings)
        looked = [check for check in in_thaw if check.counts]
        checks.append(frost_check(frost, cbr, looked, counts=counts))
    if site.trucks is not None:
        checks.append(construction_check(cbr, site.trucks, reinforcement, settings.base_cbr))
    return [*checks, minimum_check(cbr, settings, site, frost), practice]


def _ground_checks(cbr: float, traffic: Traffic, reinforcement: Reinforcement, settings: DesignSettings) -> list[Check]:
    """Return the checks that look at the ground, as switched on; practice is always the last of them."""
    checks = []
    if "platform" in settings.checks:
        checks.append(platform_depth(cbr, traffic, reinforcement, settings.base_cbr))
    if "structural" in settings.checks:
        checks.append(structural_depth(cbr, traffic, reinforcement, settings))
    return [*checks, practice_depth(cbr, traffic, counts="practice" in settings.checks)]


def require_ground_check(settings: DesignSettings, practice_counts: bool, traffic: Traffic) -> None:
    """Refuse a design in which no check but the minimum counts."""
    if not practice_counts and set(settings.checks) <= {"minimum", "practice", "frost"}:
        raise OutOfRangeError(
            f"traffic is '{traffic.name}', and of the checks only practice is switched on, which knows light traffic "
            "only; the platform or the structural check must be switched on"
        )


def _reinforced(
    cbr: float, traffic: Traffic, reinforcement: Reinforcement, settings: DesignSettings, frost: FrostGround | None,
    site: Site, unreinforced: float,
) -> list[Check]:  # fmt: skip
    checks = _checks(cbr, traffic, reinforcement, settings, frost, site)
    if reinforcement.kind == "geotextile":
        return [*checks, geotextile_information(cbr, traffic, settings.base_cbr)]
    saving = limit("greatest saving by reinforcement")
    working = (
        Working("greatest depth without reinforcement", unreinforced, "m"),
        Working("greatest saving", saving, "share", "common practice"),
    )
    text = f"a geogrid never saves more than {saving * 100:.3g} % of the depth without it"
    cap = Check("reinforcement limit", unreinforced * (1 - saving), True, text, working, str(sources()["PRACTICE"]))
    return [*checks, cap]


def _greatest(checks: list[Check]) -> float:
    return max(check.depth_m for check in checks if check.counts and check.depth_m is not None)


def _plain(depth_m: float, unit: str) -> str:
    return amount(depth_m, unit, 1 if unit == "in" else 0)


def _reason(counting: list[Check], required_m: float, unit: str, class_words: str) -> str:
    first = counting[0]  # compared with the next real check: the cap on the saving is not one
    second = next(check for check in counting[1:] if check.name != "reinforcement limit")
    top, next_one = first.depth_m or 0.0, second.depth_m or 0.0
    required = f"{printed(required_m / INCH_M if unit == 'in' else required_m * 1000):.6g} {unit}"
    rounded = f"{required_m:.9g}" != f"{top:.9g}"
    text = f"{_TITLES[first.name]} governs: {_unrounded(top, unit) if rounded else _plain(top, unit)}, "
    if _plain(top - next_one, unit) == _plain(0.0, unit):
        text += f"as much as the {_TITLES[second.name]}"
    else:
        text += f"{_plain(top - next_one, unit)} more than the {_TITLES[second.name]}"
    if rounded:
        text += f"; rounded up to {required}"
    return f"{text}; {class_words}" if class_words else text


def _unrounded(depth_m: float, unit: str) -> str:
    """Return a depth with as many decimals as show that it is not a whole number: 10.03 in, not 10.0 in."""
    texts = [amount(depth_m, unit, places) for places in ((1, 2, 3) if unit == "in" else (0, 1))]
    return next((text for text in texts if unit == "mm" or not text.split()[0].endswith((".0", ".00"))), texts[-1])
