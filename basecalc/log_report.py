"""What the command line prints of a cone penetrometer's log: layers, a plot of CBR by depth; the same as numbers."""

from collections.abc import Sequence
from math import ceil, log10
from pathlib import Path
from textwrap import wrap
from typing import Any, Final

from basecalc.core.numbers import plural, printed
from basecalc.core.units import INCH_M
from basecalc.ground.classes import class_of_cbr
from basecalc.ground.cone_layers import designs, inches
from basecalc.ground.cone_log import ConeLog, Design, Layer
from basecalc.ground.cone_log_file import read_cone_log
from basecalc.pricing.site import index_question

WIDTH: Final = 96  # of a printed line
_BAR: Final = 60  # characters for the whole scale of CBR
_LEAST_CBR, _MOST_CBR = 0.5, 100.0
_MARKS: Final = (0.5, 1, 2, 5, 10, 20, 50, 100)
_MOST_ROWS: Final = 36


def read_log(
    path: Path, soil: str = "", *, unit: str = "", hammer: str = "", blows: str = "", depths: str = ""
) -> tuple[ConeLog, tuple[Design, ...]]:
    """Return a cone log and the layer to design for of each of its drops."""
    read = read_cone_log(path, unit=unit, hammer=hammer, blows=blows, depths=depths)
    return read, designs(read, soil)


def log_text(log: ConeLog, made: Sequence[Design], unit: str = "in") -> str:
    """Return a log as lines of text: each drop with its layers, the one to design for, and CBR by depth as a plot."""
    count = len(log.drops)
    rows = [f"Cone log {log.file}: {plural(count, 'drop')}, depths read in {log.unit}"]
    rows += [line for note in log.notes for line in _wrapped(f"{note}.")]
    for design in made:
        rows += ["", *_drop_text(design, unit == "mm")]
    if len(made) > 1:
        weakest = min(made, key=lambda one: one.cbr)
        rows += ["", f"Weakest of the {count} drops: {weakest.profile.drop.name}, CBR {weakest.cbr:.2g} %"]
    rows += ["", "Local code and a licensed engineer's word come before these numbers."]
    return "\n".join(rows)


def _drop_text(design: Design, metric: bool) -> list[str]:
    profile = design.profile
    drop = profile.drop
    name = f"Drop {drop.name}" if drop.name else "The drop"
    rows = [
        f"{name}: {inches(drop.depth_m, metric=metric)} deep, {len(drop.steps)} readings, design CBR {design.cbr:.2g} %"
    ]
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
    asked = index_question(design.layer.mm_per_blow, design.layer.soil, "metric" if metric else "us")
    rows += _wrapped(f"{asked} (light traffic, no geogrid).") if asked else []
    return [*rows, "", *_plot(design, metric)]


def _plain(depth_m: float, metric: bool) -> str:
    return inches(depth_m, metric=metric).rsplit(" ", 1)[0]


def _plot(design: Design, metric: bool) -> list[str]:
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


def _at(layers: Sequence[Layer], depth_m: float) -> Layer:
    return next(layer for layer in layers if depth_m <= layer.bottom_m)


def _reading_at(design: Design, depth_m: float) -> int:
    return next(place for place, step in enumerate(design.profile.drop.steps) if depth_m <= step.bottom_m)


def _wrapped(text: str) -> list[str]:
    return wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ")


def log_numbers(log: ConeLog, made: Sequence[Design]) -> dict[str, Any]:
    """Return a log as plain numbers, depths in inches and millimetres below the start of the log."""
    return {
        "file": log.file,
        "unit": log.unit,
        "notes": list(log.notes),
        "comments": [{"row": row, "text": text} for row, text in log.comments],
        "drops": [_drop_numbers(design) for design in made],
    }


def _drop_numbers(design: Design) -> dict[str, Any]:
    profile = design.profile
    return {
        "drop": profile.drop.name,
        "depth_in": _inches(profile.drop.depth_m),
        "depth_mm": printed(profile.drop.depth_m * 1000),
        "design_cbr_percent": design.cbr,
        "design_how": design.how,
        "soil_question": index_question(design.layer.mm_per_blow, design.layer.soil),
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
