"""How an old base that stays is counted: what is trimmed, what is laid on it, and when it is dug out after all."""

from dataclasses import dataclass

from basecalc.base.depth import BaseDepth
from basecalc.ground.old_base import old_base_verdict
from basecalc.ground.straightedge import pavement_rule
from basecalc.job import JobArea
from basecalc.takeoff.amounts import told
from basecalc.units import INCH_M


@dataclass(frozen=True, slots=True)
class Kept:
    """What becomes of an old base in the paved area.

    Parameters
    ----------
    kept_m
        What of it stays [m]; 0 where it is dug out.
    new_m
        New stone laid on it [m].
    dig_m
        What is taken off its top [m].
    share
        What an inch of it counts, of an inch of new stone.
    words
        What is done, in a sentence; nothing where nobody asked for it to stay.
    """

    kept_m: float = 0.0
    new_m: float = 0.0
    dig_m: float = 0.0
    share: float = 0.0
    words: str = ""


def kept_base(
    area: JobArea, depth: BaseDepth | None, base_m: float, paver_m: float, bedding_m: float, units: str
) -> Kept:
    """Return how much of an old base stays, so that it and the new stone are worth the base that is needed.

    Levels decide: pavers and sand lie where the finish puts them, so that the top of the old base is taken off or new
    stone laid on it. Where that is not yet worth the base needed, more of its top is replaced by new stone. It is dug
    out, at the full price, where anything speaks against it.

    Parameters
    ----------
    area
        The area.
    depth
        The checks behind the base depth; None where it was given as a number, and then nothing stays.
    base_m
        Base depth needed [m].
    paver_m, bedding_m
        Thickness of pavers and bedding [m].
    units
        'us' or 'metric', for the words.
    """
    if not area.keep_old_base or depth is None:
        return Kept()
    others = []
    if area.geotextile or depth.reinforcement.kind != "none":
        others.append("a geotextile or geogrid is laid, and none can go below a base that stays")
    if area.loose_fill is not None or area.strip_of:
        others.append("there is loose fill below it")
    verdict = old_base_verdict(area.pavement, depth.strength.strength_class, area.area_m2, others)
    if not verdict.stays:
        return Kept(words=f"the old base is priced as dug out, it may not stay: {'; '.join(verdict.against)}")
    top = paver_m + bedding_m - area.finish_above_ground_m - area.old_pavement_m  # below the top of the old base
    new, stays = max(-top, 0.0), verdict.base_m - max(top, 0.0)
    lacking = max(base_m - new - verdict.share * stays, 0.0) / (1 - verdict.share)
    thinnest = pavement_rule("thinnest old base that stays") * INCH_M
    if stays - lacking < thinnest - 1e-9:
        reach = told(max(new + stays, 0.0), "depth", units)
        return Kept(
            words="the old base is priced as dug out, it may not stay: at this finish its bottom lies "
            f"{reach} below the sand, {told(base_m, 'depth', units)} of base is needed, and of the old base less than "
            f"{told(thinnest, 'depth', units)} would be left; a higher finish may keep it"
        )
    kept = Kept(stays - lacking, new + lacking, max(top, 0.0) + lacking, verdict.share)
    trimmed = f"after {told(kept.dig_m, 'depth', units)} of its top is taken off " if kept.dig_m > 0 else ""
    laid = f"{told(kept.new_m, 'depth', units)} of new stone is laid on it" if kept.new_m > 0 else "no stone is added"
    words = (
        f"{told(kept.kept_m, 'depth', units)} of the old base stays {trimmed}and {laid}; old stone counts "
        f"{verdict.share:.2f} of new, together {told(kept.new_m + verdict.share * kept.kept_m, 'depth', units)}"
    )
    return Kept(kept.kept_m, kept.new_m, kept.dig_m, kept.share, words)
