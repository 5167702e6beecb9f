"""From a job to its every quantity: the model's inputs, what it works out, and the records that prices and papers read.

The quantities themselves are declared in `basecalc.takeoff.model`, each once. Here are the owner's materials that a job
takes, what is read from the ground (whether an old base may stay, how far rolls lap), and the words.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final, Literal, TypeVar

from basecalc.company import Company, Paver, Roll, Stone, Truck
from basecalc.core.errors import BasecalcError, InputError, PriceError
from basecalc.core.expressions import KINDS, in_unit, written
from basecalc.core.numbers import brief, fixed, number, quoted
from basecalc.core.published import table
from basecalc.core.units import INCH_M, POUND_KG, YARD3_M3
from basecalc.design.depth import BaseDepth
from basecalc.ground.old_pavement import old_base_verdict
from basecalc.ground.readings import pavement_rule, soil_named
from basecalc.job import Job, JobArea
from basecalc.takeoff.codes import code
from basecalc.takeoff.model import CODES, MODEL, ROLLS
from basecalc.takeoff.rolls import Overlap, overlap, strip_rows

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
    where = job.place()
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
    raise InputError(f"{key} is {quoted(asked)}; it must be one of the owner's: {names}", where=where)


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
class Laid:
    """One kind of roll laid below an area."""

    roll: Roll
    length_m: float
    side_m: float
    end_m: float
    strips: int
    sentence: str
    sewn: bool


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
    kept_m: float
    new_m: float
    stone_m3: float
    stone_loose_m3: float
    stone_kg: float
    lifts: int
    lift_m: float
    rolls: tuple[Laid, ...] = ()
    flags: tuple[str, ...] = ()
    old_base: str = ""

    @property
    def fill_m3(self) -> float:
        """Granular fill, compacted [m3]."""
        return self.fill_m2 * self.fill_m


Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Takeoff:
    """A job's every quantity for one option; `values` are those of the model, a row for each row of its tables."""

    job: Job
    option: Option
    areas: tuple[AreaTakeoff, ...]
    quantities: tuple[Quantity, ...]
    values: Mapping[str, tuple[Row, ...]] = field(default_factory=dict, repr=False)

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


_ROLLS: Final = {kind: key for key, kind in ROLLS.items()}  # the model's table of a kind of roll
Rolls = Mapping[str, tuple[Roll, Overlap]]  # by the table of the model


def _rolls(area: JobArea, depth: BaseDepth | None, cbr: float | None, own: Materials) -> Rolls:
    """Return the rolls below an area and how far they lap: the geogrid of its depth, the geotextile it asks for."""
    rolls = []
    if depth is not None and depth.reinforcement.kind == "geogrid" and own.geogrid is not None:
        rolls.append(own.geogrid)
    if area.geotextile and own.geotextile is not None:
        rolls.append(own.geotextile)
    return {_ROLLS[roll.kind]: (roll, _lap(roll, area, cbr)) for roll in rolls}


def _lap(roll: Roll, area: JobArea, cbr: float | None) -> Overlap:
    if cbr is None and roll.overlap_m is None:
        raise InputError(
            f"area {area.name}: the overlap of the {roll.kind} needs the strength of the ground, or an owner's own"
        )
    rule = None if cbr is None else overlap(cbr, roll.kind)
    if roll.overlap_m is None:
        assert rule is not None
        return rule
    if rule is not None and rule.sewn:
        return replace(rule, side_m=roll.overlap_m, end_m=roll.overlap_m)
    return Overlap(roll.overlap_m, roll.overlap_m, False, f"overlap of the owner for {roll.name}", "")


def _roll_inputs(rolls: Rolls) -> dict[str, Any]:
    known: dict[str, Any] = {}
    for key, (roll, lap) in rolls.items():
        known |= {key: 1, f"{key}_width": roll.width_m, f"{key}_lap": lap.side_m, f"{key}_end": lap.end_m}
    return known


def _sheets(rolls: Rolls, row: Row) -> tuple[Laid, ...]:
    return tuple(
        Laid(
            roll, row[f"{key}_run"], lap.side_m, lap.end_m, row[f"{key}_strips"], lap.sentence, lap.sewn,
        )
        for key, (roll, lap) in rolls.items()
    )  # fmt: skip


def _of_stone(key: str, stone: Stone | None) -> dict[str, float | None]:
    if stone is None:
        return dict.fromkeys((f"{key}_density", f"{key}_factor", f"{key}_waste"))
    return {
        f"{key}_density": stone.loose_density_kg_m3,
        f"{key}_factor": stone.compaction_factor,
        f"{key}_waste": stone.waste,
    }


def company_inputs(company: Company, own: Materials) -> dict[str, Any]:
    """Return what the model takes from the company and the materials of a job."""
    trucks = {"spoil": own.spoil_truck, "supply": own.stone_truck}
    rolls = {"textile": own.geotextile, "grid": own.geogrid}
    return {
        "paver": own.paver.thickness_m,
        "bedding": company.design.bedding_m,
        "least_reach": company.edge_extension_m,
        "lift": company.lift_m,
        "thinnest_old": pavement_rule("thinnest old base that stays") * INCH_M,
        "cutting": own.paver.cutting_waste,
        "joint_cover": company.joint_sand_kg_m2,
        "bag": BAG_KG,
        "gravel_swell": swell("gravel", company),
        "gravel_weight": spoil_density_kg_m3("gravel"),
        **_of_stone("stone", own.stone),
        **_of_stone("sand", own.bedding),
        **_of_stone("gravel", own.fill),
        **{f"{key}_payload": truck.payload_kg for key, truck in trucks.items()},
        **{f"{key}_box": truck.box_m3 for key, truck in trucks.items()},
        **{f"{key}_length": roll and roll.length_m for key, roll in rolls.items()},
        **{f"{key}_width": roll and roll.width_m for key, roll in rolls.items()},
    }


def area_inputs(area: JobArea, base_m: float, company: Company) -> dict[str, Any]:
    """Return what the model takes from an area at a base depth; nothing laid below it, and no old base that stays."""
    fills, old = area.loose_fill is not None and area.loose_fill.way == "fill", area.old_pavement_m > 0
    pavement = table("old_pavements").exact(area.old_pavement_kind) if old else {}
    return {
        "plan": area.area_m2,
        "open": area.open_edge_m,
        "corner": area.corners,
        "long": area.extent_m[0],
        "wide": area.extent_m[1],
        "finish": area.finish_above_ground_m,
        "base": base_m,
        "swell": swell(area.soil, company),
        "weight": spoil_density_kg_m3(area.soil),
        "old": area.old_pavement_m,
        "old_kind": area.old_pavement_kind,
        "old_weight": float(pavement["in_place"]) * POUND_KG / YARD3_M3 if old else None,
        "bulking": float(pavement["bulking"]) if old else None,
        "along": area.foundation_edge_m,
        "fill_width": area.foundation_fill_width_m,
        "fill_depth": area.foundation_fill_depth_m,
        "sound_at": area.loose_fill.depth_m if area.loose_fill is not None and fills else 0.0,
        "edge": area.edge_restraint_m,
        "may_stay": 0, "old_base": None, "old_worth": None,
        **dict.fromkeys(_ROLLS.values(), 0),
        **{f"{key}_{lap}": None for key in _ROLLS.values() for lap in ("lap", "end")},
    }  # fmt: skip


def _old_base(area: JobArea, depth: BaseDepth | None) -> tuple[dict[str, Any], str]:
    """Return what the model takes of an old base that was asked to stay, and why it may not, in words."""
    if not area.keep_old_base or depth is None:
        return {}, ""
    others = []
    if area.geotextile or depth.reinforcement.kind != "none":
        others.append("a geotextile or geogrid is laid, and none can go below a base that stays")
    if area.loose_fill is not None or area.strip_of:
        others.append("there is loose fill below it")
    verdict = old_base_verdict(area.pavement, depth.strength.strength_class, area.area_m2, others)
    if not verdict.stays:
        return {}, f"the old base is priced as dug out, it may not stay: {'; '.join(verdict.against)}"
    return {"may_stay": 1, "old_base": verdict.base_m, "old_worth": verdict.share}, ""


def _kept_words(row: Row, units: str) -> str:
    """Return what becomes of an old base that may stay.

    Levels decide: pavers and sand lie where the finish puts them, so that the top of the old base is taken off or new
    stone laid on it. Where that is not yet worth the base needed, more of its top is replaced by new stone.
    """

    def deep(key: str) -> str:
        return written(row[key], "depth", units)

    if not row["keep"]:
        reach = written(max(max(-row["old_top"], 0.0) + row["stays"], 0.0), "depth", units)
        return (
            "the old base is priced as dug out, it may not stay: at this finish its bottom lies "
            f"{reach} below the sand, {deep('base')} of base is needed, and of the old base less than "
            f"{deep('thinnest_old')} would be left; a higher finish may keep it"
        )
    trimmed = f"after {deep('dig')} of its top is taken off " if row["dig"] > 0 else ""
    stone = f"{deep('new')} of new stone is laid on it" if row["new"] > 0 else "no stone is added"
    worth = written(row["new"] + row["old_worth"] * row["kept"], "depth", units)
    return (
        f"{deep('kept')} of the old base stays {trimmed}and {stone}; old stone counts {row['old_worth']:.2f} of new, "
        f"together {worth}"
    )


_STRIPPING_M: Final = 4 * INCH_M  # topsoil and roots are seldom thinner; practice


def _stripping_flag(dig_m: float, old_pavement_m: float) -> str:
    """Return a warning where so little is dug that topsoil and roots would stay below the base; nothing otherwise."""
    if old_pavement_m > 0 or dig_m >= _STRIPPING_M - 1e-9:
        return ""
    dug, topsoil = (f"{deep / INCH_M:.1f} in ({deep * 1000:.0f} mm)" for deep in (dig_m, _STRIPPING_M))
    return (
        f"only {dug} is dug: topsoil and roots to {topsoil} or more must still be stripped and replaced "
        "by stone, which the quantities do not count; lower the finish or choose a deeper base"
    )


def equal_lifts(depth_m: float, most_m: float) -> tuple[int, float]:
    """Return in how many lifts a depth is placed and compacted, and how thick each is [m]."""
    count = MODEL.value("lifts", laid=depth_m, lift=most_m)
    return count, MODEL.value("each_lift", laid=depth_m, lifts=count)


def area_takeoff(
    area: JobArea, depth: BaseDepth | None, known: Row, own: Materials, units: str, cbr: float | None = None
) -> tuple[AreaTakeoff, Row]:
    """Return what one area takes at one base depth and the values of its row."""
    stays, against = _old_base(area, depth)
    rolls = _rolls(area, depth, depth.cbr if depth else cbr, own)
    row = MODEL.work_out("area", {**known, **stays, **_roll_inputs(rolls)}, system=units)
    kept = against or (_kept_words(row, units) if stays else "")
    sheets = _sheets(rolls, row)
    flags = [
        _stripping_flag(row["dig"], area.old_pavement_m), kept, *(sheet.sentence for sheet in sheets if sheet.sewn)
    ]  # fmt: skip
    taken = AreaTakeoff(
        area=area,
        depth=depth,
        base_m=row["base"],
        extension_m=row["reach"],
        dig_m=row["dig"],
        below_finish_m=row["paver"] + row["bedding"] + row["new"],
        base_area_m2=row["base_area"],
        bank_m3=row["bank"],
        fill_m2=row["fill_area"],
        fill_m=row["fill_thick"],
        loose_m3=row["loose"],
        spoil_kg=row["spoil"],
        kept_m=row["kept"],
        new_m=row["new"],
        stone_m3=row["stone"],
        stone_loose_m3=row["stone_loose"],
        stone_kg=row["stone_mass"],
        lifts=row["lifts"],
        lift_m=row["each_lift"],
        rolls=sheets,
        flags=tuple(flag for flag in flags if flag),
        old_base=kept,
    )
    return taken, row


def swell(soil: str, company: Company) -> float:
    """Return the loose volume of one volume in place, by the owner's figure or the table's."""
    for name, value in company.soils.items():
        if name.casefold() == soil.casefold():
            return value
    return soil_named(soil).swell


def spoil_density_kg_m3(soil: str) -> float:
    """Return what dug soil weighs in the truck [kg/m3].

    TM-9-2320-366-10-1, Table 2-15 [read]; which row a word takes is basecalc's own choice.
    """
    return float(table("spoil_weights").exact(soil)["loose"]) * POUND_KG / YARD3_M3


BAG_KG: Final = 50 * POUND_KG  # joint sand is taken to come in bags of 50 lb; practice


def stone_mass_kg(compacted_m3: float, stone: Stone) -> float:
    """Return the mass of an owner's stone to order for a compacted volume [kg]."""
    return float(MODEL.value("stone_mass", _of_stone("stone", stone), stone=compacted_m3))


_PRICED: Final = [(key, one) for key in ("job", "rubble") for one in MODEL.tables[key].quantities if one.code]
# What is counted area by area, and the quantities of an area that it is the total of.
_BY_AREA: Final = [(of.code, key) for _, of in _PRICED if of.kind != "count" for key in MODEL.inside(of.key, "total")]
# Loads and bags, pooled over the areas: their table, the quantity, and what it is before it is rounded up.
_POOLED: Final = [(at, of, key) for at, of in _PRICED if of.kind == "count" for key in MODEL.inside(of.key, "up")]


class _Count:
    """The records of a worked out job, quantity by quantity; amounts of 0 are left out."""

    def __init__(self, job: Job, own: Materials, values: Mapping[str, tuple[Row, ...]], words: bool) -> None:
        self.units, self.own, self.values, self.words = job.units, own, values, words
        stones = {"stone": own.stone, "sand": own.bedding, "fill": own.fill}
        self.names = {key: stone.name for key, stone in stones.items() if stone is not None}

    def _made(
        self, code_key: str, si: float, working: str, area: str = "", variant: str = "", item: str = "",
        also: tuple[str, ...] = (), row: Row | None = None,
    ) -> Quantity:  # fmt: skip
        entry = code(code_key)
        unit = entry.unit(self.units)
        others = [(row[key], KINDS[MODEL.kinds[key]].unit(self.units)) for key in also if row is not None]
        return Quantity(
            entry.code, item or entry.title, area, in_unit(si, unit), unit, working, variant,
            tuple((in_unit(amount, other), other) for amount, other in others),
        )  # fmt: skip

    def in_area(self, taken: AreaTakeoff, row: Row) -> Iterator[Quantity]:
        """Yield what is counted area by area."""
        area, own = taken.area, self.own
        variants = {
            "pavement": area.old_pavement_kind, "stone_mass": own.stone.name, "sand_mass": own.bedding.name,
            "pavers": own.paver.name, "fill_mass": own.fill.name if own.fill else "",
        }  # fmt: skip
        what = "dig out the loose fill" if area.loose_fill else "dig for the fill at the foundation"
        for code_key, key in _BY_AREA:
            if row[key] <= 0:
                continue
            working = self._working(code_key, key, taken, row) if self.words else ""
            item = what if (code_key, key) == ("dig", "fill") else ""
            yield self._made(code_key, row[key], working, area.name, variants.get(key, ""), item)

    def _working(self, code_key: str, key: str, taken: AreaTakeoff, row: Row) -> str:
        if key in ("plan", "edge"):
            return written(row[key], MODEL.kinds[key], self.units)
        working, area = MODEL.working(key, row, self.units), taken.area
        if key == "pavement":
            return f"{working}, {area.old_pavement_kind}, {written(area.old_pavement_m, 'depth', self.units)} thick"
        if code_key in ("base-place", "foundation-place"):
            return working + (f", compacted in {taken.lifts} lifts" if key == "stone" else ", compacted")
        return working

    def pooled(self) -> Iterator[Quantity]:
        """Yield loads and bags, pooled over the areas."""
        for key, quantity, exact in _POOLED:
            for row in self.values[key]:
                if row[exact] <= 0:
                    continue
                working = ""
                if self.words:
                    haul = code(quantity.code).kind == "haul"
                    working = self._loads(row, exact) if haul else MODEL.working(exact, row, self.units)
                variant = row["kind"] if key == "rubble" else self.names.get(quantity.key.removesuffix("_loads"), "")
                yield self._made(quantity.code, row[quantity.key], working, "", variant, "", quantity.also, row)

    def _loads(self, row: Row, exact: str) -> str:
        key = exact.removesuffix("_trucks")
        truck = self.own.spoil_truck if key in ("spoil", "rubble") else self.own.stone_truck
        mass, room = row[f"{key}_weight"], row[f"{key}_room"]
        by_mass = mass / truck.payload_kg >= room / truck.box_m3
        full = written(truck.payload_kg, "mass", self.units) if by_mass else written(truck.box_m3, "volume", self.units)
        return (
            f"{written(mass, 'mass', self.units)}, {written(room, 'volume', self.units)} loose; {fixed(row[exact], 2)} "
            f"loads of {full} ({truck.name}, filled by {'weight' if by_mass else 'volume'})"
        )

    def rolls(self, sheets: Sequence[Laid]) -> Iterator[Quantity]:
        """Yield the rolls, pooled over the areas."""
        for kind, key in (("geotextile", "textile_rolls"), ("geogrid", "grid_rolls")):
            same = [sheet for sheet in sheets if sheet.roll.kind == kind]
            if not same:
                continue
            roll = same[0].roll
            laps = " and ".join(dict.fromkeys(written(sheet.side_m, "length", self.units) for sheet in same))
            strips = ", ".join(f"{sheet.strips} x {written(sheet.length_m, 'length', self.units)}" for sheet in same)
            working = (
                f"strips {strips}; overlap {laps}; rolls of {written(roll.length_m, 'length', self.units)} x "
                f"{written(roll.width_m, 'length', self.units)}"
            )
            yield self._made(kind, self.values["job"][0][key], working, "", roll.name)


def take_off(
    job: Job,
    company: Company,
    depths: Mapping[str, BaseDepth | float],
    option: Option,
    extra_m: float | Mapping[str, float] = 0.0,
    cbrs: Mapping[str, float] | None = None,
    *,
    words: bool = True,
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
        What the depths are: 'stone', 'geogrid' or 'habit'. Geogrid is laid where the depth was designed with it.
    extra_m
        Added to the base depth of every area, or of those named [m].
    cbrs
        Strength of the ground by area [%], for the overlap of rolls where a depth is a number.
    words
        Whether each quantity says how it was worked out; False where only amounts are read, which is quicker.

    Raises
    ------
    InputError
        An area without a depth, or a material the owner does not have.
    OutOfRangeError
        A depth at which an area cannot be built, and what else the sums refuse; the message names the area.
    PriceError
        The owner's lists lack a material or a truck that the job needs.

    Notes
    -----
    Every formula is declared in `basecalc.takeoff.model`, with its source; `Takeoff.values` holds what it gave.
    """
    own = materials(job, company)
    given = company_inputs(company, own)
    taken: list[AreaTakeoff] = []
    rows: list[Row] = []
    sheets: list[Laid] = []
    for area in job.areas:
        if area.name not in depths:
            raise InputError(f"area {area.name} has no base depth; one must be given for each area")
        asked = depths[area.name]
        depth = asked if isinstance(asked, BaseDepth) else None
        more = extra_m.get(area.name, 0.0) if isinstance(extra_m, Mapping) else extra_m
        try:
            base = asked.required_m if isinstance(asked, BaseDepth) else number("base depth", asked, "m", 0.05, 3.0)
            known = {**given, **area_inputs(area, base + more, company)}
            made, row = area_takeoff(area, depth, known, own, job.units, (cbrs or {}).get(area.name))
        except BasecalcError as error:
            raise error.at(job.place(area.name)) from None
        taken.append(made)
        rows.append(row)
        sheets += made.rolls
    values = _for_job(given, rows, sheets, job.units)
    counting = _Count(job, own, values, words)
    counted = [
        *(quantity for made, row in zip(taken, rows, strict=True) for quantity in counting.in_area(made, row)),
        *counting.pooled(),
        *counting.rolls(sheets),
    ]
    order = list(CODES)
    quantities = tuple(sorted(counted, key=lambda quantity: order.index(quantity.code)))
    return Takeoff(job, option, tuple(taken), quantities, values)


def _for_job(given: Row, rows: Sequence[Row], sheets: Sequence[Laid], units: str) -> dict[str, tuple[Row, ...]]:
    """Return the values of every table of a job: its strips, its own quantities, its old pavement kind by kind."""
    strips = {
        key: strip_rows([(one.strips, one.length_m, one.end_m) for one in sheets if one.roll.kind == kind], given, key)
        for kind, key in _ROLLS.items()
    }
    columns = {entry.key: [row[entry.key] for row in rows] for entry in MODEL.tables["area"].entries}
    for key, pieces in strips.items():
        columns[f"{key}_used"] = [piece[f"{key}_used"] for piece in pieces]
    known = {**given, **columns}
    job = MODEL.work_out("job", known, system=units)
    kinds = dict.fromkeys(row["old_kind"] for row in rows if row["old"] > 0)
    rubble = tuple(MODEL.work_out("rubble", {**known, "kind": kind}, system=units) for kind in kinds)
    return {"company": (given,), "area": tuple(rows), **strips, "job": (job,), "rubble": rubble}
