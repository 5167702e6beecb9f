"""The soils a job may name: whether water weakens them, which cone curve they take, how they bulk."""

from dataclasses import dataclass
from typing import Any, Final

from basecalc.checks import choice
from basecalc.tables import table

SOILS: Final[tuple[str, ...]] = tuple(table("soils").keys())


@dataclass(frozen=True, slots=True)
class Soil:
    """A soil by its plain word.

    Parameters
    ----------
    name
        One of `SOILS`.
    fine
        Whether it is a fine soil, which loses strength when it gets wet or thaws.
    cone
        Which curve of the cone penetrometer holds for it: general, CL or CH.
    swell
        Loose volume of one volume in place [loose/bank].
    shrink
        Compacted volume of one volume in place [compacted/bank].
    """

    name: str
    fine: bool
    cone: str
    swell: float
    shrink: float


def soil(word: Any) -> Soil:
    """Return the soil that a word names; CL and CH are other spellings of lean and fat clay.

    Parameters
    ----------
    word
        One of `SOILS`, in any case; plain clay takes the weaker of the two clay curves of the cone.

    Raises
    ------
    InputError
        Nothing, or no soil of the list.

    Examples
    --------
    >>> soil("CH").name, soil("clay").cone, soil("sand").swell
    ('fat clay', 'CL', 1.11)

    References
    ----------
    FM-5-434, Table 1-1 (volumes); [memory]. The rest of the list is basecalc's own.
    """
    known = table("soils")
    spelled = str(word).strip().casefold()
    also = {str(row["also"]).casefold(): str(row["soil"]) for row in known.rows if row["also"]}
    row = known.exact(choice("soil", also.get(spelled, word), SOILS))
    volumes = table("swell").exact(str(row["volumes"]))
    return Soil(
        str(row["soil"]), bool(row["fine"]), str(row["cone"]), float(volumes["swell"]), float(volumes["shrink"])
    )
