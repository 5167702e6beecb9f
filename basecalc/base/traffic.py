"""What drives on the base: wheel load, tyre pressure, passes, allowed rut, equivalent axles."""

from dataclasses import dataclass
from typing import Any, Final

from basecalc.base.limits import limit
from basecalc.checks import choice, number
from basecalc.errors import InputError
from basecalc.tables import table

_PLATFORM: Final = "the platform check is not meant for more"


@dataclass(frozen=True, slots=True)
class Traffic:
    """A level of traffic, checked.

    Parameters
    ----------
    name
        What it is called.
    wheel_load_kn
        Load on one wheel, half the axle [kN], 1 to 100.
    tyre_kpa
        Tyre pressure [kPa], 100 to 1000.
    passes
        Passes the working platform must bear, 1 to 100,000.
    rut_mm
        Rut the working platform may show after them [mm], 50 to 100.
    esal
        Equivalent 18-kip single axles over the life of the pavement, 1 to 50,000,000.
    meaning
        Who drives there, in plain words.

    Raises
    ------
    InputError
        No name, or a value that is no number.
    OutOfRangeError
        A value outside its limits.

    Examples
    --------
    >>> Traffic("farm trailer", 30, 400, 500, 75, 4000).wheel_load_kn
    30.0
    """

    name: str
    wheel_load_kn: float
    tyre_kpa: float
    passes: float
    rut_mm: float
    esal: float
    meaning: str = ""

    def __post_init__(self) -> None:
        if not isinstance(self.name, str) or not self.name.strip():
            raise InputError("the traffic has no name; it must have one")
        whose = f" of traffic '{self.name}'"
        low, high = limit("least rut"), limit("greatest rut")
        for field, what, unit, least, most, why in (
            ("wheel_load_kn", "wheel load", "kN", 1, 100, _PLATFORM),
            ("tyre_kpa", "tyre pressure", "kPa", 100, 1000, _PLATFORM),
            ("passes", "number of passes", "", 1, 100_000, _PLATFORM),
            ("rut_mm", "allowed rut", "mm", low, high, "Giroud and Han 2004"),
            ("esal", "number of equivalent axles", "ESAL", 1, 50_000_000, "AASHTO 1993"),
        ):
            value = number(what + whose, getattr(self, field), unit, least, most, why=why)
            object.__setattr__(self, field, value)


TRAFFIC_NAMES: Final = tuple(table("traffic").keys())


def traffic(value: Any) -> Traffic:
    """Return the traffic level of that name; a record of one's own is handed back as it is.

    Parameters
    ----------
    value
        One of `TRAFFIC_NAMES`, or a `Traffic`.

    Raises
    ------
    InputError
        No such name.

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
        float(row["tyre_pressure"]),
        float(row["passes"]),
        float(row["rut"]),
        float(row["esal"]),
        str(row["meaning"]),
    )
