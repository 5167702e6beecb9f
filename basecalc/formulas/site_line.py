"""All readings of a site as one line of text: checked once, remembered, and read by the functions of the site."""

import json
import zlib
from base64 import b64decode, b64encode
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from basecalc.core.errors import InputError
from basecalc.core.numbers import choice, shown
from basecalc.formulas.cells import content, word
from basecalc.formulas.company import frozen, words_of
from basecalc.ground.readings import MOISTURES, TESTS, Reading, in_edition
from basecalc.ground.readings import soil_named as soil_named
from basecalc.ground.strength import SpotStrength
from basecalc.ground.strength import spot_strength as strength_by_readings

Placed = tuple[str, str, Reading]  # spot, area, reading
_EDITIONS: Final = ("us", "metric")
_COLUMNS: Final = 6  # spot, area, test, reading, moisture, soil; what stands behind is a note
PACKED: Final = "packed:"
LONGEST_LINE: Final = 32_000  # a cell holds 32,767 characters


@dataclass(frozen=True, slots=True)
class Site:
    """What holds for every reading of a site: its areas with their soils, the day, the owner's rule, the units."""

    areas: tuple[tuple[str, str], ...]
    season: str
    class_down: bool
    units: str

    def area_named(self, said: str) -> str:
        """Return the area a reading stands for; where there is one only, it need not be named."""
        names = [name for name, _ in self.areas]
        if not said and len(names) == 1:
            return names[0]
        return choice("area of a reading", said, names)


def site_of(
    area_names: Sequence[Any], area_soils: Sequence[Any], season: Any, soil: Any, class_down: Any, edition: Any
) -> Site:
    """Return what holds for every reading of a site, checked.

    Parameters
    ----------
    area_names, area_soils
        Columns of the areas.
    season, soil, class_down, edition
        As in SITE_READINGS.

    Raises
    ------
    InputError
        Two areas of one name, or a word that is not offered.
    """
    names, soils = frozen([area_names, area_soils])
    return _site_once(names, soils, *frozen([[season, soil, class_down, edition]])[0])


@lru_cache(maxsize=16)
def _site_once(
    area_names: tuple[Any, ...], area_soils: tuple[Any, ...], season: Any, soil: Any, class_down: Any, edition: Any
) -> Site:
    if len(area_names) != len(area_soils):
        raise InputError("area_soils is of another size than area_names; both must be columns of the same rows")
    usual = words_of("soil", soil)
    found = []
    for named, dug in zip(area_names, area_soils, strict=True):
        if name := words_of("area_names", named):
            own = words_of("area_soils", dug) or usual
            found.append((name, soil_named(own).name if own else ""))
    seen = [name.casefold() for name, _ in found]
    if twice := [name for name, _ in found if seen.count(name.casefold()) > 1]:
        raise InputError(f"area_names: {shown(twice[0])} stands twice; each area must have a name of its own")
    said = words_of("season", season)
    return Site(
        tuple(found),
        choice("season", said, MOISTURES) if said else "",
        word("class_down", class_down, ("yes", "no")) == "yes",
        word("edition", edition, _EDITIONS),
    )


def reading_of(row: Sequence[Any], site: Site) -> tuple[str, str, Reading]:
    """Return spot, area and reading of a row.

    Parameters
    ----------
    row
        Its cells.
    site
        What holds for all of them.

    Raises
    ------
    InputError
        No spot, no such area or test, or no reading.
    """
    cells = (*row, *[None] * _COLUMNS)[:_COLUMNS]
    spot = words_of("spot", cells[0])
    if not spot:
        raise InputError("spot is missing; each reading must name the spot where it was read")
    area = site.area_named(words_of("area of a reading", cells[1]))
    test, held = word("test", cells[2], TESTS), content("reading", cells[3])
    if held is None or isinstance(held, bool):
        raise InputError(f"reading is {shown(held)}; it must be a number or text, as the test gives it")
    moisture = words_of("moisture", cells[4]) or site.season
    soil = words_of("soil", cells[5]) or dict(site.areas)[area]
    return spot, area, Reading(test, in_edition(test, held, site.units), moisture, soil)


@lru_cache(maxsize=16)
def read_line(line: str) -> tuple[bool, Mapping[int, Placed]]:
    """Return whether fine soil counts a class down, and the readings of a line by their rows."""
    try:
        class_down, rows = json.loads(unpacked(line))
        readings = {int(row): (str(spot), str(area), Reading(*cells)) for row, spot, area, *cells in rows}
    except (ValueError, TypeError):
        raise InputError("site is no line of SITE_READINGS; it must be the cell that holds it") from None
    return bool(class_down), readings


@lru_cache(maxsize=16)
def spots_of(line: str) -> tuple[tuple[str, SpotStrength], ...]:
    """Return every spot of a line of readings with the area it stands for."""
    class_down, readings = read_line(line)
    found: dict[str, tuple[str, str, list[Reading]]] = {}
    for spot, area, reading in readings.values():
        name, of, together = found.setdefault(spot.casefold(), (spot, area, []))
        if of != area:
            raise InputError(f"readings: spot {shown(name)} stands for {of}; it must not stand for {area} too")
        together.append(reading)
    return tuple(
        (area, strength_by_readings(name, together, class_down=bool(class_down)))
        for name, area, together in found.values()
    )


@lru_cache(maxsize=16)
def spots_by_area(line: str) -> Mapping[str, list[SpotStrength]]:
    """Return the spots of each area, by its name in lower case."""
    found: dict[str, list[SpotStrength]] = {}
    for area, one in spots_of(line):
        found.setdefault(area.casefold(), []).append(one)
    return found


@lru_cache(maxsize=16)
def rows_by_area(line: str) -> Mapping[str, Mapping[int, Placed]]:
    """Return the readings of each area by their rows, by its name in lower case."""
    found: dict[str, dict[int, Placed]] = {}
    for row, placed in read_line(line)[1].items():
        found.setdefault(placed[1].casefold(), {})[row] = placed
    return found


def line_of(site: Any) -> str:
    """Return the line that a cell of SITE_READINGS holds, or refuse what is none."""
    line = content("site", site)
    if not isinstance(line, str):
        raise InputError("site is missing; it must be the cell that holds SITE_READINGS")
    return line


def written_line(class_down: bool, rows: Sequence[Sequence[Any]]) -> str:
    """Return readings in one line that a cell can hold, packed where there are many.

    Parameters
    ----------
    class_down
        Whether fine soil read dry counts one class weaker.
    rows
        Row, spot, area, test, value, moisture and soil of each reading.

    Raises
    ------
    InputError
        More readings than a cell can hold.
    """
    line = packed(f"readings: {len(rows)}", json.dumps([class_down, rows], ensure_ascii=False, separators=(",", ":")))
    spots_of(line)  # or its own refusal
    return line


def packed(what: str, line: str) -> str:
    """Return a line that a cell can hold, packed where it is long.

    Parameters
    ----------
    what
        What there are too many of, for the refusal.
    line
        The line.

    Raises
    ------
    InputError
        It is too long even so.
    """
    if len(line) > LONGEST_LINE:
        line = PACKED + b64encode(zlib.compress(line.encode(), 9)).decode()
    if len(line) > LONGEST_LINE:
        raise InputError(f"{what} are too many for one cell; they must be fewer, or shorter named")
    return line


def part_line(class_down: bool, readings: Mapping[int, Placed]) -> str:
    """Return some readings of a site in a line of their own.

    Parameters
    ----------
    class_down
        As the whole line has it.
    readings
        Spot, area and reading by row.
    """
    rows = [
        [row, spot, area, reading.test, reading.value, reading.moisture, reading.soil]
        for row, (spot, area, reading) in readings.items()
    ]
    return written_line(class_down, rows)


def unpacked(line: str) -> str:
    """Return a line as it was before it was packed; a ValueError where it is none."""
    if not line.startswith(PACKED):
        return line
    try:
        return zlib.decompress(b64decode(line.removeprefix(PACKED))).decode()
    except zlib.error as broken:
        raise ValueError from broken
