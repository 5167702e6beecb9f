"""The keys of a job file, each with its unit and limits; what a file may say before anything is calculated."""

import datetime as dt
import re
from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field, ValidationInfo

from basecalc.base.traffic import TRAFFIC_NAMES
from basecalc.checks import choice, shown
from basecalc.errors import InputError, OutOfRangeError
from basecalc.ground.classes import Strength
from basecalc.ground.readings import MOISTURES, TESTS
from basecalc.ground.soils import soil as soil_named
from basecalc.job.findings import FindingFields, by_hand
from basecalc.job.frost import ClimateFields, FrostFields, WaterDepth
from basecalc.job.logs import LogFields
from basecalc.plan.dimensions import (
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
    THICKNESS,
)
from basecalc.plan.levels import SLOPE_DIRECTIONS, slope_share
from basecalc.validation import Record, measured, one_of, text, yes_no

OFFERS: Final = ("stone", "geogrid", "cheaper")
LONGEST_NUMBER: Final = 40
FIRST_DAY: Final = dt.date(2000, 1, 1)  # own choice: outside these a date is a typo
LAST_DAY: Final = dt.date(2199, 12, 31)
_NUMBER: Final = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9._-]*[A-Za-z0-9_-])?")
_CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")


def _quote_number(value: Any) -> str:
    """Keep the quote number fit to start a file name on every system."""
    if isinstance(value, int) and not isinstance(value, bool):
        value = str(value)
    if not isinstance(value, str) or not value:
        raise InputError(f"number is {shown(value)}; it must be the quote number, such as 'Q-1042'")
    if len(value) > LONGEST_NUMBER:
        raise OutOfRangeError(f"number has {len(value)} characters; it must be at most {LONGEST_NUMBER} characters")
    if not _NUMBER.fullmatch(value):
        raise InputError(
            f"number is {shown(value)}; it starts file names, so it must be letters, digits, '-', '_' and '.', "
            "starting with a letter or digit and not ending with '.'"
        )
    return value


def _day(value: Any, info: ValidationInfo) -> dt.date | None:
    if value is None or value == "":
        return None
    if isinstance(value, dt.datetime):
        day = value.date()
    elif isinstance(value, dt.date):
        day = value
    else:
        try:
            day = dt.date.fromisoformat(value.strip())
        except (AttributeError, ValueError):
            raise InputError(f"{info.field_name} is {shown(value)}; it must be a date such as 2025-04-30") from None
    if not FIRST_DAY <= day <= LAST_DAY:
        raise OutOfRangeError(f"{info.field_name} is {day}; it must be from {FIRST_DAY} to {LAST_DAY}")
    return day


def _start(value: Any, info: ValidationInfo) -> dt.date | None:
    day, written = _day(value, info), info.data.get("date")
    if day and written and day < written:
        raise InputError(f"start is {day}; it must not be before the date of the quote, {written}")
    return day


def _as_read(value: Any, info: ValidationInfo) -> float | str:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise InputError(f"{info.field_name} is {shown(value)}; it must be a number or text, as the test gives it")
    if isinstance(value, str) and not value.strip():
        raise InputError(f"{info.field_name} is missing; it must be a number or text, as the test gives it")
    if isinstance(value, str):
        return value.strip()
    try:
        return float(value)
    except OverflowError:
        raise OutOfRangeError(f"{info.field_name} is {shown(value)}; it must be as the test gives it") from None


def _yes_no_or_blank(value: Any, info: ValidationInfo) -> bool | None:
    if value is None or isinstance(value, bool) or (isinstance(value, str) and not value.strip()):
        return value if isinstance(value, bool) else None
    return choice(str(info.field_name), value, ("yes", "no")) == "yes"


def _soil(value: Any) -> str:
    return "" if value is None or value == "" else soil_named(value).name


def _as_list(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


def _no_control(value: Any, info: ValidationInfo) -> Any:
    # A spreadsheet file cannot hold these characters.
    if isinstance(value, str) and (found := _CONTROL.search(value)):
        name = str(info.field_name).replace("_", " ")
        raise InputError(f"{name} holds the control character U+{ord(found[0]):04X}; it must be plain text")
    return value


_clean = BeforeValidator(_no_control)
# The last one named runs first.
Needed = Annotated[str, text(), _clean]
Words = Annotated[str, text(needed=False), _clean]
Note = Annotated[str, text(needed=False, longest=2000), _clean]
SoilWord = Annotated[str, BeforeValidator(_soil)]
Position = Annotated[float, measured(POSITION)]
Point = Annotated[list[Position], Field(min_length=2, max_length=2)]
YesNo = Annotated[bool, yes_no(blank=False)]
MaybeYesNo = Annotated[bool | None, yes_no()]
Length = Annotated[float, measured(LENGTH)]
MaybeLength = Annotated[float | None, measured(LENGTH, blank=True)]
EdgeLength = Annotated[float | None, measured(EDGE, blank=True)]
PlanArea = Annotated[float | None, measured(PLAN_AREA, blank=True)]
Level = Annotated[float, measured(LEVEL)]
Thickness = Annotated[float, measured(THICKNESS)]
FillDepth = Annotated[float, measured(FILL_DEPTH)]
FillWidth = Annotated[float, measured(FILL_WIDTH)]
CornerCount = Annotated[float | None, measured(CORNERS, blank=True)]


class ReadingFields(Record):
    """One reading at a spot."""

    test: Annotated[str, one_of(lambda: TESTS)]
    reading: Annotated[float | str, BeforeValidator(_as_read)]
    moisture: Annotated[str, one_of(MOISTURES, blank="")] = ""
    soil: SoilWord = ""
    note: Note = ""


class SpotFields(LogFields):
    """One place where the ground was read."""

    name: Needed
    area: Words = ""
    readings: Annotated[list[ReadingFields], Field(min_length=1)] | None = None


class AreaFields(FindingFields):
    """One area to pave."""

    name: Needed
    shape: Annotated[str, one_of(SHAPES)]
    length: MaybeLength = None
    width: MaybeLength = None
    base: MaybeLength = None
    height: MaybeLength = None
    diameter: MaybeLength = None
    sides: Annotated[list[Length], Field(min_length=3, max_length=3)] | None = None
    parallel_sides: Annotated[list[Length], Field(min_length=2, max_length=2)] | None = None
    legs: Annotated[list[Length], Field(min_length=2, max_length=2)] | None = None
    points: Annotated[list[Point], Field(min_length=3, max_length=500)] | None = None
    area: PlanArea = None
    perimeter: MaybeLength = None
    open_edge: EdgeLength = None
    corners: CornerCount = None
    finish_above_ground: Level = 0.0
    soil: SoilWord = ""
    old_pavement: Thickness = 0.0
    old_pavement_kind: Annotated[str, one_of(OLD_PAVEMENTS, blank="")] = ""
    keep_old_base: YesNo = False
    foundation_edge: EdgeLength = 0.0
    foundation_fill_depth: FillDepth = 0.0
    foundation_fill_width: FillWidth = 0.0
    edge_restraint: EdgeLength = None
    geotextile: YesNo = False
    walked: MaybeYesNo = None
    strength: Annotated[Strength | None, BeforeValidator(by_hand)] = None
    water_table: WaterDepth = None
    frost: FrostFields | None = None
    slope: Annotated[float | None, BeforeValidator(slope_share)] = None
    slope_direction: Annotated[str, one_of(SLOPE_DIRECTIONS, blank="")] = ""
    fall_length: Annotated[float | None, measured(LEVEL, blank=True)] = None
    fall_width: Annotated[float | None, measured(LEVEL, blank=True)] = None
    note: Note = ""


class JobTable(Record):
    """What holds for the whole job."""

    number: Annotated[str, BeforeValidator(_quote_number)]
    client: Needed
    site: Needed
    date: Annotated[dt.date | None, BeforeValidator(_day)] = None
    prepared_by: Words = ""
    units: Annotated[Literal["us", "metric"], one_of(("us", "metric"))] = "us"
    traffic: Words = TRAFFIC_NAMES[0]
    season: Annotated[str, one_of(MOISTURES, blank="")] = ""
    walked: YesNo = False
    soil: SoilWord = ""
    new_build: YesNo = False
    stone_trucks_on_base: Annotated[bool | None, BeforeValidator(_yes_no_or_blank)] = None
    offer: Annotated[Literal["stone", "geogrid", "cheaper"], one_of(OFFERS)] = "cheaper"
    stone: Words = ""
    paver: Words = ""
    geogrid: Words = ""
    geotextile: Words = ""
    spoil_truck: Words = ""
    stone_truck: Words = ""
    climate: ClimateFields | None = None
    start: Annotated[dt.date | None, BeforeValidator(_start)] = None
    notes: Annotated[list[Note], BeforeValidator(_as_list)] = Field(default_factory=list)


class FileFields(Record):
    """A whole job file."""

    job: JobTable
    area: Annotated[list[AreaFields], Field(min_length=1)]
    spot: list[SpotFields] = Field(default_factory=list)
