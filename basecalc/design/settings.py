"""What a base is designed for and with, checked: traffic, reinforcement, the owner's design settings.

A new traffic level is a row of ``data/traffic.toml``; nothing else names the levels.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import choice, number, printed, quoted
from basecalc.core.published import Working, table
from basecalc.core.units import Measure
from basecalc.ground.classes import CLASS_EDGES, SPOT_RULES


def limit(name: str) -> float:
    """Return a limit of the methods, in the unit of its row in the table."""
    return float(table("design_limits").exact(name)["value"])


def designed_cbr(cbr: Any) -> float:
    """Return the CBR [%] if a base can be designed on it: from 0.4 to 100."""
    weakest = limit("weakest ground designed")
    value = number("CBR", cbr, "%", high=100)
    if printed(value) < weakest:
        raise OutOfRangeError(
            f"is {quoted(value)} %; below {weakest:g} % (very soft ground) no base depth is given, "
            "a licensed engineer must design it",
            about="CBR",
        )
    return max(value, weakest)  # noise below the ninth digit does not make weaker ground


@dataclass(frozen=True, slots=True)
class Check:
    """What one check says of the base."""

    name: str
    depth_m: float | None
    counts: bool
    sentence: str
    working: tuple[Working, ...]
    source: str


_PLATFORM: Final = "the platform check is not meant for more"


_RUTS: Final = (limit("least rut"), limit("greatest rut"))
# What a level of traffic is made of, by the names of its record: in words, with its limits.
TRAFFIC_NUMBERS: Final[Mapping[str, tuple[str, Measure]]] = {
    "wheel_load_kn": ("wheel load", Measure("kN", "lbf", "kN", 1, 100, why=_PLATFORM, given="kN")),
    "tire_kpa": ("tire pressure", Measure("kPa", "psi", "kPa", 100, 1000, why=_PLATFORM, given="kPa")),
    "passes": ("number of passes", Measure("", "", low=1, high=100_000, why=_PLATFORM)),
    "rut_mm": ("allowed rut", Measure("mm", "in", "mm", *_RUTS, why="Giroud and Han 2004", given="mm")),
    "esal": ("number of equivalent axles", Measure("", "", low=1, high=50_000_000, why="AASHTO 1993")),
}


@dataclass(frozen=True, slots=True)
class Traffic:
    """A level of traffic, checked.

    Parameters
    ----------
    name
        Its name.
    wheel_load_kn
        Wheel load, half an axle [kN], 1 to 100.
    tire_kpa
        Tire pressure [kPa], 100 to 1000.
    passes
        Passes of that wheel over the platform, 1 to 100,000.
    rut_mm
        Rut the platform may show [mm], 50 to 100.
    esal
        Equivalent 18-kip axles over the life of the pavement, 1 to 50 million.
    meaning
        What drives there, in words.
    """

    name: str
    wheel_load_kn: float
    tire_kpa: float
    passes: float
    rut_mm: float
    esal: float
    meaning: str = ""

    def __post_init__(self) -> None:
        if not isinstance(self.name, str) or not self.name.strip():
            raise InputError("the traffic has no name; it must have one")
        whose = f" of traffic '{self.name}'"
        for key, (what, measure) in TRAFFIC_NUMBERS.items():
            value = number(what + whose, getattr(self, key), measure.inside, measure.low, measure.high, why=measure.why)
            object.__setattr__(self, key, value)


TRAFFIC_NAMES: Final = tuple(table("traffic").keys())


def traffic(value: Any) -> Traffic:
    """Return the traffic level of that name; a `Traffic` of your own comes back as it is.

    Parameters
    ----------
    value
        One of `TRAFFIC_NAMES`, or a `Traffic`.

    Raises
    ------
    InputError
        An unknown name.

    Examples
    --------
    >>> traffic("delivery").wheel_load_kn
    40.0
    """
    if isinstance(value, Traffic):
        return value
    row = table("traffic").exact(choice("traffic", value, TRAFFIC_NAMES))
    return Traffic(
        str(row["traffic"]),
        float(row["wheel_load"]),
        float(row["tire_pressure"]),
        float(row["passes"]),
        float(row["rut"]),
        float(row["esal"]),
        str(row["meaning"]),
    )


KINDS: Final = ("none", "geotextile", "geogrid")


@dataclass(frozen=True, slots=True)
class Reinforcement:
    """A reinforcement, checked; `reinforcement` describes its numbers."""

    kind: str
    aperture_stability: float = 0.0
    reduction: float = 0.0
    reduction_source: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "kind", choice("reinforcement", self.kind, KINDS))
        most, cap = limit("greatest aperture stability"), limit("greatest saving by reinforcement")
        stability = number(
            "aperture stability", self.aperture_stability, "m-N/deg", 0, most, why="range of Giroud and Han 2004"
        )
        reduction = number(
            "reduction by reinforcement", self.reduction, "", 0, cap, why="a share: never more than half is saved"
        )
        object.__setattr__(self, "aperture_stability", stability)
        object.__setattr__(self, "reduction", reduction)
        if self.kind != "geogrid" and (stability or reduction):
            raise InputError(
                f"an aperture stability or a reduction is given for '{self.kind}'; only a geogrid may have one"
            )
        if self.kind == "geogrid" and not stability and not reduction:
            raise InputError(
                "the geogrid has neither an aperture stability nor a documented reduction; one of them must be given, "
                f"above 0 (aperture stability at most {most:g} m-N/deg, reduction at most {cap:g}), from the grid's "
                "own test report"
            )
        if reduction and not str(self.reduction_source or "").strip():
            raise InputError(
                f"reduction by reinforcement is {reduction:g} without a source; the test report that documents it "
                "must be named"
            )

    @property
    def words(self) -> str:
        """The reinforcement as a sheet prints it."""
        parts = [self.kind if self.kind != "none" else "no reinforcement"]
        if self.aperture_stability:
            parts.append(f"aperture stability {self.aperture_stability:g} m-N/deg")
        if self.reduction:
            parts.append(f"documented reduction {self.reduction * 100:.3g} % ({self.reduction_source})")
        return ", ".join(parts)


NONE: Final = Reinforcement("none")


def reinforcement(
    kind: Any, aperture_stability: Any = None, reduction: Any = None, reduction_source: str = ""
) -> Reinforcement:
    """Return the reinforcement that a user describes.

    Numbers beside 'none' or 'geotextile' are checked but thin nothing, so a sheet may keep them while options are
    compared.

    Parameters
    ----------
    kind
        'none', 'geotextile' or 'geogrid'.
    aperture_stability
        Aperture stability modulus from the geogrid's own test report [m-N/deg], above 0, at most 0.8.
    reduction
        Documented saving of base depth [share], above 0, at most 0.5.
    reduction_source
        The test report that documents the saving.

    Raises
    ------
    InputError
        An unknown kind, a geogrid with neither number, a saving without its source.
    OutOfRangeError
        A number outside its limits.

    Examples
    --------
    >>> reinforcement("geotextile").words
    'geotextile'
    """
    word = choice("reinforcement", kind, KINDS)
    stability, share = (0.0 if value is None or value == "" else value for value in (aperture_stability, reduction))
    if word == "geogrid":
        return Reinforcement(word, stability, share, reduction_source)
    if stability or share:
        Reinforcement("geogrid", stability, share, reduction_source or "not used")
    return Reinforcement(word)


MODULUS_RULES: Final = ("safer", "power", "linear")
CHECKS: Final = ("platform", "structural", "minimum", "practice", "frost")
_OF_THE_GROUND: Final = ("platform", "structural", "practice")


def _default(name: str) -> Callable[[], float]:
    return lambda: float(table("design_defaults").exact(name)["default"])


@dataclass(frozen=True, slots=True)
class DesignSettings:
    """The owner's design settings, checked; defaults and limits come from the table ``design_defaults``.

    Parameters
    ----------
    class_edge
        Where in its CBR band a class alone is designed: 'weak' edge or 'middle'.
    base_cbr
        CBR of the compacted base [%].
    minimum_depth_m
        Least base depth [m].
    reliability
        Reliability of the structural design [share].
    overall_deviation
        Overall standard deviation of the structural design.
    serviceability_drop
        Loss of serviceability over the life of the pavement.
    modulus_rule
        'power': 2555 CBR^0.64; 'linear': 1500 CBR, up to CBR 10; 'safer': the lesser of the two.
    base_modulus_psi
        Resilient modulus of the base [psi].
    drainage
        Drainage coefficient of the base.
    paver_m, bedding_m
        Thickness of pavers and bedding [m].
    surface_coefficient
        Layer coefficient of pavers and bedding [1/in].
    checks
        Which checks the required depth takes into account; 'minimum' always among them, 'frost' only where it is added.
    step_m
        The required depth is rounded up to whole steps of this [m].
    reading_allowance
        Share of a measured CBR that counts where nobody walked the whole area and tested its softest place.
    spot_rule
        Which spot of an area counts: the 'weakest', or from four measured ones on their lower 'quartile'.

    Raises
    ------
    InputError
        A word that is not offered, a value that is not a number, or checks that leave the ground out.
    OutOfRangeError
        A number outside its limits.

    Examples
    --------
    >>> DesignSettings(base_cbr=40).step_m
    0.0254
    """

    class_edge: str = "weak"
    base_cbr: float = field(default_factory=_default("base_cbr"))
    minimum_depth_m: float = field(default_factory=_default("minimum_depth_m"))
    reliability: float = field(default_factory=_default("reliability"))
    overall_deviation: float = field(default_factory=_default("overall_deviation"))
    serviceability_drop: float = field(default_factory=_default("serviceability_drop"))
    modulus_rule: str = "safer"
    base_modulus_psi: float = field(default_factory=_default("base_modulus_psi"))
    drainage: float = field(default_factory=_default("drainage"))
    paver_m: float = field(default_factory=_default("paver_m"))
    bedding_m: float = field(default_factory=_default("bedding_m"))
    surface_coefficient: float = field(default_factory=_default("surface_coefficient"))
    checks: tuple[str, ...] = ("platform", "structural", "minimum")
    step_m: float = field(default_factory=_default("step_m"))
    reading_allowance: float = field(default_factory=_default("reading_allowance"))
    spot_rule: str = "weakest"

    def __post_init__(self) -> None:
        self._set("class_edge", choice("edge of the class", self.class_edge, CLASS_EDGES))
        self._set("spot_rule", choice("spot rule", self.spot_rule, SPOT_RULES))
        self._set("modulus_rule", choice("modulus rule", self.modulus_rule, MODULUS_RULES))
        for row in table("design_defaults").rows:
            name = str(row["name"])
            low, high = float(row["low"]), float(row["high"])
            words, unit = str(row["words"]), str(row["unit"])
            value = printed(number(words, getattr(self, name), unit))  # 99.9 / 100 is a hair above 0.999
            self._set(name, number(words, value, unit, low, high, why=str(row["reason"])))
        if isinstance(self.checks, str) or not isinstance(self.checks, list | tuple):
            raise InputError(f"checks must be a list of: {', '.join(CHECKS)}")
        self._set("checks", tuple(choice("check", check, CHECKS) for check in self.checks))
        looks = set(self.checks) & set(_OF_THE_GROUND)
        if "minimum" not in self.checks or len(set(self.checks)) != len(self.checks) or not looks:
            raise InputError(
                f"checks are {', '.join(self.checks) or 'nothing'}; 'minimum' must be among them, with at least one "
                f"of platform, structural and practice, each once"
            )

    def _set(self, name: str, value: Any) -> None:
        object.__setattr__(self, name, value)


DEFAULT_SETTINGS: Final = DesignSettings()
