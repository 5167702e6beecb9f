"""How the finished surface falls: a slope, or the fall along and across an area, and the level of its corners."""

import re
from dataclasses import dataclass
from math import hypot
from typing import Any, Final

from basecalc.checks import limits, shown
from basecalc.errors import InputError, OutOfRangeError
from basecalc.units import LONGEST_TEXT, to_unit

SLOPE_DIRECTIONS: Final = ("length", "width")
CORNERS: Final = ("A", "B", "C", "D")
STEEPEST: Final = 0.25  # beyond this a slope is a slip of the pen, not a driveway
_FRACTION: Final = re.compile(r"(?:(?P<whole>\d+)[ -])?(?P<top>\d+)/(?P<bottom>[1-9]\d*)\s*(?=[a-zA-Z])")


@dataclass(frozen=True, slots=True)
class Corner:
    """One corner of the box around an area.

    Parameters
    ----------
    name
        A, B, C, D, walked round: A to B along the longer side, A to D along the shorter one.
    along_m, across_m
        Where it lies from A [m].
    down_m
        How far the finished surface lies below its highest corner [m].
    """

    name: str
    along_m: float
    across_m: float
    down_m: float


def slope_share(value: Any) -> float | None:
    """Return a slope as a share: a plain number is per cent, a text may say '2 %', '1/4 in/ft' or '20 mm/m'.

    Parameters
    ----------
    value
        As the job file gives it; nothing stays nothing.

    Raises
    ------
    InputError
        No slope.
    OutOfRangeError
        Steeper than 25 %.

    Examples
    --------
    >>> slope_share(2), round(slope_share("1/4 in/ft"), 6), slope_share("20 mm/m")
    (0.02, 0.020833, 0.02)
    """
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    share = _share(value)
    if abs(share) > STEEPEST * (1 + 1e-9):
        raise OutOfRangeError(f"slope is {shown(value)}; it must be {limits(-STEEPEST * 100, STEEPEST * 100, '%')}")
    return share


def _share(value: Any) -> float:
    text = value.strip() if isinstance(value, str) else ""
    fraction = _FRACTION.match(text) if len(text) <= LONGEST_TEXT else None
    if fraction:
        inches = int(fraction["whole"] or 0) + int(fraction["top"]) / int(fraction["bottom"])
        text = f"{inches} {text[fraction.end() :]}"
    try:
        if any(letter.isalpha() or letter == "%" for letter in text):
            return to_unit("slope", text, "share")
        return to_unit("slope", text or value, "") / 100
    except InputError:
        raise InputError(
            f"slope is {shown(value)}; it must be a number in %, or text such as '2 %', '1/4 in/ft' or '20 mm/m'"
        ) from None


def falls(
    extent_m: tuple[float, float],
    slope: float | None,
    direction: str,
    fall_length_m: float | None,
    fall_width_m: float | None,
    *,
    turned: bool = False,
) -> tuple[float, float] | None:
    """Return how far the surface falls along the longer side of an area and across it [m]; None where nothing is said.

    Parameters
    ----------
    extent_m
        Length and width of the box around the area, longer first [m].
    slope
        A slope as a share, or None.
    direction
        Along which of the two it falls, 'length' or 'width'.
    fall_length_m, fall_width_m
        The whole fall along either side, in the place of a slope [m].
    turned
        Whether what the user calls the length is the shorter side.

    Raises
    ------
    InputError
        A slope without its direction, a direction without a slope, or slope and falls together.
    OutOfRangeError
        A fall steeper than 25 %.

    Examples
    --------
    >>> falls((20.0, 5.0), 0.02, "length", None, None), falls((20.0, 5.0), None, "", None, 0.1)
    ((0.4, 0.0), (0.0, 0.1))
    """
    given = fall_length_m is not None or fall_width_m is not None
    if slope is not None and given:
        raise InputError("slope stands beside a fall; it must be one or the other")
    if slope is not None and not direction:
        raise InputError("slope direction is missing; it must say where the surface falls: length or width")
    if direction and slope is None:
        raise InputError(f"slope is missing; it must be given where slope direction is {shown(direction)}")
    if slope is None and not given:
        return None
    length, width = extent_m[::-1] if turned else extent_m
    if slope is not None:
        fall = (slope * length, 0.0) if direction == "length" else (0.0, slope * width)
    else:
        fall = (fall_length_m or 0.0, fall_width_m or 0.0)
    for name, drop, run in (("fall length", fall[0], length), ("fall width", fall[1], width)):
        if abs(drop) > STEEPEST * run * (1 + 1e-9):
            raise OutOfRangeError(
                f"{name} is {drop * 1000:.0f} mm ({drop / 0.0254:.1f} in), which is {abs(drop) / run:.0%} of "
                f"{run:.1f} m ({run / 0.3048:.1f} ft); it must be at most {STEEPEST:.0%}"
            )
    return fall[::-1] if turned else fall


def steepest_slope(extent_m: tuple[float, float], fall_m: tuple[float, float]) -> float:
    """Return the slope of the surface in the direction in which water runs, as a share.

    Parameters
    ----------
    extent_m
        Length and width of the box around the area [m].
    fall_m
        Fall along and across it [m].

    Examples
    --------
    >>> round(steepest_slope((20.0, 5.0), (0.6, 0.2)), 4)
    0.05
    """
    return hypot(fall_m[0] / extent_m[0], fall_m[1] / extent_m[1])


def corners(extent_m: tuple[float, float], fall_m: tuple[float, float] | None) -> tuple[Corner, ...]:
    """Return the four corners of the box around an area with the level of the finished surface at each.

    Parameters
    ----------
    extent_m
        Length and width of the box [m].
    fall_m
        Fall along and across it [m]; None counts as level.

    Examples
    --------
    >>> [round(corner.down_m, 3) for corner in corners((20.0, 5.0), (0.4, -0.1))]
    [0.1, 0.5, 0.4, 0.0]
    """
    length, width = extent_m
    along, across = fall_m or (0.0, 0.0)
    places = ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    drops = (0.0, along, along + across, across)
    top = min(drops)
    return tuple(Corner(name, x, y, drop - top) for name, (x, y), drop in zip(CORNERS, places, drops, strict=True))
