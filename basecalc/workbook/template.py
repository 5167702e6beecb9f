"""A new price workbook for the owner to fill in."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from basecalc.core.errors import Place, WorkbookError
from basecalc.workbook import style
from basecalc.workbook.new_file import workbook_file, write_one
from basecalc.workbook.starter import edition
from basecalc.workbook.template_company import write_company
from basecalc.workbook.template_prices import write_codes, write_prices


def write_price_workbook(path: str | Path, records: Mapping[str, Any] | None = None) -> Path:
    """Write a new price workbook and return where it is.

    Parameters
    ----------
    path
        Where it goes; it must end in .xlsx and must not be there yet.
    records
        What it starts with: ``settings`` by key (`basecalc.company.settings`), and any of the tables ``stones``,
        ``pavers``, ``rolls``, ``trucks``, ``soils``, ``rates``, ``traffics``, ``terms`` and ``prices``, each a list of
        rows by field; and ``sure``, the keys of settings whose unusual value is meant.
        Numbers are in the units of the edition that ``settings.units`` names; a text may carry its unit.
        A table that is not given is the built-in one; a price row takes item, unit and tax
        of its code where it gives none.

    Raises
    ------
    InputError
        A setting, table or column that does not exist.
    WorkbookError
        The file exists, has another ending, or cannot be written.
    """
    target, given = Path(path), records or {}
    if target.suffix.casefold() != ".xlsx":
        raise WorkbookError("the name of a price workbook must end in .xlsx", where=Place(str(path)))
    units = edition(given)
    book = style.new_book()
    write_company(book, given, units)
    write_prices(book, given, units)
    write_codes(book, units)
    book.properties.title, book.properties.creator = "Company and prices", "basecalc"
    return write_one(target, workbook_file(book))
