"""A row of each table of the owner's workbook, checked; and the units a price may be for."""

from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, Any, Final

from pydantic import AfterValidator, BeforeValidator, ValidationInfo

from basecalc.base.reinforcement import reinforcement
from basecalc.base.traffic import Traffic
from basecalc.checks import meant_share, shown
from basecalc.company import ROLL_KINDS, STONE_USES, TRUCK_USES, Rate, Roll, Stone, Truck
from basecalc.errors import InputError, OutOfRangeError
from basecalc.rounding import cents
from basecalc.takeoff.owner import NEEDED, OPTIONAL, PRICE_UNITS, SHARE, price_unit, require_past, unit_price
from basecalc.validation import Record, measured, one_of, text, yes_no

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
