"""Of a crew page: what is built up in lifts: granular fill, the stone base, and the stone beside an old base."""

from typing import Final

from basecalc.company import Company
from basecalc.core.numbers import printed
from basecalc.core.units import INCH_M
from basecalc.pricing.records import Quote
from basecalc.takeoff.earthwork import lift_thickness_m, lifts
from basecalc.takeoff.takeoff import AreaTakeoff, materials
from basecalc.workbook.crew_kit import COLUMNS, box, head, spread_tape, tape, tape_format, tape_words, to_tape
from basecalc.workbook.figures import words
from basecalc.workbook.layout import Flow

_SPANS: Final = ((1, 6), (7, 12), (13, 18), (19, 24))
_IN_A_ROW: Final = 8  # lifts


def write_fill(flow: Flow, quote: Quote, area: AreaTakeoff) -> None:
    """Write the lifts of the granular fill below the base of an area; nothing where there is none."""
    own = materials(quote.job, quote.book.company).fill
    if own is None or area.fill_m3 <= 0:
        return
    units, one = quote.job.units, area.area
    count = lifts(area.fill_m, quote.book.company.lift_m)
    head(flow, f"Fill up to the base: {own.name} in {_counted(count)}")
    _table(flow, quote, count, lift_thickness_m(area.fill_m, count), own.compaction_factor)
    below, deep = tape_words(area.below_finish_m, units), tape_words(area.fill_m, units)
    if one.loose_fill is not None:
        told = f"Granular fill, {deep} deep, on all of the dug ground; its top lies {below} below the finish."
    else:
        along = words(one.foundation_edge_m, "length", units)
        wide = words(one.foundation_fill_width_m, "length", units, 1)
        told = f"Granular fill along {along} of the building, {wide} wide, {deep} deep below the base."
    flow.put(1, COLUMNS, told, "crew")
    flow.next()


def write_lifts(flow: Flow, quote: Quote, area: AreaTakeoff) -> None:
    """Write the lifts of an area: what to spread loose, what it is rolled down to, and where its top then lies."""
    units, company = quote.job.units, quote.book.company
    stone = materials(quote.job, company).stone
    if area.kept_m > 0:
        _on_old_base(flow, quote, area)
    else:
        head(flow, f"Build up: {stone.name} in {_counted(area.lifts)}")
    bottom_m = area.below_finish_m
    if area.kept_m > 0 and area.new_m <= 0:  # the only stone is that past the edge
        bottom_m += area.base_m
    if area.new_m > 0 or area.extension_m > 0:
        _table(flow, quote, area.lifts, area.lift_m, stone.compaction_factor)
        for first in range(1, area.lifts + 1, _IN_A_ROW):
            numbers = range(first, min(first + _IN_A_ROW, area.lifts + 1))
            _tops(flow, area.lift_m, bottom_m, numbers, units)
        if area.kept_m > 0 and area.new_m > 0 and area.extension_m > 0:
            flow.put(1, COLUMNS, _past(area, company, stone.compaction_factor, units), "crew")
            flow.next()
        note = (
            f"{stone.compaction_factor:g} of loose stone for 1 rolled, by the owner's figure. Passes: common practice, "
            "no source; go on until the machine leaves no mark. Tops are below the finish at the highest corner; at "
            "the others add the finish below it."
        )
        flow.put(1, COLUMNS, note, "crew source")
        flow.next()


def _on_old_base(flow: Flow, quote: Quote, area: AreaTakeoff) -> None:
    """Write the heading of an area whose old base stays, and what is done with that first."""
    units, name = quote.job.units, materials(quote.job, quote.book.company).stone.name
    if area.new_m > 0:
        head(flow, f"Build up on the old base: {name} in {_counted(area.lifts)}")
    elif area.extension_m > 0:
        head(flow, f"Build up past the edge only: {name} in {_counted(area.lifts)}")
    else:
        head(flow, "Build up: no new stone")
    then = "loosen its top." if area.new_m > 0 else "roll it; no stone is laid on it, the bedding sand comes next."
    told = f"First level the old base that stays, {tape_words(area.kept_m, units)} thick, and {then}"
    flow.put(1, COLUMNS, told, "crew label")
    flow.next()


def _past(area: AreaTakeoff, company: Company, factor: float, units: str) -> str:
    """Return the lifts of the stone beside an old base that stays, where all of the base is new."""
    count = lifts(area.base_m, company.lift_m)
    lift_m = lift_thickness_m(area.base_m, count)
    loose = spread_tape(lift_m * factor, units)
    spread = f"{loose:,.0f} mm" if units == "metric" else tape_words(lift_m * factor, units)
    return (
        f"Past the edge stone {tape_words(area.base_m, units)} deep in {_counted(count)}: spread each {spread} loose, "
        f"roll it down to {tape_words(lift_m, units)}; its top is level with the rest."
    )


def _counted(count: int) -> str:
    return "one lift" if count == 1 else f"{count} lifts"


def _table(flow: Flow, quote: Quote, count: int, lift_m: float, factor: float) -> None:
    """Write how many lifts, how thick each is loose and rolled, and how often it is rolled."""
    units = quote.job.units
    lift = printed(lift_m * (1000.0 if units == "metric" else 1 / INCH_M))
    for (left, right), title in zip(_SPANS, ("Lifts", "Spread each loose", "Roll each down to", "Passes"), strict=True):
        flow.put(left, right, title, "crew column")
    flow.next()
    loose, rolled = spread_tape(lift_m * factor, units), tape(lift_m, units)
    flow.put(1, 6, count, "crew big", "whole")
    flow.formula(
        7, 12, to_tape(f"{lift!r}*{factor!r}", units, spread=True), loose, "crew big", tape_format(loose, units)
    )
    flow.formula(13, 18, to_tape(f"{lift!r}", units), rolled, "crew big", tape_format(rolled, units))
    flow.put(19, 24, quote.book.company.passes, "crew big", "whole")
    for left, right in _SPANS:
        box(flow, flow.row, flow.row, left, right)
    flow.next(28)
    flow.gap(3)


def _tops(flow: Flow, lift_m: float, bottom_m: float, numbers: range, units: str) -> None:
    """Write where the tops of some lifts lie, one beside the other."""
    scale = 1000.0 if units == "metric" else 1 / INCH_M
    lift, bottom = printed(lift_m * scale), printed(bottom_m * scale)
    for place, number in enumerate(numbers):
        flow.put(3 * place + 1, 3 * place + 3, f"Top of lift {number}", "crew column")
    flow.next()
    for place, number in enumerate(numbers):
        left = tape(bottom_m - number * lift_m, units)
        flow.formula(3 * place + 1, 3 * place + 3, to_tape(f"{bottom!r}-{number}*{lift!r}", units), left, "crew cell",
                     tape_format(left, units))  # fmt: skip
        box(flow, flow.row, flow.row, 3 * place + 1, 3 * place + 3)
    flow.next(22)
    flow.gap(2)
