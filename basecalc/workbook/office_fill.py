"""The office's sheet Options, its loose fill: more stone against digging it out, side by side."""

from decimal import Decimal
from typing import Final

from basecalc.core.numbers import half_up
from basecalc.pricing.records import FillOption, FillWay, Quote
from basecalc.workbook.figures import depth_words, money, number, unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import columns

WAYS: Final = {"stone": "More stone above it", "fill": "Dug out, granular fill"}


def write(flow: Flow, quote: Quote) -> None:
    """Write both ways to deal with the loose fill of each area that has some; nothing where there is none."""
    for one in quote.fill_options:
        area = next(area for area in quote.job.areas if area.name == one.area)
        deep = depth_words(area.loose_fill.depth_m, quote.job.units) if area.loose_fill else ""
        top = flow.heading(f"Loose fill, {one.area}: sound ground at {deep}")
        if one.other is None:
            text = f"{WAYS[one.chosen.way]} is priced. The other way cannot be priced here: {one.cannot}."
            flow.put(1, len(flow.widths), text, "caution")
            flow.next()
            flow.keep(top)
            continue
        _side_by_side(flow, one, one.other, quote.job.units)
        for text in (_verdict(one), _recompact(one, quote.job.units)):
            flow.put(1, len(flow.widths), text)
            flow.next()
        flow.keep(top)


def _side_by_side(flow: Flow, one: FillOption, other: FillWay, units: str) -> None:
    columns(flow, "", f"{WAYS[one.chosen.way]}, priced", WAYS[other.way], "The other way more", right=(2, 3, 4))
    both, whole = (one.chosen, other), "#,##0" if units == "metric" else "0.##"
    rows: tuple[tuple[str, list[float | int | Decimal], str], ...] = (
        (f"Base depth here, {unit('depth', units)}", [number(way.base_m, "depth", units) for way in both], whole),
        (f"Ground dug here, in place, {unit('volume', units)}", _amounts(both, "bank_m3", "volume", units), "#,##0.0"),
        (f"Base stone here, {unit('mass', units)}", _amounts(both, "stone_kg", "mass", units), "#,##0.0"),
        (f"Granular fill here, {unit('mass', units)}", _amounts(both, "fill_kg", "mass", units), "#,##0.0"),
        ("Loads out, whole job", [way.loads_out for way in both], "#,##0"),
        ("Loads in, whole job", [way.loads_in for way in both], "#,##0"),
        ("Cost, whole job", [way.cost for way in both], "money"),
        ("Total, whole job", [way.total for way in both], "money"),
    )
    for words, values, format in rows:
        row, last = flow.row, words.startswith("Total")
        flow.put(1, 1, words, "label" if last else "text")
        for place, value in enumerate(values, 2):
            flow.put(place, place, value, "strong" if last else "number", format)
        text = f"=IF(AND(ISNUMBER(B{row}),ISNUMBER(C{row})),C{row}-B{row},NA())"
        flow.formula(4, 4, text, values[1] - values[0], "strong" if last else "number", format)  # type: ignore[operator]
        flow.next(rule=True)


def _amounts(both: tuple[FillWay, FillWay], field: str, kind: str, units: str) -> list[float | int | Decimal]:
    return [half_up(number(getattr(way, field), kind, units), 1) for way in both]


def _recompact(one: FillOption, units: str) -> str:
    """Return what it costs to compact the fill in place, below the stone that stays as deep as on loose fill."""
    if one.recompact is None:
        return f"Dug out and put back in compacted lifts: {one.no_recompact}."
    return (
        f"Dug out and put back in compacted lifts, {number(one.recompact_m3, 'volume', units):,.1f} "
        f"{unit('volume', units)} in place: {money(one.recompact)} more than more stone above it, tax included, by the "
        "prices of digging and placing fill. The base stays as deep: what the fill becomes, a test of it shows."
    )


def _verdict(one: FillOption) -> str:
    if one.other is None or one.more is None:
        return ""
    cheaper = WAYS[one.other.way if one.more < 0 else one.chosen.way].lower()
    text = f"Cheaper: {cheaper}, by {money(abs(one.more))}." if one.more else "Both ways cost the same."
    shown = "The client sees the other way as an option." if one.offered else "The client does not see the other way."
    return (
        f"{text} {shown} Geogrid is chosen for each way by itself, as the job offers it. Near a footing neither way "
        "goes below it without an engineer."
    )
