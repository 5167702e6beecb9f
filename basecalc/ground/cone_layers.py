"""A drop of the cone becomes layers of near-constant slope, bad readings named; which layer a base is designed for."""

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, exp, inf, log
from pathlib import PurePath
from statistics import median
from typing import Final

from basecalc.core.errors import InputError
from basecalc.core.numbers import number, printed
from basecalc.core.published import sources, table
from basecalc.core.units import INCH_M
from basecalc.core.words import tenths
from basecalc.ground.cone_log import RULES, ConeLog, Design, Drop, Layer, Profile, Step, log_rule
from basecalc.ground.readings import Reading, cone_cbr

Numbers = Sequence[float]
_STEP: Final = 0.02  # of the logarithm of the index: 2 % of the index, far finer than any scatter
_NORMAL_MAD: Final = 1.4826  # standard deviation by median absolute deviation, normal scatter
_TIE: Final = 1e-3  # of a square: a reading beyond the cap of two layers goes to the nearer one
_READ_TWICE: Final = 6**-0.5  # standard deviation of a difference of two readings, in marks of the ruler


@dataclass(frozen=True, slots=True)
class Cut:
    """Levels of a row of indices."""

    starts: tuple[int, ...]
    levels: tuple[float, ...]
    logs: Numbers
    apart: Numbers
    scatter: float


def cut(indices: Numbers, advances_mm: Numbers, ruler_mm: float) -> Cut:
    """Return the best cut of a row of indices into levels, from the advance [mm] of each reading and the ruler's mark.

    Notes
    -----
    ::

        minimize  sum over readings of min((y - level)^2 / s^2, K^2)  +  price x log(readings) x (levels - 1)
        y = ln(index),   s^2 = scatter^2 + (ruler / (sqrt(6) advance))^2

    found exactly on a grid of levels, by functional dynamic programming with a capped ("biweight") loss: a bad reading
    can never pull a boundary to itself. A level has at least two readings.

    References
    ----------
    FEARNHEAD-RIGAILL, capped loss; MAIDSTONE-2017, functional pruning and optimal partitioning; [memory]. The figures
    of `cone_log_rules` are basecalc's own.
    """
    logs = [log(index) for index in indices]
    scatter = _scatter(logs)
    spread = [(scatter**2 + (_READ_TWICE * ruler_mm / advance) ** 2) ** 0.5 for advance in advances_mm]
    starts = _starts(logs, spread)
    spans = list(pairwise([*starts, len(logs)]))
    levels = tuple(median(logs[start:end]) for start, end in spans)
    level = [middle for middle, (start, end) in zip(levels, spans, strict=True) for _ in range(start, end)]
    apart = tuple((y - middle) / s for y, middle, s in zip(logs, level, spread, strict=True))
    return Cut(starts, levels, tuple(logs), apart, scatter)


def _scatter(logs: Numbers) -> float:
    """Return the scatter by neighboring readings, which the few jumps between layers hardly touch."""
    usual = log_rule("usual scatter")
    seen = len(logs) - 1
    if seen < 1:
        return usual
    weight = log_rule("readings the usual scatter counts for")
    measured = median(abs(below - above) * 2**-0.5 for above, below in pairwise(logs)) * _NORMAL_MAD
    pooled = ((weight * usual**2 + seen * measured**2) / (weight + seen)) ** 0.5
    return float(min(max(pooled, log_rule("least scatter")), log_rule("greatest scatter")))


def _starts(logs: Numbers, spread: Numbers) -> tuple[int, ...]:
    """Return where the levels of the cheapest cut start."""
    count, least = len(logs), int(log_rule("least readings in a layer"))
    if count < 2 * least:
        return (0,)
    price = log_rule("price of a layer") * log(count)
    lowest = min(logs) - _STEP
    grid = [lowest + step * _STEP for step in range(ceil((max(logs) + 2 * _STEP - lowest) / _STEP))]
    cap = log_rule("stands out beyond") ** 2
    cheapest = [inf] * count  # of all cuts that end behind a reading
    began = [0] * count  # where the last level of that cut began
    cost = [0.0] * len(grid)  # of the cuts up to here, by the last level
    start = [0] * len(grid)
    losses: deque[list[float]] = deque(maxlen=least)  # of the last readings, by level
    for end in range(count):
        squares = [((logs[end] - level) / spread[end]) ** 2 for level in grid]
        losses.append([(square if square < cap else cap) + _TIE * square for square in squares])
        cost = [so_far + more for so_far, more in zip(cost, losses[-1], strict=True)]
        before = end - least
        if before >= least - 1:
            entry = cheapest[before] + price
            for place, more in enumerate(zip(*losses, strict=True)):
                fresh = entry + sum(more)
                if fresh < cost[place]:
                    cost[place], start[place] = fresh, before + 1
        if end >= least - 1:
            cheapest[end] = min(cost)
            began[end] = start[cost.index(cheapest[end])]
    starts = [began[-1]]
    while starts[-1] > 0:
        starts.append(began[starts[-1] - 1])
    return tuple(reversed(starts))


def profile(drop: Drop, soil: str = "") -> Profile:
    """Return a drop with its layers; the soil is used where the log itself names none.

    Notes
    -----
    A layer's index is ``depth difference x hammer factor / blows``; its CBR is that of the index by the weakest curve
    of its soils. Set aside in both: a reading driven through a boundary, which belongs to neither layer; one stronger
    than its layer by far or that did not move the cone (a stone), which would make it look stronger. Two neighbors of
    which one went too far and the other too short by as much are one misread depth: they count as one reading.

    A seam is a layer of its own, however few readings it has: a run of readings about 2 in thick or more whose index
    is more than 1.35 times that of every layer it lies in. So a layer's CBR, by the curve for all soils, is never more
    than 1.4 times that of any such run within it. A weak reading thinner than that counts in its layer; where it is
    the last of the log it is a layer of its own, because nobody knows what lies below.

    References
    ----------
    As in `basecalc.ground.cone_layers.cut`. ASTM-D6951, index; [memory]. The figures of `cone_log_rules` are
    basecalc's own.
    """
    every = drop.steps
    places = [place for place, step in enumerate(every) if step.mm_per_blow > 0]
    steps = [every[place] for place in places]
    split = cut(
        [step.mm_per_blow for step in steps], [(step.bottom_m - step.top_m) * 1000 for step in steps], drop.ruler_mm
    )
    alone = _weak_at_the_end(split, steps)
    aside, pairs, weak, remarks = _aside(steps, split)
    starts = list(split.starts)
    if len(steps) - 1 in alone:
        starts.append(len(steps) - 1)
        remarks.append(
            f"The last reading, row {steps[-1].row} ({steps[-1].mm_per_blow:.3g} mm/blow), is weaker than those above "
            "it by far: it is taken as a layer of its own; drive the cone deeper to see how far down it goes"
        )
    seams = _with_seams(steps, starts, aside, pairs, remarks)
    remarks += [
        f"Row {steps[place].row} ({steps[place].mm_per_blow:.3g} mm/blow) is weaker than its layer (about {usual:.3g} "
        "mm/blow) by far, a soft seam or a slip: it counts; drive the cone again beside it"
        for place, usual in weak
        if place not in alone | seams
    ]
    remarks += [
        f"Row {step.row}: {step.blows} blows did not move the cone, a stone (or a row written twice): less than 1 mm a "
        "blow, left out of the index"
        for step in every
        if step.mm_per_blow == 0
    ]
    out = {places[place] for place, gone in enumerate(aside) if gone}
    out |= {place for place, step in enumerate(every) if step.mm_per_blow == 0}
    edges = [0, *(places[start] for start in starts[1:]), len(every)]
    layers = tuple(
        _layer(every[top:end], [place in out for place in range(top, end)], soil) for top, end in pairwise(edges)
    )
    cbrs = tuple(cone_cbr(max(step.mm_per_blow, 1.0), step.soil or soil) for step in every)
    return Profile(drop, layers, printed(split.scatter), tuple(remarks), cbrs)


def _weak_at_the_end(split: Cut, steps: Sequence[Step]) -> frozenset[int]:
    """Return the last reading, where it may be the top of a weaker layer that the log does not show."""
    last = len(split.apart) - 1
    weaker = split.logs[last] - split.levels[-1]
    apart = split.apart[last] > log_rule("stands out beyond") and weaker > log(log_rule("weaker at the end by"))
    misread = _misread_with(last, steps, split) is not None
    return frozenset({last} if apart and last > split.starts[-1] and not misread else ())


def _level(split: Cut) -> list[float]:
    """Return the level of each reading's layer."""
    ends = (*split.starts[1:], len(split.logs))
    return [mid for mid, start, end in zip(split.levels, split.starts, ends, strict=True) for _ in range(start, end)]


def _aside(steps: Sequence[Step], split: Cut) -> tuple[list[bool], dict[int, int], list[tuple[int, float]], list[str]]:
    """Return what stands out: what counts in no index, misread pairs, weak readings with what is usual; sentences."""
    aside = [False] * len(steps)
    pairs: dict[int, int] = {}
    weak: list[tuple[int, float]] = []
    remarks: list[str] = []
    _beside_boundaries(steps, split, aside, remarks)
    level = _level(split)
    for place in range(len(steps)):
        stands_out = abs(split.apart[place]) > log_rule("stands out beyond")
        weaker = split.logs[place] - level[place] > log(log_rule("weaker in a seam by"))
        if not (stands_out or weaker) or place in pairs or aside[place]:
            continue
        mate = _misread_with(place, steps, split)
        if mate is None and not stands_out:
            continue
        if mate is not None and mate not in pairs and not aside[mate]:
            pairs |= {place: mate, mate: place}
            rows = sorted((steps[place].row, steps[mate].row))
            remarks.append(
                f"The depth in row {rows[0]} looks misread, for the cone went too far in one of the rows {rows[0]} and "
                f"{rows[1]} and too short in the other: the two count together, as one reading"
            )
        elif split.apart[place] < 0:
            aside[place] = True
            remarks.append(
                f"Row {steps[place].row} ({steps[place].mm_per_blow:.3g} mm/blow) is stronger than its layer (about "
                f"{exp(level[place]):.3g} mm/blow) by far, a stone or a slip: it is left out of the index"
            )
        else:
            weak.append((place, exp(level[place])))
    return aside, pairs, weak, remarks


def _beside_boundaries(steps: Sequence[Step], split: Cut, aside: list[bool], remarks: list[str]) -> None:
    """Set the readings aside that were driven through a boundary."""
    beyond, left = log_rule("runs across beyond"), int(log_rule("readings left in a layer"))
    ends = (*split.starts[1:], len(steps))
    rows = []
    for below in range(1, len(split.starts)):
        edge = split.starts[below]
        weaker = 1.0 if split.levels[below] > split.levels[below - 1] else -1.0
        for place, layer, towards in ((edge - 1, below - 1, weaker), (edge, below, -weaker)):
            counting = aside[split.starts[layer] : ends[layer]].count(False)
            if split.apart[place] * towards > beyond and counting > left:
                aside[place] = True
                rows.append(steps[place].row)
    if rows:
        names = f"Row {rows[0]} was" if len(rows) == 1 else f"Rows {', '.join(map(str, rows))} were"
        remarks.append(f"{names} driven through two layers: left out of the index of either")


def _misread_with(place: int, steps: Sequence[Step], split: Cut) -> int | None:
    """Return the neighbor with which a reading makes up one misread depth: together they are as their layer is."""
    beyond, level = log_rule("stands out beyond"), _level(split)
    for near in (place + 1, place - 1):
        if not 0 <= near < len(steps) or level[near] != level[place]:
            continue
        opposite = split.apart[near] * split.apart[place] < 0 and abs(split.apart[near]) > beyond / 2
        together = log(_index([steps[place], steps[near]]))
        step = steps[place]
        usual_mm = exp(level[place]) * step.blows / step.hammer_factor
        slip = abs((step.bottom_m - step.top_m) * 1000 - usual_mm) <= log_rule("greatest slip of the ruler")
        if opposite and slip and abs(together - level[place]) <= split.scatter * beyond / 2:
            return near
    return None


def _index(steps: Sequence[Step]) -> float:
    """Return the index of several readings together [mm/blow]."""
    depth_mm = sum((step.bottom_m - step.top_m) * 1000 * step.hammer_factor for step in steps)
    return depth_mm / sum(step.blows for step in steps)


@dataclass(frozen=True, slots=True)
class _Run:
    """Readings from one place up to another (not counted itself), and how much they say for a layer of their own."""

    start: int
    end: int
    readings: int
    gain: float


def _with_seams(
    steps: Sequence[Step], starts: list[int], aside: list[bool], pairs: dict[int, int], remarks: list[str]
) -> set[int]:
    """Cut out each run of weak readings that is thick enough for a layer; return the places of readings in a seam.

    A single reading beside a weaker layer was driven through the boundary: it goes to that layer and does not count.
    """
    seams: set[int] = set()
    for _ in steps:
        run = max(_runs(steps, starts, aside, pairs), key=lambda run: run.gain, default=None)
        if run is None:
            break
        index = _index(steps[run.start : run.end])
        spans = list(pairwise([*starts, len(steps)]))
        above = any(end == run.start and _counted(steps, aside, top, end) > index for top, end in spans)
        below = any(top == run.end and _counted(steps, aside, top, end) > index for top, end in spans)
        # Where the layers around it start anew: behind the run, before it, or at both of its ends.
        edges = {run.end} if above else {run.start} if below else {run.start, run.end}
        first, last = steps[run.start].row, steps[run.end - 1].row
        named = f"Row {first} ({{}}) " if first == last else f"Rows {first} to {last} ({{}} together) "
        named = named.format(f"{index:.3g} mm/blow")
        if run.readings == 1 and (above or below):
            aside[run.start : run.end] = [True] * (run.end - run.start)
            remarks.append(f"{named}was driven through two layers: it belongs to the weaker one, left out of its index")
        else:
            edges = {run.start, run.end}
            remarks.append(
                f"{named}{'is' if first == last else 'are'} weaker than the ground around by far and thick enough for "
                "a layer: it counts as a layer of its own; if it may be a slip, drive the cone again beside it"
            )
        kept = {start for start in starts if not run.start <= start <= run.end}
        starts[:] = sorted({0} | kept | edges - {len(steps)})
        seams |= set(range(run.start, run.end))
    return seams


def _counted(steps: Sequence[Step], aside: Sequence[bool], start: int, end: int) -> float:
    """Return the index of a layer, of the readings that count [mm/blow]."""
    inside = range(start, end)
    return _index([steps[place] for place in inside if not aside[place]] or [steps[place] for place in inside])


def _runs(steps: Sequence[Step], starts: Sequence[int], aside: Sequence[bool], pairs: dict[int, int]) -> Iterator[_Run]:
    """Yield each run of readings that is thick enough for a layer and weaker by far than every layer it lies in."""
    least_mm, weaker = log_rule("least thickness of a seam"), log_rule("weaker in a seam by")
    layer = [
        index
        for start, end in pairwise([*starts, len(steps)])
        for index in [_counted(steps, aside, start, end)] * (end - start)
    ]
    counting = [place for place in range(len(steps)) if not aside[place] and pairs.get(place, place) >= place]
    ends = [max(place, pairs.get(place, place)) + 1 for place in counting]
    indices = [_index(steps[place:end]) for place, end in zip(counting, ends, strict=True)]
    for first, start in enumerate(counting):
        if indices[first] <= layer[start]:
            continue
        weakest = thick = deep = blows = 0.0
        for last in range(first, len(counting)):
            weakest = max(weakest, layer[counting[last]])
            for step in steps[counting[last] : ends[last]]:
                thick += (step.bottom_m - step.top_m) * 1000
                deep += (step.bottom_m - step.top_m) * 1000 * step.hammer_factor
                blows += step.blows
            index = deep / blows
            if indices[last] > layer[counting[last]] and index > weaker * weakest and thick >= least_mm - 1e-6:
                count = last + 1 - first
                yield _Run(start, ends[last], count, count * log(index / weakest) ** 2)


def _layer(steps: Sequence[Step], aside: Sequence[bool], soil: str) -> Layer:
    counting = [step for step, out in zip(steps, aside, strict=True) if not out] or list(steps)
    index = printed(_index(counting))
    cbr, weakest = min((cone_cbr(index, name), name) for name in {step.soil or soil for step in steps})
    rows = tuple(step.row for step in steps if step not in counting)
    return Layer(
        steps[0].top_m, steps[-1].bottom_m, steps[0].row, steps[-1].row, sum(step.blows for step in steps), index,
        cbr, weakest, rows,
    )  # fmt: skip


def designs(log: ConeLog, soil: str = "", base_bottom_m: float | None = None) -> tuple[Design, ...]:
    """Return the layer to design for of each drop of a log."""
    layers = []
    for drop in log.drops:
        try:
            layers.append(design(profile(drop, soil), base_bottom_m))
        except InputError as refusal:
            place = ", ".join(part for part in (log.file, f"drop {drop.name}" if drop.name else "") if part)
            raise refusal.at(place) from None
    return tuple(layers)


def design(whole: Profile, base_bottom_m: float | None = None) -> Design:
    """Return the layer of a drop to design for: the weakest that reaches into the 24 in below the base.

    Where the bottom of the base is not known yet, every layer of the log counts, which is never too strong.
    """
    depth = whole.drop.depth_m
    warnings: list[str] = []
    if base_bottom_m is None:
        zone = (0.0, depth)
        inside = whole.layers
        rule = "every layer counts, as the bottom of the base is not given"
    else:
        deepest = log_rule("greatest depth")
        bottom_mm = number("bottom of the base", base_bottom_m * 1000, "mm", 0, deepest, why="no log goes deeper")
        zone = (bottom_mm / 1000, bottom_mm / 1000 + log_rule("zone below the base") * INCH_M)
        end, top, bottom = (tenths(value, "us") for value in (depth, *zone))
        inside = tuple(
            layer for layer in whole.layers if min(layer.bottom_m, zone[1]) - max(layer.top_m, zone[0]) > 1e-9
        )
        if not inside:
            raise InputError(
                f"the log ends {end} deep, above the bottom of the base ({top}); it must go deeper to say anything "
                "about the ground under it"
            )
        rule = f"from the bottom of the base at {top} to {bottom}"
        if depth < zone[1] - 1e-9:
            warnings.append(f"The log ends at {end}; what lies between there and {bottom} was not tested")
    weakest = min(inside, key=lambda layer: (layer.cbr, layer.top_m))
    of = f"the weakest of {len(inside)} layers" if len(inside) > 1 else "the only layer"
    how = (
        f"CBR {weakest.cbr:.2g} % is that of {of} ({rule}): from {between(weakest)} deep the cone went in "
        f"{_a_blow(whole, weakest)}"
    )
    return Design(whole, weakest, zone, how, tuple(warnings))


def log_reading(
    chosen: Design, file: str, moisture: str = "", soil: str = "", *, assumed: Sequence[str] = (), metric: bool = False
) -> Reading:
    """Return the layer to design for as a reading of the cone, to be judged like any other."""
    drop, layer = chosen.profile.drop, chosen.layer
    name = PurePath(file).name + (f", drop {drop.name}" if drop.name else "")
    count = len(chosen.profile.layers)
    layers = "one layer" if count == 1 else f"{count} layers"
    matters = "which" if count == 1 else "the weakest that matters"
    deep = tenths(drop.depth_m, "metric" if metric else "us")
    told = (
        f"Driving a cone penetrometer {deep} deep (log {name}): {layers}, {matters}, from "
        f"{between(layer, metric=metric)}, went in {_a_blow(chosen.profile, layer)}"
    )
    method = f"layers after {sources()['FEARNHEAD-RIGAILL']}; the zone that matters: {table(RULES).cited}"
    texts = (chosen.how, *chosen.warnings, *chosen.profile.remarks, *drop.notes, *assumed)
    note = " ".join(f"{text}." for text in texts)
    return Reading("cone", layer.mm_per_blow, moisture, layer.soil or soil, note, told, method)


def _a_blow(whole: Profile, layer: Layer) -> str:
    light = any(step.hammer_factor != 1 for step in whole.drop.steps)
    return f"{layer.mm_per_blow:.3g} mm a blow" + (" of the 8 kg hammer" if light else "")


def between(layer: Layer, *, metric: bool = False) -> str:
    """Return where a layer lies in words: ``4.5 to 12 in``."""
    top, bottom = (tenths(depth, "metric" if metric else "us") for depth in (layer.top_m, layer.bottom_m))
    return f"{top.rsplit(' ', 1)[0]} to {bottom}"
