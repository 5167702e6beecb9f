"""What a job file may say of frost: the ground of an area, and the design winter of the place."""

from typing import Annotated, Any, Final

from pydantic import BeforeValidator, ValidationInfo

from basecalc.base.frost import GROUPS, FrostSoil
from basecalc.base.frost_depth import Climate
from basecalc.checks import number
from basecalc.plan.dimensions import FROST_NUMBERS, WATER_TABLE
from basecalc.validation import Record, measured, one_of, words

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
    """Return what a job file says of an area's ground in frost, or nothing.

    Parameters
    ----------
    fields
        The checked keys.
    """
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
    """Return the design winter of a job file, or nothing.

    Parameters
    ----------
    fields
        The checked keys.
    """
    if fields is None:
        return None
    return Climate(fields.freezing_index, fields.mean_annual_temperature, fields.freezing_season)
