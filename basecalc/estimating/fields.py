"""What is typed on the entry sheet: its cells, the columns of its two lists, and every particular with its kind.

The sheet, its calculation and the reader of a filled workbook all go by this list. A key is a key of a job file.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from basecalc.core.published import table
from basecalc.core.units import PRICE_UNITS, TSF_KPA, Measure, convert, spellings
from basecalc.design.frost import FROST_NUMBERS
from basecalc.ground.old_pavement import STATES
from basecalc.ground.readings import MOISTURES, SOILS, TESTS, test_row
from basecalc.job import fields as keys
from basecalc.job.fields import OFFERS, SENSES, WAYS
from basecalc.plan.area import (
    CORNERS,
    EDGE,
    FILL_DEPTH,
    FILL_WIDTH,
    LENGTH,
    LEVEL,
    OLD_PAVEMENTS,
    PLAN_AREA,
    SHAPES,
    SLOPE_DIRECTIONS,
    THICKNESS,
    WATER_TABLE,
)

# Rows of the lists: those ready, and the most a longer job gets.
ROWS: Final = {"areas": 20, "lines": 8, "particulars": 40, "readings": 40}
MOST: Final = {"areas": 40, "lines": 200, "particulars": 400, "readings": 200}
YES: Final = ("yes", "no")
LOG_TEST: Final = "cone log"
STRIP: Final = " at the foundation"
JOB: Final = "job"  # what a particular of the whole job is for; a blank says the same

# Kinds of numbers: the unit of a plain number on a US and on a metric sheet.
UNITS: Final[Mapping[str, tuple[str, str]]] = {
    "length": ("ft", "m"), "depth": ("in", "mm"), "area": ("ft2", "m2"), "stress": ("tsf", "kPa"), "blow": ("mm", "mm"),
    "blows": ("blows", "blows"), "percent": ("%", "%"), "plain": ("", ""), "money": ("$", "$"),
}  # fmt: skip


def unit_words(units: str) -> list[tuple[str, float]]:
    """Return each kind with a unit as it may be spelled, and what one of it is on a sheet of this edition."""
    own = {kind: pair[units == "metric"] for kind, pair in UNITS.items() if pair[0] not in ("", "$", "blows")}
    return [(f"{kind} {word}", size) for kind, unit in own.items() for word, size in spellings(unit).items()]


@dataclass(frozen=True, slots=True)
class Field:
    """A cell or a column to fill in: its key, what it says, how wide it is, whether it is needed, the words offered."""

    key: str
    label: str
    width: int = 0
    needed: bool = False
    kind: str = ""  # of a number; nothing for text
    low: float = 0.0
    high: float = 0.0
    words: Sequence[str] | str = ()  # a name stands for a list that depends on the company or the job

    def heading(self, units: str) -> str:
        """Return the label with the unit of its number."""
        unit = UNITS[self.kind][units == "metric"] if self.kind not in ("", "money") else ""
        return f"{self.label}, {unit}" if unit else self.label


def _ends(measure: Measure, kind: str, units: str) -> tuple[float, float]:
    unit = UNITS[kind][units == "metric"]
    low, high = (float(f"{convert(end, measure.us, unit):.4g}") if measure.us != unit else end
                 for end in (measure.low, measure.high))  # fmt: skip
    return low, high


def _number(key: str, label: str, width: int, kind: str, measure: Measure, units: str, *, needed: bool = False) -> Field:
    return Field(key, label, width, needed, kind, *_ends(measure, kind, units))


# The job card: key, label, needed, words, and where the label and the cell are.
CARD: Final = (
    ("client", "Client", True, (), "B", "C", 4), ("number", "Job number", True, (), "F", "H", 4),
    ("site", "Site", True, (), "K", "M", 4), ("date", "Date", False, (), "Q", "R", 4),
    ("prepared_by", "Estimator", False, (), "B", "C", 5), ("traffic", "Traffic", False, "traffics", "F", "H", 5),
    ("soil", "Soil dug", False, SOILS, "K", "M", 5), ("season", "Ground was", False, MOISTURES, "Q", "R", 5),
    ("offer", "Offer", False, OFFERS, "B", "C", 6), ("walked", "Walked it all", False, YES, "F", "H", 6),
    ("new_build", "New house", False, YES, "K", "M", 6), ("start", "First day", False, (), "Q", "R", 6),
)  # fmt: skip


def area_fields(units: str) -> tuple[Field, ...]:
    """Return the columns of the list of areas."""
    return (
        Field("name", "Area", 106, needed=True),
        Field("shape", "Shape", 70, words=SHAPES),
        _number("length", "Length", 56, "length", LENGTH, units, needed=True),
        _number("width", "Width", 56, "length", LENGTH, units, needed=True),
        _number("foundation_edge", "At building", 58, "length", EDGE, units),
        Field("soil", "Soil", 70, words=SOILS),
        _number("old_pavement", "Old paving", 52, "depth", THICKNESS, units),
        Field("old_pavement_kind", "of", 60, words=OLD_PAVEMENTS),
        Field("geotextile", "Fabric", 44, words=YES),
    )


READING_FIELDS: Final = (
    Field("spot", "Spot", 96, needed=True), Field("area", "In area", 90, needed=True, words="places"),
    Field("test", "Test", 66, needed=True, words=(*TESTS, LOG_TEST)), Field("reading", "Reading", 70, needed=True),
    Field("moisture", "Ground was", 54, words=MOISTURES),
)  # fmt: skip
READING_EXTRA: Final = (Field("soil", "Soil, if other", 84, words=SOILS), Field("note", "Note", 160))
# The columns of the list of extra lines, keys of [[line]] in a job file.
LINE_FIELDS: Final = (
    Field("item", "Extra line: item"), Field("quantity", "Quantity", kind="plain", high=1e6),
    Field("unit", "Unit", words=tuple(PRICE_UNITS)), Field("unit_price", "Unit price", kind="money", high=1e6),
    Field("code", "or price row"), Field("taxable", "Taxable", words=YES), Field("sense", "Cost/price", words=SENSES),
    Field("area", "For area", words="places"), Field("scope", "Client reads"),
)  # fmt: skip
PARTICULAR_FIELDS: Final = (
    Field("for", "For (blank: job)", words="places"), Field("what", "What", words="particulars"), Field("text", "Value"),
)  # fmt: skip

# What length and width are called for each shape.
SIZE_KEYS: Final[Mapping[str, tuple[str, str]]] = {
    "rectangle": ("length", "width"), "measured": ("length", "width"), "circle": ("diameter", ""),
    "triangle": ("base", "height"), "trapezoid": ("", "height"), "polygon": ("", ""),
}  # fmt: skip

Use = Literal["priced", "kept"]


@dataclass(frozen=True, slots=True)
class Particular:
    """One thing that may be said of the job, an area or a spot.

    Several parts stand in one cell with a semicolon between them. What is only `kept` moves no price: it is for papers.
    """

    key: str
    scope: Literal["job", "area", "spot"]
    kind: str = ""
    use: Use = "kept"
    measure: Measure | None = None
    words: Sequence[str] | str = ()
    parts: tuple[str, ...] = ()  # keys of a small table, the one that may hold anything last
    listed: bool = False  # several rows of it
    within: str = ""  # the table of the job file that holds the key
    signed: bool = False

    @property
    def word(self) -> str:
        """What the sheet calls it."""
        return self.key.replace("_", " ")

    def limits(self, units: str) -> tuple[float, float]:
        """Return the limits of its number in the unit of the sheet."""
        if self.measure is None:
            return (-1e9 if self.signed else 0.0), 1e9
        return _ends(self.measure, self.kind, units) if UNITS[self.kind][0] else (self.measure.low, self.measure.high)


_HOLE: Final = Measure("m", "in", "mm", 0, 36)
_GAP: Final = Measure("m", "in", "mm", 0, float(str(test_row("straightedge")["high"])))
_P = Particular
PARTICULARS_LIST: Final[tuple[Particular, ...]] = (
    # of an area, in the order an estimator would ask for them
    _P("strength", "area", use="priced"), _P("walked", "area", use="priced", words=YES),
    _P("finish_above_ground", "area", "depth", "priced", LEVEL, signed=True),
    _P("open_edge", "area", "length", "priced", EDGE), _P("corners", "area", "plain", "priced", CORNERS, signed=True),
    _P("edge_restraint", "area", "length", "priced", EDGE), _P("water_table", "area", "depth", "priced", WATER_TABLE),
    _P("area", "area", "area", "priced", PLAN_AREA), _P("perimeter", "area", "length", "priced", LENGTH),
    _P("sides", "area", "length", "priced", LENGTH), _P("parallel_sides", "area", "length", "priced", LENGTH),
    _P("legs", "area", "length", "priced", LENGTH), _P("points", "area", use="priced"),
    _P("foundation_strip", "area", use="priced", words=YES), _P("foundation_strip_strength", "area", use="priced"),
    _P("foundation_strip_open_ends", "area", "plain", "priced", Measure("", "", "", 0, 2)),
    _P("foundation_fill_width", "area", "length", "priced", FILL_WIDTH),
    _P("foundation_fill_depth", "area", "depth", "priced", FILL_DEPTH),
    _P("loose_fill_depth", "area", "depth", "priced", FILL_DEPTH), _P("loose_fill", "area", use="priced", words=WAYS),
    _P("sound_ground", "area", use="priced"), _P("offer_other_way", "area", words=YES),
    _P("footing_depth", "area", "depth", measure=FILL_DEPTH),
    _P("keep_old_base", "area", use="priced", words=YES),
    _P("test_holes", "area", "depth", "priced", _HOLE, parts=("base", "state", "where"), listed=True),
    _P("old_pavement_seen", "area", "depth", "priced", _GAP, parts=("gap", "straightedge", "where", "what", "note"),
       listed=True),
    _P("old_pavement_state", "area", use="priced", words=STATES),
    _P("old_pavement_age", "area", "plain", measure=Measure("", "", "", 0, 150)),
    _P("old_base", "area", "depth", measure=_HOLE),
    _P("group", "area", use="priced", within="frost", words=tuple(table("frost_support").keys())),
    _P("fines_below_20_microns", "area", "percent", "priced", FROST_NUMBERS["fines_below_20_microns"], within="frost"),
    _P("plasticity_index", "area", "plain", "priced", FROST_NUMBERS["plasticity_index"], within="frost"),
    _P("dry_density", "area", within="frost"), _P("water_content", "area", within="frost"),
    _P("slope", "area"), _P("slope_direction", "area", words=SLOPE_DIRECTIONS), _P("fall_length", "area"),
    _P("fall_width", "area"), _P("note", "area"),
    # of the whole job
    _P("stone", "job", use="priced", words="stones"), _P("paver", "job", use="priced", words="pavers"),
    _P("geogrid", "job", use="priced", words="geogrids"), _P("geotextile", "job", use="priced", words="geotextiles"),
    _P("spoil_truck", "job", use="priced", words="trucks"), _P("stone_truck", "job", use="priced", words="trucks"),
    _P("stone_trucks_on_base", "job", use="priced", words=YES),
    _P("freezing_index", "job", "plain", "priced", within="climate", signed=True),
    _P("mean_annual_temperature", "job", "plain", within="climate", signed=True),
    _P("freezing_season", "job", "plain", within="climate"), _P("notes", "job", listed=True),
    # of a spot with the log of a cone penetrometer
    _P("log_rows", "spot", parts=("depth", "blows", "hammer", "drop", "soil", "note"), listed=True),
    _P("log_unit", "spot"), _P("log_blows", "spot"), _P("log_depths", "spot"), _P("log_drop", "spot"),
    _P("hammer", "spot"), _P("base_bottom", "spot"),
)  # fmt: skip
SCOPES: Final = ("area", "job", "spot")


def listed_particulars() -> Mapping[tuple[str, str], Particular]:
    """Return every particular by what it is for and its key; where a key of a job file is not listed, it is added.

    So that a key which a job file gains is never lost between a job file and a workbook.
    """
    found: dict[tuple[str, str], Particular] = {(one.scope, one.key): one for one in PARTICULARS_LIST}
    elsewhere = {
        "job": {key for key, *_ in CARD} | {"units", "climate"},
        "area": {one.key for one in area_fields("us")} | {"base", "height", "diameter", "frost"},
        "spot": {"name", "area", "readings", "log"},
    }
    holders = (("job", keys.JOB, ""), ("job", keys.CLIMATE, "climate"), ("area", keys.AREA, ""), ("area", keys.FROST, "frost"),
               ("spot", keys.LOG, ""))  # fmt: skip
    for scope, fields, within in holders:
        for key in fields.keys:
            if key not in elsewhere[scope]:
                found.setdefault((scope, key), Particular(key, scope, within=within))  # type: ignore[arg-type]
    return found


def reading_limits(units: str) -> list[tuple[str, str, float, float]]:
    """Return test, kind of its number, and its limits on a sheet of this edition; kind '' where it takes words only."""
    kinds = {"in": "depth", "tsf": "stress", "mm/blow": "blow", "blows": "blows", "%": "percent", "": ""}
    found = []
    for test in TESTS:
        row = test_row(test)
        kind, low, high = kinds[str(row["unit"])], float(str(row["low"])), float(str(row["high"]))
        if kind and units == "metric":
            factor = {"depth": 25.4, "stress": TSF_KPA}.get(kind, 1.0)
            low, high = (float(f"{end * factor:.9g}") for end in (low, high))
        found.append((test, kind, low, high))
    return [*found, (LOG_TEST, "", 0.0, 0.0)]

