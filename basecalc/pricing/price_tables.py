"""The tables of the owner's workbook, once: what the template writes and the reader reads.

Each table has the columns as the sheet shows them and a record that checks a row; a record's fields are the columns'.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from basecalc.company import ROLL_KINDS, STONE_USES, TRUCK_USES, Paver
from basecalc.pricing.price_cells import Column
from basecalc.pricing.price_rows import (
    PaverRow,
    PriceRow,
    RateRow,
    RollRow,
    SoilRow,
    StoneRow,
    TermRow,
    TrafficRow,
    TruckRow,
    make_rate,
    make_roll,
    make_stone,
    make_traffic,
    make_truck,
)
from basecalc.validation import Record


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
