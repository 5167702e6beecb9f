"""Which of the owner's stones, pavers, rolls and trucks a job takes: the one it names, or the first on the sheet."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from basecalc.checks import shown
from basecalc.company import Company, Paver, Roll, Stone, Truck
from basecalc.errors import InputError, PriceError
from basecalc.job import Job

Material = TypeVar("Material", Stone, Paver, Roll, Truck)


@dataclass(frozen=True, slots=True)
class Materials:
    """What a job is built with.

    Parameters
    ----------
    stone, bedding
        Base stone and bedding sand.
    fill
        Granular fill; None where no area asks for it.
    paver
        The paver.
    geogrid
        The geogrid; None where the owner has none.
    geotextile
        The separation geotextile; None where no area asks for it.
    spoil_truck, stone_truck
        What hauls soil away and stone in.
    """

    stone: Stone
    bedding: Stone
    fill: Stone | None
    paver: Paver
    geogrid: Roll | None
    geotextile: Roll | None
    spoil_truck: Truck
    stone_truck: Truck


def materials(job: Job, company: Company) -> Materials:
    """Return the owner's materials and trucks that a job takes.

    Parameters
    ----------
    job
        The job, which may name them.
    company
        The owner's lists.

    Raises
    ------
    InputError
        The job names one that the owner does not have.
    PriceError
        The owner has none of a kind that the job needs.
    """
    where = job.source_path or f"job {job.number}"
    stones = {use: [stone for stone in company.stones if stone.kind == use] for use in ("base", "bedding", "fill")}
    rolls = {kind: [roll for roll in company.rolls if roll.kind == kind] for kind in ("geogrid", "geotextile")}
    trucks = {use: [truck for truck in company.trucks if truck.use in (use, "both")] for use in ("spoil", "stone")}
    needs_fill = any(
        area.foundation_fill_depth_m > 0 or (area.loose_fill is not None and area.loose_fill.way == "fill")
        for area in job.areas
    )
    needs_textile = any(area.geotextile for area in job.areas)
    needs_grid = bool(rolls["geogrid"] or job.geogrid)
    return Materials(
        _pick(job.stone, "stone", stones["base"], "base stone", where),
        _pick("", "stone", stones["bedding"], "bedding sand", where),
        _pick("", "stone", stones["fill"], "granular fill", where) if needs_fill else None,
        _pick(job.paver, "paver", company.pavers, "paver", where),
        _pick(job.geogrid, "geogrid", rolls["geogrid"], "geogrid", where) if needs_grid else None,
        _pick(job.geotextile, "geotextile", rolls["geotextile"], "geotextile", where) if needs_textile else None,
        _pick(job.spoil_truck, "spoil truck", trucks["spoil"], "truck that hauls soil", where),
        _pick(job.stone_truck, "stone truck", trucks["stone"], "truck that hauls stone", where),
    )


def _pick(asked: str, key: str, offered: Sequence[Material], kind: str, where: str) -> Material:
    if not offered:
        raise PriceError(f"there is no {kind} in the owner's lists, and this job needs one", where="sheet Company")
    if not asked:
        return offered[0]
    for one in offered:
        if one.name.casefold() == " ".join(asked.split()).casefold():
            return one
    names = ", ".join(one.name for one in offered)
    raise InputError(f"{key} is {shown(asked)}; it must be one of the owner's: {names}", where=where)
