"""From areas to the quantities that are priced: work by area, loads, rolls and bags for the whole job."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final, Literal

from basecalc.company import Company, Stone, Truck
from basecalc.job import Job
from basecalc.rounding import fixed, whole_up
from basecalc.tables import table
from basecalc.takeoff.aggregate import aggregate_mass_kg, loose_stone_m3
from basecalc.takeoff.amounts import in_unit, told, unit_of
from basecalc.takeoff.codes import code, codes
from basecalc.takeoff.hauling import haul
from basecalc.takeoff.materials import Materials
from basecalc.takeoff.record import AreaTakeoff, Quantity
from basecalc.takeoff.sheets import Laid, exact_rolls, whole_rolls
from basecalc.takeoff.surface import bedding_volume_m3, joint_sand_kg, paver_area_m2
from basecalc.units import FOOT2_M2, POUND_KG, YARD3_M3

BAG_KG: Final = 50 * POUND_KG  # joint sand is taken to come in bags of 50 lb; practice


def count(
    job: Job,
    company: Company,
    own: Materials,
    areas: Sequence[AreaTakeoff],
    sheets: Sequence[Laid],
    *,
    whole_loads: bool,
) -> tuple[Quantity, ...]:
    """Return every quantity above nought, in the order of the work.

    Parameters
    ----------
    job, company, own
        The job, the owner's settings, and the materials it takes.
    areas, sheets
        The areas taken off, and the rolls laid there.
    whole_loads
        Whether loads, rolls and bags are whole.
    """
    counting = _Count(job, own, whole_loads)
    found = [
        *(one for area in areas for one in counting.in_area(area, company)),
        *counting.for_job(areas, company),
        *counting.rolls(sheets),
    ]
    order = list(codes())
    return tuple(sorted((one for one in found if one.amount > 0), key=lambda one: order.index(one.code)))


class _Count:
    """The words and units that the counting of one job shares."""

    def __init__(self, job: Job, own: Materials, whole: bool) -> None:
        self.units, self.own, self.whole = job.units, own, whole

    def _made(self, key: str, si: float, working: str, area: str = "", variant: str = "", item: str = "") -> Quantity:
        entry = code(key)
        unit = entry.unit(self.units)
        return Quantity(entry.code, item or entry.title, area, in_unit(si, unit), unit, working, variant)

    def _told(self, amount: float, dimension: Literal["depth", "length", "area", "volume", "mass"]) -> str:
        return told(amount, dimension, self.units)

    def in_area(self, one: AreaTakeoff, company: Company) -> Iterator[Quantity]:
        """Yield what is counted area by area."""
        area, own, name = one.area, self.own, one.area.name
        yield self._made(
            "old-pavement", area.area_m2 if area.old_pavement_m else 0.0,
            f"{area.old_pavement_kind}, {self._told(area.old_pavement_m, 'depth')} thick", name, area.old_pavement_kind,
        )  # fmt: skip
        bank = one.bank_m3 - one.fill_m3
        yield self._made("dig", bank, self._dig_told(one), name)
        fill_told = self._fill_told(one)
        what = "dig out the loose fill" if area.loose_fill else "dig for the fill at the foundation"
        yield self._made("dig", one.fill_m3, fill_told, name, item=what)
        yield self._made(
            "base-stone", one.stone_kg,
            f"{self._told(one.stone_m3, 'volume')} compacted x {own.stone.compaction_factor:g} x "
            f"{self._density(own.stone)}{_waste(own.stone.waste)}", name, own.stone.name,
        )  # fmt: skip
        yield self._made("base-place", one.stone_m3, f"{self._base_told(one)}, compacted in {one.lifts} lifts", name)
        bedding = bedding_volume_m3(area.area_m2, company.design.bedding_m)
        yield self._made(
            "bedding-sand", stone_mass_kg(bedding, own.bedding),
            f"{self._told(area.area_m2, 'area')} x {self._told(company.design.bedding_m, 'depth')} x "
            f"{own.bedding.compaction_factor:g} x {self._density(own.bedding)}{_waste(own.bedding.waste)}",
            name, own.bedding.name,
        )  # fmt: skip
        yield self._made(
            "pavers", paver_area_m2(area.area_m2, own.paver.cutting_waste),
            f"{self._told(area.area_m2, 'area')}{_waste(own.paver.cutting_waste, 'cutting')}", name, own.paver.name,
        )  # fmt: skip
        yield self._made("paver-lay", area.area_m2, self._told(area.area_m2, "area"), name)
        yield self._made("edge-restraint", area.edge_restraint_m, self._told(area.edge_restraint_m, "length"), name)
        if own.fill is not None:
            yield self._made(
                "foundation-fill", stone_mass_kg(one.fill_m3, own.fill),
                f"{fill_told} x {own.fill.compaction_factor:g} x {self._density(own.fill)}{_waste(own.fill.waste)}",
                name, own.fill.name,
            )  # fmt: skip
        yield self._made("foundation-place", one.fill_m3, f"{fill_told}, compacted", name)

    def _fill_told(self, one: AreaTakeoff) -> str:
        area = one.area
        if area.loose_fill is not None and area.loose_fill.way == "fill":
            down = f"{self._told(area.loose_fill.depth_m, 'depth')} to sound ground less the dig"
            return f"{self._told(one.fill_m2, 'area')} x {self._told(one.fill_m, 'depth')} ({down})"
        along, wide = area.foundation_edge_m, area.foundation_fill_width_m
        return f"{self._told(along, 'length')} x {self._told(wide, 'length')} x {self._told(one.fill_m, 'depth')}"

    def _base_told(self, one: AreaTakeoff) -> str:
        if not one.kept_m:
            return f"{self._told(one.base_area_m2, 'area')} x {self._told(one.base_m, 'depth')}"
        paved, beside = one.area.area_m2, one.base_area_m2 - one.area.area_m2
        return (
            f"{self._told(paved, 'area')} x {self._told(one.new_m, 'depth')} on the old base + "
            f"{self._told(beside, 'area')} beside it x {self._told(one.base_m, 'depth')}"
        )

    def _dig_told(self, one: AreaTakeoff) -> str:
        if one.kept_m:
            paved, beside = one.area.area_m2, one.base_area_m2 - one.area.area_m2
            return (
                f"{self._told(paved, 'area')} x {self._told(one.dig_m, 'depth')} off the old base + "
                f"{self._told(beside, 'area')} beside it x {self._told(one.beside_m, 'depth')}"
            )
        dug = f"{self._told(one.base_area_m2, 'area')} x {self._told(one.dig_m, 'depth')}"
        beside = one.base_area_m2 - one.area.area_m2
        if not one.area.old_pavement_m or beside <= 0:
            return dug
        old = self._told(one.area.old_pavement_m, "depth")
        return f"{dug} + {self._told(beside, 'area')} beside the old pavement x {old}"

    def _density(self, stone: Stone) -> str:
        if self.units == "metric":
            return f"{stone.loose_density_kg_m3 / 1000:.3g} t/m3 loose"
        return f"{in_unit(stone.loose_density_kg_m3 * YARD3_M3, 'ton'):.3g} ton/yd3 loose"

    def for_job(self, areas: Sequence[AreaTakeoff], company: Company) -> Iterator[Quantity]:
        """Yield loads and bags, pooled over the areas."""
        own = self.own
        loose, mass = sum(one.loose_m3 for one in areas), sum(one.spoil_kg for one in areas)
        for key in ("spoil-haul", "spoil-tip"):
            yield self._loads(key, mass, loose, own.spoil_truck)
        for kind in dict.fromkeys(one.area.old_pavement_kind for one in areas if one.pavement_m3 > 0):
            mass, loose = broken_out(kind, sum(one.pavement_m3 for one in areas if one.area.old_pavement_kind == kind))
            yield self._loads("old-pavement-haul", mass, loose, own.spoil_truck, kind)
        bedding = sum(bedding_volume_m3(one.area.area_m2, company.design.bedding_m) for one in areas)
        brought = [
            (own.stone, sum(one.stone_m3 for one in areas)),
            (own.bedding, bedding),
            (own.fill, sum(one.fill_m3 for one in areas)),
        ]
        for stone, volume in brought:
            if stone is not None:
                loose = loose_stone_m3(volume, stone.compaction_factor, stone.waste)
                yield self._loads("stone-haul", stone_mass_kg(volume, stone), loose, own.stone_truck, stone.name)
        paved = sum(one.area.area_m2 for one in areas)
        bags = joint_sand_kg(paved, company.joint_sand_kg_m2) / BAG_KG
        yield self._made(
            "joint-sand", whole_up(bags) if self.whole else bags,
            f"{self._told(paved, 'area')} at {self._spread(company)}, bags of {BAG_KG / POUND_KG:.0f} lb",
        )  # fmt: skip

    def _spread(self, company: Company) -> str:
        if self.units == "metric":
            return f"{company.joint_sand_kg_m2:.3g} kg/m2"
        return f"{company.joint_sand_kg_m2 / POUND_KG * FOOT2_M2:.3g} lb/ft2"

    def _loads(self, key: str, mass_kg: float, loose_m3: float, truck: Truck, variant: str = "") -> Quantity:
        hauled = haul(mass_kg, truck.payload_kg, loose_m3, truck.box_m3)
        by_mass = hauled.limit == "payload"
        full = self._told(truck.payload_kg, "mass") if by_mass else self._told(truck.box_m3, "volume")
        working = (
            f"{self._told(mass_kg, 'mass')}, {self._told(loose_m3, 'volume')} loose; {fixed(hauled.exact, 2)} loads "
            f"of {full} ({truck.name}, filled by {'weight' if by_mass else 'volume'})"
        )
        loads = self._made(key, hauled.loads if self.whole else hauled.exact, working, "", variant)
        measures = ((mass_kg, unit_of("mass", self.units)), (loose_m3, unit_of("volume", self.units)))
        return replace(loads, also=tuple((in_unit(amount, unit), unit) for amount, unit in measures))

    def rolls(self, sheets: Sequence[Laid]) -> Iterator[Quantity]:
        """Yield the rolls, pooled over the areas."""
        for kind in ("geotextile", "geogrid"):
            same = [sheet for sheet in sheets if sheet.roll.kind == kind]
            if not same:
                continue
            roll = same[0].roll
            laps = " and ".join(dict.fromkeys(self._told(sheet.side_m, "length") for sheet in same))
            strips = ", ".join(f"{sheet.strips} x {self._told(sheet.length_m, 'length')}" for sheet in same)
            working = (
                f"strips {strips}; overlap {laps}; rolls of {self._told(roll.length_m, 'length')} x "
                f"{self._told(roll.width_m, 'length')}"
            )
            yield self._made(kind, whole_rolls(same) if self.whole else exact_rolls(same), working, "", roll.name)


def stone_mass_kg(compacted_m3: float, stone: Stone) -> float:
    """Return the mass of an owner's stone to order for a compacted volume [kg].

    Parameters
    ----------
    compacted_m3
        Volume in place [m3].
    stone
        The owner's stone.
    """
    return aggregate_mass_kg(compacted_m3, stone.loose_density_kg_m3, stone.compaction_factor, stone.waste)


def broken_out(kind: str, volume_m3: float) -> tuple[float, float]:
    """Return what an old pavement weighs [kg], and the room it takes once it is broken out [m3].

    Parameters
    ----------
    kind
        One of the table of old pavements.
    volume_m3
        Volume in place [m3].

    Examples
    --------
    >>> [round(value) for value in broken_out("asphalt", 10.0)]
    [23227, 15]
    """
    row = table("old_pavements").exact(kind)
    return volume_m3 * float(row["in_place"]) * POUND_KG / YARD3_M3, volume_m3 * float(row["bulking"])


def _waste(share: float, word: str = "waste") -> str:
    return f" + {share:.1%} {word}" if share else ""
