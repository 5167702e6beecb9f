"""Worksheet functions of the ground and the base, for one row of cells.

The first line of each docstring and the text of each parameter are the help that a spreadsheet program shows.
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final

from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.core.numbers import printed, quoted
from basecalc.core.units import FOOT_M, INCH_M
from basecalc.design.depth import BaseDepth
from basecalc.design.depth import base_depth as required_base
from basecalc.design.settings import KINDS, TRAFFIC_NAMES, DesignSettings, limit
from basecalc.design.settings import reinforcement as reinforcement_of
from basecalc.design.settings import traffic as traffic_level
from basecalc.formulas.cells import LEFT_OUT, content, is_blank, number, unit_word, word
from basecalc.ground import strength as sites
from basecalc.ground.classes import LEAST_CBR
from basecalc.ground.classes import strength as strength_of
from basecalc.ground.readings import MOISTURES, SOILS, TESTS, THAW, Finding, Reading, find, test_help, test_row
from basecalc.ground.readings import soil_named as soil_of

_LENGTH_UNITS: Final = {"in": INCH_M, "ft": FOOT_M, "mm": 0.001, "cm": 0.01, "m": 1.0}
_WORDS: Final = {"moisture": MOISTURES, "soil": (*SOILS, "CL", "CH")}
_MEASURING: Final = ("cone", "pocket", "vane", "cbr")
_REPORT: Final = "from the geogrid's own test report"
# A sheet asks for the same ground again and again: for the depth, for its reason, at every recalculation.
_worked_out = lru_cache(maxsize=4096)(required_base)
_DEPTHS: Final = {"us": "in", "metric": "mm"}
_DESIGNS: Final = {"us": DesignSettings(), "metric": DesignSettings(minimum_depth_m=0.15, step_m=0.01)}


def _finding(test: Any, reading: Any, **more: Any) -> Finding:
    """Return what the reading of a row says; what is left out stays empty, what is blank is refused."""
    tried = word("test", test, TESTS)
    held = content("reading", reading)
    if held is None or isinstance(held, bool):
        state = "missing" if held is None else quoted(held)
        raise InputError(f"reading ({tried}) is {state}; it must be: {test_help(tried)}")
    said = {name: word(name, cell, _WORDS[name]) for name, cell in more.items() if cell is not LEFT_OUT}
    soil = said.get("soil")
    if soil and test_row(tried)["fine_only"] and not soil_of(soil).fine:
        fine = ", ".join(name for name in SOILS if soil_of(name).fine)
        raise InputError(f"soil is {soil}, of which {tried} says nothing; it must be one of: {fine}")
    try:
        return find(Reading(tried, held, **said))
    except BasecalcError as refusal:  # say it of the sheet's argument, not of the test
        if refusal.about == tried:
            raise refusal.changed(about=f"reading ({tried})") from None
        raise refusal.changed(sentence=f"reading: {refusal.sentence}", about="") from None


def strength_class(test: Any, reading: Any, moisture: Any = LEFT_OUT) -> str:
    """Give the weakest strength class that fits one reading of the ground: very soft ... hard.

    Parameters
    ----------
    test
        What was tried: stand, walk, pickup, dump truck, straightedge, shovel, rod, cone, pocket, vane, spt, cbr, thumb.
    reading
        What was read: a number in the test's unit (in, cone mm/blow, pocket and vane tsf, cbr %), text with a unit,
        or a word of the test.
    moisture
        How the ground was: dry, moist or wet; fine soil read dry counts one class weaker, and what was read in frozen
        ground is refused.

    Examples
    --------
    >>> strength_class("pocket", 0.3), strength_class("walk", "60 mm")
    ('soft', 'soft')
    """
    found = _finding(test, reading, moisture=moisture)
    if not found.counts:
        raise InputError(f"moisture is frozen: {THAW}")
    return found.weakest


def bearing_ratio(test: Any, reading: Any, soil: Any = LEFT_OUT) -> float:
    """Give the bearing ratio (CBR) in percent, for a test that measures one.

    Parameters
    ----------
    test
        What was tried: cone, pocket, vane or cbr; the other tests give a class only.
    reading
        What was read: a number in the test's unit (cone mm/blow, pocket and vane tsf, cbr %), or text with a unit.
    soil
        Soil in a word, for the cone: sand, gravel, rock take the general curve, lab-tested fat clay its own, all others
        and a soil left out that of lean clay, the weakest that fits.

    Examples
    --------
    >>> round(bearing_ratio("cone", 20, "sand"), 2), round(bearing_ratio("cone", 40, "clay"), 2)
    (10.19, 2.16)
    """
    found = _finding(test, reading, soil=soil)
    if found.cbr is not None:
        return printed(found.cbr)
    if found.reading.test in _MEASURING:
        tried, read = found.reading.test, found.label.removeprefix(found.reading.test).strip()
        raise OutOfRangeError(f"reading ({tried}) is {read}; it must stand for a CBR of at least {LEAST_CBR:g} %")
    measuring = ", ".join(_MEASURING)
    raise InputError(f"test is '{found.reading.test}', which gives a class and no CBR; it must be one of: {measuring}")


def site_strength(classes: Sequence[Any], rule: Any = "auto") -> str:
    """Give the one strength class of several spots, from their classes or CBRs, each taken as given.

    Parameters
    ----------
    classes
        Range with a class word or a CBR [%] per spot; empty cells are spots that were not tested.
    rule
        auto (if left out) or weakest: the weakest; or lower quartile: that of four or more CBRs, at most 1.25 times the
        weakest of them, and never above a weaker class.

    Notes
    -----
    An empty cell says that nothing was read there, and the range of a form is larger than most sites. Error cells,
    refused cells and words that are no class are refused, and so is a range that is empty altogether.

    Examples
    --------
    >>> site_strength(["stiff", None, "medium"])
    'medium'
    """
    held = []
    for position, cell in enumerate(classes, 1):
        if not is_blank(cell):
            try:
                value = content("strength", cell)
                strength_of(value)
            except BasecalcError as refusal:
                raise refusal.at(f"classes, cell {position}") from None
            held.append(value)
    if not held:
        raise InputError(f"classes is a range of {len(classes)} blank cells; it must have at least one class or CBR")
    return sites.site_strength(held, word("rule", rule, sites.RULES)).strength_class


def _required(
    strength: Any, traffic: Any, reinforcement: Any, aperture_stability: Any, unit: Any
) -> tuple[BaseDepth, str]:
    """Return the required base and the unit it is printed in."""
    result = unit_word(unit, _LENGTH_UNITS)
    ground = strength_of(content("strength", strength))
    load = traffic_level(word("traffic", traffic, TRAFFIC_NAMES))
    kind = word("reinforcement", reinforcement, KINDS)
    # Blank is an answer where there is no grid: the modulus is a geogrid's.
    given = kind == "geogrid" or not (aperture_stability is LEFT_OUT or is_blank(aperture_stability))
    most = limit("greatest aperture stability")
    stability = (
        number("aperture_stability", aperture_stability, "m-N/deg", 0, most, above=kind == "geogrid", why=_REPORT)
        if given
        else None
    )
    grid = reinforcement_of(kind, stability)
    system = "us" if result in ("in", "ft") else "metric"
    try:
        return _worked_out(ground, load, grid, _DESIGNS[system], unit=_DEPTHS[system]), result
    except BasecalcError as refusal:
        if refusal.about == "CBR":  # the sheet's argument has another name
            raise refusal.changed(about="strength (CBR)") from None
        raise


def base_depth(
    strength: Any,
    traffic: Any = "light",
    reinforcement: Any = "none",
    aperture_stability: Any = LEFT_OUT,
    unit: Any = "in",
) -> float:
    """Give the required depth of compacted base: whole inches, or whole centimetres for a metric unit.

    Parameters
    ----------
    strength
        Class word (designed at the weak edge of its class) or measured CBR [%], from 0.4.
    traffic
        light (if left out), delivery or heavy.
    reinforcement
        none (if left out), geotextile or geogrid.
    aperture_stability
        Aperture stability modulus from the geogrid's own test report [m-N/deg], above 0 to 0.8; may be blank without
        a geogrid.
    unit
        Unit of the result: in (if left out), ft, mm, cm or m.

    Examples
    --------
    >>> base_depth("hard"), base_depth("hard", "light", "none", LEFT_OUT, "mm")
    (6.0, 150.0)
    """
    required, result = _required(strength, traffic, reinforcement, aperture_stability, unit)
    return printed(required.required_m / _LENGTH_UNITS[result])


def base_depth_reason(
    strength: Any,
    traffic: Any = "light",
    reinforcement: Any = "none",
    aperture_stability: Any = LEFT_OUT,
    unit: Any = "in",
) -> str:
    """Give the reason for the depth that BASE_DEPTH gives: which check governs, and by how much.

    Its arguments are those of `base_depth`.

    Examples
    --------
    >>> base_depth_reason(8)
    'minimum governs: 6.0 in, 2.0 in more than the structural check'
    """
    return _required(strength, traffic, reinforcement, aperture_stability, unit)[0].reason
