"""What a deeper base adds to the price, depth by depth and area by area: worked out at quoting, then promised."""

from dataclasses import replace
from decimal import Decimal
from typing import Final

from basecalc.base.depth import BaseDepth
from basecalc.errors import OutOfRangeError
from basecalc.ground.classes import CLASSES, Strength, rank
from basecalc.pricing.estimate import estimate
from basecalc.pricing.record import DepthPrices, Quote
from basecalc.pricing.worth import designed_at
from basecalc.rounding import whole_up
from basecalc.tables import table
from basecalc.takeoff.takeoff import take_off
from basecalc.units import INCH_M

_WORDS: Final = {"us": "1 in", "metric": "10 mm"}


def depth_prices(quote: Quote) -> DepthPrices:
    """Return what each further step of base depth adds to the price, for each area on its own.

    Parameters
    ----------
    quote
        The priced job.

    Returns
    -------
    DepthPrices
        For each area the added price [money] at one step more, two, and so on. An area whose old base stays has no
        table: it would have to come out first, which is priced anew.

    Notes
    -----
    P(n) = max(0, P(n - 1), T(d + n s) - T(d)), where T is the total of the whole job with the base of that one area at
    a depth, d the depth offered and s the step (1 in, or 10 mm in a metric job). T counts whole loads and rolls, the
    extension at the edges and what granular fill is saved; rolls lap as the weaker ground needs. n goes as far as
    ground one class weaker, at the weak edge of its class, would need, within the limits of
    ``data/price_by_depth.toml``. The greatest is taken so that a deeper base is never promised for less than a
    shallower one, nor for less than nothing (basecalc's own choice).

    Examples
    --------
    Ask a quote what 3 in more under the driveway adds::

        quote(job, book).deeper.price("Driveway", 3 * 0.0254)
    """
    metric = quote.job.units == "metric"
    step_m = _limit_m("step", metric=metric)
    areas = {
        area.name: _prices(quote, area.name, step_m, metric=metric)
        for area in quote.job.areas
        if quote.offer.takeoff.area(area.name).kept_m <= 0
    }
    return DepthPrices(step_m, _WORDS["metric" if metric else "us"], areas)


def _limit_m(key: str, *, metric: bool) -> float:
    row = table("price_by_depth").exact(key)
    return float(row["metric"]) / 1000 if metric else float(row["us"]) * INCH_M


def _prices(quote: Quote, name: str, step_m: float, *, metric: bool) -> tuple[Decimal, ...]:
    """Return the added prices of one area; they end early where the area cannot be built any deeper."""
    offered = quote.offered_depths[name]
    weaker = _weaker(offered, quote.job.units)
    least, most = (_limit_m(f"{which} reach", metric=metric) for which in ("least", "greatest"))
    reach = min(max(weaker.required_m - offered.required_m, least), most)
    # Weaker ground below the base that was offered: it decides how far rolls lap.
    depths = {**quote.offered_depths, name: replace(offered, strength=weaker.strength, cbr=weaker.cbr)}
    areas = (replace(area, keep_old_base=area.keep_old_base and area.name != name) for area in quote.job.areas)
    job = replace(quote.job, areas=tuple(areas))
    prices: list[Decimal] = []
    highest = Decimal("0.00")
    for step in range(1, whole_up(reach / step_m) + 1):
        try:
            deeper = take_off(job, quote.book.company, depths, quote.offered, {name: step * step_m})
        except OutOfRangeError:
            break
        highest = max(highest, estimate(deeper, quote.book).total - quote.offer.total)
        prices.append(highest)
    return tuple(prices)


def _weaker(offered: BaseDepth, units: str) -> BaseDepth:
    """Return the base on ground one class weaker, built the same way; on soft ground, at the weak edge of soft."""
    below = CLASSES[max(rank(offered.strength.strength_class) - 1, 1)]
    at_edge = replace(offered, settings=replace(offered.settings, class_edge="weak"))
    return designed_at(at_edge, Strength(below), offered.reinforcement, units)
