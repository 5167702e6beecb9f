"""What the owner decides about the design of the base, each value checked against its limits."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Final

from basecalc.checks import choice, number
from basecalc.errors import InputError
from basecalc.rounding import printed
from basecalc.tables import table

CLASS_EDGES: Final = ("weak", "middle")
SPOT_RULES: Final = ("weakest", "quartile")
MODULUS_RULES: Final = ("safer", "power", "linear")
CHECKS: Final = ("platform", "structural", "minimum", "practice", "frost")
_OF_THE_GROUND: Final = ("platform", "structural", "practice")


def _default(name: str) -> Callable[[], float]:
    return lambda: float(table("design_defaults").exact(name)["default"])


@dataclass(frozen=True, slots=True)
class DesignSettings:
    """The owner's design settings, checked; defaults and limits stand in the table of design numbers.

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
        A word that is not offered, a value that is no number, or checks that leave the ground out.
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
