"""What the place of an area adds to the strength of its ground, as its job tells it."""

from basecalc.base.construction import StoneTrucks
from basecalc.base.minimum import Site
from basecalc.ground.soils import soil
from basecalc.job import Job, JobArea


def site_of(job: Job, area: JobArea, trucks: StoneTrucks | None = None) -> Site:
    """Return what the place of an area adds to the strength of its ground.

    Parameters
    ----------
    job
        The job; its design winter says whether the place freezes.
    area
        The area: its soil and its water.
    trucks
        The loaded stone trucks, where they drive on the base.
    """
    water = None if area.water_table_m is None else area.water_table_m + area.finish_above_ground_m
    freezes = job.climate is None or job.climate.freezing_index > 0
    return Site(soil(area.soil).fine, water, freezes, trucks)
