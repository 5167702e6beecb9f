"""Which of the owner's stones, pavers, rolls and trucks a job takes: the one it names, or the first on the sheet.

What a take-off hands on: one record per quantity, per area and per option.
Rolls over a whole job: what is laid in each area, and how many rolls the strips of all areas are cut from.
How an old base that stays is counted: what is trimmed, what is laid on it, and when it is dug out after all.
One area at one base depth: what is dug, brought in and laid there.
From areas to the quantities that are priced: work by area, loads, rolls and bags for the whole job.
A job's every quantity, per area and option.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, TypeVar

from basecalc.company import Company, Paver, Roll, Stone, Truck
from basecalc.core.errors import BasecalcError, InputError, PriceError
from basecalc.core.numbers import brief, fixed, number, shown, whole_up
from basecalc.core.published import Working, table
from basecalc.core.units import FOOT2_M2, INCH_M, POUND_KG, YARD3_M3
from basecalc.design.depth import BaseDepth
from basecalc.ground.old_pavement import old_base_verdict
from basecalc.ground.readings import pavement_rule
from basecalc.ground.readings import soil_named as soil_named
from basecalc.job import Job, JobArea
from basecalc.takeoff.codes import code, codes
from basecalc.takeoff.earthwork import (
    aggregate_mass_kg,
    bedding_volume_m3,
    dig_depth_m,
    edge_extension_m,
    extended_area_m2,
    in_unit,
    joint_sand_kg,
    lift_thickness_m,
    lifts,
    loose_stone_m3,
    loose_volume_m3,
    paver_area_m2,
    stripping_flag,
    told,
    unit_of,
)
from basecalc.takeoff.hauling import haul
from basecalc.takeoff.rolls import lay, overlap, pooled_rolls

Material = TypeVar("Material", Stone, Paver, Roll, Truck)


@dataclass(frozen=True, slots=True)
class Materials:
    """What a job is built with."""

    stone: Stone
    bedding: Stone
    fill: Stone | None
    paver: Paver
    geogrid: Roll | None
    geotextile: Roll | None
    spoil_truck: Truck
    stone_truck: Truck


def materials(job: Job, company: Company) -> Materials:
    """Return the owner's materials and trucks that a job takes."""
    where = job.source_path or f"job {job.number}"
    stones = {use: [stone for stone in company.stones if stone.kind == use] for use in ("base", "bedding", "fill")}
    rolls = {kind: [roll for roll in company.rolls if roll.kind == kind] for kind in ("geogrid", "geotextile")}
    trucks = {use: [truck for truck in company.trucks if truck.use in (use, "both")] for use in ("spoil", "stone")}
    needs_fill = any(
        area.foundation_fill_depth_m > 0 or (area.loose_fill is not None and area.loose_fill.way == "fill")
        for area in job.areas
    )
    needs_textile = any(area.geotextile for area in job.areas)
    needs_grid = bool(rolls["geogrid"] or job.geogrid)
    return Materials(
        _pick(job.stone, "stone", stones["base"], "base stone", where),
        _pick("", "stone", stones["bedding"], "bedding sand", where),
        _pick("", "stone", stones["fill"], "granular fill", where) if needs_fill else None,
        _pick(job.paver, "paver", company.pavers, "paver", where),
        _pick(job.geogrid, "geogrid", rolls["geogrid"], "geogrid", where) if needs_grid else None,
        _pick(job.geotextile, "geotextile", rolls["geotextile"], "geotextile", where) if needs_textile else None,
        _pick(job.spoil_truck, "spoil truck", trucks["spoil"], "truck that hauls soil", where),
        _pick(job.stone_truck, "stone truck", trucks["stone"], "truck that hauls stone", where),
    )


def _pick(asked: str, key: str, offered: Sequence[Material], kind: str, where: str) -> Material:
    if not offered:
        raise PriceError(f"there is no {kind} in the owner's lists, and this job needs one", where="sheet Company")
    if not asked:
        return offered[0]
    for one in offered:
        if one.name.casefold() == " ".join(asked.split()).casefold():
            return one
    names = ", ".join(one.name for one in offered)
    raise InputError(f"{key} is {shown(asked)}; it must be one of the owner's: {names}", where=where)


Option = Literal["stone", "geogrid", "habit"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """An amount of one thing, with the sum it comes from."""

    code: str
    item: str
    area: str
    amount: float
    unit: str
    working: str
    variant: str = ""
    also: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True, slots=True)
class AreaTakeoff:
    """One area at one base depth: what is dug, brought in and laid."""

    area: JobArea
    depth: BaseDepth | None
    base_m: float
    extension_m: float
    dig_m: float
    below_finish_m: float
    base_area_m2: float
    bank_m3: float
    fill_m2: float
    fill_m: float
    loose_m3: float
    spoil_kg: float
    pavement_m3: float
    kept_m: float
    new_m: float
    beside_m: float
    stone_m3: float
    stone_loose_m3: float
    stone_kg: float
    lifts: int
    lift_m: float
    overlap_m: float
    strips: int
    working: tuple[Working, ...] = ()
    flags: tuple[str, ...] = ()
    old_base: str = ""

    @property
    def fill_m3(self) -> float:
        """Granular fill, compacted [m3]."""
        return self.fill_m2 * self.fill_m


@dataclass(frozen=True, slots=True)
class Takeoff:
    """A job's every quantity for one option."""

    job: Job
    option: Option
    areas: tuple[AreaTakeoff, ...]
    quantities: tuple[Quantity, ...]
    whole_loads: bool = True

    __repr__ = brief

    def area(self, name: str) -> AreaTakeoff:
        """Return the record of the area with this name."""
        return next(area for area in self.areas if area.area.name == name)

    def of(self, code: str) -> tuple[Quantity, ...]:
        """Return the quantities of one code."""
        return tuple(quantity for quantity in self.quantities if quantity.code == code)

    def amount(self, code: str) -> float:
        """Return how much of one code the whole job needs, in the unit of its quantities; 0 where it needs none."""
        return sum(quantity.amount for quantity in self.of(code))

    @property
    def base_m(self) -> Mapping[str, float]:
        """Base depth of each area [m], by name."""
        return {area.area.name: area.base_m for area in self.areas}


@dataclass(frozen=True, slots=True)
class Laid:
    """One kind of roll laid below an area."""

    roll: Roll
    length_m: float
    side_m: float
    end_m: float
    strips: int
    covered_m2: float
    sentence: str
    sewn: bool


def laid(
    area: JobArea, depth: BaseDepth | None, cbr: float | None, base_m2: float, extension_m: float, own: Materials
) -> tuple[Laid, ...]:
    """Return the rolls laid below an area: the geogrid its depth was designed with, the geotextile it asks for."""
    found = []
    if depth is not None and depth.reinforcement.kind == "geogrid" and own.geogrid is not None:
        found.append(own.geogrid)
    if area.geotextile and own.geotextile is not None:
        found.append(own.geotextile)
    length, width = (side + 2 * extension_m for side in area.extent_m)
    return tuple(_laid(roll, area, cbr, base_m2, length, width) for roll in found)


def _laid(roll: Roll, area: JobArea, cbr: float | None, base_m2: float, length: float, width: float) -> Laid:
    if cbr is None and roll.overlap_m is None:
        raise InputError(
            f"area {area.name}: the overlap of the {roll.kind} needs the strength of the ground, or an owner's own"
        )
    rule = None if cbr is None else overlap(cbr, roll.kind)
    if roll.overlap_m is not None:
        side = end = roll.overlap_m
        sentence = f"overlap of the owner for {roll.name}"
    else:
        assert rule is not None
        side, end, sentence = rule.side_m, rule.end_m, rule.sentence
    plan = lay(length, width, roll.length_m, roll.width_m, side, end)
    sewn = rule is not None and rule.sewn
    if sewn and roll.overlap_m is not None and rule is not None:
        sentence = rule.sentence
    return Laid(roll, length, side, end, plan.strips, base_m2, sentence, sewn)


def whole_rolls(sheets: Sequence[Laid]) -> int:
    """Return the whole rolls that the strips of all areas are cut from, one after the other.

    What is left of a roll begins the next strip, also in the next area; the pieces of a strip overlap at their ends.
    """
    if not sheets:
        return 0
    return pooled_rolls([(sheet.strips, sheet.length_m, sheet.end_m) for sheet in sheets], sheets[0].roll.length_m)


def exact_rolls(sheets: Sequence[Laid]) -> float:
    """Return the rolls as a fraction, by area covered and overlap of the sides: for rates, not for orders."""
    return sum(sheet.covered_m2 / ((sheet.roll.width_m - sheet.side_m) * sheet.roll.length_m) for sheet in sheets)


@dataclass(frozen=True, slots=True)
class Kept:
    """What becomes of an old base in the paved area.

    Parameters
    ----------
    kept_m
        What of it stays [m]; 0 where it is dug out.
    new_m
        New stone laid on it [m].
    dig_m
        What is taken off its top [m].
    share
        What an inch of it counts, of an inch of new stone.
    words
        What is done, in a sentence; nothing where nobody asked for it to stay.
    """

    kept_m: float = 0.0
    new_m: float = 0.0
    dig_m: float = 0.0
    share: float = 0.0
    words: str = ""


def kept_base(
    area: JobArea, depth: BaseDepth | None, base_m: float, paver_m: float, bedding_m: float, units: str
) -> Kept:
    """Return how much of an old base stays, so that it and the new stone are worth the base that is needed.

    Levels decide: pavers and sand lie where the finish puts them, so that the top of the old base is taken off or new
    stone laid on it. Where that is not yet worth the base needed, more of its top is replaced by new stone. It is dug
    out, at the full price, where anything speaks against it.
    """
    if not area.keep_old_base or depth is None:
        return Kept()
    others = []
    if area.geotextile or depth.reinforcement.kind != "none":
        others.append("a geotextile or geogrid is laid, and none can go below a base that stays")
    if area.loose_fill is not None or area.strip_of:
        others.append("there is loose fill below it")
    verdict = old_base_verdict(area.pavement, depth.strength.strength_class, area.area_m2, others)
    if not verdict.stays:
        return Kept(words=f"the old base is priced as dug out, it may not stay: {'; '.join(verdict.against)}")
    top = paver_m + bedding_m - area.finish_above_ground_m - area.old_pavement_m  # below the top of the old base
    new, stays = max(-top, 0.0), verdict.base_m - max(top, 0.0)
    lacking = max(base_m - new - verdict.share * stays, 0.0) / (1 - verdict.share)
    thinnest = pavement_rule("thinnest old base that stays") * INCH_M
    if stays - lacking < thinnest - 1e-9:
        reach = told(max(new + stays, 0.0), "depth", units)
        return Kept(
            words="the old base is priced as dug out, it may not stay: at this finish its bottom lies "
            f"{reach} below the sand, {told(base_m, 'depth', units)} of base is needed, and of the old base less than "
            f"{told(thinnest, 'depth', units)} would be left; a higher finish may keep it"
        )
    kept = Kept(stays - lacking, new + lacking, max(top, 0.0) + lacking, verdict.share)
    trimmed = f"after {told(kept.dig_m, 'depth', units)} of its top is taken off " if kept.dig_m > 0 else ""
    laid = f"{told(kept.new_m, 'depth', units)} of new stone is laid on it" if kept.new_m > 0 else "no stone is added"
    words = (
        f"{told(kept.kept_m, 'depth', units)} of the old base stays {trimmed}and {laid}; old stone counts "
        f"{verdict.share:.2f} of new, together {told(kept.new_m + verdict.share * kept.kept_m, 'depth', units)}"
    )
    return Kept(kept.kept_m, kept.new_m, kept.dig_m, kept.share, words)


_DUG: Final = "pavers, bedding and base, less what stands above the ground"


def area_takeoff(
    area: JobArea,
    depth: BaseDepth | None,
    base_m: float,
    company: Company,
    own: Materials,
    units: str,
    cbr: float | None = None,
) -> tuple[AreaTakeoff, tuple[Laid, ...]]:
    """Return what one area takes at one base depth, and the rolls laid there."""
    bedding_m = company.design.bedding_m
    old_m, above_m = area.old_pavement_m, area.finish_above_ground_m
    extension = edge_extension_m(base_m, company.edge_extension_m) if area.open_edge_m else 0.0
    base_m2 = extended_area_m2(area.area_m2, area.open_edge_m, extension, area.corners)
    paver_m = own.paver.thickness_m
    kept = kept_base(area, depth, base_m, paver_m, bedding_m, units)
    # The old pavement lies under the new one only: the extension beside it is dug from the ground.
    if kept.kept_m > 0:
        dig, new_m = kept.dig_m, kept.new_m
        beside = dig_depth_m(base_m, paver_m, bedding_m, above_m)
    else:
        dig, new_m = dig_depth_m(base_m, paver_m, bedding_m, above_m, old_m), base_m
        beside = dig + old_m
    fill_m2, fill_m = _fill(area, base_m2, dig + old_m)
    fill = fill_m2 * fill_m
    base_bank = area.area_m2 * dig + (base_m2 - area.area_m2) * beside
    bank = base_bank + fill
    loose, spoil_kg = _spoil(area, company, bank, kept)
    stone = area.area_m2 * new_m + (base_m2 - area.area_m2) * base_m
    laid_m = new_m if new_m > 0 else base_m
    count = lifts(laid_m, company.lift_m)
    sheets = laid(area, depth, depth.cbr if depth else cbr, base_m2, extension, own)
    working = [
        Working("base beyond the edge", extension, "m", "the greater of the owner's least and the base depth"),
        Working("area of dig and base", base_m2, "m2", f"{told(area.area_m2, 'area', units)} with the extension"),
        Working("dig below the ground", dig, "m", kept.words or _DUG),
        Working("dig in place", bank, "m3", "with what the granular fill replaces" if fill else ""),
        *(Working(f"overlap of {sheet.roll.kind}", sheet.side_m, "m", sheet.sentence) for sheet in sheets),
    ]
    flags = [stripping_flag(dig, old_m), kept.words, *(sheet.sentence for sheet in sheets if sheet.sewn)]
    grid = sheets[0] if sheets else None
    made = AreaTakeoff(
        area=area,
        depth=depth,
        base_m=base_m,
        extension_m=extension,
        dig_m=dig,
        below_finish_m=paver_m + bedding_m + new_m,
        base_area_m2=base_m2,
        bank_m3=bank,
        fill_m2=fill_m2,
        fill_m=fill_m,
        loose_m3=loose,
        spoil_kg=spoil_kg,
        pavement_m3=area.area_m2 * old_m,
        kept_m=kept.kept_m,
        new_m=new_m,
        beside_m=beside,
        stone_m3=stone,
        stone_loose_m3=loose_stone_m3(stone, own.stone.compaction_factor, own.stone.waste),
        stone_kg=aggregate_mass_kg(stone, own.stone.loose_density_kg_m3, own.stone.compaction_factor, own.stone.waste),
        lifts=count,
        lift_m=lift_thickness_m(laid_m, count),
        overlap_m=grid.side_m if grid else 0.0,
        strips=grid.strips if grid else 0,
        working=tuple(working),
        flags=tuple(flag for flag in flags if flag),
        old_base=kept.words,
    )
    return made, sheets


def _fill(area: JobArea, base_m2: float, below_m: float) -> tuple[float, float]:
    """Return plan area and depth of the granular fill: as ordered, or from the bottom of the dig to sound ground."""
    if area.loose_fill is not None and area.loose_fill.way == "fill":
        return base_m2, max(area.loose_fill.depth_m - below_m, 0.0)
    if not area.foundation_fill_depth_m:
        return 0.0, 0.0
    return area.foundation_edge_m * area.foundation_fill_width_m, area.foundation_fill_depth_m


def _spoil(area: JobArea, company: Company, bank_m3: float, kept: Kept) -> tuple[float, float]:
    """Return loose volume and mass of what is dug; what comes off the top of an old base that stays is gravel."""
    gravel = area.area_m2 * kept.dig_m if kept.kept_m > 0 else 0.0
    parts = [(bank_m3 - gravel, area.soil), (gravel, "gravel")]
    loose = [(loose_volume_m3(bank, swell(soil, company)), soil) for bank, soil in parts if bank > 0]
    return sum(one for one, _ in loose), sum(one * spoil_density_kg_m3(soil) for one, soil in loose)


def swell(soil: str, company: Company) -> float:
    """Return the loose volume of one volume in place, by the owner's figure or the table's."""
    for name, value in company.soils.items():
        if name.casefold() == soil.casefold():
            return value
    return soil_named(soil).swell


def spoil_density_kg_m3(soil: str) -> float:
    """Return what dug soil weighs in the truck [kg/m3].

    Parameters
    ----------
    soil
        One of `basecalc.ground.readings.SOILS`.

    Examples
    --------
    >>> round(spoil_density_kg_m3("gravel"))
    1762

    References
    ----------
    TM-9-2320-366-10-1, Table 2-15 [read]; which row stands for a word is basecalc's own choice.
    """
    return float(table("spoil_weights").exact(soil)["loose"]) * POUND_KG / YARD3_M3


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
    """Return every quantity above nought, in the order of the work."""
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
    """Return the mass of an owner's stone to order for a compacted volume [kg]."""
    return aggregate_mass_kg(compacted_m3, stone.loose_density_kg_m3, stone.compaction_factor, stone.waste)


def broken_out(kind: str, volume_m3: float) -> tuple[float, float]:
    """Return what an old pavement weighs [kg], and the room it takes once it is broken out [m3].

    Examples
    --------
    >>> [round(value) for value in broken_out("asphalt", 10.0)]
    [23227, 15]
    """
    row = table("old_pavements").exact(kind)
    return volume_m3 * float(row["in_place"]) * POUND_KG / YARD3_M3, volume_m3 * float(row["bulking"])


def _waste(share: float, word: str = "waste") -> str:
    return f" + {share:.1%} {word}" if share else ""


def take_off(
    job: Job,
    company: Company,
    depths: Mapping[str, BaseDepth | float],
    option: Option,
    extra_m: float | Mapping[str, float] = 0.0,
    whole_loads: bool = True,
    cbrs: Mapping[str, float] | None = None,
) -> Takeoff:
    """Return every quantity of a job at the given base depths.

    Parameters
    ----------
    job
        The job.
    company
        The owner's settings and materials.
    depths
        Base depth of each area by its name: the checks behind it, or a number [m].
    option
        What the depths stand for: 'stone', 'geogrid' or 'habit'. Geogrid is laid where the depth was designed with it.
    extra_m
        Added to the base depth of every area, or of those named [m].
    whole_loads
        Whether loads, rolls and bags are whole, as ordered; fractions are for rates.
    cbrs
        Strength of the ground by area [%], for the overlap of rolls where a depth is a number.

    Raises
    ------
    InputError
        An area without a depth, or a material the owner does not have.
    OutOfRangeError
        A depth at which an area cannot be built, and what else the sums refuse; the message names the area.
    PriceError
        The owner's lists lack a material or a truck that the job needs.
    """
    own = materials(job, company)
    made: list[AreaTakeoff] = []
    sheets: list[Laid] = []
    for area in job.areas:
        if area.name not in depths:
            raise InputError(f"area {area.name} has no base depth; one must be given for each area")
        given = depths[area.name]
        depth = given if isinstance(given, BaseDepth) else None
        more = extra_m.get(area.name, 0.0) if isinstance(extra_m, Mapping) else extra_m
        try:
            asked = given.required_m if isinstance(given, BaseDepth) else number("base depth", given, "m", 0.05, 3.0)
            cbr = (cbrs or {}).get(area.name)
            one, rolls = area_takeoff(area, depth, asked + more, company, own, job.units, cbr)
        except BasecalcError as error:
            raise error.at(_where(job, area.name)) from None
        made.append(one)
        sheets += rolls
    counted = count(job, company, own, made, sheets, whole_loads=whole_loads)
    return Takeoff(job, option, tuple(made), counted, whole_loads)


def _where(job: Job, area: str) -> str:
    return f'{job.source_path or f"job {job.number}"}, area "{area}"'
