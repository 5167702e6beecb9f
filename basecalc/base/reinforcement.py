"""What is laid below or in the base: nothing, a separation geotextile, a geogrid with what its own tests prove."""

from dataclasses import dataclass
from typing import Any, Final

from basecalc.base.limits import limit
from basecalc.checks import choice, number
from basecalc.errors import InputError

KINDS: Final = ("none", "geotextile", "geogrid")


@dataclass(frozen=True, slots=True)
class Reinforcement:
    """A reinforcement, checked.

    Parameters
    ----------
    kind
        'none', 'geotextile' or 'geogrid'.
    aperture_stability
        Aperture stability modulus from the geogrid's own test report [m-N/deg], above 0, at most 0.8; 0: not given.
    reduction
        Documented saving of base depth [share], 0 to 0.5; 0: none.
    reduction_source
        The test report that documents the saving.

    Raises
    ------
    InputError
        A geogrid with neither number, a saving without its source, a number for what is no geogrid.
    OutOfRangeError
        A number outside its limits.

    Examples
    --------
    >>> Reinforcement("geogrid", 0.32).kind
    'geogrid'
    """

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
    """Return the reinforcement that a user describes; what describes a geogrid is left aside without one.

    Numbers given beside 'none' or 'geotextile' are still checked, so that a sheet may keep them while options are
    compared, but they thin nothing.

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
