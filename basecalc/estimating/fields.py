"""What is typed on the entry sheet: its cells, the columns of its two lists, and every particular with its kind.

The sheet, its calculation and the reader of a filled workbook all go by this list. A key is a key of a job file.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from math import inf
from typing import Final, Literal

from basecalc.core.units import PRICE_UNITS, TSF_KPA, Measure, spellings
from basecalc.ground.readings import MOISTURES, SOILS, TESTS, test_row
from basecalc.job import fields as keys
from basecalc.job.fields import OFFERS, SENSES
from basecalc.plan.area import (
    EDGE,
    LENGTH,
    OLD_PAVEMENTS,
    SHAPES,
    THICKNESS,
)
from basecalc.tables import schema
from basecalc.tables.schema import Each, Words, YesNo

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
    words: Sequence[str] | str = ()  # a name: a list that depends on the company or the job

    def heading(self, units: str) -> str:
        """Return the label with the unit of its number."""
        unit = UNITS[self.kind][units == "metric"] if self.kind not in ("", "money") else ""
        return f"{self.label}, {unit}" if unit else self.label


def _number(key: str, label: str, width: int, kind: str, measure: Measure, units: str, *, needed: bool = False) -> Field:
    return Field(key, label, width, needed, kind, *measure.limits_in(UNITS[kind][units == "metric"]))


# The job card: key, label, needed, words, and where the label and the cell are.
CARD: Final = (
    ("client", "Client", True, (), "A", "C", 4), ("number", "Job number", True, (), "F", "H", 4),
    ("site", "Site", True, (), "K", "M", 4), ("date", "Date", False, (), "Q", "R", 4),
    ("prepared_by", "Estimator", False, (), "A", "C", 5), ("traffic", "Traffic", False, "traffics", "F", "H", 5),
    ("soil", "Soil dug", False, SOILS, "K", "M", 5), ("season", "Ground was", False, MOISTURES, "Q", "R", 5),
    ("offer", "Offer", False, OFFERS, "A", "C", 6), ("walked", "Walked it all", False, YES, "F", "H", 6),
    ("new_build", "New house", False, YES, "K", "M", 6), ("start", "First day", False, (), "Q", "R", 6),
)  # fmt: skip


def area_fields(units: str) -> tuple[Field, ...]:
    """Return the columns of the list of areas."""
    return (
        Field("name", "Area", 106, needed=True),
        Field("shape", "Shape", 70, words=SHAPES),
        _number("length", "Length", 56, "length", LENGTH, units, needed=True),
        _number("width", "Width", 56, "length", LENGTH, units, needed=True),
        _number("foundation_edge", "At wall", 58, "length", EDGE, units),
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

    Several parts share one cell, a semicolon between them. What is only `kept` moves no price: it is for papers.
    """

    key: str
    scope: str  # job, area, spot
    kind: str = ""
    use: Use = "kept"
    measure: Measure | None = None
    words: Sequence[str] = ()
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
        unit = UNITS[self.kind][units == "metric"]
        return self.measure.limits_in(unit) if unit else (self.measure.low, self.measure.high)


# What may be said of each, in the order an estimator would ask for it; a star marks what moves a price.
_ASKED: Final = {
    "area": (
        "strength* walked* finish_above_ground* open_edge* corners* edge_restraint* water_table* area* perimeter* "
        "sides* parallel_sides* legs* points* foundation_strip* foundation_strip_strength* "
        "foundation_strip_open_ends* foundation_fill_width* foundation_fill_depth* loose_fill_depth* loose_fill* "
        "sound_ground* offer_other_way footing_depth keep_old_base* test_holes* old_pavement_seen* "
        "old_pavement_state* old_pavement_age old_base group* fines_below_20_microns* plasticity_index* "
        "dry_density water_content slope slope_direction fall_length fall_width note "
    ),
    "job": (
        "stone* paver* geogrid* geotextile* spoil_truck* stone_truck* stone_trucks_on_base* freezing_index* "
        "mean_annual_temperature freezing_season notes "
    ),
    "spot": (
        "log_rows log_unit log_blows log_depths log_drop hammer base_bottom "
    ),
}  # fmt: skip
_PARTS: Final[Mapping[str, tuple[str, ...]]] = {
    "test_holes": ("base", "state", "where"), "old_pavement_seen": ("gap", "straightedge", "where", "what", "note"),
    "log_rows": ("depth", "blows", "hammer", "drop", "soil", "note"),
}  # fmt: skip
_KINDS: Final = {"in": "depth", "ft": "length", "ft2": "area", "%": "percent", "": "plain"}
_WINTER: Final = frozenset(keys.CLIMATE.keys)
SCOPES: Final = ("area", "job", "spot")


@cache
def listed_particulars() -> Mapping[tuple[str, str], Particular]:
    """Return every particular by what it is for and its key: all keys of a job file that have no cell of their own."""
    cells = {
        "job": {key for key, *_ in CARD} | {"units", "climate"},
        "area": {one.key for one in area_fields("us")} | {"base", "height", "diameter", "frost"},
        "spot": {"name", "area", "readings", "log"},
    }
    holders = (("area", keys.AREA, ""), ("area", keys.FROST, "frost"), ("job", keys.JOB, ""), ("job", keys.CLIMATE, "climate"),
               ("spot", keys.LOG, ""))  # fmt: skip
    found = {
        (scope, one.key): _particular(scope, one, within)
        for scope, table, within in holders for one in table.fields if one.key not in cells[scope]
    }  # fmt: skip
    order = [(scope, key.removesuffix("*")) for scope, asked in _ASKED.items() for key in asked.split()]
    return {which: found[which] for which in dict.fromkeys((*order, *found))}


def _particular(scope: str, given: schema.Field, within: str) -> Particular:
    """Return a field of a job file as a particular."""
    key, of = given.key, given.kind
    if key in _PARTS:
        of = next(one.kind for one in of.of.fields if one.key == _PARTS[key][0])
    elif isinstance(of, Each):
        of = of.of
    measure = of if isinstance(of, Measure) and of.high < inf else None
    kind = "plain" if key in _WINTER else "" if measure is None else _KINDS.get(measure.us, "")
    words = YES if isinstance(of, YesNo) else of.offers if isinstance(of, Words) else ()
    use: Use = "priced" if f"{key}*" in _ASKED[scope].split() else "kept"
    signed = key in _WINTER or (measure is not None and measure.low < 0)
    listed = key in _PARTS or key == "notes"
    return Particular(key, scope, kind, use, measure if kind else None, words, _PARTS.get(key, ()), listed, within, signed)


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

