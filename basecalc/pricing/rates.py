"""What follows from two priced options: savings, and the geogrid price at which both cost the same."""

from fractions import Fraction

from basecalc.company import Roll
from basecalc.pricing.money import cents_down, exact_total, factor
from basecalc.pricing.record import BreakEven, Estimate, Line, Saving
from basecalc.takeoff.record import Takeoff
from basecalc.units import YARD2_M2


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
