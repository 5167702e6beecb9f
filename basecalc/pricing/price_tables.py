"""The tables of the owner's workbook, each declared once: the template writes them, every reader reads them by this."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any, Final

from basecalc.company import ROLL_KINDS, STONE_USES, TRUCK_USES, Paver, Rate, Roll, Stone, Truck
from basecalc.core.errors import InputError
from basecalc.core.numbers import cents, quoted
from basecalc.core.units import PRICE_UNITS, Measure, price_unit
from basecalc.design.settings import TRAFFIC_NUMBERS, Traffic, reinforcement
from basecalc.tables.schema import By, Day, Field, Table, Text, Words, YesNo
from basecalc.takeoff.codes import require_past, unit_price

COMPANY_SHEET: Final = "Company"
PRICES_SHEET: Final = "Prices"
SETTINGS_TABLE: Final = "Settings"
EARLIEST_PRICE: Final = date(2000, 1, 1)

_NAME: Final = Text(60)
_SHARE: Final = Measure("share", "share", low=0, high=0.5)
_PER_HOUR: Final = Measure("", "", low=0, above=True)


def _unit(name: str, value: Any) -> str:
    unit = price_unit(value) if isinstance(value, str) else None
    if unit is None:
        raise InputError(f"is {quoted(value)}; it must be one of: {', '.join(PRICE_UNITS)}", about=name)
    return unit


_UNIT: Final = By(_unit)


def _named(words: str) -> Field:
    return Field("name", "name", _NAME, words, format="text")


_CODE: Final = Field(
    "code", "price code", Text(60, lower=True), "The code of its row on the Prices sheet.", format="text",
    offers="price codes",
)  # fmt: skip
# It is read first, whatever column it is in: the shares of the row ask it.
SURE: Final = Field(
    "sure", "sure?", YesNo(), "Asked whether an unusual number is meant? Write yes, and this row is taken as it is.",
    needed=False, blank=False, into="-", optional=True,
)  # fmt: skip

STONES: Final = Table(
    "stones",
    (
        _named("Your own words; a job names the stone by them."),
        _CODE,
        Field("use", "use", Words(STONE_USES), "base, bedding or fill", into="kind"),
        Field("loose_density", "loose density", Measure("kg/m3", "ton/yd3", "t/m3", 0.8, 2.1, why="in the truck"),
              "Weight in the truck.", into="loose_density_kg_m3", format="two"),
        Field("compaction_factor", "compaction factor",
              Measure("", "", low=1, high=1.6, why="loose over compacted volume"),
              "Loose volume for one volume compacted.", format="three"),
        Field("waste", "waste", _SHARE, "Lost on the way and into soft ground: type 5 for 5 %.", format="share"),
        SURE,
    ),
    Stone, "BaseStone", "Stone and sand",
    "A job that names none takes the first row of a use. Weigh a truck once: density and factor decide the tons.",
)  # fmt: skip
PAVERS: Final = Table(
    "pavers",
    (
        _named("Your own words; a job names the paver by them."),
        _CODE,
        Field("thickness", "thickness",
              Measure("m", "in", "mm", 2.3622, 5.9, why="60 mm is the least of a driveway"),
              "2-3/8 in or 60 mm at least on a driveway.", into="thickness_m", format="0.0##"),
        Field("cutting_waste", "cutting waste", _SHARE, "Lost in cutting and breakage: type 5 for 5 %.",
              format="share"),
        SURE,
    ),
    Paver, "Pavers", "Pavers", "The first row is the one a job takes when it names none.",
)  # fmt: skip


def _roll(**row: Any) -> Roll:
    """Return the roll of a row; a geogrid that promises nothing it documents is refused."""
    roll = Roll(**row)
    if roll.kind == "geogrid":
        reinforcement("geogrid", roll.aperture_stability or None, roll.reduction or None, roll.reduction_source)
    return roll


ROLLS: Final = Table(
    "rolls",
    (
        _named("Your own words; a job names the roll by them."),
        _CODE,
        Field("kind", "kind", Words(ROLL_KINDS), "geogrid or geotextile"),
        Field("length", "length", Measure("m", "ft", "m", 1, 2000), "Of a roll.", into="length_m", format="one"),
        Field("width", "width", Measure("m", "ft", "m", 1, 50), "Of a roll.", into="width_m", format="one"),
        Field("aperture_stability", "aperture stability", Measure("m-N/deg", "m-N/deg", "m-N/deg", 0, 0.8),
              "From the grid's own test report; blank for geotextile.", needed=False, blank=0.0, format="two"),
        Field("reduction", "documented reduction", _SHARE,
              "Of the base depth, saved in tests of this grid: type 30 for 30 %.", needed=False, blank=0.0,
              format="share"),
        Field("overlap", "overlap", Measure("m", "ft", "m", 0, 6), "Blank: by the strength of the ground.",
              needed=False, into="overlap_m", format="two"),
        Field("reduction_source", "source of the reduction", Text(), "Report and date.", needed=False, blank="",
              format="text"),
    ),
    _roll, "Rolls", "Geogrid and geotextile",
    "A geogrid needs its aperture stability, or a reduction documented by tests of that grid, with the source named.",
    blame="aperture_stability",
)  # fmt: skip
TRUCKS: Final = Table(
    "trucks",
    (
        _named("Your own words; a job names the truck by them."),
        Field("use", "use", Words(TRUCK_USES), "spoil, stone or both"),
        Field("payload", "payload", Measure("kg", "ton", "t", 0.25, 50), "What it may legally carry.",
              into="payload_kg", format="one"),
        Field("box", "box", Measure("m3", "yd3", "m3", 0.25, 78), "Volume of the box, level.", into="box_m3",
              format="one"),
        Field("axles", "axles", Measure("", "", low=2, high=9, whole=True),
              "How many touch the road when it is loaded. This and the next two are for the check of its weight on the "
              "road; leave all three blank where you do not want it.", needed=False, format="whole", optional=True),
        Field("outer_axles", "outer axles", Measure("m", "ft", "m", 4, 60, why="from the first axle to the last"),
              "From the middle of the first axle to the middle of the last.", needed=False, into="outer_axles_m",
              format="one", optional=True),
        Field("empty", "empty weight", Measure("kg", "ton", "t", 1, 40),
              "Weight of the empty truck with driver and fuel, from a scale.", needed=False, into="empty_kg",
              format="two", optional=True),
    ),
    Truck, "Trucks", "Trucks", "Legal payload and struck box; the smaller of the two fills the truck.",
)  # fmt: skip
SOILS: Final = Table(
    "soils",
    (
        Field("soil", "soil", _NAME, "One of the soils a job may name.", offers="soils"),
        Field("swell", "swell", Measure("", "", low=1, high=2, why="loose over bank volume"),
              "Loose volume in the truck of one volume in the ground.", format="two"),
    ),
    lambda soil, swell: (soil, swell), "Soils", "Soil in the truck",
    "Only where yours swells otherwise than the built-in table.",
)  # fmt: skip


def _rate(**row: Any) -> Rate:
    """Return the work rate of a row, which needs one of its two rates."""
    rate = Rate(**row)
    if rate.per_crew_hour is None and rate.per_machine_hour is None:
        raise InputError("both rates are missing; fill in at least one of 'per crew hour' and 'per machine hour'")
    return rate


RATES: Final = Table(
    "rates",
    (
        Field("code", "work", Text(60, lower=True), "The code of the work.", format="text", offers="work codes"),
        Field("per_crew_hour", "per crew hour", _PER_HOUR, "Amount one crew hour does; blank for no crew.",
              needed=False, format="one"),
        Field("per_machine_hour", "per machine hour", _PER_HOUR, "Amount one machine hour does; blank for no machine.",
              needed=False, format="one"),
        Field("unit", "unit", _UNIT, "Unit of the amount.", format="text", offers="units"),
    ),
    _rate, "WorkRates", "Work rates",
    "What one hour does; priced by the crew and machine hours of the sheet Prices unless the work has its own price.",
    blame="per_crew_hour",
)  # fmt: skip
_LEVEL: Final = {name: measure for name, (_, measure) in TRAFFIC_NUMBERS.items()}
TRAFFICS: Final = Table(
    "traffics",
    (
        Field("name", "name", _NAME, "The word a job uses.", format="text"),
        Field("wheel_load", "wheel load", _LEVEL["wheel_load_kn"], "Half of the heaviest axle load.",
              into="wheel_load_kn", format="#,##0.###"),
        Field("tyre_pressure", "tyre pressure", _LEVEL["tyre_kpa"], into="tyre_kpa", format="whole"),
        Field("passes", "passes", _LEVEL["passes"], "Of that wheel while the base is the road.", format="whole"),
        Field("rut", "rut", _LEVEL["rut_mm"], "Allowed on the base, 2 to 4 in (50 to 100 mm).", into="rut_mm",
              format="0.0##"),
        Field("esal", "axle loads", _LEVEL["esal"], "18-kip axle loads in the life of the driveway (ESAL).",
              format="whole"),
        Field("meaning", "meaning", Text(), "In the client's words.", needed=False, blank="", format="text"),
    ),
    Traffic, "TrafficLevels", "Traffic levels of your own",
    "Beside light, delivery and heavy. The wheel load is half an axle load.", 2, "name",
)  # fmt: skip
TERMS: Final = Table(
    "terms",
    (Field("line", "terms, line by line", Text(400), "One sentence a row.", format="text"),),
    lambda line: line, "Terms", "Terms",
    "Printed line by line at the end of every quote. Have a lawyer of your state read them.",
)  # fmt: skip
COMPANY_TABLES: Final = (STONES, PAVERS, ROLLS, TRUCKS, SOILS, RATES, TRAFFICS, TERMS)
PRICED_TABLES: Final = ("stones", "pavers", "rolls")  # their rows name a code of the prices


def _minimum(name: str, value: Any) -> Decimal:
    return cents(unit_price(name, value))


def _price(**row: Any) -> Mapping[str, Any]:
    """Return the price of a row; its day may lie far ahead only where the owner says so."""
    if row["priced_on"] is not None and not row["sure"]:
        require_past("priced on", row["priced_on"], date.today())
    return row


PRICES: Final = Table(
    "prices",
    (
        Field("code", "code", Text(60, lower=True), "One row a code; the drop-down shows them all.", format="text",
              offers="price codes"),
        Field("item", "item", Text(), "Your own words for it.", format="text"),
        Field("unit", "unit", _UNIT, "What one is: the price is for one of these. Hauling and tipping: load, ton, yd3 "
              "or h.", format="text", offers="units"),
        Field("unit_price", "unit price", By(unit_price), "What it costs you, delivered. 0 only where you mean 0.",
              format="money"),
        Field("taxable", "taxable", YesNo(), "yes or no"),
        Field("priced_on", "priced on", Day(EARLIEST_PRICE, written=False), "The day you got the price, as a date.",
              needed=False, format="date"),
        Field("supplier", "supplier", Text(), "Stays in the office file; no client sees it.", needed=False, blank="",
              format="text"),
        Field("minimum", "minimum", By(_minimum),
              "Hauling and tipping only: the least charge for a job. Blank where there is none.", needed=False,
              format="money", optional=True),
        Field("sure", "sure?", YesNo(), SURE.help, needed=False, blank=False, optional=True),
    ),
    _price, "UnitPrices", "Prices", free_rows=8, blame="priced_on",
)  # fmt: skip
SETTING_COLUMNS: Final = (Field("label", "setting"), Field("value"), Field("unit"), SURE)
