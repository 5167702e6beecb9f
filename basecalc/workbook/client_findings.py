"""What the client reads of an old pavement, a strip along the foundation and loose fill; the other way as an option."""

from basecalc.core.units import INCH_M
from basecalc.ground.old_pavement import Pavement, holes_needed, open_words, speaks
from basecalc.ground.readings import settled_gap_in
from basecalc.job import JobArea
from basecalc.pricing.records import FillOption, FillWay, Quote
from basecalc.workbook import client_words
from basecalc.workbook.figures import depth_words, money
from basecalc.workbook.layout import Flow


def found(quote: Quote, area: JobArea) -> str:
    """Return what was found in an area, old pavement and loose fill with it, in plain words."""
    units, ground = quote.job.units, quote.ground[area.name]
    means = client_words.class_means(ground.strength.strength_class, units)
    loose = area.loose_fill
    if loose is not None and loose.way == "fill":
        deep = depth_words(loose.depth_m, units)
        text = (
            f"Loose fill lies here, down to {deep}. We dig it out and compact granular fill in layers in its place, so "
            f"that the base stands on {ground.strength.strength_class} ground, where {means}."
        )
    elif area.strip_of and not ground.spots and area.strength is None:
        text = (
            "Beside a foundation the ground is often loose fill. Nobody has tested it here yet, so we take it as "
            f"{ground.strength.strength_class}: {means}. If a test shows better, it costs less."
        )
    else:
        text = client_words.found(ground, units)
    stays = "Loose fill that stays below can go on settling." if loose is not None and loose.way == "stone" else ""
    return " ".join(part for part in (text, stays, _pavement(area, units), _old_base(quote, area)) if part)


def ground_word(quote: Quote, area: JobArea) -> str:
    """Return the ground of an area in two or three words."""
    if area.loose_fill is not None and area.loose_fill.way == "fill":
        return "loose fill, replaced"
    return f"{quote.ground[area.name].strength.strength_class} ground"


def _pavement(area: JobArea, units: str) -> str:
    if area.pavement is None or (area.strip_of and not area.pavement.seen):
        return ""
    known, kind = area.pavement, area.old_pavement_kind
    said = open_words(speaks(known, kind, units))
    age = f", {known.age:g} years old," if known.age is not None else ""
    gap = max((one.gap_m for one in known.seen), default=0.0)
    if gap / INCH_M >= settled_gap_in():
        looks = f"has sunk or rutted by up to {depth_words(gap, units)}"
    elif known.state not in ("", "even"):
        looks = f"has {known.state.replace('and', 'and is')}" if "settled" in known.state else "is rutted"
    elif known.state == "even" or known.seen:
        looks = "has hardly sunk anywhere"
    else:
        return ""
    what = {"pavers": "old paving"}.get(kind, f"old {kind}")
    return f"The {what}{age} {looks}{f', which speaks for {said} ground below' if said else ''}."


def _old_base(quote: Quote, area: JobArea) -> str:
    """Return whether the old base may stay, and which test holes say so."""
    if not area.old_pavement_m or area.strip_of:
        return ""
    taken, units = quote.offer.takeoff.area(area.name), quote.job.units
    known, need = area.pavement or Pavement(), holes_needed(area.area_m2)
    if taken.kept_m > 0:
        laid = f", under {depth_words(taken.new_m, units)} of new stone" if taken.new_m > 0 else ""
        return (
            f"Our test holes found the old stone base clean, so {depth_words(taken.kept_m, units)} of it stays{laid}; "
            f"together they carry like the {depth_words(taken.base_m, units)} of new stone that this ground needs."
        )
    if len(known.holes) < need and (area.keep_old_base or area.pavement):
        return (
            f"We price the old stone base as dug out. Whether it may stay, {need} test holes through it would show: "
            "clean stone, thick enough, on firm ground."
        )
    return "The old stone base cannot stay, so it is dug out." if area.keep_old_base else ""


def write_option(flow: Flow, quote: Quote) -> None:
    """Write the other way to deal with loose fill, where the job offers it to the client."""
    offered = [one for one in quote.fill_options if one.offered and one.other is not None]
    if not offered:
        return
    start = flow.heading("Another way to deal with the loose fill")
    for one in offered:
        area = next(area for area in quote.job.areas if area.name == one.area)
        flow.put(1, 3, one.area, "label")
        flow.put(4, 12, _option(one, area, quote.job.units))
        flow.next()
    flow.keep(start)


def _option(one: FillOption, area: JobArea, units: str) -> str:
    if one.other is None or one.more is None or area.loose_fill is None:
        return ""
    deep = depth_words(area.loose_fill.depth_m, units)
    price = "the same" if not one.more else f"{money(abs(one.more))} {'more' if one.more > 0 else 'less'}"
    ways = [_built(way, deep, units) for way in (one.chosen, one.other)]
    return (
        f"Our price: {ways[0]}. The other way: {ways[1]}. It costs {price} in all, tax included. Fill that stays "
        "in place can go on settling; fill that is replaced has been compacted."
    )


def _built(way: FillWay, deep: str, units: str) -> str:
    grid = " on a geogrid" if way.on_grid else ""
    base = f"{depth_words(way.base_m, units)} of compacted stone{grid}"
    if way.way == "stone":
        return f"the loose fill stays, under {base}"
    return f"the loose fill is dug out to firm ground at {deep} and granular fill compacted in its place, under {base}"
