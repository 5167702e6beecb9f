"""Where one word for the soil decides the depth: both depths and the question that settles it, in one sentence."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from basecalc.base.construction import StoneTrucks
from basecalc.base.depth import base_depth
from basecalc.base.frost import FrostGround
from basecalc.base.limits import limit
from basecalc.base.minimum import UNKNOWN, Site
from basecalc.base.reinforcement import NONE, Reinforcement
from basecalc.base.settings import DEFAULT_SETTINGS, DesignSettings
from basecalc.base.traffic import Traffic, traffic
from basecalc.errors import OutOfRangeError
from basecalc.ground.classes import Strength, class_of_cbr
from basecalc.ground.cone import cone_cbr
from basecalc.ground.soils import question
from basecalc.ground.strength import AreaStrength
from basecalc.job import Job
from basecalc.pricing.site import frost_of
from basecalc.pricing.site_place import site_of
from basecalc.rounding import printed
from basecalc.units import INCH_M

_ENGINEER = "an engineered base"


def index_question(mm_per_blow: float, soil: str, units: str = "us") -> str:
    """Return the question for one index of the cone, both depths under light traffic without reinforcement.

    Parameters
    ----------
    mm_per_blow
        The index [mm/blow].
    soil
        One of `basecalc.ground.soils.SOILS`; nothing where it is not named.
    units
        'us' or 'metric'.

    Returns
    -------
    str
        The sentence; nothing where the word does not change the depth by 3 in or more.

    Examples
    --------
    >>> index_question(62, "fat clay")
    'Is it lean or fat clay? A laboratory test of the soil would tell: lean clay 14 in, lab-tested fat clay 6 in'
    >>> index_question(5, "fat clay")
    ''
    """
    ask, *kinds = question(soil)
    if not ask:
        return ""
    ratios = [cone_cbr(mm_per_blow, kind) for kind in kinds]
    depths = [_depth(Strength(class_of_cbr(cbr), cbr), traffic("light"), NONE, DEFAULT_SETTINGS) for cbr in ratios]
    return _sentence(ask, kinds, depths, units)


def area_question(
    job: Job,
    name: str,
    grounds_of: Callable[[Job], Mapping[str, AreaStrength]],
    loads: Traffic,
    laid: Reinforcement,
    design: DesignSettings,
    trucks: StoneTrucks | None = None,
) -> str:
    """Return the question for an area of a job, both depths as it is offered; nothing where it changes little.

    Parameters
    ----------
    job
        The job.
    name
        The area.
    grounds_of
        The strength of each area of a job, by name.
    loads, laid, design
        What its base is designed for.
    trucks
        The loaded stone trucks, where they drive on the base.
    """
    soils = {
        reading.soil
        for spot in job.spots_of(name)
        for reading in spot.readings
        if reading.test.strip().casefold() == "cone" and question(reading.soil)[0]
    }
    if not soils:
        return ""
    asked = sorted({question(soil) for soil in soils})
    depths: list[float | None] = []
    named = next(one for one in job.areas if one.name == name)
    for kind in (1, 2):
        area = replace(named, soil=question(named.soil)[kind] or named.soil)
        spots = tuple(
            replace(spot, readings=tuple(
                replace(reading, soil=question(reading.soil)[kind] or reading.soil)
                if reading.test.strip().casefold() == "cone" else reading
                for reading in spot.readings
            )) if spot.area == name else spot
            for spot in job.spots
        )  # fmt: skip
        ground = grounds_of(replace(job, spots=spots))[name]
        frost, site = frost_of(job, area, design), site_of(job, area, trucks)
        depths.append(_depth(ground.strength, loads, laid, design, frost, site))
    kinds = [" or ".join(dict.fromkeys(one[kind] for one in asked)) for kind in (1, 2)]
    return _sentence(asked[0][0], kinds, depths, job.units)


def _depth(
    strength: Strength,
    loads: Traffic,
    laid: Reinforcement,
    design: DesignSettings,
    frost: FrostGround | None = None,
    site: Site = UNKNOWN,
) -> float | None:
    """Return the base depth [m]; None for ground that no base is designed for."""
    try:
        return base_depth(strength, loads, laid, design, frost=frost, site=site).required_m
    except OutOfRangeError:
        return None


def _sentence(ask: str, kinds: Sequence[str], depths: Sequence[float | None], units: str) -> str:
    weak, strong = depths
    far = limit("a soil word matters from") * INCH_M
    if weak == strong or (weak is not None and strong is not None and printed(weak - strong) < printed(far)):
        return ""
    told = [
        f"{kind} {_ENGINEER}" if depth is None
        else f"{kind} {depth * 1000:.0f} mm" if units == "metric"
        else f"{kind} {depth / INCH_M:.3g} in"
        for kind, depth in zip(kinds, depths, strict=True)
    ]  # fmt: skip
    return f"{ask}: {', '.join(told)}"
