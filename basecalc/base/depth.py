"""All checks of the base side by side: the required depth, which check governs and by how much."""

from dataclasses import dataclass
from typing import Final

from basecalc.base.check import Check
from basecalc.base.construction import construction_check
from basecalc.base.frost import FrostGround, frost_check, index_below, required_frost
from basecalc.base.limits import designed_cbr, limit
from basecalc.base.minimum import UNKNOWN, Site, minimum_check
from basecalc.base.platform import geotextile_information, platform_depth
from basecalc.base.practice import practice_depth
from basecalc.base.reinforcement import NONE, Reinforcement
from basecalc.base.reinforcement import reinforcement as described
from basecalc.base.settings import DEFAULT_SETTINGS, DesignSettings
from basecalc.base.structural import structural_depth
from basecalc.base.traffic import Traffic
from basecalc.base.traffic import traffic as traffic_level
from basecalc.brief import brief
from basecalc.checks import choice
from basecalc.errors import OutOfRangeError
from basecalc.ground.classes import Strength, middle, weak_edge
from basecalc.ground.classes import strength as ground_strength
from basecalc.rounding import decimal, printed, step_up
from basecalc.tables import sources
from basecalc.units import INCH_M
from basecalc.working import Working

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
        The ground in frost and thaw; nothing where nobody asked.
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
        """Return the check of that name, or nothing where it was not made."""
        return next((check for check in self.checks if check.name == name), None)


def design_cbr(strength: Strength, settings: DesignSettings = DEFAULT_SETTINGS) -> tuple[float, str]:
    """Return the CBR [%] that a base is designed with, and where it comes from.

    Parameters
    ----------
    strength
        A class, with the measured CBR where there is one.
    settings
        A class alone is taken at the weak edge of its band or in its middle.

    Raises
    ------
    OutOfRangeError
        Very soft ground without a measured CBR, or a CBR below 0.4.

    Examples
    --------
    >>> design_cbr(Strength("soft", None))
    (0.4, 'soft, taken at the weak edge of its class, CBR 0.4 %')
    """
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
        What the place adds to the strength: nothing said counts as fine soil, far from water.

    Raises
    ------
    OutOfRangeError
        Ground too soft, or outside what a check is meant for.
    InputError
        An unknown word or unit, a frost check without the ground in frost, or practice alone asked for traffic it does
        not speak of.

    Examples
    --------
    >>> base_depth("soft", "delivery").required_m > base_depth("hard", "delivery").required_m
    True
    """
    unit = choice("unit", unit, UNITS)
    strength, traffic = ground_strength(strength), traffic_level(traffic)
    if not isinstance(reinforcement, Reinforcement):
        reinforcement = described(reinforcement, aperture_stability)
    cbr, cbr_from = design_cbr(strength, settings)
    checks = _checks(cbr, traffic, NONE, settings, frost, site)
    unreinforced = step_up(_greatest(checks), settings.step_m)
    if reinforcement.kind != "none":
        checks = _reinforced(cbr, traffic, reinforcement, settings, frost, site, _greatest(checks))
    counting = sorted((check for check in checks if check.counts), key=lambda check: -(check.depth_m or 0.0))
    required = step_up(_greatest(checks), settings.step_m)
    return BaseDepth(
        strength, cbr, cbr_from, traffic, reinforcement, settings,
        tuple(sorted(checks, key=lambda check: not check.counts)),
        required, counting[0].name, unreinforced,
        _reason(counting, required, unit, "" if strength.cbr is not None else cbr_from),
        frost, site,
    )  # fmt: skip


def _checks(
    cbr: float,
    traffic: Traffic,
    reinforcement: Reinforcement,
    settings: DesignSettings,
    frost: FrostGround | None,
    site: Site,
) -> list[Check]:
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
    """Refuse a design in which no check but the minimum counts.

    Raises
    ------
    OutOfRangeError
        Practice alone is switched on, and it does not speak of this traffic.
    """
    if not practice_counts and set(settings.checks) <= {"minimum", "practice", "frost"}:
        raise OutOfRangeError(
            f"traffic is '{traffic.name}', and of the checks only practice is switched on, which knows light traffic "
            "only; the platform or the structural check must be switched on"
        )


def _reinforced(
    cbr: float,
    traffic: Traffic,
    reinforcement: Reinforcement,
    settings: DesignSettings,
    frost: FrostGround | None,
    site: Site,
    unreinforced: float,
) -> list[Check]:
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


def depth_words(depth_m: float, unit: str, decimals: int | None = None) -> str:
    """Return a depth as a sentence prints it: tenths of an inch, or whole millimetres, unless told otherwise.

    Examples
    --------
    >>> depth_words(0.254, "in"), depth_words(0.254, "mm")
    ('10.0 in', '254 mm')
    """
    usual = 1 if unit == "in" else 0
    value = depth_m / INCH_M if unit == "in" else depth_m * 1000
    return f"{decimal(value, usual if decimals is None else decimals)} {unit}"


def _reason(counting: list[Check], required_m: float, unit: str, class_words: str) -> str:
    first = counting[0]  # compared with the next real check: the cap on the saving is not one
    second = next(check for check in counting[1:] if check.name != "reinforcement limit")
    top, next_one = first.depth_m or 0.0, second.depth_m or 0.0
    required = f"{printed(required_m / INCH_M if unit == 'in' else required_m * 1000):.6g} {unit}"
    rounded = f"{required_m:.9g}" != f"{top:.9g}"
    text = f"{_TITLES[first.name]} governs: {_unrounded(top, unit) if rounded else depth_words(top, unit)}, "
    if depth_words(top - next_one, unit) == depth_words(0.0, unit):
        text += f"as much as the {_TITLES[second.name]}"
    else:
        text += f"{depth_words(top - next_one, unit)} more than the {_TITLES[second.name]}"
    if rounded:
        text += f"; rounded up to {required}"
    return f"{text}; {class_words}" if class_words else text


def _unrounded(depth_m: float, unit: str) -> str:
    """Return a depth with as many decimals as show that it is no whole number: 10.03 in, not 10.0 in."""
    texts = [depth_words(depth_m, unit, decimals) for decimals in ((1, 2, 3) if unit == "in" else (0, 1))]
    return next((text for text in texts if unit == "mm" or not text.split()[0].endswith((".0", ".00"))), texts[-1])
