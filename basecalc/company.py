"""The owner's own settings and materials: how the company designs, works and adds up. No spreadsheet in it.

``data/company_settings.toml`` is the one list of settings: the template writes it, the reader of the price workbook
reads it.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Context
from functools import cache
from importlib.resources import files
from math import inf
from typing import Any, Final, Literal

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import brief, choice, limits, meant_share, quoted
from basecalc.core.units import UNIT, convert, to_unit
from basecalc.design.settings import DesignSettings, Traffic
from basecalc.tables.schema import YES_NO, shares_unit, sheet_unit

Kind = Literal["text", "number", "whole", "choice", "yes/no"]
STONE_USES: Final = ("base", "bedding", "fill")
ROLL_KINDS: Final = ("geogrid", "geotextile")
TRUCK_USES: Final = ("spoil", "stone", "both")


@dataclass(frozen=True, slots=True)
class Stone:
    """A stone or sand of the owner's supplier: what it is used for, its price code, how it measures up."""

    name: str
    code: str
    kind: str
    loose_density_kg_m3: float
    compaction_factor: float
    waste: float


@dataclass(frozen=True, slots=True)
class Paver:
    """A paver: its price code, thickness [m] and the share lost in cutting."""

    name: str
    code: str
    thickness_m: float
    cutting_waste: float


@dataclass(frozen=True, slots=True)
class Roll:
    """A roll of geogrid or geotextile; an overlap of None is taken from the table by ground strength."""

    name: str
    code: str
    kind: str
    length_m: float
    width_m: float
    aperture_stability: float
    reduction: float
    reduction_source: str
    overlap_m: float | None


@dataclass(frozen=True, slots=True)
class Truck:
    """A truck: what it hauls, its legal payload [kg] and its box [m3].

    Where the owner knows them also its axles, how far the outer ones stand apart [m], and what it weighs empty [kg].
    """

    name: str
    use: str
    payload_kg: float
    box_m3: float
    axles: int | None = None
    outer_axles_m: float | None = None
    empty_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Rate:
    """How much of a kind of work a crew or a machine does in an hour [unit/hour]; None where it takes no such hour."""

    code: str
    per_crew_hour: float | None
    per_machine_hour: float | None
    unit: str


@dataclass(frozen=True, slots=True)
class Company:
    """Everything of the owner's that is no price. Shares are 0.12 for 12 %."""

    name: str
    address: str
    phone: str
    email: str
    units: str
    overhead: float
    profit: float
    contingency: float
    tax_rate: float
    tax_note: str
    deposit: float
    valid_days: int
    old_price_days: int
    habit_depth_m: float
    class_down: bool
    edge_extension_m: float
    lift_m: float
    joint_sand_kg_m2: float
    hours_per_day: float
    passes: int
    back_haul: bool
    design: DesignSettings
    terms: tuple[str, ...] = ()
    stones: tuple[Stone, ...] = ()
    pavers: tuple[Paver, ...] = ()
    rolls: tuple[Roll, ...] = ()
    trucks: tuple[Truck, ...] = ()
    soils: Mapping[str, float] = field(default_factory=dict)
    rates: tuple[Rate, ...] = ()
    traffics: tuple[Traffic, ...] = ()
    mobilization: float = 0.0
    minimum_charge: float = 0.0
    discount: float = 0.0
    discount_words: str = "Discount"
    round_price: str = "off"
    progress: float = 0.0
    progress_when: str = "when the base is in"
    license: str = ""
    insurance: str = ""
    warranty: str = ""
    payment: str = ""
    not_included: str = ""
    logo: str = ""

    __repr__ = brief


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting: what it is called, its unit in either edition, its limits, and what it does."""

    key: str
    group: str
    label: str
    kind: Kind
    help: str
    unit: str = ""
    metric: str = ""
    inside: str = ""
    default: Any = None
    metric_default: Any = None
    low: float = -inf
    metric_low: float | None = None
    high: float = inf
    choices: tuple[str, ...] = ()
    required: bool = False

    def edge_unit(self, units: str) -> str:
        """Return the unit the sheet is filled in, in the 'us' or the 'metric' edition."""
        return self.metric if units == "metric" and self.metric else self.unit

    def edge_default(self, units: str) -> Any:
        """Return the default in the unit of that edition; None where the owner must decide."""
        return self.metric_default if units == "metric" and self.metric_default is not None else self.default

    def read(self, value: Any, unit: str | None = None, *, sure: bool = False) -> Any:
        """Return a value of the sheet as the company holds it, checked.

        Examples
        --------
        >>> settings()["habit_depth_m"].read(350, "mm")
        0.35
        """
        if self.kind == "text":
            text = "" if value is None else " ".join(str(value).split())
            if self.required and not text:
                raise InputError(f"{self.label} is missing; write it here, it is printed on every quote")
            return text
        if self.kind == "choice":
            return choice(self.label, value, self.choices)
        if self.kind == "yes/no":
            return value if isinstance(value, bool) else choice(self.label, value, YES_NO) == "yes"
        if self.unit != "share":
            return self._number(value, self.unit if unit is None else unit)
        if shares_unit("share" if unit is None else unit) != "share":
            raise InputError(f"the unit of {self.label} is {quoted(unit)}; it must be {self.spelled()}", field=UNIT)
        with_sign = isinstance(value, str) and "%" in value
        return meant_share(self.label, self._number(value, "share"), sure=sure or with_sign)

    def _number(self, value: Any, unit: str) -> float | int:
        inside = self.inside or self.unit
        try:
            low, high = self.limits_in(unit)
        except InputError:
            raise InputError(
                f"the unit of {self.label} is {quoted(unit)}; it must be {self.spelled()}", field=UNIT
            ) from None
        number = to_unit(self.label, value, unit, low, high)
        if self.kind == "whole":
            if number != int(number):
                raise OutOfRangeError(
                    f"{self.label} is {quoted(number)}; it must be a whole number {limits(low, high, unit)}"
                )
            return int(number)
        # Noise goes, every digit that was typed stays: 1 lb/ft2 or '12.3 %' must not become a little more.
        return float(f"{convert(number, unit, inside):.14g}") if unit != inside or isinstance(value, str) else number

    def limits_in(self, unit: str) -> tuple[float, float]:
        """Return the limits in a unit, to four digits, so that a limit turned into that unit is still inside."""
        low, high = self.low, self.high
        if unit != self.unit:
            low, high = (limit if abs(limit) == inf else convert(limit, self.unit, unit) for limit in (low, high))
            low, high = _four_digits(low, ROUND_FLOOR), _four_digits(high, ROUND_CEILING)
        if self.metric_low is not None and unit != self.unit:
            low = float(f"{convert(self.metric_low, self.metric, unit):.4g}")
        return low, high

    def spelled(self) -> str:
        """Return the units that a sheet may name for this setting, as words."""
        units = (sheet_unit(self.unit), self.metric)
        return " or ".join(dict.fromkeys(unit for unit in units if unit)) or "left blank"


def _four_digits(value: float, rounding: str) -> float:
    return float(Context(prec=4, rounding=rounding).create_decimal(f"{value:.9g}"))


@cache
def settings() -> Mapping[str, Setting]:
    """Return every setting by key, in the order of the sheet."""
    raw = tomllib.loads((files("basecalc") / "data" / "company_settings.toml").read_text("utf-8"))
    rows = (Setting(**{**row, "choices": tuple(row.get("choices", ()))}) for row in raw["settings"])
    return {setting.key: setting for setting in rows}


def company(values: Mapping[str, Any], **tables: Any) -> Company:
    """Return the company with these settings; what is not given takes its default.

    Examples
    --------
    >>> ours = company({"name": "Any Paving", "overhead": 0.1, "profit": 0.15, "contingency": 0.03,
    ...     "tax_rate": 0.0, "deposit": 0.3})
    >>> round(ours.habit_depth_m, 4), ours.design.class_edge
    (0.3556, 'weak')
    """
    for key in values:
        if key not in settings():
            raise InputError(f"there is no setting {quoted(key)}; settings are: {', '.join(settings())}")
    units = str(values.get("units", "us"))
    inside = {
        key: setting.read(values.get(key, setting.edge_default(units)), setting.edge_unit(units))
        for key, setting in settings().items()
    }
    return assemble(inside, **tables)


def assemble(inside: Mapping[str, Any], **tables: Any) -> Company:
    """Return the company from settings already read (`Setting.read`), by key, and its tables.

    The design takes the thickness of the owner's first paver; a job that names another takes that one's.
    """
    design = {key.removeprefix("design."): value for key, value in inside.items() if key.startswith("design.")}
    counted = tuple(name for name in ("platform", "structural", "practice") if inside[f"checks.{name}"])
    if not counted:
        raise InputError(
            "no check of the ground is switched on; at least one of the settings that count one must be yes"
        )
    own = {key: value for key, value in inside.items() if "." not in key}
    always = ("minimum", "frost") if inside["checks.frost"] else ("minimum",)
    made = Company(**own, design=DesignSettings(**design, checks=(*counted, *always)), **tables)
    if made.pavers:
        made = replace(made, design=replace(made.design, paver_m=made.pavers[0].thickness_m))
    return made
