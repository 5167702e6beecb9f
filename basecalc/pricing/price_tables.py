"""A row of each table of the owner's workbook, checked; and the units a price may be for.

The tables of the owner's workbook, once: what the template writes and the reader reads.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, Any, Final

from pydantic import AfterValidator, BeforeValidator, ValidationInfo

from basecalc.company import ROLL_KINDS, STONE_USES, TRUCK_USES, Paver, Rate, Roll, Stone, Truck
from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import cents, meant_share, shown
from basecalc.core.records import Record, measured, one_of, text, yes_no
from basecalc.core.units import PRICE_UNITS, price_unit
from basecalc.design.settings import Traffic, reinforcement
from basecalc.pricing.workbook_reader import Column
from basecalc.takeoff.codes import NEEDED, OPTIONAL, SHARE, require_past, unit_price

Name = Annotated[str, text(longest=60)]
Code = Annotated[str, text(longest=60), AfterValidator(str.casefold)]


def _meant(value: float | None, info: ValidationInfo) -> float | None:
    if value is None:
        return None
    label = (info.context or {}).get("labels", {}).get(info.field_name, info.field_name)
    has_word = "sure" in info.data
    return meant_share(label, value, sure=bool(info.data.get("sure")), beside=has_word)


Share = Annotated[float, AfterValidator(_meant), measured(SHARE)]
EARLIEST_PRICE: Final = date(2000, 1, 1)


def _unit(value: Any) -> str:
    unit = price_unit(value) if isinstance(value, str) else None
    if unit is None:
        raise InputError(f"unit is {shown(value)}; it must be one of: {', '.join(PRICE_UNITS)}")
    return unit


Unit = Annotated[str, BeforeValidator(_unit)]


class SureRow(Record):
    """A row in which the owner may say that an unusual number is meant; it is read first."""

    sure: Annotated[bool, yes_no(blank=False)] = False


class StoneRow(SureRow):
    """A row of the stones."""

    name: Name
    code: Code
    use: Annotated[str, one_of(STONE_USES)]
    loose_density: Annotated[float, measured(NEEDED["loose density"])]
    compaction_factor: Annotated[float, measured(NEEDED["compaction factor"])]
    waste: Share


class PaverRow(SureRow):
    """A row of the pavers."""

    name: Name
    code: Code
    thickness: Annotated[float, measured(NEEDED["thickness"])]
    cutting_waste: Share


class RollRow(Record):
    """A row of the rolls."""

    name: Name
    code: Code
    kind: Annotated[str, one_of(ROLL_KINDS)]
    length: Annotated[float, measured(NEEDED["length"])]
    width: Annotated[float, measured(NEEDED["width"])]
    aperture_stability: Annotated[float | None, measured(OPTIONAL["aperture stability"], blank=True)]
    reduction: Annotated[float | None, AfterValidator(_meant), measured(OPTIONAL["documented reduction"], blank=True)]
    reduction_source: Annotated[str, text(needed=False)]
    overlap: Annotated[float | None, measured(OPTIONAL["overlap"], blank=True)]


class TruckRow(Record):
    """A row of the trucks."""

    name: Name
    use: Annotated[str, one_of(TRUCK_USES)]
    payload: Annotated[float, measured(NEEDED["payload"])]
    box: Annotated[float, measured(NEEDED["box"])]
    axles: Annotated[float | None, measured(OPTIONAL["axles"], blank=True)] = None
    outer_axles: Annotated[float | None, measured(OPTIONAL["outer axles"], blank=True)] = None
    empty: Annotated[float | None, measured(OPTIONAL["empty weight"], blank=True)] = None


class SoilRow(Record):
    """A row of the soils."""

    soil: Name
    swell: Annotated[float, measured(NEEDED["swell"])]


class RateRow(Record):
    """A row of the work rates."""

    code: Code
    per_crew_hour: Annotated[float | None, measured(OPTIONAL["per crew hour"], blank=True)]
    per_machine_hour: Annotated[float | None, measured(OPTIONAL["per machine hour"], blank=True)]
    unit: Unit


class TrafficRow(Record):
    """A row of the owner's own traffic levels."""

    name: Name
    wheel_load: Annotated[float, measured(NEEDED["wheel load"])]
    tyre_pressure: Annotated[float, measured(NEEDED["tyre pressure"])]
    passes: Annotated[float, measured(NEEDED["passes"])]
    rut: Annotated[float, measured(NEEDED["rut"])]
    esal: Annotated[float, measured(NEEDED["axle loads"])]
    meaning: Annotated[str, text(needed=False)]


class TermRow(Record):
    """A line of the terms."""

    line: Annotated[str, text(longest=400)]


def _price(value: Any) -> Decimal:
    return unit_price("unit price", value)


def _minimum(value: Any) -> Decimal | None:
    return None if value is None or value == "" else cents(unit_price("minimum", value))


def _priced_on(value: Any, info: ValidationInfo) -> date | None:
    if value is None or value == "":
        return None
    day = value.date() if isinstance(value, datetime) else value
    if not isinstance(day, date):
        raise InputError(
            f"priced on is {shown(value)}; it must be a date, entered as a date and not as text or a number"
        )
    if day < EARLIEST_PRICE:
        raise OutOfRangeError(f"priced on is {day}; it must be {EARLIEST_PRICE} or later")
    if not info.data.get("sure"):
        require_past("priced on", day, date.today())
    return day


class PriceRow(SureRow):
    """A row of the prices."""

    code: Code
    item: Annotated[str, text()]
    unit: Unit
    unit_price: Annotated[Decimal, BeforeValidator(_price)]
    taxable: Annotated[bool, yes_no()]
    priced_on: Annotated[date | None, BeforeValidator(_priced_on)]
    supplier: Annotated[str, text(needed=False)]
    minimum: Annotated[Decimal | None, BeforeValidator(_minimum)] = None


def make_stone(row: StoneRow) -> Stone:
    """Return the stone of a row."""
    return Stone(row.name, row.code, row.use, row.loose_density, row.compaction_factor, row.waste)


def make_roll(row: RollRow) -> Roll:
    """Return the roll of a row; a geogrid that promises nothing it documents is refused."""
    if row.kind == "geogrid":
        reinforcement("geogrid", row.aperture_stability, row.reduction, row.reduction_source)  # or its own refusal
    return Roll(
        row.name, row.code, row.kind, row.length, row.width, row.aperture_stability or 0.0, row.reduction or 0.0,
        row.reduction_source, row.overlap,
    )  # fmt: skip


def make_truck(row: TruckRow) -> Truck:
    """Return the truck of a row; its axles are counted in whole ones."""
    if row.axles is not None and row.axles != int(row.axles):
        raise InputError(f"axles is {shown(row.axles)}; it must be a whole number from 2 to 9")
    axles = None if row.axles is None else int(row.axles)
    return Truck(row.name, row.use, row.payload, row.box, axles, row.outer_axles, row.empty)


def make_rate(row: RateRow) -> Rate:
    """Return the work rate of a row, which needs one of its two rates."""
    if row.per_crew_hour is None and row.per_machine_hour is None:
        raise InputError("both rates are missing; fill in at least one of 'per crew hour' and 'per machine hour'")
    return Rate(row.code, row.per_crew_hour, row.per_machine_hour, row.unit)


def make_traffic(row: TrafficRow) -> Traffic:
    """Return the traffic level of a row."""
    return Traffic(row.name, row.wheel_load, row.tyre_pressure, row.passes, row.rut, row.esal, row.meaning)


@dataclass(frozen=True, slots=True)
class SheetTable:
    """One table: its key, its name in the workbook, its title on the sheet, its columns, and its rows' record.

    `build` makes the company's record of a row; what it refuses is blamed on the field `blame`.
    """

    key: str
    name: str
    title: str
    help: str
    columns: tuple[Column, ...]
    record: type[Record]
    build: Callable[[Any], Any]
    free_rows: int = 3
    blame: str = ""

    @property
    def labels(self) -> Mapping[str, str]:
        """Heading of each field."""
        return {column.field: column.label for column in self.columns}


_CODE: Final = Column(
    "code", "price code", "The code of its row on the Prices sheet.", format="text", choices="price codes"
)

SURE: Final = Column(
    "sure", "sure?", "Asked whether an unusual number is meant? Write yes, and this row is taken as it is.",
    choices=("yes", "no"), optional=True,
)  # fmt: skip

STONES: Final = SheetTable(
    "stones", "BaseStone", "Stone and sand",
    "A job that names none takes the first row of a use. Weigh a truck once: density and factor decide the tons.",
    (
        Column("name", "name", "Your own words; a job names the stone by them.", format="text"),
        _CODE,
        Column("use", "use", "base, bedding or fill", choices=STONE_USES),
        Column("loose_density", "loose density", "Weight in the truck.", "ton/yd3", "t/m3", "two"),
        Column("compaction_factor", "compaction factor", "Loose volume for one volume compacted.", format="three"),
        Column("waste", "waste", "Lost on the way and into soft ground: type 5 for 5 %.", "share", "share",
               "share"),
        SURE,
    ),
    StoneRow, make_stone,
)  # fmt: skip
PAVERS: Final = SheetTable(
    "pavers", "Pavers", "Pavers", "The first row is the one a job takes when it names none.",
    (
        Column("name", "name", "Your own words; a job names the paver by them.", format="text"),
        _CODE,
        Column("thickness", "thickness", "2-3/8 in or 60 mm at least on a driveway.", "in", "mm", "0.0##"),
        Column("cutting_waste", "cutting waste", "Lost in cutting and breakage: type 5 for 5 %.", "share", "share",
               "share"),
        SURE,
    ),
    PaverRow, lambda row: Paver(row.name, row.code, row.thickness, row.cutting_waste),
)  # fmt: skip
ROLLS: Final = SheetTable(
    "rolls", "Rolls", "Geogrid and geotextile",
    "A geogrid needs its aperture stability, or a reduction documented by tests of that grid, with the source named.",
    (
        Column("name", "name", "Your own words; a job names the roll by them.", format="text"),
        _CODE,
        Column("kind", "kind", "geogrid or geotextile", choices=ROLL_KINDS),
        Column("length", "length", "Of a roll.", "ft", "m", "one"),
        Column("width", "width", "Of a roll.", "ft", "m", "one"),
        Column("aperture_stability", "aperture stability", "From the grid's own test report; blank for geotextile.",
               "m-N/deg", "m-N/deg", "two"),
        Column("reduction", "documented reduction", "Of the base depth, saved in tests of this grid: type 30 for 30 %.",
               "share", "share", "share"),
        Column("overlap", "overlap", "Blank: by the strength of the ground.", "ft", "m", "two"),
        Column("reduction_source", "source of the reduction", "Report and date.", format="text"),
    ),
    RollRow, make_roll, 3, "aperture_stability",
)  # fmt: skip
TRUCKS: Final = SheetTable(
    "trucks", "Trucks", "Trucks", "Legal payload and struck box; the smaller of the two fills the truck.",
    (
        Column("name", "name", "Your own words; a job names the truck by them.", format="text"),
        Column("use", "use", "spoil, stone or both", choices=TRUCK_USES),
        Column("payload", "payload", "What it may legally carry.", "ton", "t", "one"),
        Column("box", "box", "Volume of the box, level.", "yd3", "m3", "one"),
        Column("axles", "axles", "How many touch the road when it is loaded. This and the next two are for the check "
               "of its weight on the road; leave all three blank where you do not want it.",
               format="whole", optional=True),
        Column("outer_axles", "outer axles", "From the middle of the first axle to the middle of the last.",
               "ft", "m", "one", optional=True),
        Column("empty", "empty weight", "Weight of the empty truck with driver and fuel, from a scale.",
               "ton", "t", "two", optional=True),
    ),
    TruckRow, make_truck, 3, "axles",
)  # fmt: skip
SOILS: Final = SheetTable(
    "soils", "Soils", "Soil in the truck", "Only where yours swells otherwise than the built-in table.",
    (
        Column("soil", "soil", "One of the soils a job may name.", choices="soils"),
        Column("swell", "swell", "Loose volume in the truck of one volume in the ground.", format="two"),
    ),
    SoilRow, lambda row: (row.soil, row.swell),
)  # fmt: skip
RATES: Final = SheetTable(
    "rates", "WorkRates", "Work rates",
    "What one hour does; priced by the crew and machine hours of the sheet Prices unless the work has its own price.",
    (
        Column("code", "work", "The code of the work.", format="text", choices="work codes"),
        Column("per_crew_hour", "per crew hour", "Amount one crew hour does; blank for no crew.", format="one"),
        Column("per_machine_hour", "per machine hour", "Amount one machine hour does; blank for no machine.",
               format="one"),
        Column("unit", "unit", "Unit of the amount.", format="text", choices="units"),
    ),
    RateRow, make_rate, 3, "per_crew_hour",
)  # fmt: skip
TRAFFICS: Final = SheetTable(
    "traffics", "TrafficLevels", "Traffic levels of your own",
    "Beside light, delivery and heavy. The wheel load is half an axle load.",
    (
        Column("name", "name", "The word a job uses.", format="text"),
        Column("wheel_load", "wheel load", "Half of the heaviest axle load.", "lbf", "kN", "#,##0.###"),
        Column("tyre_pressure", "tyre pressure", "", "psi", "kPa", "whole"),
        Column("passes", "passes", "Of that wheel while the base is the road.", format="whole"),
        Column("rut", "rut", "Allowed on the base, 2 to 4 in (50 to 100 mm).", "in", "mm", "0.0##"),
        Column("esal", "axle loads", "18-kip axle loads in the life of the driveway (ESAL).", format="whole"),
        Column("meaning", "meaning", "In the client's words.", format="text"),
    ),
    TrafficRow, make_traffic, 2, "name",
)  # fmt: skip
TERMS: Final = SheetTable(
    "terms", "Terms", "Terms", "Printed line by line at the end of every quote. Have a lawyer of your state read them.",
    (Column("line", "terms, line by line", "One sentence a row.", format="text"),),
    TermRow, lambda row: row.line,
)  # fmt: skip
COMPANY_TABLES: Final = (STONES, PAVERS, ROLLS, TRUCKS, SOILS, RATES, TRAFFICS, TERMS)

PRICES: Final = SheetTable(
    "prices", "UnitPrices", "Prices", "",
    (
        Column("code", "code", "One row a code; the drop-down shows them all.", format="text", choices="price codes"),
        Column("item", "item", "Your own words for it.", format="text"),
        Column("unit", "unit", "What one is: the price is for one of these. Hauling and tipping: load, ton, yd3 or h.",
               format="text", choices="units"),
        Column("unit_price", "unit price", "What it costs you, delivered. 0 only where you mean 0.", format="money"),
        Column("taxable", "taxable", "yes or no", choices=("yes", "no")),
        Column("priced_on", "priced on", "The day you got the price, as a date.", format="date"),
        Column("supplier", "supplier", "Stays in the office file; no client sees it.", format="text"),
        Column("minimum", "minimum", "Hauling and tipping only: the least charge for a job. Blank where there is none.",
               format="money", optional=True),
        SURE,
    ),
    PriceRow, lambda row: row, 8,
)  # fmt: skip
SETTING_COLUMNS: Final = (
    Column("label", "setting", ""),
    Column("value", "value", ""),
    Column("unit", "unit", ""),
    SURE,
)
SETTINGS_TABLE: Final = "Settings"
COMPANY_SHEET: Final = "Company"
PRICES_SHEET: Final = "Prices"
PRICED_TABLES: Final = ("stones", "pavers", "rolls")  # their rows name a code of the prices
