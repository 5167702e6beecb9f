"""Worksheet functions of the take-off, for one row of cells.

The first line of each docstring and the text of each parameter are the help that a spreadsheet program shows. Limits
begin above zero: some programs hand over an empty cell as 0, and an empty cell must not end as a quantity of 0.
"""

from typing import Any, Final

from basecalc.core.errors import InputError
from basecalc.core.numbers import printed
from basecalc.core.published import table
from basecalc.core.units import FOOT2_M2, FOOT_M, INCH_M, POUND_KG, SHORT_TON_KG, TONNE_KG, YARD3_M3
from basecalc.formulas.cells import LEFT_OUT, content, number, unit_word
from basecalc.ground.readings import soil_named
from basecalc.plan.area import CORNERS
from basecalc.takeoff.model import MODEL
from basecalc.takeoff.rolls import lay

_VOLUME_UNITS: Final = {"yd3": YARD3_M3, "ft3": FOOT_M**3, "m3": 1.0}
_MASS_UNITS: Final = {"ton": SHORT_TON_KG, "tonne": TONNE_KG, "lb": POUND_KG, "kg": 1.0}
_MOST: Final = 500_000.0
_STONE: Final = "crushed surfacing base course"
_MAX_LIFT_IN: Final = 4.0  # a walk-behind plate; common practice, as in the owner's settings
_REACH_M: Final = 6 * INCH_M  # the published least; a thinner base reaches as far
_OVERLAP_FT: Final = 1.0  # common for geogrid above CBR 2 to 3; practice


def excavation_volume(
    area: Any,
    depth: Any,
    open_edge: Any = LEFT_OUT,
    edge_extension: Any = LEFT_OUT,
    corners: Any = LEFT_OUT,
    unit: Any = "yd3",
) -> float:
    """Give the ground to dig, measured in place: area with its edge extension times depth, in yd3.

    Parameters
    ----------
    area
        Plan area to pave [ft2].
    depth
        Depth of the dig [in].
    open_edge
        Length of edge beyond which the base reaches out [ft]; 0 if left out.
    edge_extension
        How far the base reaches out there [in]. If left out: 6 in or the depth of the dig, whichever is more.
    corners
        Outside corners of the open edge less its inside corners (4 for a rectangle open all round); 0 if left out.
    unit
        Unit of the result: yd3 (if left out), ft3 or m3.

    Notes
    -----
    The published rule is the greater of 6 in and the depth of the base. The dig is deeper than the base by the pavers
    and their bedding, so that the default reaches a few inches too far rather than too short; it falls short where the
    finish is higher than that above the ground: give the extension there.

    References
    ----------
    ICPI-TOLERANCES: over-dig beyond the edge the greater of 6 in or the base thickness. [read]

    Examples
    --------
    >>> round(excavation_volume(800, 8), 2), round(excavation_volume(800, 8, 120, 8, 4), 2)
    (19.75, 21.77)
    """
    result = unit_word(unit, _VOLUME_UNITS)
    area_m2 = number("area", area, "ft2", 1, _MOST) * FOOT2_M2
    depth_m = number("depth", depth, "in", 0.1, 120) * INCH_M
    if open_edge is LEFT_OUT:
        for name, cell in (("edge_extension", edge_extension), ("corners", corners)):
            if cell is not LEFT_OUT:
                raise InputError(f"open_edge is missing though {name} is given; it must be a length in ft, 0 for none")
        return printed(area_m2 * depth_m / _VOLUME_UNITS[result])
    edge_m = number("open_edge", open_edge, "ft", 0, 10_000) * FOOT_M
    if edge_extension is LEFT_OUT:
        out_m = MODEL.value("reach", base=max(depth_m, _REACH_M), least_reach=_REACH_M, open=edge_m)
    else:
        out_m = number("edge_extension", edge_extension, "in", 0, 120) * INCH_M
    turns = 0.0 if corners is LEFT_OUT else number("corners", corners, "", CORNERS.low, CORNERS.high)
    if turns and not edge_m:
        raise InputError(f"corners is {turns:g} though open_edge is 0 ft; it must be 0 where no edge is open")
    known = {"plan": area_m2, "open": edge_m, "reach": out_m, "corner": turns, "dig": depth_m, "beside_dig": depth_m}
    bank_m3 = MODEL.value("base_dig", known, system="us")
    return printed(bank_m3 / _VOLUME_UNITS[result])


def loose_volume(bank_volume: Any, soil: Any, unit: Any = "yd3") -> float:
    """Give the volume that dug ground takes up in a truck, in yd3.

    Parameters
    ----------
    bank_volume
        Volume measured in place, before digging [yd3].
    soil
        Soil in a word: sand, gravel, earth, loam, silt, clay, lean clay, fat clay, lab-tested fat clay, rock.
    unit
        Unit of the result: yd3 (if left out), ft3 or m3.

    References
    ----------
    FM-5-434, Table 1-1. [memory]

    Examples
    --------
    >>> loose_volume(100, "clay")
    143.0
    """
    result = unit_word(unit, _VOLUME_UNITS)
    bank_m3 = number("bank_volume", bank_volume, "yd3", 0.001, _MOST) * YARD3_M3
    swell = soil_named(content("soil", soil)).swell
    return printed(MODEL.value("loose", bank=bank_m3, trimmed=0.0, keep=0, swell=swell) / _VOLUME_UNITS[result])


def aggregate_tons(
    compacted_volume: Any,
    loose_density: Any = LEFT_OUT,
    compaction_factor: Any = LEFT_OUT,
    waste: Any = 0.0,
    unit: Any = "ton",
) -> float:
    """Give the weight of stone to order for a compacted volume, in short tons of 2,000 lb.

    Parameters
    ----------
    compacted_volume
        Volume of the finished, compacted base [yd3].
    loose_density
        Weight of the stone in the truck [ton/yd3]; 1.48 if left out.
    compaction_factor
        Loose volume that makes one compacted volume; 1.254 if left out.
    waste
        Share ordered on top: 0.05 for 5 %; 0 if left out.
    unit
        Unit of the result: ton (short ton, if left out), tonne, lb or kg.

    References
    ----------
    WSDOT-M22-01, Exhibit 620-1, crushed surfacing base course: 1.48 ton/yd3 and 1.254. [read]

    Examples
    --------
    >>> round(aggregate_tons(19.75, 1.85, 1), 1), round(aggregate_tons(19.75), 1)
    (36.5, 36.7)
    """
    result = unit_word(unit, _MASS_UNITS)
    stone = table("stones").exact(_STONE)
    volume_m3 = number("compacted_volume", compacted_volume, "yd3", 0.001, _MOST) * YARD3_M3
    density = stone["loose_tons"] if loose_density is LEFT_OUT else loose_density
    factor = stone["factor"] if compaction_factor is LEFT_OUT else compaction_factor
    mass_kg = MODEL.value(
        "stone_mass",
        stone=volume_m3,
        stone_density=number("loose_density", density, "ton/yd3", 0.7, 2.1) * SHORT_TON_KG / YARD3_M3,
        stone_factor=number("compaction_factor", factor, "", 1, 2),
        stone_waste=number("waste", waste, "", 0, 0.5, why="a share: 0.05 means 5 %"),
    )
    return printed(mass_kg / _MASS_UNITS[result])


def truckloads(tons: Any, payload: Any, loose_volume: Any = LEFT_OUT, box_volume: Any = LEFT_OUT) -> float:
    """Give the whole truckloads that a weight takes, and its volume where that is given too.

    Parameters
    ----------
    tons
        Weight to haul [short ton].
    payload
        What one truck may carry [short ton].
    loose_volume
        Loose volume to haul [yd3]; by weight alone if left out, together with box_volume.
    box_volume
        What one truck's box holds [yd3].

    Examples
    --------
    >>> truckloads(36.5, 14), truckloads(36.5, 14, 60, 14)
    (3.0, 5.0)
    """
    mass_kg = number("tons", tons, "ton", 0.001, _MOST) * SHORT_TON_KG
    payload_kg = number("payload", payload, "ton", 0.2, 60) * SHORT_TON_KG
    if (loose_volume is LEFT_OUT) != (box_volume is LEFT_OUT):
        missing, given = ("loose_volume", "box_volume") if loose_volume is LEFT_OUT else ("box_volume", "loose_volume")
        raise InputError(f"{missing} is missing though {given} is given; it must be a volume in yd3")
    loose_m3, box_m3 = 0.0, 1.0  # by weight alone
    if loose_volume is not LEFT_OUT:
        loose_m3 = number("loose_volume", loose_volume, "yd3", 0.001, _MOST) * YARD3_M3
        box_m3 = number("box_volume", box_volume, "yd3", 0.2, 75) * YARD3_M3
    known = {"spoil_weight": mass_kg, "spoil_payload": payload_kg, "spoil_room": loose_m3, "spoil_box": box_m3}
    return float(MODEL.value("spoil_loads", known))


def base_lifts(depth: Any, max_lift: Any = _MAX_LIFT_IN) -> float:
    """Give the whole lifts in which a base is placed and compacted.

    Parameters
    ----------
    depth
        Depth of the compacted base [in].
    max_lift
        Thickest lift that the compactor can do, compacted [in]; 4 (walk-behind plate) if left out.

    Examples
    --------
    >>> base_lifts(14), base_lifts(14, 6)
    (4.0, 3.0)
    """
    depth_m = number("depth", depth, "in", 0.1, 120) * INCH_M
    return float(MODEL.value("lifts", laid=depth_m, lift=number("max_lift", max_lift, "in", 1, 24) * INCH_M))


def rolls(length: Any, width: Any, roll_length: Any, roll_width: Any, overlap: Any = _OVERLAP_FT) -> float:
    """Give the whole rolls of geogrid or geotextile that cover a rectangle, laid along its length.

    Parameters
    ----------
    length
        Length to cover, along the strips [ft].
    width
        Width to cover, across the strips [ft].
    roll_length
        Length of a roll [ft].
    roll_width
        Width of a roll [ft].
    overlap
        Overlap of neighbouring strips and of roll ends [ft]; 1 if left out, more on soft ground.

    Examples
    --------
    >>> rolls(100, 20, 100, 13.1), rolls(100, 12.5, 100, 13.1)
    (2.0, 1.0)
    """
    roll_length_ft = number("roll_length", roll_length, "ft", 4, 3_000)
    roll_width_ft = number("roll_width", roll_width, "ft", 1, 60)
    half_ft = printed(min(roll_length_ft, roll_width_ft) / 2)
    return float(
        lay(
            number("length", length, "ft", 0.1, 3_000) * FOOT_M,
            number("width", width, "ft", 0.1, 3_000) * FOOT_M,
            roll_length_ft * FOOT_M,
            roll_width_ft * FOOT_M,
            number("overlap", overlap, "ft", 0, min(10, half_ft), why="at most half the roll") * FOOT_M,
        ).rolls
    )
