"""What season and water say about a base: free water near its bottom, and when the ground should have been read."""

from typing import Final

from basecalc.checks import number
from basecalc.rounding import printed
from basecalc.tables import table
from basecalc.units import FOOT_M

_WET: Final = "wet"


def water_reach(water_table_m: float, dig_m: float) -> str:
    """Return how free water stands to the bottom of the dig: a word of the table of reaches, 'none' beyond them.

    Parameters
    ----------
    water_table_m
        Depth of the highest water of the year below the ground [m], 0 to 30.
    dig_m
        Depth of the dig below the ground [m].

    Raises
    ------
    OutOfRangeError
        A water table above the ground or deeper than 30 m.

    Examples
    --------
    >>> water_reach(0.6, 0.4), water_reach(0.3, 0.4), water_reach(3.0, 0.4)
    ('pumping', 'in the dig', 'none')

    References
    ----------
    TM-5-818-2, troublesome within 5 ft of the subgrade; [memory]. Within 2 ft: basecalc's own choice.
    """
    water = number("water table", water_table_m, "m", 0, 30)
    room_ft = printed((water - dig_m) / FOOT_M)
    return str(table("water_reach").band("room above the water", room_ft)["reach"])


def water_matters(reach: str, *, fine: bool) -> bool:
    """Return whether water in this reach weakens the ground: fine soil draws it up, coarse soil only pumps it.

    Examples
    --------
    >>> water_matters("feeding", fine=True), water_matters("feeding", fine=False)
    (True, False)
    """
    return reach in ("in the dig", "pumping") or (reach == "feeding" and fine)


def water_flag(reach: str, *, fine: bool, water_words: str, dig_words: str) -> str:
    """Return the caution that goes with a reach of water, or nothing.

    Parameters
    ----------
    reach
        From `water_reach`.
    fine
        Whether the ground is a fine soil, into which water rises and which frost lifts.
    water_words, dig_words
        Depth of the water and of the dig, as the reader's units print them.

    Examples
    --------
    >>> water_flag("feeding", fine=False, water_words="60 in", dig_words="18 in")
    ''
    """
    stands = f"Water stands {water_words} below the ground, the bottom of the dig lies at {dig_words}"
    if reach == "in the dig":
        return (
            f"{stands}: the dig fills with water. It must be drained before it is dug, and a licensed engineer decides "
            "how; no price holds without that."
        )
    if reach == "pumping":
        return (
            f"{stands}: a roller pumps water up into the ground, which softens. Drain it first, compact without "
            "vibration, and take the strength of the wettest season."
        )
    if reach == "feeding" and fine:
        return (
            f"{stands}: fine soil draws water up to the base, where it softens the ground and feeds frost. The "
            "strength of the wettest season counts; a drain at the low edge helps."
        )
    return ""


def season_flag(moistures: tuple[str, ...], reach: str) -> str:
    """Return what the season of the reading leaves open where water stands near, or nothing.

    Parameters
    ----------
    moistures
        How wet the ground was at each reading; nothing where the reading does not say.
    reach
        From `water_reach`.

    Examples
    --------
    >>> season_flag(("wet", "moist"), "pumping")
    'Not every reading was taken in wet ground, and water stands near: read it again in the wettest weeks of the year.'
    """
    if reach == "none" or not moistures or all(moisture.strip().casefold() == _WET for moisture in moistures):
        return ""
    return (
        "Not every reading was taken in wet ground, and water stands near: read it again in the wettest weeks of the "
        "year."
    )
