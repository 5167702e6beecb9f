"""What the command line prints of the ground: a base depth with its checks; a cone log's layers and CBR by depth."""

from collections.abc import Sequence
from math import ceil, log10
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any, Final

from basecalc.core.numbers import plural, printed
from basecalc.core.units import INCH_M, to_unit
from basecalc.core.words import amount, tenths
from basecalc.design.depth import BaseDepth, base_depth
from basecalc.design.sensitivity import unrounded_m
from basecalc.design.settings import DesignSettings
from basecalc.design.settings import reinforcement as reinforced
from basecalc.design.settings import traffic as level
from basecalc.ground.classes import class_of_cbr
from basecalc.ground.classes import strength as ground

if TYPE_CHECKING:  # a base depth does not wait for cone logs
    from basecalc.ground.cone_log import ConeLog, Design, Layer

WIDTH: Final = 96  # of a printed line
_LAST_WORD: Final = "Local code and a licensed engineer's word come before these numbers."
_BAR: Final = 60  # characters for the whole scale of CBR
_LEAST_CBR, _MOST_CBR = 0.5, 100.0
_MARKS: Final = (0.5, 1, 2, 5, 10, 20, 50, 100)
_MOST_ROWS: Final = 36


def designed(strength: str, traffic: str, reinforcement: str, aperture_stability: str | None, unit: str) -> BaseDepth:
    """Return a base depth as the words of the command line ask for it."""
    stability = None if aperture_stability is None else to_unit("aperture stability", aperture_stability, "m-N/deg")
    laid = reinforced(reinforcement, stability)
    settings = DesignSettings() if unit == "in" else DesignSettings(step_m=0.01, minimum_depth_m=0.15)
    return base_depth(ground(strength), level(traffic), laid, settings, unit=unit)


def depth_numbers(made: BaseDepth) -> dict[str, Any]:
    """Return a base depth with every check as plain numbers, depths in inches and millimeters."""
    return {
        "strength_class": made.strength.strength_class,
        "cbr_percent": made.cbr,
        "cbr_from": made.cbr_from,
        "traffic": made.traffic.name,
        "reinforcement": made.reinforcement.kind,
        "required_in": printed(made.required_m / INCH_M),
        "required_mm": printed(made.required_m * 1000),
        "governs": made.governs,
        "reason": made.reason,
        "checks": [
            {
                "check": check.name,
                "depth_in": None if check.depth_m is None else printed(check.depth_m / INCH_M),
                "depth_mm": None if check.depth_m is None else printed(check.depth_m * 1000),
                "counts": check.counts,
                "sentence": check.sentence,
                "source": check.source,
            }
            for check in made.checks
        ],
    }


def depth_text(made: BaseDepth, unit: str, *, compare: bool = False) -> str:
    """Return a base depth and every check of it as lines of text; compared, all checks as one table first."""
    laid = f"{made.traffic.name} traffic, {made.reinforcement.words}"
    places = 1 if unit == "in" else 0
    rows = [
        f"Base depth {amount(made.required_m, unit, 0 if _whole(made.required_m, unit) else places)}",
        *_indented(f"{made.strength.strength_class} ground, {made.cbr_from}; {laid}"),
        *_indented(made.reason),
    ]
    marks = {
        check.name: "governs" if check.name == made.governs else "counts" if check.counts else "shown only"
        for check in made.checks
    }
    depths = {
        check.name: "none" if check.depth_m is None else amount(check.depth_m, unit, places) for check in made.checks
    }
    if compare:
        rows += ["", f"  {'check':26}{'depth':>10}{'against the governing':>24}  it"]
        for check in made.checks:
            apart = "" if check.depth_m is None else amount(check.depth_m - unrounded_m(made), unit, places)
            rows.append(f"  {check.name:26}{depths[check.name]:>10}{apart:>24}  {marks[check.name]}")
    for check in made.checks:
        rows += ["", f"  {check.name}: {depths[check.name]}, {marks[check.name]}", *_indented(check.sentence, 4)]
    rows += ["", _LAST_WORD]
    return "\n".join(rows)


def _whole(depth_m: float, unit: str) -> bool:
    steps = printed(depth_m / INCH_M) if unit == "in" else printed(depth_m * 1000)
    return steps == round(steps)


def _indented(text: str, indent: int = 2) -> list[str]:
    return wrap(text, WIDTH, initial_indent=" " * indent, subsequent_indent=" " * indent)


def read_log(
    path: Path, soil: str = "", *, unit: str = "", hammer: str = "", blows: str = "", depths: str = ""
) -> tuple["ConeLog", "tuple[Design, ...]"]:
    """Return a cone log and the layer to design for of each of its drops."""
    from basecalc.ground.cone_layers import designs
    from basecalc.ground.cone_log_file import read_cone_log

    read = read_cone_log(path, unit=unit, hammer=hammer, blows=blows, depths=depths)
    return read, designs(read, soil)


def log_text(log: "ConeLog", made: Sequence["Design"], unit: str = "in") -> str:
    """Return a log as lines of text: each drop with its layers, the one to design for, and CBR by depth as a plot."""
    count = len(log.drops)
    rows = [f"Cone log {log.file}: {plural(count, 'drop')}, depths read in {log.unit}"]
    rows += [line for note in log.notes for line in _wrapped(f"{note}.")]
    for design in made:
        rows += ["", *_drop_text(design, unit == "mm")]
    if len(made) > 1:
        weakest = min(made, key=lambda one: one.cbr)
        rows += ["", f"Weakest of the {count} drops: {weakest.profile.drop.name}, CBR {weakest.cbr:.2g} %"]
    rows += ["", _LAST_WORD]
    return "\n".join(rows)


def _drop_text(design: "Design", metric: bool) -> list[str]:
    profile = design.profile
    drop = profile.drop
    name = f"Drop {drop.name}" if drop.name else "The drop"
    deep = tenths(drop.depth_m, "metric" if metric else "us")
    rows = [f"{name}: {deep} deep, {len(drop.steps)} readings, design CBR {design.cbr:.2g} %"]
    told = [*drop.notes, *profile.remarks, design.how, *design.warnings]
    rows += [line for text in told for line in _wrapped(f"{text}.")]
    unit = "mm" if metric else "in"
    rows += ["", f"  {'layer':7}{'from, ' + unit:>9}{'to, ' + unit:>9}{'blows':>8}{'mm/blow':>10}{'CBR, %':>9}  ground"]
    for place, layer in enumerate(profile.layers, 1):
        mark = "  <- design" if layer is design.layer else ""
        rows.append(
            f"  {place:<7}{_plain(layer.top_m, metric):>9}{_plain(layer.bottom_m, metric):>9}{layer.blows:>8}"
            f"{layer.mm_per_blow:>10.3g}{layer.cbr:>9.2g}  {class_of_cbr(layer.cbr)}{mark}"
        )
    asked = _soil_question(design, "metric" if metric else "us")
    rows += _wrapped(f"{asked} (light traffic, no geogrid).") if asked else []
    return [*rows, "", *_plot(design, metric)]


def _soil_question(design: "Design", units: str = "us") -> str:
    from basecalc.pricing.site import index_question

    return index_question(design.layer.mm_per_blow, design.layer.soil, units)


def _plain(depth_m: float, metric: bool) -> str:
    return tenths(depth_m, "metric" if metric else "us").rsplit(" ", 1)[0]


def _plot(design: "Design", metric: bool) -> list[str]:
    """Return CBR by depth: a bar for the layer, + for the reading at that depth, * where the layer matters."""
    depth = design.profile.drop.depth_m
    step = next(one for one in ((0.025, 0.05, 0.1) if metric else (INCH_M, 2 * INCH_M, 4 * INCH_M))
                if ceil(printed(depth / one)) <= _MOST_ROWS)  # fmt: skip
    unit = "mm" if metric else "in"
    scale = [" "] * (_BAR + 4)
    for mark in _MARKS:
        text = f"{mark:g}"
        scale[_place(mark) : _place(mark) + len(text)] = text
    rows = [f"  {'depth, ' + unit:>10}  {''.join(scale).rstrip()}  CBR, %"]
    for row in range(ceil(printed(depth / step))):
        top, middle = row * step, min((row + 0.5) * step, (row * step + depth) / 2)
        layer = _at(design.profile.layers, middle)
        own = design.profile.step_cbrs[_reading_at(design, middle)]
        bar = ["#"] * (_place(layer.cbr) + 1) + [" "] * (_BAR + 1)
        bar[_place(own)] = "+"
        inside = design.zone_m[0] <= middle <= design.zone_m[1]
        rows.append(f"  {_plain(top, metric):>10} {'*' if inside else ' '}{''.join(bar).rstrip()}")
    rows.append(f"  {_plain(depth, metric):>10}")
    return [*rows, *_wrapped("# the layer, + the reading at that depth, * where a weak layer matters")]


def _place(cbr: float) -> int:
    share = log10(max(cbr, _LEAST_CBR) / _LEAST_CBR) / log10(_MOST_CBR / _LEAST_CBR)
    return round(min(share, 1.0) * _BAR)


def _at(layers: Sequence["Layer"], depth_m: float) -> "Layer":
    return next(layer for layer in layers if depth_m <= layer.bottom_m)


def _reading_at(design: "Design", depth_m: float) -> int:
    return next(place for place, step in enumerate(design.profile.drop.steps) if depth_m <= step.bottom_m)


def _wrapped(text: str) -> list[str]:
    return wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ")


def log_numbers(log: "ConeLog", made: Sequence["Design"]) -> dict[str, Any]:
    """Return a log as plain numbers, depths in inches and millimeters below the start of the log."""
    return {
        "file": log.file,
        "unit": log.unit,
        "notes": list(log.notes),
        "comments": [{"row": row, "text": text} for row, text in log.comments],
        "drops": [_drop_numbers(design) for design in made],
    }


def _drop_numbers(design: "Design") -> dict[str, Any]:
    profile = design.profile
    return {
        "drop": profile.drop.name,
        "depth_in": _inches(profile.drop.depth_m),
        "depth_mm": printed(profile.drop.depth_m * 1000),
        "design_cbr_percent": design.cbr,
        "design_how": design.how,
        "soil_question": _soil_question(design),
        "zone_in": [_inches(end) for end in design.zone_m],
        "notes": [*profile.drop.notes, *profile.remarks, *design.warnings],
        "layers": [
            {
                **_span(layer.top_m, layer.bottom_m),
                "rows": [layer.first_row, layer.last_row],
                "blows": layer.blows,
                "mm_per_blow": layer.mm_per_blow,
                "cbr_percent": layer.cbr,
                "strength_class": class_of_cbr(layer.cbr),
                "soil": layer.soil,
                "rows_set_aside": list(layer.set_aside),
                "design": layer is design.layer,
            }
            for layer in profile.layers
        ],
        "readings": [
            {
                **_span(step.top_m, step.bottom_m),
                "row": step.row,
                "blows": step.blows,
                "hammer_factor": step.hammer_factor,
                "mm_per_blow": step.mm_per_blow,
                "cbr_percent": cbr,
                "note": step.note,
            }
            for step, cbr in zip(profile.drop.steps, profile.step_cbrs, strict=True)
        ],
    }


def _span(top_m: float, bottom_m: float) -> dict[str, float]:
    return {
        "from_in": _inches(top_m), "to_in": _inches(bottom_m),
        "from_mm": printed(top_m * 1000), "to_mm": printed(bottom_m * 1000),
    }  # fmt: skip


def _inches(depth_m: float) -> float:
    return printed(depth_m / INCH_M)
