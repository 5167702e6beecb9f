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
        Which curves of the cone penetrometer may hold for it, of general, CL and CH; the weakest counts.
    swell
        Loose volume of one volume in place [loose/bank].
    shrink
        Compacted volume of one volume in place [compacted/bank].
    """

    name: str
    fine: bool
    cone: tuple[str, ...]
    swell: float
    shrink: float


def soil(word: Any) -> Soil:
    """Return the soil that a word names; CL and CH are other spellings of lean and fat clay.

    Parameters
    ----------
    word
        One of `SOILS`, in any case.

    Raises
    ------
    InputError
        Nothing, or no soil of the list.

    Examples
    --------
    >>> soil("CH").name, soil("clay").cone, soil("sand").swell
    ('fat clay', ('CL', 'CH'), 1.11)

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
        str(row["soil"]),
        bool(row["fine"]),
        tuple(str(row["cone"]).split(", ")),
        float(volumes["swell"]),
        float(volumes["shrink"]),
    )


def question(word: str = "") -> tuple[str, str, str]:
    """Return what to ask about a soil that may be of several kinds, and its weak and its strong kind.

    Parameters
    ----------
    word
        One of `SOILS`; nothing where the soil is not named. A soil of one kind gives three empty texts.

    Examples
    --------
    >>> question("fat clay")
    ('Is it lean or fat clay? A laboratory test of the soil would tell', 'lean clay', 'lab-tested fat clay')
    >>> question("sand"), question()[1:]
    (('', '', ''), ('lean clay', 'sand'))
    """
    row = table("soils").exact(soil(word).name if word else "earth")
    return str(row["ask"]), str(row["weak"]), str(row["strong"])
