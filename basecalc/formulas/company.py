"""Worksheet function of one setting of the owner's; and how a range of cells is read, remembered and worded.

The first line of each docstring and the text of each parameter are the help that a spreadsheet program shows.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final

from basecalc.company import Setting, settings
from basecalc.core.errors import InputError
from basecalc.core.numbers import choice, shown
from basecalc.core.units import convert
from basecalc.formulas.cells import as_float, content, error_text

NONE: Final = "none"
Rows = Sequence[Sequence[Any]]


def plain(value: float) -> float:
    """Return a number without the noise behind its fifteenth digit."""
    return float(f"{value:.15g}")


def words_of(name: str, cell: Any) -> str:
    """Return the words in a cell, spaces evened out; nothing where it is blank."""
    held = content(name, cell)
    if held is None:
        return ""
    if isinstance(held, bool):
        return "TRUE" if held else "FALSE"
    return " ".join((f"{held:.15g}" if isinstance(held, float) else str(held)).split())


def frozen(rows: Rows) -> tuple[tuple[Any, ...], ...]:
    """Return a range in a form that can be remembered, so that a sheet full of calls reads it once."""
    return tuple(tuple(_kept(cell) for cell in row) for row in rows)


def _kept(cell: Any) -> Any:
    if isinstance(cell, bool):
        return "yes" if cell else "no"  # 1 and TRUE would be remembered as one
    return as_float(cell) if isinstance(cell, Decimal) else error_text(cell) or cell


@lru_cache(maxsize=64)
def setting_rows(rows: tuple[tuple[Any, ...], ...]) -> Mapping[str, tuple[Any, Any, Any]]:
    """Return value, unit and the word under 'sure?' of each setting on the sheet by its key.

    Raises
    ------
    InputError
        A label that is no setting, or one that stands twice.
    """
    by_label = {setting.label.casefold(): setting for setting in settings().values()}
    groups = {setting.group.casefold() for setting in settings().values()}
    found: dict[str, tuple[Any, Any, Any]] = {}
    for row in rows:
        cells = (*row, None, None, None, None)
        label = words_of("settings_range", cells[0]).casefold()
        if not label or label in groups or label == "setting":
            continue
        if label not in by_label:
            raise InputError(
                f"settings_range: {shown(label)} is not a setting; it must be the table of the sheet Company"
            )
        key = by_label[label].key
        if key in found:
            raise InputError(f"settings_range: the setting {shown(label)} stands twice")
        found[key] = (cells[1], cells[2], cells[3])
    return found


def read_setting(setting: Setting, rows: Mapping[str, tuple[Any, Any, Any]], units: str) -> Any:
    """Return what the sheet says of a setting, as the company holds it, or its default where the sheet lacks it."""
    if setting.key not in rows:
        return setting.read(setting.edge_default(units), setting.edge_unit(units))
    value, unit, sure = rows[setting.key]
    beside = words_of(setting.label, unit)
    if setting.kind in ("number", "whole") and setting.unit and not beside:
        raise InputError(f"{setting.label} has no unit; it must be {setting.spelled()}")
    meant = words_of("sure?", sure).casefold() == "yes"
    return setting.read(content(setting.label, value), beside if setting.unit else "", sure=meant)


def company_setting(setting: Any, settings_range: Any, unit: Any = "") -> float | str:
    """Give one setting of the sheet Company, checked, in the unit asked for.

    Parameters
    ----------
    setting
        The label of the setting, such as: thickest lift.
    settings_range
        The settings on the sheet Company: label, value, unit and the word under 'sure?', one setting a row.
    unit
        Unit of the result; if left out, as the setting is held: m, kg/m2, a share or a word.

    Returns
    -------
    float or str
        A number, or yes, no or another word.

    Examples
    --------
    >>> company_setting("thickest lift", [["thickest lift", 100, "mm"]], "mm")
    100.0
    """
    label = words_of("setting", setting)
    by_label = {one.label: one for one in settings().values()}
    one = by_label[choice("setting", label, tuple(by_label))]
    held = read_setting(one, setting_rows(frozen(settings_range)), "us")
    if isinstance(held, bool):
        return "yes" if held else "no"
    if isinstance(held, str):
        return held or NONE
    inside = one.inside or one.unit
    return in_unit(float(held), inside, unit, (one.unit, one.metric))


def in_unit(held: float, inside: str, unit: Any, offered: Sequence[str]) -> float:
    """Return a number in the unit that a formula asks for, as it is held where it asks for none.

    Parameters
    ----------
    held, inside
        The number and its unit.
    unit
        The cell that names the unit of the result.
    offered
        Other units it may have.

    Raises
    ------
    InputError
        Another unit.
    """
    if not (wanted := words_of("unit", unit)):
        return held
    known = tuple(dict.fromkeys(one for one in (inside, *offered) if one))
    to = choice("unit", wanted, known or ("nothing",))
    return plain(convert(held, inside, to)) if to != inside else held
