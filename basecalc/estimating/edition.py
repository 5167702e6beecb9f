"""The units of an edition of the estimating workbook, as its headings and formulas use them."""

from dataclasses import dataclass

from basecalc.checks import choice


@dataclass(frozen=True, slots=True)
class Edition:
    """The units of one edition.

    Parameters
    ----------
    units
        'us' or 'metric'.
    length, depth, area, volume, mass, density
        Units of the headings.
    depths_in_length
        Depth units in one length unit: 12 in a foot, 1,000 mm in a metre.
    cubes_in_volume
        Cubed length units in one volume unit: 27 ft3 in a yd3.
    joint_sand, bag
        Unit of joint sand, and the mass of a bag in its mass unit.
    """

    units: str
    length: str
    depth: str
    area: str
    volume: str
    mass: str
    density: str
    depths_in_length: int
    cubes_in_volume: int
    joint_sand: str
    bag: str


_EDITIONS = {
    "us": Edition("us", "ft", "in", "ft2", "yd3", "ton", "ton/yd3", 12, 27, "lb/ft2", "50"),
    "metric": Edition("metric", "m", "mm", "m2", "m3", "t", "t/m3", 1000, 1, "kg/m2", "22.6796185"),
}


def edition_of(units: str) -> Edition:
    """Return the edition for 'us' or 'metric'.

    Examples
    --------
    >>> edition_of("us").depth
    'in'
    """
    return _EDITIONS[choice("units", units, tuple(_EDITIONS))]
