"""What a job file may say, each table of it declared once: keys, units, limits, help; and records made of its parts.

The reader of job files, the estimating workbook's sheets and refusals all go by these declarations.
"""

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Any, Final, Literal

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import choice, number, quoted, words
from basecalc.core.units import FOOT_M, INCH_M, PRICE_UNITS, Measure, price_unit, to_unit
from basecalc.design.frost import FROST_NUMBERS, GROUPS, FrostSoil
from basecalc.design.frost_depth import Climate
from basecalc.design.settings import TRAFFIC_NAMES
from basecalc.ground.classes import strength
from basecalc.ground.cone_layers import designs
from basecalc.ground.cone_log import (
    BOTTOM,
    DEPTH,
    HOW,
    UNITS,
    ConeLog,
    Design,
    Entry,
    blow_count,
    entry_drops,
    hammer_word,
)
from basecalc.ground.cone_log_file import cone_log, log_text
from basecalc.ground.old_pavement import BASE_STATES, PLACES, STATES, WHAT, Pavement, Seen, TestHole, speaks
from basecalc.ground.readings import MOISTURES, SOILS, TESTS, settled_gap_in
from basecalc.ground.readings import soil_named as soil_named
from basecalc.job.record import ExtraLine, LooseFill, Photo
from basecalc.plan.area import (
    CORNERS,
    EDGE,
    FILL_DEPTH,
    FILL_WIDTH,
    LENGTH,
    LEVEL,
    OLD_PAVEMENTS,
    PLAN_AREA,
    POSITION,
    SHAPES,
    SLOPE_DIRECTIONS,
    THICKNESS,
    WATER_TABLE,
    slope_share,
)
from basecalc.tables.schema import By, Day, Each, Field, Inner, Row, Table, Text, Words, YesNo

WAYS: Final = ("stone", "fill")
OFFERS: Final = ("stone", "geogrid", "cheaper")
EDITIONS: Final = ("us", "metric")
LONGEST_NUMBER: Final = 40
FIRST_DAY: Final = dt.date(2000, 1, 1)  # own choice: outside these a date is a typo
LAST_DAY: Final = dt.date(2199, 12, 31)
_NUMBER: Final = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9._-]*[A-Za-z0-9_-])?")
_FREEZING_F: Final = 32.0
_F_PER_C: Final = 1.8


@dataclass(frozen=True, slots=True)
class _Winter:
    """A plain number of degrees or degree days: Fahrenheit, or Celsius in a metric job."""

    us: str
    low: float
    high: float
    zero: float = 0.0

    def unit(self, units: str) -> str:
        """Return its unit."""
        return self.us.replace("F", "C") if units == "metric" else self.us

    def read(self, name: str, value: Any, unit: str) -> float:
        """Return it in Fahrenheit."""
        metric = unit != self.us
        ends = [(limit - self.zero) / _F_PER_C if metric else limit for limit in (self.low, self.high)]
        found = number(name, value, unit, *ends)
        return found * _F_PER_C + self.zero if metric else found


def _quote_number(name: str, value: Any) -> str:
    """Keep the quote number fit to start a file name on every system."""
    if isinstance(value, int) and not isinstance(value, bool):
        value = str(value)
    if not isinstance(value, str) or not value:
        raise InputError(f"is {quoted(value)}; it must be the quote number, such as 'Q-1042'", about=name)
    if len(value) > LONGEST_NUMBER:
        raise OutOfRangeError(
            f"has {len(value)} characters; it must be at most {LONGEST_NUMBER} characters", about=name
        )
    if not _NUMBER.fullmatch(value):
        raise InputError(
            f"is {quoted(value)}; it starts file names, so it must be letters, digits, '-', '_' and '.', "
            "starting with a letter or digit and not ending with '.'",
            about=name,
        )
    return value


def _as_read(name: str, value: Any) -> float | str:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise InputError(f"is {quoted(value)}; it must be a number or text, as the test gives it", about=name)
    if isinstance(value, str):
        if not value.strip():
            raise InputError("is missing; it must be a number or text, as the test gives it", about=name)
        return value.strip()
    try:
        return float(value)
    except OverflowError:
        raise OutOfRangeError(f"is {quoted(value)}; it must be as the test gives it", about=name) from None


def _many(name: str, value: Any) -> float:
    return to_unit(name, value, "", 0, 1e6, above=True)


def _money(name: str, value: Any) -> Decimal:
    return Decimal(f"{to_unit(name, value, '$', 0, 1_000_000):.12g}")


def _price_unit(name: str, value: Any) -> str:
    unit = price_unit(value) if isinstance(value, str) else None
    if unit is None:
        raise InputError(f"is {quoted(value)}; it must be one of: {', '.join(PRICE_UNITS)}", about=name)
    return unit


def _drop(name: str, value: Any) -> str:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(f"is {quoted(value)}; it must be the name of a drop in the log", about=name)
    return f"{value:g}" if isinstance(value, float) else str(value).strip()


_NEEDED: Final = Text()
_NOTE: Final = Text(2000)
_SOIL: Final = By(lambda _, value: soil_named(value).name, SOILS)
_HAND: Final = By(lambda _, value: strength(value))
_DAY: Final = Day(FIRST_DAY, LAST_DAY)
_YEARS: Final = Measure("", "", "", 0, 150)
_BASE: Final = Measure("m", "in", "mm", 0, 36)
_DEEP: Final = Measure("m", "in", "mm", 0, 120, above=True)


def _text(key: str, label: str = "", help: str = "", kind: Any = _NEEDED) -> Field:
    """Return a field of words that may be left out."""
    return Field(key, label, kind, help, needed=False, blank="", format="text")


def _one_of(key: str, offered: tuple[str, ...], label: str = "", help: str = "") -> Field:
    """Return a field of one of some words that may be left out."""
    return Field(key, label, Words(offered), help, needed=False, blank="")


def _maybe(key: str, kind: Any, label: str = "", help: str = "", into: str = "") -> Field:
    """Return a field that is None where it is left out."""
    return Field(key, label, kind, help, needed=False, into=into)


def _yes(key: str, label: str = "", help: str = "") -> Field:
    """Return a question that is answered no where it is left out."""
    return Field(key, label, YesNo(), help, needed=False, blank=False)


def _of(key: str, kind: Any, label: str = "", help: str = "") -> Field:
    """Return a length that is 0 where it is left out, and may not be given empty."""
    return Field(key, label, kind, help, needed=False, blank=0.0, into=f"{key}_m")


FROST: Final = Table(
    "frost",
    (
        _one_of("group", GROUPS, "frost group",
                "Only where a laboratory gave it; else the soil and the next two decide."),
        _maybe("fines_below_20_microns", FROST_NUMBERS["fines_below_20_microns"], "finer than 0.02 mm",
               "Share by weight, by hydrometer; not what passes the No. 200 sieve. Blank: not known.",
               "fines_percent"),
        _maybe("plasticity_index", FROST_NUMBERS["plasticity_index"], "plasticity",
               "Plasticity index, for clay. Blank: not known."),
        _maybe("dry_density", FROST_NUMBERS["dry_density"], "dry weight",
               "Of the ground as it lies, dry: for how deep frost goes. Blank: not known.", "dry_density_pcf"),
        _maybe("water_content", FROST_NUMBERS["water_content"], "water content",
               "By dry weight: for how deep frost goes. Blank: not known.", "water_percent"),
    ),
    FrostSoil,
)  # fmt: skip
CLIMATE: Final = Table(
    "climate",
    (
        Field("freezing_index", kind=_Winter("F-days", 0, 10_000),
              help="Of the design winter, degree days F (metric: C). All three, or none."),
        Field("mean_annual_temperature", kind=_Winter("F", 32, 90, _FREEZING_F), help="Of the place, F (metric: C).",
              into="mean_annual_f"),
        Field("freezing_season", kind=By(lambda name, value: number(name, value, "days", 1, 365)),
              help="How long frost lasts in the design winter, days.", into="season_days"),
    ),
    Climate,
)  # fmt: skip
SEEN: Final = Table(
    "old_pavement_seen",
    (
        Field("what", kind=Words(WHAT), help="A settlement or a rut."),
        Field("where", kind=Words(PLACES), help="Where it is."),
        Field("gap", kind=Measure("m", "in", "mm", 0, 6), help="Under the straightedge.", into="gap_m"),
        Field("straightedge", kind=Measure("m", "ft", "m", 1, 30), help="Its length; 6 ft if left out.", needed=False,
              blank=6 * FOOT_M, into="straightedge_m"),
        _text("note", help="For the office and the crew."),
    ),
    Seen,
)  # fmt: skip
HOLE: Final = Table(
    "test_holes",
    (
        Field("where", kind=Text(), help="In your words."),
        Field("base", kind=_BASE, help="How much base was there.", into="base_m"),
        Field("state", kind=Words(BASE_STATES), help="Clean, or dirty."),
    ),
    TestHole,
)  # fmt: skip
READING: Final = Table(
    "readings",
    (
        Field("test", "test", Words(TESTS), "What was tried."),
        Field("reading", "reading", By(_as_read),
              "A number in the unit of the test, one with its own unit, or a word."),
        _one_of("moisture", MOISTURES, "moisture", "How the ground was; blank: as the job says."),
        _text("soil", "soil", "Soil at the spot; blank: that of the area.", _SOIL),
        _text("note", "note", "For the office and the crew.", _NOTE),
    ),
)  # fmt: skip
LOG_ROW: Final = Table(
    "log_rows",
    (
        Field("row", kind=Measure("", "", "", 0, whole=True), help="As the user counts it; left out: by its place.",
              needed=False, blank=0),
        _text("drop", "drop", "Its name or number, only where a spot has several. Blank: the one of the row above."),
        Field("depth", "depth", DEPTH, "What the ruler says, from the seating reading down.", into="depth_mm"),
        Field("blows", "blows", By(lambda _, value: blow_count(value)),
              "0 in the seating reading, which is the first of each drop."),
        _text("hammer", "hammer", "8 kg or 4.6 kg. Blank: as above; at the top of a spot, 8 kg.",
              By(lambda _, value: hammer_word(value))),
        _text("soil", "soil", "Soil at that depth; blank: that of the area.", _SOIL),
        _text("note", "note", "What was heard or seen at that depth.", _NOTE),
    ),
    Entry,
)  # fmt: skip
ROWS_OF_THE_JOB: Final = "kept with the job"  # what a log of no file of its own is called
_OF_ROWS: Final = ("log_rows", "log_blows", "log_depths", "base_bottom")  # keys that rows of a log go with
# The keys of a spot that say which log was driven there, and how it is read.
LOG: Final = Table(
    "log",
    (
        _text("log", help="A file in the folder of the job or below it."),
        _one_of("log_unit", tuple(UNITS), help="Where the file does not say it itself."),
        _one_of("log_blows", HOW, "blows", "Since the row above (per step), or all together (total)."),
        _one_of("log_depths", HOW, "depths", "Below one point, as on a ruler (total), or since the row above."),
        _text("log_drop", help="One drop of several.", kind=By(_drop)),
        _text("hammer", help="8 kg or 4.6 kg.", kind=By(lambda _, value: hammer_word(value))),
        _maybe("base_bottom", BOTTOM, "bottom of base",
               "How deep below the first reading the bottom of the base will lie. Blank: every layer counts, also one "
               "that is dug out."),
        _maybe("log_rows", Each(LOG_ROW, 1, 10_000)),
    ),
)  # fmt: skip
SPOT: Final = Table(
    "spot",
    (
        *LOG.fields,
        Field("name", "spot", _NEEDED, "Where it was read, in your words.", format="text"),
        _text("area", "area", "The area it was read for; blank where there is only one."),
        _maybe("readings", Each(READING, 1)),
    ),
)
AREA: Final = Table(
    "area",
    (
        Field("name", "area", _NEEDED, "What the quote calls it.", format="text"),
        Field("shape", "shape", Words(SHAPES), "Its shape; each has sizes of its own."),
        _maybe("length", LENGTH, help="Of a rectangle; of the box that rolls are cut to, where only the area is "
               "measured."),
        _maybe("width", LENGTH, help="As the length."),
        _maybe("base", LENGTH, help="Of a triangle."),
        _maybe("height", LENGTH, help="Of a triangle or a trapezoid."),
        _maybe("diameter", LENGTH, help="Of a circle."),
        _maybe("sides", Each(LENGTH, 3, 3), help="The three sides of a triangle."),
        _maybe("parallel_sides", Each(LENGTH, 2, 2), help="Of a trapezoid."),
        _maybe("legs", Each(LENGTH, 2, 2), help="Of a trapezoid that is neither upright nor even."),
        _maybe("points", Each(Each(POSITION, 2, 2), 3, 500), "corners at",
               "Polygon: its corners in turn, 'x y; x y; ...', walked round once."),
        _maybe("area", PLAN_AREA, "measured area", "Measured shape: its plan area."),
        _maybe("perimeter", LENGTH, "measured outline", "Measured shape: the length around it."),
        _maybe("open_edge", EDGE, "open edge", "Edge past which the base is carried on; blank: all but the building."),
        _maybe("corners", CORNERS, "open corners",
               "Outside less inside corners of the open edge; blank: by the shape."),
        _of("finish_above_ground", LEVEL, "finish above ground",
            "How far the paving is above the ground; minus: below."),
        _text("soil", "soil", "What is dug here; blank: as the job says.", _SOIL),
        _of("old_pavement", THICKNESS, "old pavement", "Its thickness, where one is broken out."),
        _one_of("old_pavement_kind", OLD_PAVEMENTS, "kind of it", "asphalt, concrete, pavers or gravel."),
        _yes("keep_old_base", "keep its base?", "yes if the old base might stay; asked, never assumed."),
        _maybe("foundation_edge", EDGE, "along a building",
               "Length along a building: the base is not carried on there."),
        _of("foundation_fill_depth", FILL_DEPTH, "fill depth",
            "Granular fill along the building, below the base."),
        _of("foundation_fill_width", FILL_WIDTH, "fill width", "Of that fill, away from the building."),
        _maybe("edge_restraint", EDGE, "edge restraint", "Blank: as long as the open edge."),
        _yes("geotextile", "geotextile", "yes for a separation geotextile below the base."),
        _maybe("walked", YesNo(), "walked and tested", "Of this area; blank: as the job says."),
        _maybe("strength", _HAND, "strength by hand", "A class or a CBR, only where nothing was read."),
        _maybe("water_table", WATER_TABLE, "water table", "Depth of the highest water of the year. Blank: not known.",
               "water_table_m"),
        _maybe("frost", Inner(FROST)),
        _maybe("slope", By(lambda _, value: slope_share(value)),
               help="How the finish falls, %; '1/4 in/ft' works too."),
        _one_of("slope_direction", SLOPE_DIRECTIONS, help="length or width."),
        _maybe("fall_length", LEVEL, "fall along",
               "How far the finish falls along its length; minus: it rises. For the crew."),
        _maybe("fall_width", LEVEL, "fall across",
               "How far the finish falls along its width; minus: it rises. For the crew."),
        _text("note", "note", "For the office and the crew.", _NOTE),
        # What is known of its old pavement and of loose fill.
        _maybe("old_pavement_age", _YEARS, "age of the old pavement", "Years."),
        _one_of("old_pavement_state", STATES, "state of the old pavement", "Even, settled, rutted, or both."),
        Field("old_pavement_seen", kind=Each(SEEN), help="Settlements and ruts, each with its gap.", needed=False,
              blank=[]),
        _maybe("old_base", _BASE, "old base", "As somebody says; it counts only as test holes find it."),
        Field("test_holes", kind=Each(HOLE), help="Holes through the old pavement.", needed=False, blank=[]),
        _yes("foundation_strip", "strip along the building", "yes: an area of its own."),
        _maybe("foundation_strip_strength", _HAND, "strength of the strip",
               "By hand; without it and without a spot: soft until tested."),
        _maybe("foundation_strip_open_ends", Measure("", "", "", 0, 2, whole=True), "open ends of the strip",
               "0, 1 or 2 of its ends are at an open edge."),
        _maybe("footing_depth", _DEEP, "depth of the footing", "Nothing is dug below it without an engineer.",
               "footing_m"),
        _maybe("loose_fill_depth", FILL_DEPTH, "depth of loose fill", "Down to sound ground."),
        _one_of("loose_fill", WAYS, "what is done with it", "stone: more stone above it; fill: dug out and replaced."),
        _maybe("sound_ground", _HAND, "sound ground", "Its strength below the fill; blank: as the area beside it."),
        _yes("offer_other_way", "offer the other way", "yes: the client sees the other way as an option."),
    ),
)  # fmt: skip
PHOTO: Final = Table(
    "photos",
    (
        Field("file", kind=Text(), help="The picture, beside the job file."),
        _text("caption", help="The words under it.", kind=_NOTE),
    ),
    Photo,
)
JOB: Final = Table(
    "job",
    (
        Field("number", "quote number", By(_quote_number),
              "Starts the names of the files: letters, digits, - _ and .", format="text"),
        Field("client", "client", _NEEDED, "As printed on the quote.", format="text"),
        _text("client_phone", "client's phone", "For the crew sheet and the office."),
        Field("site", "site", _NEEDED, "Street and town.", format="text"),
        Field("date", "date", _DAY, "Day of the quote, as a date; its validity counts from it.", needed=False,
              format="date"),
        _text("prepared_by", "prepared by", "As printed on the quote."),
        Field("units", "units", Words(EDITIONS), "us or metric.", needed=False, blank="us"),
        Field("traffic", "traffic", _NEEDED,
              f"What drives here: {', '.join(TRAFFIC_NAMES)}, or one of your own (Company).", needed=False,
              blank=TRAFFIC_NAMES[0], offers="traffics"),
        _one_of("season", MOISTURES, "ground on the day",
                "How wet it was; a reading that says nothing itself takes it."),
        _yes("walked", "walked and tested",
             "yes: the whole area was walked and its softest place tested. Then readings count in full."),
        _text("soil", "soil dug", "An area or a reading that says nothing itself takes it.", _SOIL),
        _yes("new_build", "newly built plot", "yes or no: loose fill is likely there."),
        _maybe("stone_trucks_on_base", YesNo(), "stone trucks on the base",
               "Whether loaded stone trucks drive on the base; blank: where it bears them."),
        Field("offer", "offer", Words(OFFERS), "stone, geogrid, or the cheaper of the two.", needed=False,
              blank="cheaper"),
        *(Field(key, label, _NEEDED, "Blank: the first on the sheet Company.", needed=False, blank="", offers=offers)
          for key, label, offers in (
              ("stone", "base stone", "stones"), ("paver", "paver", "pavers"), ("geogrid", "geogrid", "rolls"),
              ("geotextile", "geotextile", "rolls"), ("spoil_truck", "truck for soil", "trucks"),
              ("stone_truck", "truck for stone", "trucks"))),
        _maybe("climate", Inner(CLIMATE)),
        Field("start", "first day of work", _DAY, "As a date, once it is known: the stone order counts from it.",
              needed=False, format="date"),
        _text("paver_color", "paver color", "As printed on the papers."),
        _text("paver_pattern", "paver pattern", "As printed on the papers."),
        Field("photos", "photos", Each(PHOTO, 0, 6, single=True), "For the client's paper, beside the job file.",
              needed=False, blank=[]),
        Field("notes", "notes", Each(_NOTE, single=True), "One to a line; printed on the quote.", needed=False,
              blank=[]),
    ),
)  # fmt: skip
SENSES: Final = ("cost", "price")
LINE: Final = Table(
    "line",
    (
        _text("item", "item", "What it is: a permit, a drain, a border."),
        _text("code", "code", "The owner's own row of the price list, in place of a unit price."),
        _maybe("quantity", By(_many), "quantity", "How many units; blank for a lump."),
        _text("unit", "unit", "each, lump, h, day, ft, ft2, yd3, ton ...", By(_price_unit, tuple(PRICE_UNITS))),
        _maybe("unit_price", By(_money), "unit price", "Of one unit, where no row of the price list is named."),
        _text("scope", "scope", "What the client reads.", _NOTE),
        _maybe("taxable", YesNo(), "taxable", "Blank: as the row of the price list, else no."),
        _text("area", "for area", "The area it belongs to; blank: the whole job."),
        Field("sense", "cost or price", Words(SENSES), "cost: marked up; price: what the client pays.", needed=False,
              blank="cost"),
    ),
)  # fmt: skip
FILE: Final = Table(
    "job file",
    (
        Field("job", kind=Inner(JOB, "[job]")),
        Field("area", kind=Each(AREA, 1)),
        Field("spot", kind=Each(SPOT), needed=False, blank=[]),
        Field("line", kind=Each(LINE), needed=False, blank=[]),
    ),
)


def extra_line(fields: Row, areas: Mapping[str, str]) -> ExtraLine:
    """Return an extra line of a job file; `areas` gives the name of each area in lower case."""
    if fields.code and fields.unit_price is not None:
        raise InputError("code and unit price are both given; it must be a row of the price list or a price of its own")
    if not fields.code:
        for key in ("item", "unit", "unit_price"):
            if getattr(fields, key) in ("", None):
                raise InputError(
                    "is missing; a line needs item, unit and unit price, or a code", about=words(key), field=key
                )
        if fields.quantity is None and fields.unit != "lump":
            raise InputError(
                f"is missing; it must be how many {fields.unit} there are", about="quantity", field="quantity"
            )
    area = areas.get(fields.area.casefold()) if fields.area else ""
    if area is None:
        raise InputError(
            f"is {quoted(fields.area)}; it must be one of: {', '.join(areas.values())}", about="area", field="area"
        )
    return ExtraLine(**{**vars(fields), "code": fields.code.casefold(), "area": area})


def _named(key: str) -> dict[str, str]:
    """Return what a refusal says of the key it is about."""
    return {"about": words(key), "field": key}


_OF_PAVEMENT: Final = ("old_pavement_age", "old_pavement_state", "old_pavement_seen", "old_base", "test_holes")
# Keys that say nothing without another, and what that other must be.
_WITH: Final = (
    (_OF_PAVEMENT, "old_pavement", "its thickness"),
    (("loose_fill", "sound_ground", "offer_other_way"), "loose_fill_depth", "how deep the fill lies"),
    (("footing_depth",), "foundation_edge", "the length along the building"),
    (("foundation_strip_strength", "foundation_strip_open_ends"), "foundation_strip", "yes"),
)


def _given(fields: Row, keys: tuple[str, ...]) -> list[str]:
    """Return the keys that say something; 0 does."""
    return [key for key in keys if (value := getattr(fields, key)) is not False and value not in (None, "", [])]


def require_others(fields: Row) -> None:
    """Refuse a key that says nothing without another that is not given."""
    for keys, other, what in _WITH:
        if not getattr(fields, other) and (given := _given(fields, keys)):
            raise InputError(f"is given, but no {words(other)}; {words(other)} must be {what}", **_named(given[0]))


def pavement(fields: Row, units: str) -> Pavement | None:
    """Return what a job file says of an old pavement, or nothing."""
    if not _given(fields, _OF_PAVEMENT):
        return None
    found = Pavement(
        fields.old_pavement_age,
        fields.old_pavement_state,
        tuple(fields.old_pavement_seen),
        fields.old_base or 0.0,
        tuple(fields.test_holes),
    )
    gap = max((one.gap_m / INCH_M for one in found.seen), default=0.0)
    if found.state == "even" and gap >= settled_gap_in():
        raise InputError(
            f"old pavement state is 'even', but a gap of {gap:.3g} in ({gap * INCH_M * 1000:.0f} mm) was measured; "
            f"even is below {settled_gap_in():g} in ({settled_gap_in() * INCH_M * 1000:.0f} mm)",
            field="old_pavement_state",
        )
    speaks(found, fields.old_pavement_kind, units)
    return found


def loose_fill(fields: Row) -> LooseFill | None:
    """Return what a job file says of loose fill, or nothing."""
    if not fields.loose_fill_depth:
        return None
    if fields.foundation_fill_depth > 0:
        raise InputError(
            "loose fill depth and foundation fill depth are both given; it must be one: the fill below the base as "
            "ordered, or the depth of the loose fill from which it is worked out",
            field="loose_fill_depth",
        )
    if fields.sound_ground is None and not fields.foundation_strip:
        raise InputError(
            "is missing; it must be the strength below the loose fill, such as 'stiff' (for a foundation strip it is "
            "otherwise that of the rest of the area)",
            **_named("sound_ground"),
        )
    way: Literal["stone", "fill"] = "fill" if fields.loose_fill == "fill" else "stone"
    return LooseFill(fields.loose_fill_depth, way, fields.sound_ground, fields.offer_other_way)


def require_strip(fields: Row) -> None:
    """Refuse a strip along a foundation that is not given whole."""
    for name in ("foundation_edge", "foundation_fill_width"):
        if fields.foundation_strip and not getattr(fields, name):
            raise InputError("is missing; a foundation strip needs its length and its width", **_named(name))


def log_content(log: str, where: str, logs: Mapping[str, str] | None = None) -> str:
    """Return what the log of a spot holds, as text."""
    if logs is not None:
        if log not in logs:
            raise InputError(f"the log {quoted(log)} did not come along with the job")
        return logs[log]
    if not Path(where).suffix:
        told = f"is {quoted(log)}, but the job was not read from a file; a log is looked for beside its job file"
        raise InputError(told, **_named("log"))
    path = Path(where).parent / log
    try:
        inside = path.resolve().is_relative_to(Path(where).parent.resolve())
    except (OSError, ValueError, RuntimeError):  # a name that no file can have, or links that lead in a circle
        inside = False
    if not inside:
        raise InputError(
            f"is {quoted(log)}; it must be a file in the folder of the job or below it. Copy the log there and write "
            "its name",
            **_named("log"),
        )
    return log_text(path)


def spot_designs(fields: Row, soil: str, where: str, content: str) -> tuple[tuple[Design, ...], tuple[str, ...]]:
    """Return the layer to design for of every drop of a spot's log, and what was assumed; nothing where it has none."""
    said = [name for name in LOG.keys if getattr(fields, name) not in ("", None)]
    if fields.log_rows:
        if beside := [name for name in said if name not in _OF_ROWS]:
            raise InputError(
                "goes with the file of a log, but its rows are given here; it must be left out", **_named(beside[0])
            )
        entries = [replace(one, row=one.row or place) for place, one in enumerate(fields.log_rows, 1)]
        drops, notes = entry_drops(entries, fields.log_blows or "per step", fields.log_depths or "total")
        comments = tuple((one.row, one.note) for one in entries if one.note)
        return designs(ConeLog("", drops, "in", notes, comments), soil, fields.base_bottom), notes
    if not fields.log:
        if said:
            told = f"is missing; {words(said[0])} says how a log is read, so the log must be named"
            raise InputError(told, **_named("log"))
        return (), ()
    log = str(Path(where).parent / fields.log)
    read = cone_log(
        content.encode(), log, unit=fields.log_unit, hammer=fields.hammer, blows=fields.log_blows,
        depths=fields.log_depths,
    )  # fmt: skip
    made = designs(read, soil, fields.base_bottom)
    if not fields.log_drop:
        return made, read.notes
    wanted = choice("log drop", fields.log_drop, [one.profile.drop.name for one in made])
    return tuple(one for one in made if one.profile.drop.name == wanted), read.notes
