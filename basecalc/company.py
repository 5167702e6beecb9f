"""The owner's own settings and materials: how the company designs, works and adds up. No spreadsheet in it.

A column of the sheet Company is declared beside the attribute that holds it, a setting in
``data/company_settings.toml``: the template writes them, every reader reads them by that.
"""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Context
from functools import cache
from importlib.resources import files
from typing import Annotated, Any, Final

from basecalc.core.errors import InputError
from basecalc.core.numbers import brief, quoted
from basecalc.core.units import PRICE_UNITS, Measure, convert, price_unit
from basecalc.design.settings import TRAFFIC_NAMES, TRAFFIC_NUMBERS, DesignSettings, Traffic, reinforcement
from basecalc.tables.schema import By, Field, Table, Text, Words, YesNo, declared

COMPANY_SHEET: Final = "Company"

STONE_CODES: Final = {"base": "base-stone", "bedding": "bedding-sand", "fill": "foundation-fill"}
_NAME: Final = Text(60)
_SHARE: Final = Measure("share", "share", low=0, high=0.5)
_PER_HOUR: Final = Measure("", "", low=0, above=True)


def _unit(name: str, value: Any) -> str:
    unit = price_unit(value) if isinstance(value, str) else None
    if unit is None:
        raise InputError(f"is {quoted(value)}; it must be one of: {', '.join(PRICE_UNITS)}", about=name)
    return unit


UNIT_OF_PRICE: Final = By(_unit)


def _named(words: str) -> Field:
    return Field("name", kind=_NAME, help=f"Your own words; a job names the {words} by them.", format="text")


_CODE: Final = Field(
    "code", "price code", Text(60, lower=True), "The code of its row on the Prices sheet.", format="text",
    offers="price codes",
)  # fmt: skip
# It is read first, whatever column it is in: the shares of the row ask it.
SURE: Final = Field(
    "sure", "sure?", YesNo(), "Asked whether an unusual number is meant? Write yes, and this row is taken as it is.",
    needed=False, blank=False, into="-", optional=True,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Stone:
    """A stone or sand of the owner's supplier: what it is used for, its price code, how it measures up."""

    name: Annotated[str, _named("stone")]
    code: Annotated[str, _CODE]
    kind: Annotated[str, Field("use", kind=Words(tuple(STONE_CODES)), help="base, bedding or fill")]
    loose_density_kg_m3: Annotated[float, Field(
        "loose_density", kind=Measure("kg/m3", "ton/yd3", "t/m3", 0.8, 2.1, why="in the truck"),
        help="Weight in the truck.", format="two")]
    compaction_factor: Annotated[float, Field(
        "compaction_factor", kind=Measure("", "", low=1, high=1.6, why="loose over compacted volume"),
        help="Loose volume for one volume compacted.", format="three")]
    waste: Annotated[float, Field(
        "waste", kind=_SHARE, help="Lost on the way and into soft ground: type 5 for 5 %.", format="share")]


STONES: Final = Table(
    "stones", (*declared(Stone), SURE), Stone, "BaseStone", "Stone and sand",
    "A job that names none takes the first row of a use. Weigh a truck once: density and factor decide the tons.",
)


@dataclass(frozen=True, slots=True)
class Paver:
    """A paver: its price code, thickness [m] and the share lost in cutting."""

    name: Annotated[str, _named("paver")]
    code: Annotated[str, _CODE]
    thickness_m: Annotated[float, Field(
        "thickness", kind=Measure("m", "in", "mm", 2.3622, 5.9, why="60 mm is the least of a driveway"),
        help="2-3/8 in or 60 mm at least on a driveway.", format="0.0##")]
    cutting_waste: Annotated[float, Field(
        "cutting_waste", kind=_SHARE, help="Lost in cutting and breakage: type 5 for 5 %.", format="share")]


PAVERS: Final = Table(
    "pavers", (*declared(Paver), SURE), Paver, "Pavers", "Pavers",
    "The first row is the one a job takes when it names none.",
)


@dataclass(frozen=True, slots=True)
class Roll:
    """A roll of geogrid or geotextile; an overlap of None is taken from the table by ground strength."""

    name: Annotated[str, _named("roll")]
    code: Annotated[str, _CODE]
    kind: Annotated[str, Field("kind", kind=Words(("geogrid", "geotextile")), help="geogrid or geotextile")]
    length_m: Annotated[float, Field("length", kind=Measure("m", "ft", "m", 1, 2000), help="Of a roll.", format="one")]
    width_m: Annotated[float, Field("width", kind=Measure("m", "ft", "m", 1, 50), help="Of a roll.", format="one")]
    aperture_stability: Annotated[float, Field(
        "aperture_stability", kind=Measure("m-N/deg", "m-N/deg", "m-N/deg", 0, 0.8),
        help="From the grid's own test report; blank for geotextile.", format="two")] = 0.0
    reduction: Annotated[float, Field(
        "reduction", "documented reduction", _SHARE,
        "Of the base depth, saved in tests of this grid: type 30 for 30 %.", format="share")] = 0.0
    overlap_m: Annotated[float | None, Field(
        "overlap", kind=Measure("m", "ft", "m", 0, 6), help="Blank: by the strength of the ground.",
        format="two")] = None
    reduction_source: Annotated[str, Field(
        "reduction_source", "source of the reduction", help="Report and date.", format="text")] = ""

    def __post_init__(self) -> None:
        if self.kind == "geogrid":  # one that promises nothing it documents is refused
            reinforcement("geogrid", self.aperture_stability or None, self.reduction or None, self.reduction_source)


ROLLS: Final = Table(
    "rolls", declared(Roll), Roll, "Rolls", "Geogrid and geotextile",
    "A geogrid needs its aperture stability, or a reduction documented by tests of that grid, with the source named.",
    blame="aperture_stability",
)


@dataclass(frozen=True, slots=True)
class Truck:
    """A truck: what it hauls, its legal payload [kg] and its box [m3].

    Where the owner knows them also its axles, how far the outer ones stand apart [m], and what it weighs empty [kg].
    """

    name: Annotated[str, _named("truck")]
    use: Annotated[str, Field("use", kind=Words(("spoil", "stone", "both")), help="spoil, stone or both")]
    payload_kg: Annotated[float, Field(
        "payload", kind=Measure("kg", "ton", "t", 0.25, 50), help="What it may legally carry.", format="one")]
    box_m3: Annotated[float, Field(
        "box", kind=Measure("m3", "yd3", "m3", 0.25, 78), help="Volume of the box, level.", format="one")]
    axles: Annotated[int | None, Field(
        "axles", kind=Measure("", "", low=2, high=9, whole=True), format="whole", optional=True,
        help="How many touch the road when it is loaded. This and the next two are for the check of its weight on the "
        "road; leave all three blank where you do not want it.")] = None
    outer_axles_m: Annotated[float | None, Field(
        "outer_axles", kind=Measure("m", "ft", "m", 4, 60, why="from the first axle to the last"),
        help="From the middle of the first axle to the middle of the last.", format="one", optional=True)] = None
    empty_kg: Annotated[float | None, Field(
        "empty", "empty weight", Measure("kg", "ton", "t", 1, 40),
        "Weight of the empty truck with driver and fuel, from a scale.", format="two", optional=True)] = None


TRUCKS: Final = Table(
    "trucks", declared(Truck), Truck, "Trucks", "Trucks",
    "Legal payload and struck box; the smaller of the two fills the truck.",
)
SOILS: Final = Table(
    "soils",
    (
        Field("soil", kind=_NAME, help="One of the soils a job may name.", offers="soils"),
        Field("swell", kind=Measure("", "", low=1, high=2, why="loose over bank volume"), format="two",
              help="Loose volume in the truck of one volume in the ground."),
    ),
    lambda soil, swell: (soil, swell), "Soils", "Soil in the truck",
    "Only where yours swells otherwise than the built-in table.",
)


@dataclass(frozen=True, slots=True)
class Rate:
    """How much of a kind of work a crew or a machine does in an hour [unit/hour]; None where it takes no such hour."""

    code: Annotated[str, Field(
        "code", "work", Text(60, lower=True), "The code of the work.", format="text", offers="work codes")]
    per_crew_hour: Annotated[float | None, Field(
        "per_crew_hour", kind=_PER_HOUR, help="Amount one crew hour does; blank for no crew.", format="one")]
    per_machine_hour: Annotated[float | None, Field(
        "per_machine_hour", kind=_PER_HOUR, help="Amount one machine hour does; blank for no machine.", format="one")]
    unit: Annotated[str, Field("unit", kind=UNIT_OF_PRICE, help="Unit of the amount.", format="text", offers="units")]

    def __post_init__(self) -> None:
        if self.per_crew_hour is None and self.per_machine_hour is None:
            raise InputError("both rates are missing; fill in at least one of 'per crew hour' and 'per machine hour'")


RATES: Final = Table(
    "rates", declared(Rate), Rate, "WorkRates", "Work rates",
    "What one hour does; priced by the crew and machine hours of the sheet Prices unless the work has its own price.",
    blame="per_crew_hour",
)
_LEVEL: Final = {name: measure for name, (_, measure) in TRAFFIC_NUMBERS.items()}
TRAFFICS: Final = Table(
    "traffics",
    (
        Field("name", kind=_NAME, help="The word a job uses.", format="text"),
        Field("wheel_load", kind=_LEVEL["wheel_load_kn"], help="Half of the heaviest axle load.", into="wheel_load_kn",
              format="#,##0.###"),
        Field("tire_pressure", kind=_LEVEL["tire_kpa"], into="tire_kpa", format="whole", formerly=("tyre pressure",)),
        Field("passes", kind=_LEVEL["passes"], help="Of that wheel while the base is the road.", format="whole"),
        Field("rut", kind=_LEVEL["rut_mm"], help="Allowed on the base, 2 to 4 in (50 to 100 mm).", into="rut_mm",
              format="0.0##"),
        Field("esal", "axle loads", _LEVEL["esal"], "18-kip axle loads in the life of the driveway (ESAL).",
              format="whole"),
        Field("meaning", help="In the client's words.", needed=False, blank="", format="text"),
    ),
    Traffic, "TrafficLevels", "Traffic levels of your own",
    f"Beside {', '.join(TRAFFIC_NAMES)}. The wheel load is half an axle load.", 2, "name",
)
TERMS: Final = Table(
    "terms", (Field("line", "terms, line by line", Text(400), "One sentence a row.", format="text"),),
    lambda line: line, "Terms", "Terms",
    "Printed line by line at the end of every quote. Have a lawyer of your state read them.",
)
COMPANY_TABLES: Final = (STONES, PAVERS, ROLLS, TRUCKS, SOILS, RATES, TRAFFICS, TERMS)
SETTING_ROWS: Final = Table(
    "settings", (Field("label", "setting"), Field("value"), Field("unit"), SURE), name="Settings", title="settings"
)


@dataclass(frozen=True, slots=True)
class Company:
    """Everything of the owner's but prices. Shares are 0.12 for 12 %."""

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
    standard_depth_m: float
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
class Setting(Field):
    """A setting: a field in its group on the sheet; without a default the owner must decide."""

    group: str = ""
    default: Any = None
    metric_default: Any = None

    def edge_default(self, units: str) -> Any:
        """Return the default in the unit of that edition; None where the owner must decide."""
        return self.metric_default if units == "metric" and self.metric_default is not None else self.default


class _Amount(Measure):
    """The number of a setting: a limit turned into another unit, to four digits, is still inside."""

    __slots__ = ()

    def limits_in(self, unit: str) -> tuple[float, float]:
        """Return the limits in another unit, rounded outward."""
        if unit == self.us:
            return self.low, self.high
        low, high = (f"{convert(limit, self.us, unit):.9g}" for limit in (self.low, self.high))
        return (
            float(Context(prec=4, rounding=ROUND_FLOOR).create_decimal(low)),
            float(Context(prec=4, rounding=ROUND_CEILING).create_decimal(high)),
        )


_LONGEST_TEXT: Final = 10_000  # characters of a setting


def _setting(
    key: str, group: str, label: str, kind: str, help: str, *, unit: str = "", metric: str = "", inside: str = "",
    low: float = 0.0, high: float = 0.0, choices: tuple[str, ...] = (), required: bool = False,
    formerly: Sequence[str] = (), **defaults: Any,
) -> Setting:  # fmt: skip
    """Return the setting of a row of the list."""
    texts = {"text": Text(_LONGEST_TEXT), "choice": Words(tuple(choices)), "yes/no": YesNo()}
    of = texts.get(kind) or _Amount(inside or unit, unit, metric, low, high, whole=kind == "whole")
    needed = required or kind != "text"
    return Setting(key, label, of, help, needed=needed, blank="", formerly=tuple(formerly), group=group, **defaults)


@cache
def settings() -> Mapping[str, Setting]:
    """Return every setting by key, in the order of the sheet."""
    raw = tomllib.loads((files("basecalc") / "data" / "company_settings.toml").read_text("utf-8"))
    return {row["key"]: _setting(**row) for row in raw["settings"]}


@cache
def settings_by_name() -> Mapping[str, Setting]:
    """Return every setting by what a workbook of any age calls it, in lower case."""
    return {name: setting for setting in settings().values() for name in setting.names}


def company(values: Mapping[str, Any], **tables: Any) -> Company:
    """Return the company with these settings; what is not given takes its default.

    Examples
    --------
    >>> ours = company({"name": "Any Paving", "overhead": 0.1, "profit": 0.15, "contingency": 0.03,
    ...     "tax_rate": 0.0, "deposit": 0.3})
    >>> round(ours.standard_depth_m, 4), ours.design.class_edge
    (0.3556, 'weak')
    """
    for key in values:
        if key not in settings():
            raise InputError(f"there is no setting {quoted(key)}; settings are: {', '.join(settings())}")
    units = str(values.get("units", "us"))
    inside = {
        key: setting.read(values.get(key, setting.edge_default(units)), setting.unit(units))
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
