"""A drop becomes layers: runs of near-constant slope, each with its index and bearing ratio, bad readings named."""

from collections.abc import Sequence
from math import exp, log

from basecalc.ground.cone import cone_cbr
from basecalc.ground.log.partition import Cut, cut
from basecalc.ground.log.record import Drop, Layer, Profile, Step, log_rule
from basecalc.rounding import printed


def profile(drop: Drop, soil: str = "") -> Profile:
    """Return a drop with its layers.

    Parameters
    ----------
    drop
        The drop.
    soil
        The soil where the log itself names none; nothing takes the curve for all soils.

    Raises
    ------
    InputError
        No such soil.
    OutOfRangeError
        An index beyond the limits of the cone.

    Notes
    -----
    A layer's index is its depth difference times the hammer factor over its blows. Three kinds of readings are set
    aside in both: one that was driven through a boundary belongs to neither layer; one stronger than its layer by far
    (a stone) would make it look stronger; two neighbours of which one went too far and the other too short are one
    misread depth. A lone reading weaker than its layer by far may be a soft seam: it counts, and where it is the last
    of the log it is a layer of its own, because nobody knows what lies below.

    References
    ----------
    As in `basecalc.ground.log.partition.cut`. ASTM-D6951, index; [memory].
    """
    steps = drop.steps
    indices = [step.mm_per_blow for step in steps]
    advances = [(step.bottom_m - step.top_m) * 1000 for step in steps]
    found = cut(indices, advances, drop.ruler_mm)
    alone = _weak_at_the_end(found)
    aside, remarks = _aside(steps, found, alone)
    starts = list(found.starts)
    if len(steps) - 1 in alone:
        starts.append(len(steps) - 1)
        remarks.append(
            f"The last reading, row {steps[-1].row} ({indices[-1]:.3g} mm/blow), is weaker than those above it by far: "
            "it is taken as a layer of its own; drive the cone deeper to see how far down it goes"
        )
    layers = tuple(
        _layer(steps[start:end], aside[start:end], soil)
        for start, end in zip(starts, [*starts[1:], len(steps)], strict=True)
    )
    cbrs = tuple(cone_cbr(step.mm_per_blow, step.soil or soil) for step in steps)
    return Profile(drop, layers, printed(found.scatter), tuple(remarks), cbrs)


def _weak_at_the_end(found: Cut) -> frozenset[int]:
    """Return the last reading, where it may be the top of a weaker layer that the log does not show."""
    last = len(found.apart) - 1
    weaker = found.logs[last] - found.levels[-1]
    apart = found.apart[last] > log_rule("stands out beyond") and weaker > log(log_rule("weaker at the end by"))
    misread = _misread_with(last, found.apart, log_rule("stands out beyond")) is not None
    return frozenset({last} if apart and last > found.starts[-1] and not misread else ())


def _aside(steps: Sequence[Step], found: Cut, alone: frozenset[int]) -> tuple[list[bool], list[str]]:
    """Return which readings count in no layer's index, and a sentence for each that stands out."""
    aside = [False] * len(steps)
    remarks: list[str] = []
    _beside_boundaries(steps, found, aside, remarks)
    beyond = log_rule("stands out beyond")
    apart = found.apart
    ends = (*found.starts[1:], len(steps))
    level = [one for one, start, end in zip(found.levels, found.starts, ends, strict=True) for _ in range(start, end)]
    handled: set[int] = set()
    for place in range(len(steps)):
        if abs(apart[place]) <= beyond or place in handled or aside[place]:
            continue
        row, index, usual = steps[place].row, steps[place].mm_per_blow, exp(level[place])
        mate = _misread_with(place, apart, beyond)
        if mate is not None:
            handled |= {place, mate}
            aside[place] = aside[mate] = True
            rows = sorted((row, steps[mate].row))
            remarks.append(
                f"The depth in row {rows[0]} looks misread, for the cone went too far in one of the rows {rows[0]} and "
                f"{rows[1]} and too short in the other: both are left out of the index"
            )
        elif apart[place] < 0:
            aside[place] = True
            remarks.append(
                f"Row {row} ({index:.3g} mm/blow) is stronger than its layer (about {usual:.3g} mm/blow) by far, a "
                "stone or a slip: it is left out of the index"
            )
        elif place not in alone:
            remarks.append(
                f"Row {row} ({index:.3g} mm/blow) is weaker than its layer (about {usual:.3g} mm/blow) by far, a soft "
                "seam or a slip: it counts; drive the cone again beside it"
            )
    return aside, remarks


def _beside_boundaries(steps: Sequence[Step], found: Cut, aside: list[bool], remarks: list[str]) -> None:
    """Set the readings aside that were driven through a boundary."""
    beyond, left = log_rule("runs across beyond"), int(log_rule("readings left in a layer"))
    ends = (*found.starts[1:], len(steps))
    rows = []
    for below in range(1, len(found.starts)):
        edge = found.starts[below]
        weaker = 1.0 if found.levels[below] > found.levels[below - 1] else -1.0
        for place, layer, towards in ((edge - 1, below - 1, weaker), (edge, below, -weaker)):
            counting = aside[found.starts[layer] : ends[layer]].count(False)
            if found.apart[place] * towards > beyond and counting > left:
                aside[place] = True
                rows.append(steps[place].row)
    if rows:
        names = f"Row {rows[0]} was" if len(rows) == 1 else f"Rows {', '.join(map(str, rows))} were"
        remarks.append(f"{names} driven through two layers: left out of the index of either")


def _misread_with(place: int, apart: Sequence[float], beyond: float) -> int | None:
    """Return the neighbour with which a reading makes up one misread depth, if there is one."""
    opposite = [
        near for near in (place + 1, place - 1)
        if 0 <= near < len(apart) and apart[near] * apart[place] < 0 and abs(apart[near]) > beyond / 2
    ]  # fmt: skip
    return opposite[0] if opposite else None


def _layer(steps: Sequence[Step], aside: Sequence[bool], soil: str) -> Layer:
    counting = [step for step, out in zip(steps, aside, strict=True) if not out] or list(steps)
    depth_mm = sum((step.bottom_m - step.top_m) * 1000 * step.hammer_factor for step in counting)
    index = printed(depth_mm / sum(step.blows for step in counting))
    cbr, weakest = min((cone_cbr(index, name), name) for name in {step.soil or soil for step in steps})
    rows = tuple(step.row for step in steps if step not in counting)
    return Layer(
        steps[0].top_m, steps[-1].bottom_m, steps[0].row, steps[-1].row, sum(step.blows for step in steps), index,
        cbr, weakest, rows,
    )  # fmt: skip
