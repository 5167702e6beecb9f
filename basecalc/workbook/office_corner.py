"""The office's sheet Options, its weak corners: the whole area as deep as its weakest spot, against them alone."""

from basecalc.pricing.records import Quote, WeakCorner
from basecalc.workbook.figures import depth_format, money, number, unit
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import columns


def write(flow: Flow, quote: Quote) -> None:
    """Write both ways to build each area that has a weak corner; nothing where there is none."""
    for one in quote.weak_corners:
        top = flow.heading(f"Weak corner, {one.area}: {one.spot}")
        _side_by_side(flow, one, quote.job.units)
        flow.put(1, len(flow.widths), _verdict(one))
        flow.next()
        flow.keep(top)


def _side_by_side(flow: Flow, one: WeakCorner, units: str) -> None:
    columns(flow, "", "Whole area alike, priced", "Weak corner by itself", "The other way more", right=(2, 3, 4))
    for words, both in (("at the weak corner", (one.whole_m, one.weak_m)), ("elsewhere", (one.whole_m, one.rest_m))):
        flow.put(1, 1, f"Base depth {words}, {unit('depth', units)}")
        for place, depth in enumerate(both, 2):
            flow.put(place, place, number(depth, "depth", units), "number", depth_format(depth, units))
        flow.next(rule=True)
    row = flow.row
    flow.put(1, 1, "Total, whole job", "label")
    flow.put(2, 2, one.whole_total, "strong", "money")
    flow.put(3, 3, one.split_total, "strong", "money")
    text = f"=IF(AND(ISNUMBER(B{row}),ISNUMBER(C{row})),C{row}-B{row},NA())"
    flow.formula(4, 4, text, one.split_total - one.whole_total, "strong", "money")
    flow.next(rule=True)


def _verdict(one: WeakCorner) -> str:
    less = one.whole_total - one.split_total
    cheaper = f"The weak corner by itself saves {money(less)}. " if less > 0 else ""
    return (
        f"{cheaper}This is an estimate: of {one.spots} spots {one.spot} alone is weak, so the corner is taken as "
        f"{one.share:.0%} of the area, up to the next good spots. Find its border with two more spots before you make "
        "it an area of its own. Nothing is split here."
    )
