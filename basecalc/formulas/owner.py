"""Worksheet functions that read the owner's sheets Company and Prices: one number or word from a table, checked.

The first line of each docstring and the text of each parameter are the help that a spreadsheet program shows.
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final

from basecalc.company import ROLL_KINDS, STONE_USES, TRUCK_USES
from basecalc.core.errors import InputError
from basecalc.core.numbers import choice, meant_share, shown
from basecalc.core.published import table as published
from basecalc.core.units import POUND_KG, YARD3_M3, Measure, convert
from basecalc.formulas.cells import LEFT_OUT, content, is_blank
from basecalc.formulas.company import NONE, frozen, in_unit, plain, words_of
from basecalc.ground.readings import soil_named as soil_named
from basecalc.pricing.price_tables import COMPANY_TABLES
from basecalc.tables.schema import SHARE, heading_parts, shares_unit
from basecalc.takeoff.codes import WHOLE_UNITS, price_unit, require_plausible, unit_price

# The numbers of the owner's tables by their headings.
NUMBERS: Final = {
    field.name: field for one in COMPANY_TABLES for field in one.fields if isinstance(field.kind, Measure)
}
_DUG: Final = ("swell", "loose weight", "weight in place", "bulking")


class OwnerTable:
    """A table of the owner's, found by its headings, its rows by what stands in the first column."""

    def __init__(self, rows: tuple[tuple[Any, ...], ...]) -> None:
        self.labels: dict[str, tuple[int, str]] = {}
        for place, cell in enumerate(rows[0]):
            label, unit = heading_parts(words_of("table", cell))
            if label:
                self.labels.setdefault(label, (place, unit))
        self.rows: dict[str, tuple[Any, ...]] = {}
        self.twice: set[str] = set()
        self.nameless = False  # a row that is filled in, all but its name
        for row in rows[1:]:
            key = words_of("table", row[0]).casefold()
            if key in self.rows:
                self.twice.add(key)
            elif key:
                self.rows[key] = row
            elif any(words_of("table", cell) for cell in row):
                self.nameless = True

    def cell(self, row: Sequence[Any], label: str) -> tuple[Any, str]:
        """Return a cell of a row and the unit of its heading."""
        if label not in self.labels:
            raise InputError(f"table has no column {shown(label)}; its columns are: {', '.join(self.labels)}")
        place, unit = self.labels[label]
        return row[place], unit

    def row(self, item: str) -> Sequence[Any]:
        """Return the row of an item."""
        key = item.casefold()
        if key in self.twice:
            raise InputError(f"item {shown(item)} stands twice in the table; it must stand there once")
        if key not in self.rows:
            raise InputError(
                f"item is {shown(item)}; it must be one of the rows of the table: {', '.join(self.rows) or 'none'}"
            )
        return self.rows[key]


@lru_cache(maxsize=64)
def owner_table(rows: tuple[tuple[Any, ...], ...]) -> OwnerTable:
    """Return the table that a range holds.

    Raises
    ------
    InputError
        No headings, or a row that is filled in, all but its name.
    """
    if not isinstance(content("table", rows[0][0]), str):
        raise InputError("table has no headings; it must be the whole table, from its headings down")
    read = OwnerTable(rows)
    if read.nameless:
        raise InputError("table has a row without a name; its first cell must be filled in")
    return read


def owner_item(table: Any, use: Any, asked: Any = LEFT_OUT) -> str:
    """Give the material or truck that a job takes: the one it names, or the first of its use.

    Parameters
    ----------
    table
        The table on the sheet Company with its headings.
    use
        What it is for: base, bedding, fill, geogrid, geotextile, spoil or stone; blank where the table has no uses.
    asked
        What the job names; the first of the use if left out or blank.

    Returns
    -------
    str
        Its name; none where the owner has none of the use and the job names none.
    """
    read, wanted, named = owner_table(frozen(table)), words_of("use", use).casefold(), words_of("asked", asked)
    kind = next((label for label in ("use", "kind") if label in read.labels), "")
    uses = next((offered for offered in (STONE_USES, ROLL_KINDS, TRUCK_USES) if wanted in offered), ())
    if kind and not uses:
        known = ", ".join(dict.fromkeys(words_of(kind, read.cell(row, kind)[0]) for row in read.rows.values()))
        raise InputError(f"use is {shown(wanted)}; it must be one that the table knows: {known}")
    fitting = []
    for row in read.rows.values():
        said = choice(f"table, {kind}", words_of(kind, read.cell(row, kind)[0]), uses) if kind else ""
        if not kind or said == wanted or (said == "both" and wanted in ("spoil", "stone")):
            fitting.append(words_of("table", row[0]))
    if not named:
        return fitting[0] if fitting else NONE
    if not fitting:
        raise InputError(f"asked is {shown(named)}, but the table has none for the use {shown(wanted)}")
    return choice("asked", named, fitting)


def owner_rows(table: Any, item: Any) -> float:
    """Give how many rows a table of the owner's has for an item: 1 or 0.

    Parameters
    ----------
    table
        The table on the sheet Company or Prices with its headings.
    item
        What stands in its first column: a name or a code.

    Returns
    -------
    float
        1 or 0; two rows are refused.
    """
    read, wanted = owner_table(frozen(table)), words_of("item", item)
    if wanted.casefold() not in read.rows:
        return 0.0
    read.row(wanted)
    return 1.0


def owner_value(table: Any, item: Any, column: Any, unit: Any = "") -> float | str:
    """Give one cell of a table of the owner's, checked, in the unit asked for.

    Parameters
    ----------
    table
        The table on the sheet Company or Prices with its headings.
    item
        What stands in its first column: a name or a code.
    column
        The heading of the column without its unit.
    unit
        Unit of the result; if left out, as it is held: m, kg, kg/m3, m3 or a share.

    Returns
    -------
    float or str
        A number or a word; none for a blank cell that may be blank.
    """
    read = owner_table(frozen(table))
    wanted, label = words_of("item", item), words_of("column", column).casefold()
    cell, beside = read.cell(read.row(wanted), label)
    name = f"table, {label} of {shown(wanted)}"
    if label in NUMBERS:
        if not NUMBERS[label].needed and is_blank(cell):
            return NONE
        kind = NUMBERS[label].kind
        held = kind.read(name, content(name, cell), _unit(label, kind, beside))
        if kind.us == SHARE:
            said = words_of("sure?", read.cell(read.row(wanted), "sure?")[0]) if "sure?" in read.labels else ""
            meant_share(name, held, sure=said.casefold() == "yes", beside="sure?" in read.labels)
        return in_unit(held, kind.inside, unit, (kind.us, kind.metric))
    if label == "unit price":
        least = read.cell(read.row(wanted), "minimum")[0] if "minimum" in read.labels else ""
        if not is_blank(least):
            raise InputError(
                f"table, minimum of {shown(wanted)} is {shown(least)}; this sheet does not count a minimum charge, "
                "so it gives no price: basecalc quote does"
            )
        price = unit_price(name, content(name, cell))
        said = words_of("sure?", read.cell(read.row(wanted), "sure?")[0]) if "sure?" in read.labels else ""
        per = price_unit(words_of("unit", read.cell(read.row(wanted), "unit")[0])) if "unit" in read.labels else None
        if said.casefold() != "yes" and per is not None:
            require_plausible("unit price", wanted.casefold(), per, price)
        return float(price)
    said = words_of(name, cell)
    if label == "unit":
        if (known := price_unit(said)) is None:
            raise InputError(f"{name} is {shown(said)}; it must be a unit such as ton, yd3, ft2, load or h")
        return known
    if label == "taxable":
        return choice(name, said, ("yes", "no"))
    return said or NONE


def _unit(label: str, kind: Measure, beside: str) -> str:
    """Return the unit of a heading; that of a share is fixed, however it is spelled."""
    if kind.us != SHARE:
        return beside or kind.us
    if beside and shares_unit(beside) != "share":
        raise InputError(f"the unit of {label} is {shown(beside)}; it must be %")
    return "share"


def unit_factor(unit: Any, price_per: Any) -> float:
    """Give how many units of a price are in one unit of a quantity: 27 for ft3 in a yd3.

    Parameters
    ----------
    unit
        Unit of the quantity.
    price_per
        Unit that the price is for.

    Returns
    -------
    float
        The factor; loads, rolls and bags turn into nothing else.

    Examples
    --------
    >>> unit_factor("ton", "lb")
    2000.0
    """
    have, want = (price_unit(words_of(name, cell)) or "" for name, cell in (("unit", unit), ("price_per", price_per)))
    if not have or not want:
        name, cell = ("unit", unit) if not have else ("price_per", price_per)
        raise InputError(f"{name} is {shown(words_of(name, cell))}; it must be a unit such as ton, yd3, ft2, load or h")
    if have == want:
        return 1.0
    if {have, want} & WHOLE_UNITS:
        raise InputError(f"price_per is {shown(want)}; it must be {have}, which turns into nothing else")
    try:
        return plain(convert(1.0, have, want))
    except InputError:
        raise InputError(f"price_per is {shown(want)}; it must be a unit that {have} can be turned into") from None


def spoil_value(material: Any, what: Any, soils: Any = LEFT_OUT, unit: Any = "") -> float:
    """Give how dug soil or a broken pavement swells, or what it weighs.

    Parameters
    ----------
    material
        A soil, or an old pavement: asphalt, concrete, pavers or gravel.
    what
        swell or loose weight of a soil; bulking or weight in place of a pavement.
    soils
        The owner's own soils on the sheet Company with their headings, if any.
    unit
        Unit of a weight: ton/yd3 or t/m3; kg/m3 if left out.

    Returns
    -------
    float
        Loose over bank volume, or a density.

    Examples
    --------
    >>> spoil_value("clay", "swell"), round(spoil_value("gravel", "loose weight", LEFT_OUT, "ton/yd3"), 3)
    (1.43, 1.485)
    """
    asked, of = choice("what", words_of("what", what), _DUG), words_of("material", material)
    if asked == "swell":
        name = soil_named(of).name
        own = owner_table(frozen(soils)) if soils is not LEFT_OUT else None
        if own and name in own.rows:
            return float(
                NUMBERS["swell"].kind.read("table, swell", content("swell", own.cell(own.row(name), "swell")[0]), "")
            )
        return soil_named(of).swell
    if asked == "bulking":
        return float(published("old_pavements").exact(of)["bulking"])
    if asked == "loose weight":
        per_m3 = float(published("spoil_weights").exact(soil_named(of).name)["loose"]) * POUND_KG / YARD3_M3
    else:
        per_m3 = float(published("old_pavements").exact(of)["in_place"]) * POUND_KG / YARD3_M3
    return in_unit(per_m3, "kg/m3", unit, ("ton/yd3", "t/m3"))
