"""Where fine soil would work up into the stone: a separator between them is called for, and what it would cost."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final, Literal

from basecalc.base.limits import limit
from basecalc.base.minimum import water_near
from basecalc.base.settings import DesignSettings
from basecalc.errors import BasecalcError
from basecalc.ground.soils import soil
from basecalc.ground.strength import AreaStrength
from basecalc.job import Job, JobArea
from basecalc.pricing.prices import PriceBook
from basecalc.pricing.record import Quote, Separator
from basecalc.pricing.site_place import site_of
from basecalc.rounding import printed

_WET: Final = "wet"


def separator_why(
    job: Job, area: JobArea, ground: AreaStrength, cbr: float, settings: DesignSettings, *, on_grid: bool
) -> str:
    """Return what calls for a separator under the stone of an area; nothing where it has one or needs none.

    Parameters
    ----------
    job
        The job; its season where the readings say nothing.
    area
        The area.
    ground
        Its ground as read.
    cbr
        CBR the base is designed with [%].
    settings
        The owner's design settings.
    on_grid
        Whether a geogrid is laid there: its openings hold nothing back.

    References
    ----------
    FHWA-NHI-05-037, Table 7-15: below CBR 3 [digitised]. Wet soil and any fine soil under a geogrid: Giroud and Han's
    later recommendations ask for a filter between base and subgrade [read in part]; what is asked here: own choice.
    """
    if area.geotextile or not soil(area.soil).fine:
        return ""
    moistures = {finding.reading.moisture.strip().casefold() for spot in ground.spots for finding in spot.findings}
    wet = _WET in (moistures or {job.season.casefold()}) or water_near(site_of(job, area), settings)
    weak = printed(cbr) < limit("strongest ground that needs a separator")
    if not (on_grid or wet or weak):
        return ""
    laid = "a geogrid" if on_grid else "stone"
    return f"{laid} on {'wet ' if wet else ''}{area.soil} (CBR {cbr:.2g}) with no geotextile"


def separator_required(cbr: float, *, on_grid: bool) -> bool:
    """Return whether no geogrid should be laid without a separator: basecalc's own choice.

    Parameters
    ----------
    cbr
        CBR the base is designed with [%].
    on_grid
        Whether a geogrid is laid there.
    """
    return on_grid and printed(cbr) < limit("weakest geogrid without a separator")


def missing(quote: Quote) -> dict[str, str]:
    """Return what calls for a separator in each area of the offer that has none.

    Parameters
    ----------
    quote
        The priced job.
    """
    found = {}
    for area in quote.job.areas:
        made = quote.offered_depths[area.name]
        on_grid = made.reinforcement.kind == "geogrid"
        ground = quote.ground[area.name]
        if why := separator_why(quote.job, area, ground, made.cbr, made.settings, on_grid=on_grid):
            found[area.name] = why
    return found


def separator(made: Quote, quoted: Callable[[Job, PriceBook], Quote]) -> Separator | None:
    """Return the separator that the offer lacks, and what the offer costs more with it; None where it lacks none.

    Parameters
    ----------
    made
        The job as it is quoted.
    quoted
        Quotes a job.
    """
    why = missing(made)
    if not why:
        return None
    areas = tuple(replace(area, geotextile=True) if area.name in why else area for area in made.job.areas)
    offer: Literal["stone", "geogrid"] = "geogrid" if made.offered == "geogrid" else "stone"
    try:
        other = quoted(replace(made.job, areas=areas, offer=offer), made.book)
    except BasecalcError as refusal:
        return Separator(why, None, refusal.sentence)
    return Separator(why, other.offer.total - made.offer.total, "")
