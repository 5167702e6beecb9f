"""Worksheet functions that design a base by the owner's own settings and traffic levels.

The settings and the traffic stand in one cell each, as text that the other functions read: a sheet of many areas checks
them once. The first line of each docstring and the text of each parameter are the help that a program shows.
"""

import re
from dataclasses import fields, replace
from functools import lru_cache
from typing import Any, Final

from basecalc.company import assemble, settings
from basecalc.core.errors import BasecalcError, InputError
from basecalc.core.numbers import choice, shown
from basecalc.core.units import INCH_M
from basecalc.design.depth import BaseDepth, Site
from basecalc.design.depth import base_depth as required_base
from basecalc.design.depth import design_cbr as designed_with
from basecalc.design.frost import GROUPS, FrostGround, FrostSoil, frost_ground
from basecalc.design.settings import NONE as NOTHING_LAID
from basecalc.design.settings import TRAFFIC_NAMES, DesignSettings, Reinforcement, Traffic
from basecalc.design.settings import traffic as built_in
from basecalc.formulas.cells import LEFT_OUT, content, is_blank, number, unit_word
from basecalc.formulas.company import NONE, frozen, plain, read_setting, setting_rows, words_of
from basecalc.formulas.owner import OwnerTable, owner_table
from basecalc.ground.classes import strength as strength_of
from basecalc.ground.readings import SOILS
from basecalc.ground.readings import soil_named as soil_named
from basecalc.pricing.price_tables import TRAFFICS

_DEPTH_UNITS: Final = {"in": INCH_M, "mm": 0.001}
_WATER: Final = re.compile(r"water (-?[0-9.e+-]+) (in|mm) below the finish")
_PLACE_WORDS: Final = ("coarse", "frost tested", "freezing", "no frost")
_TRAFFIC: Final = {
    "wheel_load_kn": "wheel load",
    "tyre_kpa": "tyre pressure",
    "passes": "passes",
    "rut_mm": "rut",
    "esal": "axle loads",
}


def design_settings(settings_range: Any, paver_thickness: Any, unit: Any = "in") -> str:
    """Give the design settings of the sheet Company in one line, every setting checked, for DESIGN_DEPTH.

    Parameters
    ----------
    settings_range
        The settings on the sheet Company: label, value and unit, one setting a row.
    paver_thickness
        Thickness of the pavers of the job [unit].
    unit
        Unit of that thickness: in (if left out) or mm.

    Returns
    -------
    str
        The settings, read by DESIGN_CBR and DESIGN_DEPTH.
    """
    rows = setting_rows(frozen(settings_range))
    held = {key: read_setting(setting, rows, "us") for key, setting in settings().items()}
    thickness = number("paver_thickness", paver_thickness, unit_word(unit, _DEPTH_UNITS), 0, 150)
    design = replace(assemble(held).design, paver_m=thickness * _DEPTH_UNITS[unit_word(unit, _DEPTH_UNITS)])
    said = {field.name: getattr(design, field.name) for field in fields(design)}
    said["checks"] = "+".join(design.checks)
    return "; ".join(f"{name}={value if isinstance(value, str) else repr(value)}" for name, value in said.items())


@lru_cache(maxsize=64)
def _design(line: str) -> DesignSettings:
    said: dict[str, Any] = {}
    for part in line.split("; "):
        name, mark, value = part.partition("=")
        if not mark or name not in DesignSettings.__dataclass_fields__:
            raise InputError("design is no line of DESIGN_SETTINGS; it must be the cell that holds it")
        worded = name in ("class_edge", "modulus_rule", "checks", "spot_rule")
        said[name] = tuple(value.split("+")) if name == "checks" else value if worded else float(value)
    return DesignSettings(**said)


def design_of(design: Any) -> DesignSettings:
    """Return the settings that a cell of DESIGN_SETTINGS holds."""
    line = words_of("design", design)
    if not line:
        raise InputError("design is missing; it must be the cell that holds DESIGN_SETTINGS")
    try:
        return _design(line)
    except ValueError as error:
        raise (
            error if isinstance(error, BasecalcError) else InputError("design is no line of DESIGN_SETTINGS")
        ) from None


def traffic_level(traffic: Any, levels: Any = LEFT_OUT) -> str:
    """Give what a traffic level stands for in one line, for DESIGN_DEPTH.

    Parameters
    ----------
    traffic
        light, delivery, heavy, or one of the owner's own.
    levels
        The owner's own traffic levels on the sheet Company with their headings, if any.

    Returns
    -------
    str
        Wheel load, tyre pressure, passes, rut and axle loads, read by DESIGN_DEPTH.

    Examples
    --------
    >>> traffic_level("light")
    'wheel_load_kn=22.0; tyre_kpa=350.0; passes=1000.0; rut_mm=75.0; esal=2000.0; name=light'
    """
    own = owner_table(frozen(levels)) if levels is not LEFT_OUT else None
    mine = {key: words_of("levels", row[0]) for key, row in own.rows.items()} if own else {}
    if taken := [name for name in mine.values() if name.casefold() in TRAFFIC_NAMES]:
        raise InputError(f"levels: {taken[0]} is a traffic level already; give yours another name")
    word = choice("traffic", words_of("traffic", traffic), (*mine.values(), *TRAFFIC_NAMES))
    level = built_in(word) if own is None or word.casefold() not in mine else _own_level(own, word)
    said = "; ".join(f"{name}={getattr(level, name)!r}" for name in _TRAFFIC)
    return f"{said}; name={level.name}"


def _own_level(own: OwnerTable, word: str) -> Traffic:
    row = own.row(word)
    read: dict[str, Any] = {}
    for field, label in _TRAFFIC.items():
        cell, unit = own.cell(row, label)
        kind = next(one.kind for one in TRAFFICS.fields if one.name == label)
        read[field] = kind.read(f"levels, {label} of {word}", content(label, cell), unit or kind.us)
    return Traffic(word, **read)


@lru_cache(maxsize=64)
def _traffic(line: str) -> Traffic:
    said = dict(part.partition("=")[::2] for part in line.split("; ", len(_TRAFFIC)))
    if set(said) != {*_TRAFFIC, "name"}:
        raise InputError("traffic is no line of TRAFFIC_LEVEL; it must be the cell that holds it")
    numbers: dict[str, Any] = {name: float(said[name]) for name in _TRAFFIC}
    return Traffic(said["name"], **numbers)


def design_cbr(strength: Any, design: Any) -> float:
    """Give the bearing ratio (CBR) in percent that a base is designed with.

    Parameters
    ----------
    strength
        Class word, taken at the edge of its class that the settings name, or a measured CBR [%].
    design
        The cell that holds DESIGN_SETTINGS.

    Returns
    -------
    float
        CBR [%].
    """
    return designed_with(strength_of(content("strength", strength)), design_of(design))[0]


_worked_out = lru_cache(maxsize=8192)(required_base)


def _required(
    strength: Any, traffic: Any, design: Any, soil: Any, unit: str, stability: Any, reduction: Any, source: Any
) -> BaseDepth:
    ground, settled = strength_of(content("strength", strength)), design_of(design)
    load = _traffic(words_of("traffic", traffic))
    laid = NOTHING_LAID
    if stability is not LEFT_OUT:
        reported = "" if source is LEFT_OUT else words_of("reduction_source", source)
        laid = Reinforcement(
            "geogrid",
            _maybe("aperture_stability", stability),
            _maybe("reduction", reduction),
            "" if reported == NONE else reported,
        )
    said = words_of("soil", soil) if soil is not LEFT_OUT else ""
    frost, site = _place(said, counts="frost" in settled.checks)
    return _worked_out(ground, load, laid, settled, unit=unit, frost=frost, site=site)


@lru_cache(maxsize=1024)
def _place(said: str, *, counts: bool) -> tuple[FrostGround | None, Site]:
    """Return the ground in frost, where it is asked for, and what else a line of AREA_MEASURES says of the place."""
    first, *more = (part.strip() for part in said.split(",")) if said else ("",)
    waters = [found for part in more if (found := _WATER.fullmatch(part))]
    known = {part for part in more if not _WATER.fullmatch(part)}
    if unknown := known - set(_PLACE_WORDS):
        raise InputError(
            f"soil says {shown(sorted(unknown)[0])}; after the soil it must say: {', '.join(_PLACE_WORDS)}"
        )
    asked = counts or bool(known & {"frost tested", "freezing"})
    frost = _frost_of(first) if asked else None
    fine = "coarse" not in known and (not first or bool(_group_of(first)) or soil_named(first).fine)
    water = float(waters[0][1]) * _DEPTH_UNITS[waters[0][2]] if waters else None
    return frost, Site(fine, water, "no frost" not in known)


def _group_of(said: str) -> str:
    return next((group for group in GROUPS if group.casefold() == said.casefold()), "")


def _frost_of(said: str) -> FrostGround:
    """Return the ground in frost by a soil, or by its frost group."""
    group = _group_of(said)
    return frost_ground(SOILS[0], FrostSoil(group)) if group else frost_ground(said)


def _maybe(name: str, cell: Any) -> float:
    if cell is LEFT_OUT or is_blank(cell) or cell == NONE:
        return 0.0
    return number(name, cell, "", 0, 1)


def design_depth(
    strength: Any,
    traffic: Any,
    design: Any,
    soil: Any = LEFT_OUT,
    unit: Any = "in",
    aperture_stability: Any = LEFT_OUT,
    reduction: Any = LEFT_OUT,
    reduction_source: Any = LEFT_OUT,
) -> float:
    """Give the required depth of compacted base by the owner's settings and traffic, with a geogrid or without.

    Parameters
    ----------
    strength
        Class word or measured CBR [%].
    traffic
        The cell that holds TRAFFIC_LEVEL.
    design
        The cell that holds DESIGN_SETTINGS.
    soil
        Soil in a word, or its frost group such as F2, with what AREA_MEASURE says of the place as its frost ground; for
        the least base and the frost check. Left out: fine soil.
    unit
        Unit of the result: in (if left out) or mm.
    aperture_stability
        With a geogrid: its aperture stability modulus [m-N/deg], or none; without a geogrid it is left out.
    reduction
        With a geogrid: its documented reduction, a share, or none.
    reduction_source
        Where that reduction is documented.

    Returns
    -------
    float
        Depth [`unit`], rounded up to the step of the settings.
    """
    result = unit_word(unit, _DEPTH_UNITS)
    worked = _required(strength, traffic, design, soil, result, aperture_stability, reduction, reduction_source)
    return plain(worked.required_m / _DEPTH_UNITS[result])


def design_reason(
    strength: Any,
    traffic: Any,
    design: Any,
    soil: Any = LEFT_OUT,
    unit: Any = "in",
    aperture_stability: Any = LEFT_OUT,
    reduction: Any = LEFT_OUT,
    reduction_source: Any = LEFT_OUT,
) -> str:
    """Give the reason for the depth that DESIGN_DEPTH gives: which check governs, and by how much.

    Parameters
    ----------
    strength
        As in DESIGN_DEPTH: class word or measured CBR [%].
    traffic
        As in DESIGN_DEPTH: the cell that holds TRAFFIC_LEVEL.
    design
        As in DESIGN_DEPTH: the cell that holds DESIGN_SETTINGS.
    soil
        As in DESIGN_DEPTH: soil in a word or a frost group, for the frost check.
    unit
        Unit of the depths in the text: in (if left out) or mm.
    aperture_stability
        As in DESIGN_DEPTH: modulus of the geogrid [m-N/deg], or none.
    reduction
        As in DESIGN_DEPTH: documented reduction, a share, or none.
    reduction_source
        As in DESIGN_DEPTH: where it is documented.

    Returns
    -------
    str
        One sentence.
    """
    result = unit_word(unit, _DEPTH_UNITS)
    return _required(strength, traffic, design, soil, result, aperture_stability, reduction, reduction_source).reason
