"""Worksheet functions of a whole site: what readings say, and the strength of a spot and of an area.

The first line of each docstring and the text of each parameter are the help that a spreadsheet program shows.
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final

from basecalc.core.errors import BasecalcError, InputError
from basecalc.core.numbers import shown
from basecalc.design.settings import CLASS_EDGES, DEFAULT_SETTINGS
from basecalc.formulas.cells import LEFT_OUT, content, number, word
from basecalc.formulas.company import frozen, words_of
from basecalc.formulas.design import design_of
from basecalc.formulas.log_line import drops_of, log_of
from basecalc.formulas.site_line import (
    Site,
    line_of,
    part_line,
    read_line,
    reading_of,
    rows_by_area,
    site_of,
    spots_by_area,
    spots_of,
    written_line,
)
from basecalc.ground.classes import Strength
from basecalc.ground.classes import strength as strength_of
from basecalc.ground.readings import find, ground_words
from basecalc.ground.strength import AreaStrength
from basecalc.ground.strength import area_strength as strength_by_spots
from basecalc.plan.area import AREA_FIELDS
from basecalc.tables.schema import YES_NO

LEAST_CELLS: Final = 4  # spot, area, test and reading; what is left out behind them is blank
_FROZEN: Final = "frozen, does not count"
_ROW, _NEXT = "readings, row ", " | "
_LAST_ROW: Final = 1_000_000  # of a table; readings behind it are drops of cone logs, which no row of it asks for
_NAME, _STRENGTH = (AREA_FIELDS.index(key) for key in ("name", "strength"))


def site_readings(
    readings: Any,
    area_names: Sequence[Any],
    area_soils: Sequence[Any],
    season: Any,
    soil: Any,
    class_down: Any = "yes",
    edition: Any = "us",
    log: Any = LEFT_OUT,
) -> str:
    """Give all readings of a site in one line, every one of them checked, for SPOT_STRENGTH and AREA_STRENGTH.

    Parameters
    ----------
    readings
        The rows of the readings on the sheet Ground: spot, area, test, reading, moisture, soil.
    area_names
        Column with the names of the areas.
    area_soils
        Column with their soils; blank for the soil of the job.
    season
        How the ground was on the day; blank where nobody noted it.
    soil
        Soil of areas that name none; blank where nobody noted it.
    class_down
        yes (if left out) or no: whether fine soil read dry counts one class weaker.
    edition
        us (if left out) or metric: the units of plain readings.
    log
        The cell that holds CONE_LOG: each drop is a reading of the cone; no logs if left out.

    Returns
    -------
    str
        The readings, read by SPOT_STRENGTH and AREA_STRENGTH.
    """
    site = site_of(area_names, area_soils, season, soil, class_down, edition)
    if len(readings[0]) < LEAST_CELLS:
        raise InputError(f"readings is {len(readings[0])} cells wide; it must be the rows of the table, spot to soil")
    return _read_once(frozen(readings), site, "" if log is LEFT_OUT else log_of(log))


@lru_cache(maxsize=4)
def _read_once(readings: tuple[tuple[Any, ...], ...], site: Site, log: str) -> str:
    rows, refused = [], []
    for position, row in enumerate(readings, 1):
        try:
            if any(words_of("reading", cell) for cell in row):
                spot, area, reading = reading_of(row, site)
                find(reading, class_down=site.class_down)
                rows.append([position, spot, area, reading.test, reading.value, reading.moisture, reading.soil])
        except BasecalcError as refusal:
            refused.append(f"{_ROW}{position}: {refusal}")
    if refused:
        raise InputError(_NEXT.join(refused))
    for count, drop in enumerate(drops_of(log) if log else (), 1):
        rows.append([_LAST_ROW + count, drop.spot, drop.area, "cone", drop.index, site.season, drop.soil])
    return written_line(site.class_down, rows)


def site_rows(site: Any, first_row: Any, last_row: Any) -> str:
    """Give the readings of some rows out of those of a whole site, so that a long table hands on little at a time.

    Parameters
    ----------
    site
        The cell that holds SITE_READINGS.
    first_row
        The first row of the readings to take, from 1.
    last_row
        The last of them.

    Returns
    -------
    str
        Their readings, read by READING_SAYS.
    """
    class_down, readings = read_line(line_of(site))
    first, last = (
        int(number(name, row, "", 1, 1_000_000)) for name, row in (("first_row", first_row), ("last_row", last_row))
    )
    return part_line(class_down, {at: readings[at] for at in range(first, last + 1) if at in readings})


def site_areas(site: Any, area_names: Sequence[Any]) -> str:
    """Give the readings of some areas out of those of a whole site, so that a long table hands on little at a time.

    Parameters
    ----------
    site
        The cell that holds SITE_READINGS.
    area_names
        The names of the areas, blanks among them or not.

    Returns
    -------
    str
        Their readings, read by AREA_STRENGTH and AREA_DESIGN.
    """
    line = line_of(site)
    by_area = rows_by_area(line)
    wanted = dict.fromkeys(words_of("area_names", name).casefold() for name in area_names)
    found = {at: reading for name in wanted for at, reading in by_area.get(name, {}).items()}
    return part_line(read_line(line)[0], dict(sorted(found.items())))


def _shown(strength: Strength) -> float | str:
    return strength.strength_class if strength.cbr is None else strength.cbr


def reading_says(row: Any, site: Any) -> str:
    """Give what one reading says of the ground: the classes it leaves open, and the CBR where it measures one.

    Parameters
    ----------
    row
        Which row of the readings it is, from 1.
    site
        The cell that holds SITE_READINGS.

    Returns
    -------
    str
        Classes in words; where other readings are refused, that it waits for them.
    """
    at = int(number("row", row, "", 1, _LAST_ROW))
    if isinstance(site, str) and site.startswith(f"#{_ROW}"):
        refused = dict(one.partition(": ")[::2] for one in site[1:].split(_NEXT))
        if own := refused.get(f"{_ROW}{at}"):
            raise InputError(f"row: {own}")
        return f"waits for the reading in row {next(iter(refused)).removeprefix(_ROW)} of this table"
    if isinstance(site, str) and site.startswith("#log: "):
        return "waits for the sheet Cone log"
    class_down, readings = read_line(line_of(site))
    if at not in readings:
        raise InputError(f"row is {at}; it must be a row of the readings that is filled in")
    found = find(readings[at][2], class_down=class_down)
    if not found.counts:
        return _FROZEN
    says = ground_words(found.weakest, found.strongest)
    return says if found.cbr is None else f"{says}, CBR {found.cbr:.3g} %"


def spot_strength(spot: Any, site: Any) -> float | str:
    """Give the strength of one spot as measured: a class word, or the CBR in percent where there is one.

    Parameters
    ----------
    spot
        The name of the spot, as the readings spell it.
    site
        The cell that holds SITE_READINGS.

    Returns
    -------
    float or str
        Class word or CBR [%]; that it does not count, where the ground was frozen.
    """
    wanted = words_of("spot", spot)
    for _, one in spots_of(line_of(site)):
        if one.name.casefold() == wanted.casefold():
            return _shown(one.strength) if one.counts else _FROZEN
    raise InputError(f"spot is {shown(wanted)}; it must be one of the readings")


def _area(area_row: Any, site: Any, class_edge: Any, design: Any, walked: Any) -> AreaStrength:
    row = (*frozen(area_row)[0], *[None] * len(AREA_FIELDS))
    name, by_hand = words_of("area_row", row[_NAME]), content("strength by hand", row[_STRENGTH])
    mine = spots_by_area(line_of(site)).get(name.casefold(), [])
    if by_hand is not None:
        if mine:
            raise InputError(
                f"strength by hand is given, but spot {shown(mine[0].name)} was read here; it must be one or the other"
            )
        return AreaStrength(name, (), strength_of(by_hand), "given by hand, nothing was read here", (), (), "")
    if not mine:
        raise InputError(f"area_row {shown(name)} has no reading and no strength by hand; it must have one")
    own = DEFAULT_SETTINGS if design is LEFT_OUT else design_of(design)
    return strength_by_spots(
        name,
        mine,
        class_edge=word("class_edge", class_edge, CLASS_EDGES),
        walked=word("walked", walked, YES_NO) == "yes",
        allowance=own.reading_allowance,
        spot_rule=own.spot_rule,
    )


def area_strength(
    area_row: Any, site: Any, class_edge: Any = "weak", design: Any = LEFT_OUT, walked: Any = "no"
) -> float | str:
    """Give the strength that an area is designed for: a class word, or the CBR in percent that counts.

    Parameters
    ----------
    area_row
        The row of the area on the sheet Areas, from its name to its note.
    site
        The cell that holds SITE_READINGS.
    class_edge
        weak (if left out) or middle: where in its band a class alone is designed.
    design
        The cell that holds DESIGN_SETTINGS; the usual settings if left out.
    walked
        no (if left out) or yes: whether the whole area was walked and its softest place tested.

    Returns
    -------
    float or str
        Class word or CBR [%].
    """
    return _shown(_area(area_row, site, class_edge, design, walked).strength)


def area_strength_reason(
    area_row: Any, site: Any, class_edge: Any = "weak", design: Any = LEFT_OUT, walked: Any = "no"
) -> str:
    """Give the reason for AREA_STRENGTH: the spot and the reading that decide, and where readings disagree.

    Parameters
    ----------
    area_row
        As in AREA_STRENGTH: the row of the area.
    site
        As in AREA_STRENGTH: the cell that holds SITE_READINGS.
    class_edge
        As in AREA_STRENGTH: weak (if left out) or middle.
    design
        As in AREA_STRENGTH: the cell that holds DESIGN_SETTINGS.
    walked
        As in AREA_STRENGTH: no (if left out) or yes.

    Returns
    -------
    str
        One line.
    """
    found = _area(area_row, site, class_edge, design, walked)
    governing = next((one for one in found.spots if one.name == found.governed_by), None)
    said = f"{found.strength.strength_class}: {found.rule}"
    if governing is not None:
        said += f", {governing.decided_by.label}"
    return f"{said}. CONFLICT at {'; '.join(found.conflicts)}" if found.conflicts else said
