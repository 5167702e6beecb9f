"""What follows from two priced options: savings, the geogrid price at which both cost the same, and an extra inch."""

from collections.abc import Collection, Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from basecalc.base.depth import BaseDepth
from basecalc.company import Roll
from basecalc.job import Job
from basecalc.pricing.estimate import exact_price
from basecalc.pricing.money import cents_down, cents_up, exact_total, factor
from basecalc.pricing.prices import PriceBook
from basecalc.pricing.record import BreakEven, Estimate, ExtraInch, Line, Saving
from basecalc.takeoff.record import AreaTakeoff, Option, Takeoff
from basecalc.takeoff.takeoff import take_off
from basecalc.units import INCH_M, YARD2_M2


def saving(option: Estimate, against: Estimate) -> Saving:
    """Return what one option has less than another; negative where it has more.

    Parameters
    ----------
    option, against
        Two estimates of the same job.
    """
    mine, other = option.takeoff, against.takeoff
    mine_m, other_m = mine.base_m, other.base_m

    def less(name: str) -> float:
        return float(sum(getattr(area, name) for area in other.areas) - sum(getattr(area, name) for area in mine.areas))

    return Saving(
        option=mine.option,
        against=other.option,
        depth_m={name: other_m[name] - mine_m[name] for name in mine_m},
        dig_m3=less("bank_m3"),
        stone_m3=less("stone_m3"),
        stone_kg=less("stone_kg"),
        stone_loads=_loads(other, "stone-haul") - _loads(mine, "stone-haul"),
        spoil_loads=_loads(other, "spoil-haul") - _loads(mine, "spoil-haul"),
        money=against.total - option.total,
    )


def _loads(takeoff: Takeoff, code: str) -> int:
    return round(takeoff.amount(code))


def break_even(stone: Estimate, geogrid: Estimate, roll: Roll) -> BreakEven:
    """Return the geogrid price at which both options cost the client the same, loads and rolls as they are.

    Parameters
    ----------
    stone, geogrid
        The two options priced.
    roll
        The geogrid.
    """
    bought = [line for line in geogrid.lines if line.quantity_code == "geogrid"]
    rest = [line for line in geogrid.lines if line.quantity_code != "geogrid"]
    line = bought[0]
    room = _exact(stone.lines, stone) - _exact(rest, geogrid)
    price = room / (Fraction(line.quantity) * factor(geogrid.markups, taxable=line.taxable))
    area_m2 = roll.length_m * roll.width_m
    pays = geogrid.total < stone.total
    if price < 0:
        sentence = "Geogrid does not pay here at any price: what it saves in digging and stone is less than nothing."
        return BreakEven(None, None, None, line.unit_price, pays, sentence)
    per_m2 = price / Fraction(f"{area_m2:.12g}")
    per_yd2 = per_m2 * Fraction(f"{YARD2_M2:.12g}")
    same = cents_down(price)
    verdict = "pays" if pays else "costs more than stone only" if geogrid.total > stone.total else "costs as much"
    sentence = (
        f"Both cost the same where a roll of geogrid costs ${same:,.2f}; at ${line.unit_price:,.2f} it {verdict}."
    )
    return BreakEven(same, cents_down(per_yd2), cents_down(per_m2), line.unit_price, pays, sentence)


def _exact(lines: tuple[Line, ...] | list[Line], of: Estimate) -> Fraction:
    """Return the total of printed quantities with no money rounded."""
    amounts = ((Fraction(line.quantity) * Fraction(line.unit_price), line.taxable) for line in lines)
    return exact_total(amounts, of.markups)


def extra_inch(job: Job, book: PriceBook, depths: Mapping[str, BaseDepth], option: Option) -> ExtraInch:
    """Return what one more inch (or 10 mm) of base costs the client, everything included, rounded up to the cent.

    Loads and rolls count as fractions, so that the rate does not depend on how full the last truck happens to be. An
    old base that stays would have to come out before anything goes deeper: that is priced once, and the steps without.

    Parameters
    ----------
    job, book
        The job, and the owner's settings and prices.
    depths
        Base depth of each area.
    option
        The option they belong to.
    """
    step_m, step = (0.010, "10 mm") if job.units == "metric" else (INCH_M, "1 in")

    def made(extra_m: Mapping[str, float], of: Job) -> Takeoff:
        return take_off(of, book.company, depths, option, extra_m, whole_loads=False)

    def dug_out(names: Collection[str]) -> Job:
        areas = (replace(area, keep_old_base=False) if area.name in names else area for area in job.areas)
        return replace(job, areas=tuple(areas))

    as_offered = made({}, job)
    kept = [area.area.name for area in as_offered.areas if area.kept_m > 0]
    without = dug_out(kept)

    def price(extra_m: Mapping[str, float]) -> Fraction:
        return exact_price(made(extra_m, without), book)

    offered = exact_price(as_offered, book)
    # Dug out under a high finish, more stone than the ground needs must fill the place of the old base.
    level = {area.name: _lacking_m(as_offered.area(area.name)) if area.name in kept else 0.0 for area in job.areas}
    once = {name: cents_up(exact_price(made({name: level[name]}, dug_out([name])), book) - offered) for name in kept}
    now = price(level)
    areas: dict[str, Decimal] = {
        area.name: cents_up(price({**level, area.name: level[area.name] + step_m}) - now) for area in job.areas
    }
    everywhere = cents_up(price({name: deeper + step_m for name, deeper in level.items()}) - now)
    return ExtraInch(step_m, step, areas, everywhere, once)


def _lacking_m(area: AreaTakeoff) -> float:
    """Return how far pavers, bedding and base would not reach down to the old base, were that dug out [m]."""
    layers = area.below_finish_m - area.new_m + area.base_m
    return max(area.area.finish_above_ground_m + area.area.old_pavement_m - layers, 0.0)
