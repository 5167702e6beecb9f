"""Of a crew page: how rolls are laid, as a picture of strips and hatched overlaps drawn in cells."""

from typing import Final

from basecalc.pricing.records import Quote
from basecalc.takeoff.rolls import Piece, cut
from basecalc.takeoff.takeoff import AreaTakeoff, Laid, laid, materials
from basecalc.workbook.crew_kit import COLUMNS, HATCH, box, head
from basecalc.workbook.figures import words
from basecalc.workbook.layout import Flow

_FROM: Final = 5  # first column of the picture; at its left stand the names of the strips
_MOST: Final = 5  # strips drawn one by one
_FEW: Final = 3
_HAND_M: Final = 0.1  # less of a spare is not worth a word


def write(flow: Flow, quote: Quote, area: AreaTakeoff) -> None:
    """Write what is laid below the base of an area; nothing where nothing is."""
    for sheet in reversed(laid_in(quote, area)):  # a geotextile lies below a geogrid
        _picture(flow, quote, area, sheet)


def laid_in(quote: Quote, area: AreaTakeoff) -> tuple[Laid, ...]:
    """Return the rolls laid below the base of an area."""
    own = materials(quote.job, quote.book.company)
    cbr = area.depth.cbr if area.depth else None
    return laid(area.area, area.depth, cbr, area.base_area_m2, area.extension_m, own)


def strips_of(quote: Quote, area: AreaTakeoff, sheet: Laid) -> tuple[tuple[Piece, ...], ...]:
    """Return the pieces of each strip in an area, cut from the rolls of the whole job in the order of its areas."""
    places: list[tuple[int, float, float]] = []
    before = 0
    for one in quote.offer.takeoff.areas:
        if one is area:
            before = sum(place[0] for place in places)
        same = [other for other in laid_in(quote, one) if other.roll.name == sheet.roll.name]
        places += [(other.strips, other.length_m, other.end_m) for other in same]
    made, _ = cut(places, sheet.roll.length_m)
    return made[before : before + sheet.strips]


def _picture(flow: Flow, quote: Quote, area: AreaTakeoff, sheet: Laid) -> None:
    units = quote.job.units
    strips = strips_of(quote, area, sheet)
    side, wide = words(sheet.side_m, "length", units, 1), words(sheet.roll.width_m, "length", units, 1)
    head(flow, f"Lay the {sheet.roll.kind}: {sheet.roll.name}, {wide} wide")
    jointed = any(len(pieces) > 1 for pieces in strips)
    count = "1 strip" if sheet.strips == 1 else f"{sheet.strips} strips"
    told = f"{count} of {words(sheet.length_m, 'length', units, 1)} along the longer side, past the edges at both ends"
    if sheet.strips > 1:
        told += f", lapped {side} side by side"
    if jointed:
        told += f", roll ends lapped {words(sheet.end_m, 'length', units, 1)}"
    told += " (hatched)." if jointed or sheet.strips > 1 else "."
    spare = _spare_m(area, sheet)
    if sheet.strips > 1 and spare > _HAND_M:
        told += f" The strips cover {words(spare, 'length', units, 1)} more than the width: lap them more."
    if sheet.sewn:
        told += " SEW THE SEAMS: this ground is too weak for a lap alone."
    flow.put(1, COLUMNS, told, "crew")
    flow.next()
    flow.gap(3)
    drawn = list(range(len(strips))) if len(strips) <= _MOST else [*range(_FEW), len(strips) - 1]
    for place, at in enumerate(drawn):
        if place and at - drawn[place - 1] > 1:
            left_out = at - drawn[place - 1] - 1
            flow.put(_FROM, COLUMNS, f"{left_out} more strips between, laid the same way", "crew column")
            flow.next(16)
        if at:
            _lap(flow, side)
        _strip(flow, at, strips[at], sheet, units)


def _spare_m(area: AreaTakeoff, sheet: Laid) -> float:
    """Return how much wider the strips are together than what they must cover [m]."""
    width = area.area.extent_m[1] + 2 * area.extension_m
    return sheet.strips * sheet.roll.width_m - (sheet.strips - 1) * sheet.side_m - width


def _lap(flow: Flow, side: str) -> None:
    flow.put(1, _FROM - 1, f"lap {side}", "crew source", across="right")
    for column in range(_FROM, COLUMNS + 1):
        flow.sheet.cell(flow.row, column).fill = HATCH
    box(flow, flow.row, flow.row, _FROM, COLUMNS)
    flow.next(11)


def _strip(flow: Flow, at: int, pieces: tuple[Piece, ...], sheet: Laid, units: str) -> None:
    """Write one strip: its pieces side by side, hatched where one ends over the next."""
    row = flow.row
    flow.put(1, _FROM - 1, f"Strip {at + 1}", "crew label")
    room = COLUMNS - _FROM + 1
    ends, reached = [0], 0.0
    for piece in pieces[:-1]:
        reached += piece.length_m - (sheet.end_m if len(ends) > 1 else 0.0)
        ends.append(min(max(ends[-1] + 3, round(room * reached / sheet.length_m)), room - 3))
    ends.append(room)
    for number, piece in enumerate(pieces):
        first, last = _FROM + ends[number], _FROM + ends[number + 1] - 1
        if number:
            flow.sheet.cell(row, first).fill = HATCH
            box(flow, row, row, first, first)
            first += 1
        if first <= last:
            flow.put(first, last, f"roll {piece.roll}: {words(piece.length_m, 'length', units, 1)}", "crew column",
                     across="center")  # fmt: skip
    flow.next(20)
    box(flow, row, row, _FROM, COLUMNS)
