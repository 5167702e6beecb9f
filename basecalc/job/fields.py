"""What a job file may say of frost: the ground of an area, and the design winter of the place.

What a job file may say of an old pavement and of loose fill: the keys of an area, each with its unit and limits.
A spot of a job file that names a cone penetrometer's log: its keys, and the log as readings like any other.
The keys of a job file, each with its unit and limits; what a file may say before anything is calculated.
"""

import datetime as dt
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field, ValidationInfo

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import choice, number, shown
from basecalc.core.records import Record, measured, one_of, text, words, yes_no
from basecalc.core.units import FOOT_M, INCH_M, Measure
from basecalc.design.frost import GROUPS, FrostSoil
from basecalc.design.frost_depth import Climate
from basecalc.design.settings import TRAFFIC_NAMES
from basecalc.ground.classes import Strength, strength
from basecalc.ground.cone_layers import designs, log_reading
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
from basecalc.ground.old_pavement import BASE_STATES, PLACES, STATES, WHAT, Pavement, Seen, TestHole, speaks
from basecalc.ground.readings import MOISTURES, TESTS, Reading, settled_gap_in
from basecalc.ground.readings import soil_named as soil_named
from basecalc.job.record import LooseFill
from basecalc.plan.area import (
    CORNERS,
    EDGE,
    FILL_DEPTH,
    FILL_WIDTH,
    FROST_NUMBERS,
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

_FREEZING_F: Final = 32.0
_F_PER_C: Final = 1.8


def _winter(unit: str, low: float, high: float, zero: float = 0.0) -> BeforeValidator:
    """Return a validator for a plain number of degrees or degree days: Fahrenheit, or Celsius in a metric job."""

    def check(value: Any, info: ValidationInfo) -> float:
        metric = (info.context or {}).get("units") == "metric"
        ends = [(limit - zero) / _F_PER_C if metric else limit for limit in (low, high)]
        name = words(info.field_name)
        found = number(name, value, unit.replace("F", "C") if metric else unit, *ends)
        return found * _F_PER_C + zero if metric else found

    return BeforeValidator(check)


def _known(name: str) -> BeforeValidator:
    return measured(FROST_NUMBERS[name], blank=True)


WaterDepth = Annotated[float | None, measured(WATER_TABLE, blank=True)]


class FrostFields(Record):
    """The ground of an area in frost."""

    group: Annotated[str, one_of(GROUPS, blank="")] = ""
    fines_below_20_microns: Annotated[float | None, measured(FROST_NUMBERS["fines_below_20_microns"], blank=True)] = (
        None
    )
    plasticity_index: Annotated[float | None, measured(FROST_NUMBERS["plasticity_index"], blank=True)] = None
    dry_density: Annotated[float | None, measured(FROST_NUMBERS["dry_density"], blank=True)] = None
    water_content: Annotated[float | None, measured(FROST_NUMBERS["water_content"], blank=True)] = None


class ClimateFields(Record):
    """The design winter of the place."""

    freezing_index: Annotated[float, _winter("F-days", 0, 10_000)]
    mean_annual_temperature: Annotated[float, _winter("F", 32, 90, _FREEZING_F)]
    freezing_season: Annotated[float, BeforeValidator(lambda value: number("freezing season", value, "days", 1, 365))]


def frost_soil(fields: FrostFields | None) -> FrostSoil | None:
    """Return what a job file says of an area's ground in frost, or nothing."""
    if fields is None:
        return None
    return FrostSoil(
        fields.group,
        fields.fines_below_20_microns,
        fields.plasticity_index,
        fields.dry_density,
        fields.water_content,
    )


def climate(fields: ClimateFields | None) -> Climate | None:
    """Return the design winter of a job file, or nothing."""
    if fields is None:
        return None
    return Climate(fields.freezing_index, fields.mean_annual_temperature, fields.freezing_season)


WAYS: Final = ("stone", "fill")
_YEARS: Final = Measure("", "", "", 0, 150)
_GAP: Final = Measure("m", "in", "mm", 0, 6)
_STRAIGHTEDGE: Final = Measure("m", "ft", "m", 1, 30)
_BASE: Final = Measure("m", "in", "mm", 0, 36)
_DEPTH: Final = Measure("m", "in", "mm", 0, 120, above=True)
_FILL: Final = Measure("m", "in", "mm", 0, 120)


def by_hand(value: Any) -> Strength | None:
    """Return a strength given by hand; nothing for a blank."""
    return None if value is None or value == "" else strength(value)


def _ends(value: Any, info: ValidationInfo) -> int | None:
    if value is None or value == "":
        return None
    ends = number(words(info.field_name), value, "", 0, 2)
    if ends != int(ends):
        raise InputError(f"{words(info.field_name)} is {shown(value)}; it must be 0, 1 or 2")
    return int(ends)


class SeenFields(Record):
    """A settlement or a rut of an old pavement: what, where, and the gap under a straightedge."""

    what: Annotated[str, one_of(WHAT)]
    where: Annotated[str, one_of(PLACES)]
    gap: Annotated[float, measured(_GAP)]
    straightedge: Annotated[float, measured(_STRAIGHTEDGE)] = 6 * FOOT_M
    note: Annotated[str, text(needed=False)] = ""


class HoleFields(Record):
    """A test hole through an old pavement: where, how much base there was, and whether it was clean."""

    where: Annotated[str, text()]
    base: Annotated[float, measured(_BASE)]
    state: Annotated[str, one_of(BASE_STATES)]


class FindingFields(Record):
    """The keys of an area that say what is known of its old pavement and of loose fill."""

    old_pavement_age: Annotated[float | None, measured(_YEARS, blank=True)] = None
    old_pavement_state: Annotated[str, one_of(STATES, blank="")] = ""
    old_pavement_seen: list[SeenFields] = Field(default_factory=list)
    old_base: Annotated[float | None, measured(_BASE, blank=True)] = None
    test_holes: list[HoleFields] = Field(default_factory=list)
    foundation_strip: Annotated[bool, yes_no(blank=False)] = False
    foundation_strip_strength: Annotated[Strength | None, BeforeValidator(by_hand)] = None
    foundation_strip_open_ends: Annotated[int | None, BeforeValidator(_ends)] = None
    footing_depth: Annotated[float | None, measured(_DEPTH, blank=True)] = None
    loose_fill_depth: Annotated[float | None, measured(_FILL, blank=True)] = None
    loose_fill: Annotated[Literal["stone", "fill", ""], one_of(WAYS, blank="")] = ""
    sound_ground: Annotated[Strength | None, BeforeValidator(by_hand)] = None
    offer_other_way: Annotated[bool, yes_no(blank=False)] = False


def pavement(fields: FindingFields, thickness_m: float, kind: str, units: str) -> Pavement | None:
    """Return what a job file says of an old pavement, or nothing."""
    names = ("old_pavement_age", "old_pavement_state", "old_pavement_seen", "old_base", "test_holes")
    told = [name for name in names if getattr(fields, name) not in (None, "", [])]
    if not told:
        return None
    if not thickness_m:
        raise InputError(f"{words(told[0])} is given, but no old pavement; old pavement must be its thickness")
    found = Pavement(
        fields.old_pavement_age,
        fields.old_pavement_state,
        tuple(Seen(one.what, one.where, one.gap, one.straightedge, one.note) for one in fields.old_pavement_seen),
        fields.old_base or 0.0,
        tuple(TestHole(hole.where, hole.base, hole.state) for hole in fields.test_holes),
    )
    gap = max((one.gap_m / INCH_M for one in found.seen), default=0.0)
    if found.state == "even" and gap >= settled_gap_in():
        raise InputError(
            f"old pavement state is 'even', but a gap of {gap:.3g} in ({gap * INCH_M * 1000:.0f} mm) was measured; "
            f"even is below {settled_gap_in():g} in ({settled_gap_in() * INCH_M * 1000:.0f} mm)"
        )
    speaks(found, kind, units)
    return found


def loose_fill(fields: FindingFields, fill_depth_m: float) -> LooseFill | None:
    """Return what a job file says of loose fill, or nothing."""
    if not fields.loose_fill_depth:
        for name in ("loose_fill", "sound_ground", "offer_other_way"):
            if getattr(fields, name):
                raise InputError(f"{words(name)} is given, but no loose fill depth; it must be how deep the fill lies")
        return None
    if fill_depth_m > 0:
        raise InputError(
            "loose fill depth and foundation fill depth are both given; it must be one: the fill below the base as "
            "ordered, or the depth of the loose fill from which it is worked out"
        )
    if fields.sound_ground is None and not fields.foundation_strip:
        raise InputError(
            "sound ground is missing; it must be the strength below the loose fill, such as 'stiff' (for a foundation "
            "strip it is otherwise that of the rest of the area)"
        )
    way: Literal["stone", "fill"] = "fill" if fields.loose_fill == "fill" else "stone"
    return LooseFill(fields.loose_fill_depth, way, fields.sound_ground, fields.offer_other_way)


def require_strip(fields: FindingFields, edge_m: float, width_m: float) -> None:
    """Refuse a strip along a foundation that is not given whole, and keys that only a strip has."""
    if fields.footing_depth is not None and not edge_m:
        raise InputError("footing depth is given, but no foundation edge; it must be the length along the building")
    if not fields.foundation_strip:
        for name in ("foundation_strip_strength", "foundation_strip_open_ends"):
            if getattr(fields, name) is not None:
                raise InputError(f"{words(name)} is given, but foundation strip is not true; a strip must be asked for")
        return
    for name, value in (("foundation edge", edge_m), ("foundation fill width", width_m)):
        if not value:
            raise InputError(f"{name} is missing; a foundation strip needs its length and its width")


ROWS_OF_THE_JOB: Final = "kept with the job"  # what a log of no file of its own is called
_OF_ROWS: Final = ("log_rows", "log_blows", "log_depths", "base_bottom")  # keys that rows of a log go with
Hammer = Annotated[str, BeforeValidator(hammer_word)]


def _drop(value: Any, info: ValidationInfo) -> str:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(f"{words(info.field_name)} is {shown(value)}; it must be the name of a drop in the log")
    return f"{value:g}" if isinstance(value, float) else str(value).strip()


def _soil(value: Any) -> str:
    return "" if value is None or value == "" else soil_named(value).name


class LogRowFields(Record):
    """One row of a log that stands in the job itself."""

    row: int = 0  # as the user counts it; 0: by its place
    drop: Annotated[str, text(needed=False)] = ""
    depth: Annotated[float, measured(DEPTH)]
    blows: Annotated[float, BeforeValidator(blow_count)]
    hammer: Hammer = ""
    soil: Annotated[str, BeforeValidator(_soil)] = ""
    note: Annotated[str, text(needed=False, longest=2000)] = ""


class LogFields(Record):
    """The keys of a spot that say which log was driven there, and how it is read."""

    log: Annotated[str, text(needed=False)] = ""
    log_unit: Annotated[str, one_of(tuple(UNITS), blank="")] = ""
    log_blows: Annotated[str, one_of(HOW, blank="")] = ""
    log_depths: Annotated[str, one_of(HOW, blank="")] = ""
    log_drop: Annotated[str, BeforeValidator(_drop)] = ""
    hammer: Hammer = ""
    base_bottom: Annotated[float | None, measured(BOTTOM, blank=True)] = None
    log_rows: Annotated[list[LogRowFields], Field(min_length=1, max_length=10_000)] | None = None


def log_content(log: str, where: str, logs: Mapping[str, str] | None = None) -> str:
    """Return what stands in the log of a spot, as text."""
    if logs is not None:
        if log not in logs:
            raise InputError(f"the log {shown(log)} did not come along with the job")
        return logs[log]
    if not Path(where).suffix:
        raise InputError(f"log is {shown(log)}, but the job is in no file; a log is looked for beside its job file")
    from basecalc.ground.cone_log_file import decoded, read_bytes

    path = Path(where).parent / log
    try:
        inside = path.resolve().is_relative_to(Path(where).parent.resolve())
    except (OSError, ValueError, RuntimeError):  # a name that no file can have, or links that lead in a circle
        inside = False
    if not inside:
        raise InputError(
            f"log is {shown(log)}; it must be a file in the folder of the job or below it. Copy the log there and "
            "write its name"
        )
    return decoded(read_bytes(path), str(path)).replace("\r\n", "\n").replace("\r", "\n")


def spot_designs(fields: LogFields, soil: str, where: str, content: str) -> tuple[tuple[Design, ...], tuple[str, ...]]:
    """Return the layer to design for of every drop of a spot's log, and what was assumed; nothing where it has none."""
    said = [name for name in LogFields.model_fields if getattr(fields, name) not in ("", None)]
    if fields.log_rows:
        if beside := [name for name in said if name not in _OF_ROWS]:
            raise InputError(
                f"{words(beside[0])} goes with the file of a log, but its rows stand here; it must be left out"
            )
        held = rows_log(fields)
        return designs(held, soil, fields.base_bottom), held.notes
    if not fields.log:
        if said:
            raise InputError(f"log is missing; {words(said[0])} says how a log is read, so one must be named")
        return (), ()
    from basecalc.ground.cone_log_file import cells, cone_log

    log = str(Path(where).parent / fields.log)
    read = cone_log(
        cells(content.encode(), log), log, unit=fields.log_unit, hammer=fields.hammer, blows=fields.log_blows,
        depths=fields.log_depths,
    )  # fmt: skip
    made = designs(read, soil, fields.base_bottom)
    if not fields.log_drop:
        return made, read.notes
    wanted = choice("log drop", fields.log_drop, [one.profile.drop.name for one in made])
    return tuple(one for one in made if one.profile.drop.name == wanted), read.notes


def rows_log(fields: LogFields, where: str = "", unit: str = "in") -> ConeLog:
    """Return the log whose rows stand in the job itself."""
    entries = [
        Entry(one.row or place, one.depth, one.blows, one.hammer, one.drop, one.soil, one.note)
        for place, one in enumerate(fields.log_rows or (), 1)
    ]
    drops, notes = entry_drops(entries, fields.log_blows or "per step", fields.log_depths or "total")
    comments = tuple((one.row, one.note) for one in entries if one.note)
    return ConeLog(where, drops, unit, notes, comments)


def design_readings(
    made: tuple[Design, ...], notes: tuple[str, ...], file: str, moisture: str, soil: str, units: str
) -> tuple[Reading, ...]:
    """Return the drops of a spot's log as readings of the cone."""
    return tuple(log_reading(one, file, moisture, soil, assumed=notes, metric=units == "metric") for one in made)


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


def _soil_of_fields(value: Any) -> str:
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
SoilWord = Annotated[str, BeforeValidator(_soil_of_fields)]
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


class PhotoFields(Record):
    """A picture of the job for the client's paper: the file, beside the job file, and the words under it."""

    file: Annotated[str, text()]
    caption: Note = ""


def _pictures(value: Any) -> Any:
    rows = [value] if isinstance(value, str | Mapping) else value
    return [{"file": row} if isinstance(row, str) else row for row in rows] if isinstance(rows, list) else rows


class JobTable(Record):
    """What holds for the whole job."""

    number: Annotated[str, BeforeValidator(_quote_number)]
    client: Needed
    client_phone: Words = ""
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
    paver_color: Words = ""
    paver_pattern: Words = ""
    geogrid: Words = ""
    geotextile: Words = ""
    spoil_truck: Words = ""
    stone_truck: Words = ""
    climate: ClimateFields | None = None
    start: Annotated[dt.date | None, BeforeValidator(_start)] = None
    notes: Annotated[list[Note], BeforeValidator(_as_list)] = Field(default_factory=list)
    photos: Annotated[list[PhotoFields], BeforeValidator(_pictures), Field(max_length=6)] = Field(default_factory=list)


class FileFields(Record):
    """A whole job file."""

    job: JobTable
    area: Annotated[list[AreaFields], Field(min_length=1)]
    spot: list[SpotFields] = Field(default_factory=list)
