"""One area at one base depth: what is dug, brought in and laid there."""

from typing import Final

from basecalc.base.depth import BaseDepth
from basecalc.company import Company
from basecalc.ground.soils import soil as soil_named
from basecalc.job import JobArea
from basecalc.tables import table
from basecalc.takeoff.aggregate import aggregate_mass_kg, lift_thickness_m, lifts, loose_stone_m3
from basecalc.takeoff.amounts import told
from basecalc.takeoff.earthwork import dig_depth_m, edge_extension_m, extended_area_m2, loose_volume_m3, stripping_flag
from basecalc.takeoff.materials import Materials
from basecalc.takeoff.old_base import Kept, kept_base
from basecalc.takeoff.record import AreaTakeoff
from basecalc.takeoff.sheets import Laid, laid
from basecalc.units import POUND_KG, YARD3_M3
from basecalc.working import Working

_DUG: Final = "pavers, bedding and base, less what stands above the ground"


def area_takeoff(
    area: JobArea,
    depth: BaseDepth | None,
    base_m: float,
    company: Company,
    own: Materials,
    units: str,
    cbr: float | None = None,
) -> tuple[AreaTakeoff, tuple[Laid, ...]]:
    """Return what one area takes at one base depth, and the rolls laid there.

    Parameters
    ----------
    area
        The area.
    depth
        The checks behind the depth; None where it was given as a number.
    base_m
        Base depth [m].
    company, own
        The owner's settings, and the materials the job takes.
    units
        'us' or 'metric', for the words of the working.
    cbr
        Strength of the ground [%] where there are no checks behind the depth, for the overlap of rolls.

    Raises
    ------
    OutOfRangeError
        The finish stands so high that fill would be needed below the base, or a number outside its limits.
    """
    bedding_m = company.design.bedding_m
    old_m, above_m = area.old_pavement_m, area.finish_above_ground_m
    extension = edge_extension_m(base_m, company.edge_extension_m) if area.open_edge_m else 0.0
    base_m2 = extended_area_m2(area.area_m2, area.open_edge_m, extension, area.corners)
    paver_m = own.paver.thickness_m
    kept = kept_base(area, depth, base_m, paver_m, bedding_m, units)
    # The old pavement lies under the new one only: the extension beside it is dug from the ground.
    if kept.kept_m > 0:
        dig, new_m = kept.dig_m, kept.new_m
        beside = dig_depth_m(base_m, paver_m, bedding_m, above_m)
    else:
        dig, new_m = dig_depth_m(base_m, paver_m, bedding_m, above_m, old_m), base_m
        beside = dig + old_m
    fill_m2, fill_m = _fill(area, base_m2, dig + old_m)
    fill = fill_m2 * fill_m
    base_bank = area.area_m2 * dig + (base_m2 - area.area_m2) * beside
    bank = base_bank + fill
    loose, spoil_kg = _spoil(area, company, bank, kept)
    stone = area.area_m2 * new_m + (base_m2 - area.area_m2) * base_m
    laid_m = new_m if new_m > 0 else base_m
    count = lifts(laid_m, company.lift_m)
    sheets = laid(area, depth, depth.cbr if depth else cbr, base_m2, extension, own)
    working = [
        Working("base beyond the edge", extension, "m", "the greater of the owner's least and the base depth"),
        Working("area of dig and base", base_m2, "m2", f"{told(area.area_m2, 'area', units)} with the extension"),
        Working("dig below the ground", dig, "m", kept.words or _DUG),
        Working("dig in place", bank, "m3", "with what the granular fill replaces" if fill else ""),
        *(Working(f"overlap of {sheet.roll.kind}", sheet.side_m, "m", sheet.sentence) for sheet in sheets),
    ]
    flags = [stripping_flag(dig, old_m), kept.words, *(sheet.sentence for sheet in sheets if sheet.sewn)]
    grid = sheets[0] if sheets else None
    made = AreaTakeoff(
        area=area,
        depth=depth,
        base_m=base_m,
        extension_m=extension,
        dig_m=dig,
        below_finish_m=paver_m + bedding_m + new_m,
        base_area_m2=base_m2,
        bank_m3=bank,
        fill_m2=fill_m2,
        fill_m=fill_m,
        loose_m3=loose,
        spoil_kg=spoil_kg,
        pavement_m3=area.area_m2 * old_m,
        kept_m=kept.kept_m,
        new_m=new_m,
        beside_m=beside,
        stone_m3=stone,
        stone_loose_m3=loose_stone_m3(stone, own.stone.compaction_factor, own.stone.waste),
        stone_kg=aggregate_mass_kg(stone, own.stone.loose_density_kg_m3, own.stone.compaction_factor, own.stone.waste),
        lifts=count,
        lift_m=lift_thickness_m(laid_m, count),
        overlap_m=grid.side_m if grid else 0.0,
        strips=grid.strips if grid else 0,
        working=tuple(working),
        flags=tuple(flag for flag in flags if flag),
        old_base=kept.words,
    )
    return made, sheets


def _fill(area: JobArea, base_m2: float, below_m: float) -> tuple[float, float]:
    """Return plan area and depth of the granular fill: as ordered, or from the bottom of the dig to sound ground."""
    if area.loose_fill is not None and area.loose_fill.way == "fill":
        return base_m2, max(area.loose_fill.depth_m - below_m, 0.0)
    if not area.foundation_fill_depth_m:
        return 0.0, 0.0
    return area.foundation_edge_m * area.foundation_fill_width_m, area.foundation_fill_depth_m


def _spoil(area: JobArea, company: Company, bank_m3: float, kept: Kept) -> tuple[float, float]:
    """Return loose volume and mass of what is dug; what comes off the top of an old base that stays is gravel."""
    gravel = area.area_m2 * kept.dig_m if kept.kept_m > 0 else 0.0
    parts = [(bank_m3 - gravel, area.soil), (gravel, "gravel")]
    loose = [(loose_volume_m3(bank, swell(soil, company)), soil) for bank, soil in parts if bank > 0]
    return sum(one for one, _ in loose), sum(one * spoil_density_kg_m3(soil) for one, soil in loose)


def swell(soil: str, company: Company) -> float:
    """Return the loose volume of one volume in place, by the owner's figure or the table's."""
    for name, value in company.soils.items():
        if name.casefold() == soil.casefold():
            return value
    return soil_named(soil).swell


def spoil_density_kg_m3(soil: str) -> float:
    """Return what dug soil weighs in the truck [kg/m3].

    Parameters
    ----------
    soil
        One of `basecalc.ground.soils.SOILS`.

    Examples
    --------
    >>> round(spoil_density_kg_m3("gravel"))
    1762

    References
    ----------
    TM-9-2320-366-10-1, Table 2-15 [read]; which row stands for a word is basecalc's own choice.
    """
    return float(table("spoil_weights").exact(soil)["loose"]) * POUND_KG / YARD3_M3
