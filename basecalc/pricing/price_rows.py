"""A row of each table of the owner's workbook, checked; and the units a price may be for."""

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Annotated, Any, Final

from pydantic import AfterValidator, BeforeValidator

from basecalc.base.reinforcement import reinforcement
from basecalc.base.traffic import Traffic
from basecalc.checks import shown
from basecalc.company import ROLL_KINDS, STONE_USES, TRUCK_USES, Rate, Roll, Stone
from basecalc.errors import InputError, OutOfRangeError
from basecalc.rounding import decimal
from basecalc.takeoff.codes import WHOLE_UNITS
from basecalc.units import convert
from basecalc.validation import Record, measure, one_of, text, yes_no

Name = Annotated[str, text(longest=60)]
Code = Annotated[str, text(longest=60), AfterValidator(str.casefold)]
Share = Annotated[float, measure("share", "share", low=0, high=0.5)]
HIGHEST_PRICE: Final = 1_000_000
EARLIEST_PRICE: Final = date(2000, 1, 1)


# Units a price may be for, as written here and as the trade also writes them. Nothing else is guessed: a price "a day"
# would be a price for 24 hours.
PRICE_UNITS: Final[Mapping[str, tuple[str, ...]]] = {
    "ton": ("tons", "short ton", "short tons"),
    "t": ("tonne", "tonnes", "metric ton", "metric tons"),
    "lb": ("lbs", "pound", "pounds"),
    "kg": (),
    "yd3": ("cy", "cu yd", "cubic yard", "cubic yards", "yd^3", "yd\N{SUPERSCRIPT THREE}"),
    "ft3": ("cf", "cu ft", "cubic foot", "cubic feet", "ft^3", "ft\N{SUPERSCRIPT THREE}"),
    "m3": ("cubic metre", "cubic metres", "cubic meter", "cubic meters", "m^3", "m\N{SUPERSCRIPT THREE}"),
    "ft2": ("sf", "sq ft", "square foot", "square feet", "ft^2", "ft\N{SUPERSCRIPT TWO}"),
    "yd2": ("sy", "sq yd", "square yard", "square yards", "yd^2", "yd\N{SUPERSCRIPT TWO}"),
    "m2": ("square metre", "square metres", "square meter", "square meters", "m^2", "m\N{SUPERSCRIPT TWO}"),
    "ft": ("lf", "foot", "feet", "lin ft"),
    "m": ("metre", "metres", "meter", "meters"),
    "load": ("loads",),
    "roll": ("rolls",),
    "bag": ("bags",),
    "h": ("hr", "hrs", "hour", "hours"),
}
_UNIT_WORDS: Final = {word: unit for unit, others in PRICE_UNITS.items() for word in (unit, *others)}


def price_unit(word: str) -> str | None:
    """Return the unit that a word of the trade stands for; None where it is none of them.

    Examples
    --------
    >>> price_unit("Cu. Yd"), price_unit("sf"), price_unit("day")
    ('yd3', 'ft2', None)
    """
    return _UNIT_WORDS.get(" ".join(word.replace(".", " ").split()).casefold())


def _unit(value: Any) -> str:
    unit = price_unit(value) if isinstance(value, str) else None
    if unit is None:
        raise InputError(f"unit is {shown(value)}; it must be one of: {', '.join(PRICE_UNITS)}")
    return unit


Unit = Annotated[str, BeforeValidator(_unit)]


def units_like(unit: str) -> tuple[str, ...]:
    """Return the units a price may have where the quantity has this one: the same, or of the same dimension.

    Examples
    --------
    >>> units_like("ton"), units_like("load")
    (('ton', 't', 'lb', 'kg'), ('load',))
    """
    return tuple(other for other in PRICE_UNITS if _same_dimension(unit, other))


@cache
def _same_dimension(unit: str, other: str) -> bool:
    if unit == other or WHOLE_UNITS & {unit, other}:
        return unit == other  # a bag is a measure to pint; here it is a bag of whatever is in it
    try:
        convert(1.0, unit, other)
    except InputError:
        return False
    return True


class StoneRow(Record):
    """A row of the stones."""

    name: Name
    code: Code
    use: Annotated[str, one_of(STONE_USES)]
    loose_density: Annotated[float, measure("kg/m3", "ton/yd3", "t/m3", 0.8, 2.5, why="in the truck")]
    compaction_factor: Annotated[float, measure("", "", low=1, high=1.6, why="loose over compacted volume")]
    waste: Share


class PaverRow(Record):
    """A row of the pavers."""

    name: Name
    code: Code
    thickness: Annotated[float, measure("m", "in", "mm", 2.3622, 5.9, why="60 mm is the least of a driveway")]
    cutting_waste: Share


class RollRow(Record):
    """A row of the rolls."""

    name: Name
    code: Code
    kind: Annotated[str, one_of(ROLL_KINDS)]
    length: Annotated[float, measure("m", "ft", "m", 1, 2000)]
    width: Annotated[float, measure("m", "ft", "m", 1, 50)]
    aperture_stability: Annotated[float | None, measure("m-N/deg", "m-N/deg", low=0, high=0.8, blank=True)]
    reduction: Annotated[float | None, measure("share", "share", low=0, high=0.5, blank=True)]
    reduction_source: Annotated[str, text(needed=False)]
    overlap: Annotated[float | None, measure("m", "ft", "m", 0, 6, blank=True)]


class TruckRow(Record):
    """A row of the trucks."""

    name: Name
    use: Annotated[str, one_of(TRUCK_USES)]
    payload: Annotated[float, measure("kg", "ton", "t", 0, 50, above=True)]
    box: Annotated[float, measure("m3", "yd3", "m3", 0, 80, above=True)]


class SoilRow(Record):
    """A row of the soils."""

    soil: Name
    swell: Annotated[float, measure("", "", low=1, high=2, why="loose over bank volume")]


class RateRow(Record):
    """A row of the work rates."""

    code: Code
    per_crew_hour: Annotated[float | None, measure("", "", low=0, above=True, blank=True)]
    per_machine_hour: Annotated[float | None, measure("", "", low=0, above=True, blank=True)]
    unit: Unit


class TrafficRow(Record):
    """A row of the owner's own traffic levels."""

    name: Name
    wheel_load: Annotated[float, measure("kN", "lbf", "kN", 225, 22_480, why="half an axle load")]
    tyre_pressure: Annotated[float, measure("kPa", "psi", "kPa", 14.51, 145)]
    passes: Annotated[float, measure("", "", low=1, high=100_000)]
    rut: Annotated[float, measure("mm", "in", "mm", 1.9685, 3.937, why="the method was made for ruts of 50 to 100 mm")]
    esal: Annotated[float, measure("", "", low=1, high=50_000_000)]
    meaning: Annotated[str, text(needed=False)]


class TermRow(Record):
    """A line of the terms."""

    line: Annotated[str, text(longest=400)]


def _price(value: Any) -> Decimal:
    needed = f"it must be a number from 0 to {HIGHEST_PRICE:,}, without a currency sign"
    if value is None or value == "":
        raise InputError(f"unit price is missing; {needed}, and 0 only where you mean 0")
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(f"unit price is {shown(value)}; {needed}")
    if not 0 <= value <= HIGHEST_PRICE:
        raise OutOfRangeError(f"unit price is {shown(value)}; {needed}")
    return decimal(value, 4)


def _priced_on(value: Any) -> date | None:
    if value is None or value == "":
        return None
    day = value.date() if isinstance(value, datetime) else value
    if not isinstance(day, date):
        raise InputError(
            f"priced on is {shown(value)}; it must be a date, entered as a date and not as text or a number"
        )
    if day < EARLIEST_PRICE:
        raise OutOfRangeError(f"priced on is {day}; it must be {EARLIEST_PRICE} or later")
    return day


class PriceRow(Record):
    """A row of the prices."""

    code: Code
    item: Annotated[str, text()]
    unit: Unit
    unit_price: Annotated[Decimal, BeforeValidator(_price)]
    taxable: Annotated[bool, yes_no()]
    priced_on: Annotated[date | None, BeforeValidator(_priced_on)]
    supplier: Annotated[str, text(needed=False)]


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


def make_rate(row: RateRow) -> Rate:
    """Return the work rate of a row, which needs one of its two rates."""
    if row.per_crew_hour is None and row.per_machine_hour is None:
        raise InputError("both rates are missing; fill in at least one of 'per crew hour' and 'per machine hour'")
    return Rate(row.code, row.per_crew_hour, row.per_machine_hour, row.unit)


def make_traffic(row: TrafficRow) -> Traffic:
    """Return the traffic level of a row."""
    return Traffic(row.name, row.wheel_load, row.tyre_pressure, row.passes, row.rut, row.esal, row.meaning)
