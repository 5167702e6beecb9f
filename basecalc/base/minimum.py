"""Least base by ground and climate: 6 in only on firm, drained ground without frost, more where the evidence says."""

from dataclasses import dataclass
from typing import Final

from basecalc.base.check import Check
from basecalc.base.construction import StoneTrucks
from basecalc.base.frost import FrostGround
from basecalc.base.limits import limit
from basecalc.base.season import water_matters, water_reach
from basecalc.base.settings import DEFAULT_SETTINGS, DesignSettings
from basecalc.rounding import printed
from basecalc.tables import sources, table
from basecalc.units import INCH_M
from basecalc.working import Working

_DRIVEWAY: Final = "residential driveway"
_WEAK: Final = "driveway, weak fine soil"
_WET: Final = "driveway, wet ground"
_FROST: Final = "driveway, soil that frost lifts"
#: Frost groups that lift when they freeze.
LIFTED: Final = ("F3", "F4")


@dataclass(frozen=True, slots=True)
class Site:
    """What the place adds to the strength of the ground; nothing said counts as fine soil.

    Parameters
    ----------
    fine
        Whether the ground is a fine soil; a class word is a class of fine soil.
    water_below_finish_m
        Highest water of the year below the finished surface [m]; None where nobody knows it.
    freezes
        False where the design winter of the place has no frost.
    trucks
        The loaded stone trucks, where they drive on the base; None where they do not.
    """

    fine: bool = True
    water_below_finish_m: float | None = None
    freezes: bool = True
    trucks: StoneTrucks | None = None


UNKNOWN: Final = Site()


def least_m(use: str, settings: DesignSettings = DEFAULT_SETTINGS) -> float:
    """Return the least base of a row of the table [m], by the inch or by the millimeter as the owner digs.

    Parameters
    ----------
    use
        A row of the table.
    settings
        The owner's design settings: the step of the depth.

    Examples
    --------
    >>> round(least_m("residential driveway"), 4)
    0.1524
    """
    row = table("least_bases").exact(use)
    step_mm = printed(settings.step_m * 1000)
    return float(row["base_metric"]) / 1000 if step_mm == int(step_mm) else float(row["base"]) * INCH_M


def water_near(site: Site, settings: DesignSettings) -> bool:
    """Return whether water is so near the bottom of the dig below the least base of wet ground that it counts.

    A base that must be deeper anyway comes nearer still, but no least base decides it.

    Parameters
    ----------
    site
        The place.
    settings
        The owner's design settings: thickness of pavers and bedding.
    """
    if site.water_below_finish_m is None:
        return False
    bottom_m = settings.paver_m + settings.bedding_m + least_m(_WET, settings)
    above_m = min(site.water_below_finish_m, 0.0)  # water above the finish: measured from itself
    reach = water_reach(min(site.water_below_finish_m - above_m, 30.0), bottom_m - above_m)
    return water_matters(reach, fine=site.fine)


def least_rows(
    cbr: float, settings: DesignSettings, site: Site = UNKNOWN, frost: FrostGround | None = None
) -> tuple[str, ...]:
    """Return the rows of the table of least bases that apply to a driveway, the deepest first.

    Parameters
    ----------
    cbr
        CBR the base is designed with [%].
    settings
        The owner's design settings.
    site
        The place.
    frost
        The ground in frost where it freezes; None where it does not, or nobody asked.
    """
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

    Parameters
    ----------
    cbr
        CBR the base is designed with [%].
    settings
        The owner's design settings.
    site
        The place.
    frost
        The ground in frost; None where nobody asked.
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
    """Return the least base [m]; on firm ground the owner's figure alone, which is never below 6 in (150 mm).

    Parameters
    ----------
    cbr
        CBR the base is designed with [%].
    settings
        The owner's design settings.
    site
        The place.
    frost
        The ground in frost; None where nobody asked.
    """
    extra = [least_m(use, settings) for use in least_rows(cbr, settings, site, frost) if use != _DRIVEWAY]
    return max(settings.minimum_depth_m, *extra) if extra else settings.minimum_depth_m


def least_because(cbr: float, settings: DesignSettings, site: Site, frost: FrostGround | None) -> str:
    """Return what on the site calls for more than the least base of firm ground, in words; nothing where nothing does.

    Parameters
    ----------
    cbr
        CBR the base is designed with [%].
    settings
        The owner's design settings.
    site
        The place.
    frost
        The ground in frost; None where nobody asked.
    """
    use = least_rows(cbr, settings, site, frost)[0]
    if use == _DRIVEWAY or settings.minimum_depth_m > least_m(use, settings):
        return ""
    return str(table("least_bases").exact(use)["ground"])
