"""Of a crew page: lifts with the loose stone to spread, loads in and out, hold points, and when to stop and call."""

from typing import Final, cast

from openpyxl.cell.cell import Cell

from basecalc.ground.weaker import rut_of, weaker_signs
from basecalc.pricing.record import Quote
from basecalc.rounding import printed
from basecalc.tables import sources, table
from basecalc.takeoff.hauling import TANDEM_LB, exact_loads
from basecalc.takeoff.materials import materials
from basecalc.takeoff.record import AreaTakeoff
from basecalc.units import INCH_M, POUND_KG
from basecalc.workbook import style
from basecalc.workbook.cautions import cautions
from basecalc.workbook.crew_kit import COLUMNS, box, head, spread_tape, tape, tape_format, tape_words, to_tape
from basecalc.workbook.figures import words
from basecalc.workbook.layout import Flow

_SIGNS: Final = {
    "stand": "a person standing still sinks {0} or more",
    "walk": "a boot sinks {0} or more at a step",
    "pickup": "an empty pickup leaves a rut of {0} or more",
    "dump truck": "a loaded dump truck leaves a rut of {0} or more",
}
_WHEEL_KN: Final = TANDEM_LB / 4 * POUND_KG * 9.80665 / 1000  # half of one axle of a full tandem
_SPANS: Final = ((1, 6), (7, 12), (13, 18), (19, 24))
_IN_A_ROW: Final = 8  # lifts
_INCH: Final = 25.0  # the trade's metric inch in the words of a limit [mm]


def write_lifts(flow: Flow, quote: Quote, area: AreaTakeoff) -> None:
    """Write the lifts of an area: what to spread loose, what it is rolled down to, and where its top then lies.

    Parameters
    ----------
    flow
        The page.
    quote
        The priced job.
    area
        The area as offered.
    """
    units, company = quote.job.units, quote.book.company
    stone = materials(quote.job, company).stone
    count = "one lift" if area.lifts == 1 else f"{area.lifts} lifts"
    head(flow, f"Build up: {stone.name} in {count}")
    scale = 1000.0 if units == "metric" else 1 / INCH_M
    lift, bottom, factor = printed(area.lift_m * scale), printed(area.below_finish_m * scale), stone.compaction_factor
    for (left, right), title in zip(_SPANS, ("Lifts", "Spread each loose", "Roll each down to", "Passes"), strict=True):
        flow.put(left, right, title, "crew column")
    flow.next()
    loose, rolled = spread_tape(area.lift_m * factor, units), tape(area.lift_m, units)
    flow.put(1, 6, area.lifts, "crew big", "whole")
    flow.formula(
        7, 12, to_tape(f"{lift!r}*{factor!r}", units, spread=True), loose, "crew big", tape_format(loose, units)
    )
    flow.formula(13, 18, to_tape(f"{lift!r}", units), rolled, "crew big", tape_format(rolled, units))
    flow.put(19, 24, company.passes, "crew big", "whole")
    for left, right in _SPANS:
        box(flow, flow.row, flow.row, left, right)
    flow.next(28)
    flow.gap(3)
    for first in range(1, area.lifts + 1, _IN_A_ROW):
        numbers = range(first, min(first + _IN_A_ROW, area.lifts + 1))
        _tops(flow, area, numbers, (lift, bottom), units)
    note = (
        f"{factor:g} of loose stone for 1 rolled, by the owner's figure. Passes: common practice, no source; go on "
        "until the machine leaves no mark. Tops are below the finish at the highest corner; at the others add the "
        "finish below it."
    )
    flow.put(1, COLUMNS, note, "crew source")
    flow.next()
    if area.fill_m3 > 0:
        one = area.area
        along = words(one.foundation_edge_m, "length", units)
        wide, deep = words(one.foundation_fill_width_m, "length", units, 1), one.foundation_fill_depth_m
        fill = f"Before that: granular fill along {along} of the building, {wide} wide, {tape_words(deep, units)} deep"
        flow.put(1, COLUMNS, f"{fill} below the base, in the same lifts.", "crew")
        flow.next()


def _tops(flow: Flow, area: AreaTakeoff, numbers: range, sizes: tuple[float, float], units: str) -> None:
    """Write where the tops of some lifts lie, one beside the other."""
    lift, bottom = sizes
    for place, number in enumerate(numbers):
        flow.put(3 * place + 1, 3 * place + 3, f"Top of lift {number}", "crew column")
    flow.next()
    for place, number in enumerate(numbers):
        left = tape(area.below_finish_m - number * area.lift_m, units)
        flow.formula(3 * place + 1, 3 * place + 3, to_tape(f"{bottom!r}-{number}*{lift!r}", units), left, "crew cell",
                     tape_format(left, units))  # fmt: skip
        box(flow, flow.row, flow.row, 3 * place + 1, 3 * place + 3)
    flow.next(22)
    flow.gap(2)


def write_loads(flow: Flow, quote: Quote, area: AreaTakeoff) -> None:
    """Write what goes out and comes in for an area.

    Parameters
    ----------
    flow
        The page.
    quote
        The priced job.
    area
        The area as offered.
    """
    units = quote.job.units
    own = materials(quote.job, quote.book.company)
    out = exact_loads(area.spoil_kg, own.spoil_truck.payload_kg, area.loose_m3, own.spoil_truck.box_m3)
    stone = exact_loads(area.stone_kg, own.stone_truck.payload_kg, area.stone_loose_m3, own.stone_truck.box_m3)
    flow.gap(4)
    for title, first, loads, truck in (
        ("Soil out", words(area.loose_m3, "volume", units, 1) + " loose", out, own.spoil_truck),
        ("Stone in", words(area.stone_kg, "mass", units, 1), stone, own.stone_truck),
    ):
        flow.put(1, 4, title, "crew label")
        flow.put(5, COLUMNS, f"{first}, about {loads:.1f} loads of the {truck.name}, for this area", "crew")
        flow.next()


def write_holds(flow: Flow, quote: Quote, area: AreaTakeoff) -> None:
    """Write where work waits until something was looked at.

    Parameters
    ----------
    flow
        The page.
    quote
        The priced job.
    area
        The area as offered.
    """
    head(flow, "Hold points: do not go on before this is right")
    for title, (text, source) in (("Bottom of dig", _ground(quote, area)), ("Rolled base", _base(quote, area))):
        flow.put(1, 5, title, "crew label")
        flow.put(6, COLUMNS, text, "crew")
        flow.next()
        flow.put(6, COLUMNS, source, "crew source")
        flow.next()


def finished_base() -> tuple[str, str]:
    """Return what holds for every finished base, and its source."""
    found = next(one for one in cautions("crew", ()) if one.key == "crew base surface")
    return found.text, found.source


def _ground(quote: Quote, area: AreaTakeoff) -> tuple[str, str]:
    word = quote.ground[area.area.name].strength.strength_class
    limit = table("crew_limits").exact("rut on new subgrade")
    may = rut_of(word, "dump truck")
    if may is not None and may[1] <= float(limit["value"]):
        return _proof("Before the first lift", float(limit["value"]), quote.job.units), _cited("rut on new subgrade")
    return (
        f"No truck on the dug ground: {word} ground ruts under one. Walk all of it and hold it against the signs "
        "below.",
        "basecalc's own choice [own], from the rule for ruts of a loaded dump truck",
    )  # fmt: skip


def _base(quote: Quote, area: AreaTakeoff) -> tuple[str, str]:
    limit = float(table("crew_limits").exact("rut on stabilised subgrade")["value"])
    cited = (
        f"{_cited('rut on stabilised subgrade')}; {_cited('rut, Illinois')}; for a base: basecalc's own choice [own]"
    )
    traffic = area.depth.traffic if area.depth else None
    if traffic is not None and traffic.wheel_load_kn >= _WHEEL_KN:
        return _proof("Before the bedding sand", limit, quote.job.units), cited
    return (
        "Designed for light traffic: no loaded truck just to test it. Where a machine or a truck crosses it, a rut of "
        f"more than {_limit(limit, quote.job.units)} or pumping: stop and call.", cited,
    )  # fmt: skip


def _proof(when: str, rut_in: float, units: str) -> str:
    truck = table("crew_limits").exact("truck")
    return (
        f"{when}: a loaded tandem truck of {float(truck['value']):g} tons or more, at walking pace. Not more than "
        f"{_limit(rut_in, units)} of rut, no pumping."
    )


def _cited(limit: str) -> str:
    row = table("crew_limits").exact(limit)
    place = f", {row['place']}" if row["place"] else ""
    return f"{sources()[str(row['source'])]}{place} [{row['trust']}]"


def _limit(inches: float, units: str) -> str:
    return f"{int(inches * _INCH)} mm" if units == "metric" else tape_words(inches * INCH_M, units)


def write_stops(flow: Flow, quote: Quote, area: AreaTakeoff) -> None:
    """Write what shows ground weaker than the base was designed for, and what to do then.

    Parameters
    ----------
    flow
        The page.
    quote
        The priced job.
    area
        The area as offered.
    """
    units, name = quote.job.units, area.area.name
    strength = quote.ground[name].strength
    bands = table("cbr_classes").exact(strength.strength_class)
    cbr = strength.cbr if strength.cbr is not None else None
    band = f"CBR {cbr:.2g}, as measured" if cbr is not None else f"CBR {bands['above']:g} to {bands['up_to']:g}"
    head(flow, f"Stop and call: this base is for {strength.strength_class.upper()} ground ({band})")
    first = flow.row
    signs = weaker_signs(strength.strength_class)
    shown = [_SIGNS[sign.test].format(_limit(sign.least_in, units)) for sign in signs]
    flow.gap(3)
    flow.put(1, COLUMNS, f"STOP when {'; or '.join(shown)}.", "crew label")
    flow.next()
    then = (
        "Then: no stone, no truck on it. Mark the place, take a picture with a boot or a rule in it, and call "
        f"{quote.book.company.phone or 'the office'}. The office says how much deeper."
    )
    if name in quote.extra_inch.areas:
        then += f" Going {quote.extra_inch.step} deeper has a price in the quote, and the client agrees first."
    flow.put(1, COLUMNS, then, "crew")
    flow.next()
    sources_of = dict.fromkeys(sign.source.rpartition(" [")[0] for sign in signs)
    marks = " ".join(dict.fromkeys(sign.source.rpartition(" ")[2] for sign in signs))
    flow.put(1, COLUMNS, f"{'; '.join(sources_of)} {marks}", "crew source")
    flow.next()
    box(flow, first, flow.row - 1, 1, COLUMNS)
    for row in range(first, flow.row):
        style.align(cast(Cell, flow.sheet.cell(row, 1)), indent=1)
