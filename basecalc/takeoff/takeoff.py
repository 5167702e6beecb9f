"""A job's every quantity, per area and option."""

from collections.abc import Mapping

from basecalc.base.depth import BaseDepth
from basecalc.checks import number
from basecalc.company import Company
from basecalc.errors import BasecalcError, InputError
from basecalc.job import Job
from basecalc.takeoff.count import count
from basecalc.takeoff.materials import materials
from basecalc.takeoff.one_area import area_takeoff
from basecalc.takeoff.record import AreaTakeoff, Option, Quantity, Takeoff
from basecalc.takeoff.sheets import Laid

__all__ = ["AreaTakeoff", "Quantity", "Takeoff", "take_off"]


def take_off(
    job: Job,
    company: Company,
    depths: Mapping[str, BaseDepth | float],
    option: Option,
    extra_m: float | Mapping[str, float] = 0.0,
    whole_loads: bool = True,
    cbrs: Mapping[str, float] | None = None,
) -> Takeoff:
    """Return every quantity of a job at the given base depths.

    Parameters
    ----------
    job
        The job.
    company
        The owner's settings and materials.
    depths
        Base depth of each area by its name: the checks behind it, or a number [m].
    option
        What the depths stand for: 'stone', 'geogrid' or 'habit'. Geogrid is laid where the depth was designed with it.
    extra_m
        Added to the base depth of every area, or of those named [m].
    whole_loads
        Whether loads, rolls and bags are whole, as ordered; fractions are for rates.
    cbrs
        Strength of the ground by area [%], for the overlap of rolls where a depth is a number.

    Raises
    ------
    InputError
        An area without a depth, or a material the owner does not have.
    OutOfRangeError
        A depth at which an area cannot be built, and what else the sums refuse; the message names the area.
    PriceError
        The owner's lists lack a material or a truck that the job needs.
    """
    own = materials(job, company)
    made: list[AreaTakeoff] = []
    sheets: list[Laid] = []
    for area in job.areas:
        if area.name not in depths:
            raise InputError(f"area {area.name} has no base depth; one must be given for each area")
        given = depths[area.name]
        depth = given if isinstance(given, BaseDepth) else None
        more = extra_m.get(area.name, 0.0) if isinstance(extra_m, Mapping) else extra_m
        try:
            asked = given.required_m if isinstance(given, BaseDepth) else number("base depth", given, "m", 0.05, 3.0)
            cbr = (cbrs or {}).get(area.name)
            one, rolls = area_takeoff(area, depth, asked + more, company, own, job.units, cbr)
        except BasecalcError as error:
            raise error.at(_where(job, area.name)) from None
        made.append(one)
        sheets += rolls
    counted = count(job, company, own, made, sheets, whole_loads=whole_loads)
    return Takeoff(job, option, tuple(made), counted, whole_loads)


def _where(job: Job, area: str) -> str:
    return f'{job.source_path or f"job {job.number}"}, area "{area}"'
