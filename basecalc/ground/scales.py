"""A test and what it read become classes from weakest to strongest and, where the test measures, a bearing ratio."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from basecalc.checks import choice, shown
from basecalc.errors import InputError
from basecalc.ground.classes import LEAST_CBR, cbr_of_cohesion, class_of_cbr, rank
from basecalc.ground.cone import cone_cbr
from basecalc.ground.straightedge import gap_under_six_feet
from basecalc.rounding import printed
from basecalc.tables import Cell, Table, table
from basecalc.units import TSF_KPA, to_unit

TESTS: Final[tuple[str, ...]] = tuple(table("reading_tests").keys())
_PER_BLOW: Final = re.compile(r"\s*(/|per)\s*blow\s*$", re.IGNORECASE)
_UNDER: Final = re.compile(r"(\S.*?)\s+under\s+(\S.*)", re.IGNORECASE)
_SPOKEN: Final = {"mm/blow": "mm"}


@dataclass(frozen=True, slots=True)
class Scaled:
    """What a reading says by itself, before the season is thought of.

    Parameters
    ----------
    weakest, strongest
        The classes the reading leaves open.
    cbr
        Bearing ratio [%] where the test measures one.
    amount
        The number read, in the test's unit; nothing where a word was read.
    written
        The reading as the estimator wrote it, with its unit.
    told
        The reading in words a client understands.
    source
        Where the step from reading to class was published, and how far that is trusted.
    """

    weakest: str
    strongest: str
    cbr: float | None
    amount: float | None
    written: str
    told: str
    source: str


def test_row(test: Any) -> Mapping[str, Cell]:
    """Return what is laid down for a test: unit, limits, tables, phrases.

    Raises
    ------
    InputError
        Nothing, or no test of the list.

    Examples
    --------
    >>> test_row("Dump Truck")["bands"]
    'dump_truck_rut'
    """
    return table("reading_tests").exact(choice("test", test, TESTS))


def scale(test: Any, value: Any, soil: str = "") -> Scaled:
    """Return what a reading says by itself.

    Parameters
    ----------
    test
        One of `TESTS`.
    value
        A number in the test's unit, text with a unit, or one of the test's words.
    soil
        The soil where it is known; only the cone asks for it.

    Raises
    ------
    InputError
        Nothing, a unit of another kind, or no word of the test.
    OutOfRangeError
        A number outside the test's limits.

    Examples
    --------
    >>> reading = scale("walk", "50.8 mm")
    >>> reading.weakest, reading.strongest, reading.told
    ('soft', 'soft', 'Walking on it: the boot sank 50.8 mm')
    """
    row = test_row(test)
    name, unit = str(row["test"]), str(row["unit"])
    words = table(str(row["words"])) if row["words"] else None
    if words is not None and (not unit or _is_word(value)):
        return _by_word(row, words, value)
    if name == "straightedge" and isinstance(value, str) and (told_both := _UNDER.fullmatch(value.strip())):
        return _under_length(row, *told_both.groups())
    if isinstance(value, str) and unit == "mm/blow":
        value = _PER_BLOW.sub("", value)
    amount = printed(to_unit(name, value, unit, float(row["low"]), float(row["high"]), why=str(row["help"])))
    plain = f"{amount:g} {_SPOKEN.get(unit, unit)}"
    written = value.strip() if isinstance(value, str) and _has_unit(value) else plain
    weakest, strongest, cbr, source = _by_number(row, name, amount, soil)
    told = str(row["number_phrase"]).format(value=written)
    return Scaled(weakest, strongest, cbr, amount, written, told, source)


def _under_length(row: Mapping[str, Cell], gap: str, length: str) -> Scaled:
    """Return what a gap under a straightedge of another length says: the classes between its least and its greatest."""
    for what, given, example in (("gap", gap, "1 in"), ("straightedge", length, "8 ft")):
        if not _has_unit(given):
            raise InputError(f"{what} is {shown(given)}; it must have its unit, as in '{example}': '1 in under 8 ft'")
    amount = to_unit("gap", gap, "in", float(row["low"]), float(row["high"]), why=str(row["help"]))
    least, most = gap_under_six_feet(amount, to_unit("straightedge", length, "ft"))
    bands = table(str(row["bands"]))
    worst, best = bands.band("gap under 6 ft", most), bands.band("gap under 6 ft", least)
    written = f"{gap} under {length}"
    told = f"Looking at the old pavement: a gap of {gap} under a straightedge of {length}"
    source = f"{_cited(bands, str(worst['trust']))}; carried over to 6 ft by basecalc's own choice [own]"
    return Scaled(str(worst["weakest"]), str(best["strongest"]), None, most, written, told, source)


def _is_word(value: Any) -> bool:
    return isinstance(value, str) and bool(value.strip()) and not any(character.isdigit() for character in value)


def _has_unit(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return True
    return False


def _by_word(row: Mapping[str, Cell], words: Table, value: Any) -> Scaled:
    name, unit = str(row["test"]), str(row["unit"])
    try:
        entry = words.exact(choice(name, value, words.keys()))
    except InputError:
        ways = f"it must be one of: {', '.join(words.keys())}" + (f"; or a number ({unit})" if unit else "")
        raise InputError(f"{name} is {shown(value)}; {ways}") from None
    told = str(row["word_phrase"]).format(value=entry["meaning"])
    source = _cited(words, str(entry["trust"]))
    return Scaled(str(entry["weakest"]), str(entry["strongest"]), None, None, str(entry["word"]), told, source)


def _by_number(row: Mapping[str, Cell], name: str, amount: float, soil: str) -> tuple[str, str, float | None, str]:
    if row["bands"]:
        bands = table(str(row["bands"]))
        band = bands.band(name, amount)
        return str(band["weakest"]), str(band["strongest"]), None, _cited(bands, str(band["trust"]))
    if name == "spt":
        by_blows = table("spt_classes")
        found = str(by_blows.band(name, amount)["class"])
        return found, found, None, by_blows.cited
    if name in ("pocket", "vane"):
        return _by_shear(name, amount)
    if name == "cone":
        cbr, source = cone_cbr(amount, soil), table("cone_equations").cited
    else:
        cbr, source = amount, "measured; class: " + table("cbr_classes").cited
    found = class_of_cbr(cbr)
    return found, found, usable(cbr), source


def _by_shear(name: str, amount: float) -> tuple[str, str, float | None, str]:
    """Return class and CBR by unconfined strength; the weaker class where table and CBR band differ by a hair.

    The bounds of the printed table fall at CBR 0.399, 0.798 ...; the bands of CBR are rounded to 0.4, 0.8 ...
    """
    link = table("shear_strength")
    unconfined_per_cohesion = float(link.exact("qu per cu")["value"])
    unconfined = printed(amount if name == "pocket" else amount * unconfined_per_cohesion)
    cbr = cbr_of_cohesion(unconfined / unconfined_per_cohesion * TSF_KPA)
    by_table = str(table("qu_classes").band(name, unconfined)["class"])
    found = min(by_table, class_of_cbr(cbr), key=rank)
    return found, found, usable(cbr), f"{table('qu_classes').cited}; CBR: {link.cited}"


def usable(cbr: float) -> float | None:
    """Return the bearing ratio [%], or nothing where it is too low to be a number to design with.

    Examples
    --------
    >>> usable(0.4), usable(0.01)
    (0.4, None)
    """
    return cbr if cbr >= LEAST_CBR else None


def _cited(printed_table: Table, trust: str) -> str:
    """Return the source of one row: the print, or our own closing of a gap between its rows."""
    if trust == "own" and printed_table.trust == "own":
        return f"basecalc's own choice, on the weak side, for the {printed_table.title} [own]"
    if trust == "own":
        silent = f"{printed_table.title} ({printed_table.source})"
        return f"basecalc's own choice, on the weak side, where the rule for {silent} is silent [own]"
    return ", ".join(part for part in (str(printed_table.source), printed_table.place, f"[{trust}]") if part)
