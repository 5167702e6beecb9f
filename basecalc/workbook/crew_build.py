"""Of a crew page: loads in and out, hold points, and when to stop and call."""

from typing import Final, cast

from openpyxl.cell.cell import Cell

from basecalc.core.numbers import fixed
from basecalc.core.published import sources, table
from basecalc.core.units import INCH_M, POUND_KG
from basecalc.ground.old_pavement import holes_needed
from basecalc.ground.warning_signs import rut_of, weaker_signs
from basecalc.pricing.records import Quote
from basecalc.pricing.site import trucks_may_drive
from basecalc.takeoff.earthwork import loose_stone_m3
from basecalc.takeoff.hauling import TANDEM_LB, exact_loads
from basecalc.takeoff.takeoff import AreaTakeoff, broken_out, materials, stone_mass_kg
from basecalc.workbook import style
from basecalc.workbook.cautions import cautions
from basecalc.workbook.client_words import capital
from basecalc.workbook.crew_kit import COLUMNS, box, head, tape_words
from basecalc.workbook.figures import words
from basecalc.workbook.layout import Flow

_SIGNS: Final = {
    "stand": "a person standing still sinks {0} or more",
    "walk": "a boot sinks {0} or more at a step",
    "pickup": "an empty pickup leaves a rut of {0} or more",
    "dump truck": "a loaded dump truck leaves a rut of {0} or more",
}
#: What the crew is told where the base does not bear the trucks that bring its stone, or the job keeps them off.
TIP_FROM_THE_END: Final = "Tip from the end. No loaded truck on the base."
_WHEEL_KN: Final = TANDEM_LB / 4 * POUND_KG * 9.80665 / 1000  # half of one axle of a full tandem
_INCH: Final = 25.0  # the trade's metric inch in the words of a limit [mm]


def write_loads(flow: Flow, quote: Quote, area: AreaTakeoff) -> None:
    """Write what goes out and comes in for an area."""
    units = quote.job.units
    own = materials(quote.job, quote.book.company)
    rows = [
        ("Soil out", area.spoil_kg, area.loose_m3, own.spoil_truck),
        ("Stone in", area.stone_kg, area.stone_loose_m3, own.stone_truck),
    ]
    if area.kept_m > 0 and area.dig_m > 0:
        rows[0] = ("Soil, gravel out", *rows[0][1:])
    if area.pavement_m3 > 0:
        kind = area.area.old_pavement_kind
        rows.insert(0, (f"{capital(kind)} out", *broken_out(kind, area.pavement_m3), own.spoil_truck))
    if own.fill is not None and area.fill_m3 > 0:
        loose = loose_stone_m3(area.fill_m3, own.fill.compaction_factor, own.fill.waste)
        rows.insert(-1, ("Fill in", stone_mass_kg(area.fill_m3, own.fill), loose, own.stone_truck))
    flow.gap(4)
    for title, mass_kg, loose_m3, truck in rows:
        if mass_kg <= 0:
            continue
        loads = exact_loads(mass_kg, truck.payload_kg, loose_m3, truck.box_m3)
        out = title.endswith("out")
        first = words(loose_m3, "volume", units, 1) + " loose" if out else words(mass_kg, "mass", units, 1)
        flow.put(1, 5, title, "crew label")
        flow.put(6, COLUMNS, f"{first}, about {fixed(loads, 1)} loads of the {truck.name}, for this area", "crew")
        flow.next()


def write_holds(flow: Flow, quote: Quote, area: AreaTakeoff) -> None:
    """Write where work waits until something was looked at."""
    head(flow, "Hold points: do not go on before this is right")
    holds = [
        ("Bottom of dig", _ground(quote, area)),
        ("Stone trucks", _trucks(quote, area)),
        ("Rolled base", _base(quote, area)),
    ]
    if area.kept_m > 0:
        holds[0] = ("Old base", _old_base(quote, area))
    elif area.area.loose_fill is not None and area.fill_m > 0:
        holds[0] = ("Sound ground", _sound(quote, area))
    for title, (text, source) in holds:
        flow.put(1, 5, title, "crew label")
        flow.put(6, COLUMNS, text, "crew")
        flow.next()
        flow.put(6, COLUMNS, source, "crew source")
        flow.next()


def everywhere(units: str) -> tuple[tuple[str, str], ...]:
    """Return what holds for the bottom of every dig and for every finished base, each with its source."""
    known = {one.key: one for one in cautions("crew", (), units)}
    return tuple((known[key].text, known[key].source) for key in ("crew proof roll", "crew base surface"))


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


def _trucks(quote: Quote, area: AreaTakeoff) -> tuple[str, str]:
    """Return whether the loaded stone trucks may drive on the base, or must tip from its end."""
    name, row = area.area.name, table("stone_trucks")
    if not trucks_may_drive(quote, name):
        return TIP_FROM_THE_END, "basecalc's own choice [own], from the platform check for the loaded trucks"
    return (
        "Loaded stone trucks may drive on the base once it is at full depth and rolled, and nowhere before that.",
        row.cited,
    )


def _old_base(quote: Quote, area: AreaTakeoff) -> tuple[str, str]:
    """Return what must be seen of an old base before anything is laid on it."""
    return (
        f"Before anything is laid on it, look into it at {holes_needed(area.area.area_m2)} places, a wheel track and "
        f"the worst place among them: {tape_words(area.kept_m, quote.job.units)} or more of clean stone left, no mud "
        f"or fines in it, no water. Thinner, dirty or wet: stop and call.",
        "common practice, no source; how many places: basecalc's own choice [own]",
    )


def _sound(quote: Quote, area: AreaTakeoff) -> tuple[str, str]:
    """Return what must be seen at the bottom of a dig through loose fill before it is filled."""
    word = quote.ground[area.area.name].strength.strength_class
    return (
        f"All loose fill is out and {word.upper()} ground shows everywhere: no truck in the dig, walk all of it, push "
        "the rod, hold it against the signs below. Then CALL, and fill only when the office says so.",
        "common practice, no source",
    )


def _base(quote: Quote, area: AreaTakeoff) -> tuple[str, str]:
    limit = float(table("crew_limits").exact("rut on stabilised subgrade")["value"])
    cited = (
        f"{_cited('rut on stabilised subgrade')}; {_cited('rut, Illinois')}; for a base: basecalc's own choice [own]"
    )
    traffic = area.depth.traffic if area.depth else None
    if traffic is not None and traffic.wheel_load_kn >= _WHEEL_KN:
        return _proof("Before the bedding sand", limit, quote.job.units), cited
    return (
        "Designed for light traffic: no loaded truck just to test it. Where a machine crosses it, a rut of "
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
    """Write what shows ground weaker than the base was designed for, and what to do then."""
    units, name = quote.job.units, area.area.name
    strength = quote.ground[name].strength
    bands = table("cbr_classes").exact(strength.strength_class)
    band = f"CBR {bands['above']:g} to {bands['up_to']:g}"
    if strength.cbr is not None:
        band = f"CBR {strength.cbr:.2g}, {'as measured' if strength.as_read is None else 'with the allowance'}"
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
    if quote.deeper.areas.get(name):
        then += " A deeper base has its price in the quote, and the client agrees first."
    flow.put(1, COLUMNS, then, "crew")
    flow.next()
    sources_of = dict.fromkeys(sign.source.rpartition(" [")[0] for sign in signs)
    marks = " ".join(dict.fromkeys(sign.source.rpartition(" ")[2] for sign in signs))
    flow.put(1, COLUMNS, f"{'; '.join(sources_of)} {marks}", "crew source")
    flow.next()
    box(flow, first, flow.row - 1, 1, COLUMNS)
    for row in range(first, flow.row):
        style.align(cast(Cell, flow.sheet.cell(row, 1)), indent=1)
