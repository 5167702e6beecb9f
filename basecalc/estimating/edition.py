"""The units of an edition of the estimating workbook, as its headings and formulas use them."""

from dataclasses import dataclass

from basecalc.core.numbers import choice


@dataclass(frozen=True, slots=True)
class Edition:
    """The units of one edition."""

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
