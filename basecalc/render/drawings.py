"""Native drawings for a worksheet: plans, sections and bars as DrawingML group shapes, to scale, and pictures.

The parts are those of ECMA-376 part 1: 20.5 (SpreadsheetML drawings: oneCellAnchor, grpSp, sp, pic) and 20.1
(DrawingML: custGeom, prstGeom, ln, txBody), clause numbers from memory. Everything is written in inches and anchored to
one cell, so that no column stretches it. They are put into the saved file: openpyxl drops shapes when it saves.
"""

import re
import struct
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from io import BytesIO
from itertools import pairwise
from math import cos, floor, hypot, inf, log10, pi, sin
from pathlib import Path
from typing import Final
from zipfile import ZIP_DEFLATED, ZipFile

from basecalc.core.errors import InputError
from basecalc.core.files import whole_file
from basecalc.core.units import FOOT_M
from basecalc.core.words import length_words
from basecalc.report import PlanArea
from basecalc.workbook.new_file import Undated
from basecalc.workbook.style import safe_text

Point = tuple[float, float]

_FACE: Final = "Arial"
_EMU: Final = 914_400  # in an inch
_XDR: Final = "http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing"
_A: Final = "http://schemas.openxmlformats.org/drawingml/2006/main"
_REL: Final = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE: Final = "http://schemas.openxmlformats.org/package/2006/relationships"
_KINDS: Final = {"png": "image/png", "jpeg": "image/jpeg"}
_MOST_BYTES: Final = 20_000_000
_ROUND: Final = 36  # sides that a circle is drawn with
_HEAD: Final = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>'


def outward(corners: Sequence[Point]) -> list[Point]:
    """Return the outward unit normal of each side; corners run counterclockwise.

    Examples
    --------
    >>> outward([(0, 0), (2, 0), (2, 1), (0, 1)])
    [(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)]
    """
    sides = zip(corners, [*corners[1:], corners[0]], strict=True)
    runs = [(x2 - x1, y2 - y1, hypot(x2 - x1, y2 - y1)) for (x1, y1), (x2, y2) in sides]
    return [(dy / run + 0.0, -dx / run + 0.0) for dx, dy, run in runs]


def moved_out(corners: Sequence[Point], by: Sequence[float]) -> list[Point]:
    """Return the outline with each side moved out by its own distance.

    Examples
    --------
    >>> moved_out([(0, 0), (2, 0), (2, 1), (0, 1)], [0, 1, 0, 0])
    [(0.0, 0.0), (3.0, 0.0), (3.0, 1.0), (0.0, 1.0)]
    """
    normals, found = outward(corners), []
    for place, (x, y) in enumerate(corners):
        (ax, ay), (bx, by_), at, bt = normals[place - 1], normals[place], by[place - 1], by[place]
        turn = ax * by_ - ay * bx
        if abs(turn) < 1e-6:  # two sides in one line
            found.append((x + bt * bx, y + bt * by_))
        else:
            found.append((x + (at * by_ - bt * ay) / turn, y + (bt * ax - at * bx) / turn))
    return found


@lru_cache(maxsize=256)
def roomiest(corners: tuple[Point, ...]) -> tuple[Point, float]:
    """Return a point well inside an outline, where its name has the most room, and how far the nearest side is.

    Examples
    --------
    >>> roomiest(((0, 0), (8, 0), (8, 4), (0, 4)))
    ((4.0, 2.0), 2.0)
    """
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    sides = list(zip(corners, [*corners[1:], corners[0]], strict=True))
    middle = (sum((min(xs), max(xs))) / 2, sum((min(ys), max(ys))) / 2)
    best, most = middle, -inf
    for i in range(1, 32):
        for j in range(1, 32):
            x, y = min(xs) + (max(xs) - min(xs)) * i / 32, min(ys) + (max(ys) - min(ys)) * j / 32
            if (
                sum(
                    (ya > y) != (yb > y) and x < xa + (y - ya) / (yb - ya) * (xb - xa) for (xa, ya), (xb, yb) in sides
                ) % 2
            ):
                room = min(_apart((x, y), a, b) for a, b in sides) - 1e-3 * hypot(x - middle[0], y - middle[1])
                if room > most:
                    best, most = (x, y), room
    return best, max(most, 0.0)


def _apart(point: Point, a: Point, b: Point) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    along = min(max(((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / (dx * dx + dy * dy), 0.0), 1.0)
    return hypot(point[0] - a[0] - along * dx, point[1] - a[1] - along * dy)


class Drawing:
    """A drawing in inches; (0, 0) is its upper left corner."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height, self._items = width, height, list[str]()
        self._words: list[tuple[float, float, float, float]] = []  # where words are: left, top, right, bottom

    def _shape(
        self, box: tuple[float, float, float, float], geometry: str, fill: str, line: float, *, dash: str = "",
        flip: str = "", text: str = "", ink: str = "000000"
    ) -> None:
        paint = f'<a:solidFill><a:srgbClr val="{fill}"/></a:solidFill>' if fill else "<a:noFill/>"
        dashed = f'<a:prstDash val="{dash}"/>' if dash else ""
        pen = "<a:ln><a:noFill/></a:ln>"
        if line:
            pen = f'<a:ln w="{int(line * 12700)}"><a:solidFill><a:srgbClr val="{ink}"/></a:solidFill>{dashed}</a:ln>'
        x, y, wide, high = (round(value * _EMU) for value in box)
        boxed = ' txBox="1"' if text else ""
        self._items.append(
            f'<xdr:sp macro="" textlink=""><xdr:nvSpPr><xdr:cNvPr id="@ID@" name="Part @ID@"/><xdr:cNvSpPr{boxed}/>'
            f'</xdr:nvSpPr><xdr:spPr><a:xfrm{flip}><a:off x="{x}" y="{y}"/><a:ext cx="{wide}" cy="{high}"/></a:xfrm>'
            f"{geometry}{paint}{pen}</xdr:spPr>{text}</xdr:sp>"
        )

    def polygon(self, points: Sequence[Point], fill: str = "", line: float = 1.5, dash: str = "") -> None:
        """Draw a closed outline."""
        xs, ys = [x for x, _ in points], [y for _, y in points]
        x, y, wide, high = min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)
        marks = [f'<a:pt x="{round((a - x) * _EMU)}" y="{round((b - y) * _EMU)}"/>' for a, b in points]
        path = f"<a:moveTo>{marks[0]}</a:moveTo>" + "".join(f"<a:lnTo>{m}</a:lnTo>" for m in marks[1:]) + "<a:close/>"
        geometry = (
            '<a:custGeom><a:avLst/><a:gdLst/><a:ahLst/><a:cxnLst/><a:rect l="0" t="0" r="r" b="b"/><a:pathLst>'
            f'<a:path w="{round(wide * _EMU)}" h="{round(high * _EMU)}">{path}</a:path></a:pathLst></a:custGeom>'
        )
        self._shape((x, y, wide, high), geometry, fill, line, dash=dash)

    def rectangle(self, x: float, y: float, wide: float, high: float, fill: str = "", line: float = 1.0) -> None:
        """Draw a rectangle."""
        self.polygon([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)], fill, line)

    def line(self, a: Point, b: Point, line: float = 1.0, dash: str = "", ink: str = "000000") -> None:
        """Draw a straight line."""
        flip = ' flipV="1"' if (b[0] - a[0]) * (b[1] - a[1]) < 0 else ""
        box = (min(a[0], b[0]), min(a[1], b[1]), abs(b[0] - a[0]), abs(b[1] - a[1]))
        self._shape(box, '<a:prstGeom prst="line"><a:avLst/></a:prstGeom>', "", line, dash=dash, flip=flip, ink=ink)

    def text(
        self, x: float, y: float, words: str, size: float = 8.0, *, bold: bool = False, to: str = "ctr",
        up: bool = False, free: bool = False
    ) -> bool:
        """Write words centered on a point, or starting (l) or ending (r) there; `up` turns them a quarter.

        With `free` they are left out where others are already; return whether they were written.
        """
        wide, high = len(words) * size * 0.0085 + 0.06, size * 0.0185
        if up:
            wide, high, to = high, wide, "ctr"
        left = {"ctr": x - wide / 2, "l": x, "r": x - wide}[to]
        box = (left + wide * 0.1, y - high * 0.35, left + wide * 0.9, y + high * 0.35)
        if free and any(box[0] < x1 and x0 < box[2] and box[1] < y1 and y0 < box[3] for x0, y0, x1, y1 in self._words):
            return False
        self._words.append(box)
        turn = ' vert="vert270"' if up else ""
        body = (
            f'<xdr:txBody><a:bodyPr wrap="none" lIns="0" tIns="0" rIns="0" bIns="0" anchor="ctr"{turn}/><a:p>'
            f'<a:pPr algn="{to}"/><a:r><a:rPr lang="en-US" sz="{int(size * 100)}" b="{int(bold)}"><a:solidFill>'
            f'<a:srgbClr val="000000"/></a:solidFill><a:latin typeface="{_FACE}"/></a:rPr>'
            f"<a:t>{escape(safe_text(words))}</a:t></a:r></a:p></xdr:txBody>"
        )
        self._shape(
            (left, y - high / 2, wide, high), '<a:prstGeom prst="rect"><a:avLst/></a:prstGeom>', "", 0, text=body
        )
        return True

    def xml(self, number: int) -> str:
        """Return the group of all parts."""
        size = f'<a:ext cx="{int(self.width * _EMU)}" cy="{int(self.height * _EMU)}"/>'
        inner = size.replace("a:ext", "a:chExt")
        parts = "".join(item.replace("@ID@", str(1000 * number + at)) for at, item in enumerate(self._items, 1))
        return (
            f'<xdr:grpSp><xdr:nvGrpSpPr><xdr:cNvPr id="{1000 * number}" name="Drawing {number}"/><xdr:cNvGrpSpPr/>'
            f'</xdr:nvGrpSpPr><xdr:grpSpPr><a:xfrm><a:off x="0" y="0"/>{size}<a:chOff x="0" y="0"/>{inner}</a:xfrm>'
            f"</xdr:grpSpPr>{parts}</xdr:grpSp>"
        )


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture of the owner's: its bytes, its kind, its size on paper [in]."""

    data: bytes
    kind: str
    width: float
    height: float

    def xml(self, number: int, link: str) -> str:
        """Return the picture as a part of a drawing."""
        size = f'<a:ext cx="{round(self.width * _EMU)}" cy="{round(self.height * _EMU)}"/>'
        return (
            f'<xdr:pic><xdr:nvPicPr><xdr:cNvPr id="{1000 * number}" name="Picture '
            f'{number}"/><xdr:cNvPicPr/></xdr:nvPicPr>' f'<xdr:blipFill><a:blip xmlns:r="{_REL}" '
            f'r:embed="{link}"/><a:stretch><a:fillRect/></a:stretch>'
            f'</xdr:blipFill><xdr:spPr><a:xfrm><a:off x="0" y="0"/>{size}</a:xfrm><a:prstGeom ' 'prst="rect"><a:avLst/>'
            f"</a:prstGeom></xdr:spPr></xdr:pic>"
        )


def picture(path: Path, what: str, widest: float, highest: float) -> Picture:
    """Return a picture file fitted into a size [in]; refused where it is missing or no PNG or JPEG."""
    if not path.is_file():
        raise InputError(f"{what}: there is no such picture; it must be a .png or .jpg file there", where=str(path))
    data = whole_file(path, "a .png or .jpg file", "a picture", _MOST_BYTES)
    found = _measured(data)
    if found is None:
        raise InputError(
            f"{what} is not a picture that can be printed; it must be a .png or .jpg file", where=str(path)
        )
    kind, wide, high = found
    scale = min(widest / wide, highest / high)
    return Picture(data, kind, wide * scale, high * scale)


def _measured(data: bytes) -> tuple[str, int, int] | None:
    """Return kind, width and height [pixels] of a PNG or JPEG, read from its head."""
    if data[:8] == b"\x89PNG\r\n\x1a\n" and len(data) > 24:
        wide, high = struct.unpack(">II", data[16:24])
        return ("png", wide, high) if wide and high else None
    at = 2
    while data[:2] == b"\xff\xd8" and at + 9 < len(data) and data[at] == 0xFF:
        mark, size = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        if 0xC0 <= mark <= 0xCF and mark not in (0xC4, 0xC8, 0xCC):  # start of frame
            high, wide = struct.unpack(">HH", data[at + 5 : at + 9])
            return ("jpeg", wide, high) if wide and high else None
        at += 2 + size
    return None


def add_drawings(
    data: bytes, sheets: Sequence[str], placed: Mapping[str, Sequence[tuple[int, int, Drawing | Picture]]]
) -> bytes:
    """Return a saved workbook, packed, with drawings put into it: by sheet, column and row from 0, and the drawing."""
    with ZipFile(BytesIO(data)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    types = ""
    for title, drawings in placed.items():
        place = sheets.index(title) + 1
        sheet, links, anchors = f"xl/worksheets/sheet{place}.xml", "", ""
        for at, (column, row, one) in enumerate(drawings, 1):
            if isinstance(one, Picture):
                name = f"media/picture{place}-{at}.{one.kind}"
                parts[f"xl/{name}"] = one.data
                links += f'<Relationship Id="rId{at}" Type="{_REL}/image" Target="../{name}"/>'
                inner = one.xml(at, f"rId{at}")
            else:
                inner = one.xml(at)
            size = f'cx="{int(one.width * _EMU)}" cy="{int(one.height * _EMU)}"'
            anchors += (
                f"<xdr:oneCellAnchor><xdr:from><xdr:col>{column}</xdr:col><xdr:colOff>0</xdr:colOff><xdr:row>{row}"
                f"</xdr:row><xdr:rowOff>0</xdr:rowOff></xdr:from><xdr:ext {size}/>{inner}<xdr:clientData/>"
                "</xdr:oneCellAnchor>"
            )
        drawing = f"xl/drawings/drawing{place}.xml"
        parts[drawing] = f'{_HEAD}<xdr:wsDr xmlns:xdr="{_XDR}" xmlns:a="{_A}">{anchors}</xdr:wsDr>'.encode()
        if links:
            parts[f"xl/drawings/_rels/drawing{place}.xml.rels"] = (
                f'{_HEAD}<Relationships xmlns="{_PACKAGE}">{links}</Relationships>'.encode()
            )
        parts[f"xl/worksheets/_rels/sheet{place}.xml.rels"] = (
            f'{_HEAD}<Relationships xmlns="{_PACKAGE}"><Relationship Id="rIdD" Type="{_REL}/drawing" '
            f'Target="/{drawing}"/></Relationships>'
        ).encode()
        link = f'<drawing xmlns:r="{_REL}" r:id="rIdD"/></worksheet>'.encode()
        parts[sheet] = parts[sheet].replace(b"</worksheet>", link)
        kind = "application/vnd.openxmlformats-officedocument.drawing+xml"
        types += f'<Override PartName="/{drawing}" ContentType="{kind}"/>'
    listed = parts["[Content_Types].xml"].decode()
    for suffix, kind in _KINDS.items():
        if any(name.endswith(f".{suffix}") for name in parts) and f'Extension="{suffix}"' not in listed:
            listed = re.sub(
                r"(<Types[^>]*>)", rf'\1<Default Extension="{suffix}" ContentType="{kind}"/>', listed, count=1
            )
    parts["[Content_Types].xml"] = listed.replace("</Types>", f"{types}</Types>").encode()
    out = BytesIO()
    with Undated(out, "w", ZIP_DEFLATED) as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return out.getvalue()


# --- plans


def _outline(area: PlanArea) -> list[Point]:
    """Return the corners of an area from (0, 0) on [m]; of a circle many."""
    if not area.corners:
        r = area.diameter_m / 2
        return [(r + r * cos(2 * pi * k / _ROUND), r + r * sin(2 * pi * k / _ROUND)) for k in range(_ROUND)]
    left, low = min(x for x, _ in area.corners), min(y for _, y in area.corners)
    return [(x - left, y - low) for x, y in area.corners]


def _shelves(
    spans: Sequence[Point], wide: float, high: float, across: float, down: float
) -> tuple[list[list[int]], float]:
    """Return areas in rows, and the greatest scale [in/m] at which all fit; margins round each area are in inches."""
    best: tuple[list[list[int]], float] = ([], 0.0)
    for count in range(1, len(spans) + 1):
        per = -(-len(spans) // count)
        rows = [list(range(at, min(at + per, len(spans)))) for at in range(0, len(spans), per)]
        by_width = min((wide - across * len(row)) / sum(spans[at][0] for at in row) for row in rows)
        by_height = (high - down * len(rows)) / sum(max(spans[at][1] for at in row) for row in rows)
        if (scale := min(by_width, by_height)) > best[1]:
            best = (rows, scale)
    return best


def letters(plan: Sequence[PlanArea]) -> dict[str, list[str]]:
    """Return the letters of the corners of each area, as the crew's plan shows them; none of a circle or a box."""
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    counts = {area.name: 0 if area.boxed else len(area.corners) for area in plan}
    few, place, found = sum(counts.values()) <= len(alphabet), 0, {}
    for name, count in counts.items():
        ends = range(place, place + count)
        found[name] = [alphabet[at] if few else f"{alphabet[at % 26]}{at // 26 + 1}" for at in ends]
        place += count
    return found


def plan(
    areas: Sequence[PlanArea], units: str, width: float, height: float, named: Mapping[str, Sequence[str]] | None = None
) -> Drawing:
    """Return all areas side by side at one scale, the building dark.

    The crew's has the letters of the corners and the edge of the dig.
    """
    drawing, crew = Drawing(width, height), named is not None
    outlines = [_outline(area) for area in areas]
    spans = [(max(x for x, _ in one), max(y for _, y in one)) for one in outlines]
    side, top, low, foot = (0.56, 0.42, 0.42, 0.22) if crew else (0.46, 0.30, 0.28, 0.22)
    rows, scale = _shelves(spans, width, height - foot, 2 * side, top + low)
    if not all(_named_inside(area, one, scale) for area, one in zip(areas, outlines, strict=True)):
        top += 0.16  # the name of a small area is above it
        rows, scale = _shelves(spans, width, height - foot, 2 * side, top + low)
    used = sum(max(spans[at][1] for at in row) * scale + top + low for row in rows)
    y = (height - foot - used) / 2
    for row in rows:
        tall = max(spans[at][1] for at in row) * scale
        x = (width - sum(spans[at][0] * scale + 2 * side for at in row)) / 2
        for at in row:
            x += side
            corners = None if named is None else named[areas[at].name]
            _area(drawing, areas[at], outlines[at], scale, (x, y + top + tall), units, corners)
            x += spans[at][0] * scale + side
        y += top + tall + low
    _scale_bar(drawing, scale, units)
    said = ["black = building" if crew else "dark = building"] if any(a.walls for a in areas) else []
    said += ["dashed = edge of dig and base"] if crew else []
    said += ["place areas as staked"] if crew and len(areas) > 1 else []
    drawing.text(width - 0.05, height - 0.09, "; ".join(said), 8 if crew else 7, to="r")
    return drawing


def _area(
    drawing: Drawing, area: PlanArea, outline: Sequence[Point], scale: float, at: Point, units: str,
    named: Sequence[str] | None
) -> None:
    def on(point: Point) -> Point:
        return at[0] + scale * point[0], at[1] - scale * point[1]

    crew = named is not None
    normals = outward(outline)
    if crew and area.past_m:
        past = [0.0 if side in area.walls else area.past_m for side in range(len(outline))]
        drawing.polygon([on(p) for p in moved_out(outline, past)], line=1, dash="dash")
    drawing.polygon([on(p) for p in outline], "FFFFFF" if crew else "E3E7E4", 2, dash="dash" if area.boxed else "")
    for side in area.walls:
        a, b, (nx, ny) = outline[side], outline[(side + 1) % len(outline)], normals[side]

        def band(deep: float, a: Point = a, b: Point = b, nx: float = nx, ny: float = ny) -> list[Point]:
            return [on(p) for p in (a, b, (b[0] + nx * deep, b[1] + ny * deep), (a[0] + nx * deep, a[1] + ny * deep))]

        if area.strip_m:
            drawing.polygon(band(-area.strip_m), "BDBDBD" if crew else "C9CFCB", 0.75)
        drawing.polygon(band(0.09 / scale), "000000" if crew else "6B746F", 1)
        middle = on(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2))
        room = hypot(b[0] - a[0], b[1] - a[1]) * scale
        if room > 0.9 or (len(outline) == 4 and room > 0.3):
            off, words = (0.36, "BUILDING") if crew else (0.33, "building")
            x, y = middle[0] + nx * off, middle[1] - ny * off
            drawing.text(x, y, words, 7.5 if room > 0.9 else 6.5, up=abs(nx) > 0.9)
    _name(drawing, area, outline, scale, on, units)
    for place, name in enumerate(named or ()):
        (x, y), n1, n2 = on(outline[place]), normals[place - 1], normals[place]
        outs = (0.16, -0.11) if n1[0] * n2[1] - n1[1] * n2[0] > 0 else (-0.11, 0.16)
        for out, free in ((outs[0], True), (outs[1], True), (outs[0], False)):
            if drawing.text(x + (n1[0] + n2[0]) * out, y - (n1[1] + n2[1]) * out, name, 10, bold=True, free=free):
                break
    if area.corners:
        _sides(drawing, area, outline, normals, scale, on, units, crew=crew)


def _sides(
    drawing: Drawing, area: PlanArea, outline: Sequence[Point], normals: Sequence[Point], scale: float,
    on: Callable[[Point], Point], units: str, *, crew: bool
) -> None:
    """Write the length of each side outside it, or inside where others are, if it has room."""
    for side, (nx, ny) in enumerate(normals):
        a, b = outline[side], outline[(side + 1) % len(outline)]
        run = hypot(b[0] - a[0], b[1] - a[1])
        upright, slant = abs(nx) > 0.9, min(abs(nx), abs(ny)) > 0.05
        if run * scale < (0.13 if not upright and not slant and len(outline) <= 8 else 0.2):
            continue
        past = area.past_m * scale if crew and side not in area.walls else 0.0
        x, y = on(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2))
        for off in (0.21 if side in area.walls else 0.12 + past, -0.1):
            to = "ctr" if not slant or abs(ny) > 0.9 else "l" if nx * off > 0 else "r"
            words, size, up = length_words(run, units), 9.0 if crew else 8.0, upright and not slant
            if drawing.text(x + nx * off, y - ny * off, words, size, bold=True, to=to, up=up, free=True):
                break


def _named_inside(area: PlanArea, outline: Sequence[Point], scale: float) -> bool:
    """Return whether an area's name has room inside it."""
    xs, ys = [p[0] for p in outline], [p[1] for p in outline]
    wide, high = (max(xs) - min(xs)) * scale, (max(ys) - min(ys)) * scale
    needed = max(len(area.name) * 0.085, len(area.area) * 0.06)
    if len(outline) <= 4 and area.corners:
        return wide > needed and high > 0.34
    return roomiest(tuple(outline))[1] * scale > max(needed / 2, 0.2)


def _name(
    drawing: Drawing, area: PlanArea, outline: Sequence[Point], scale: float, on: Callable[[Point], Point], units: str
) -> None:
    """Write name and size where there is most room inside, or above what is too narrow."""
    x, y = on(roomiest(tuple(outline))[0])
    xs, ys = [p[0] for p in outline], [p[1] for p in outline]
    high = (max(ys) - min(ys)) * scale
    under = area.area if area.corners else f"{area.area}, {length_words(area.diameter_m, units)} across"
    if _named_inside(area, outline, scale):
        drawing.text(x, y - 0.08, area.name, 9.5, bold=True)
        drawing.text(x, y + 0.09, under, 8.5)
    else:
        top = on((0.0, max(ys)))[1]
        middle = on(((min(xs) + max(xs)) / 2, 0.0))[0]
        drawing.text(middle, top - (0.34 if high > 0.2 else 0.32), f"{area.name}, {under}", 8, bold=True)


def _scale_bar(drawing: Drawing, scale: float, units: str) -> None:
    unit_m, word = (1.0, "m") if units == "metric" else (FOOT_M, "ft")
    length = next((n for n in (50, 20, 10, 5, 2, 1) if n * unit_m * scale < drawing.width / 4), 1)
    half, y = length * unit_m * scale / 2, drawing.height - 0.11
    for at in range(2):
        drawing.rectangle(0.1 + at * half, y, half, 0.05, "FFFFFF" if at else "000000", 0.75)
    drawing.text(0.1 + 2 * half + 0.08, y + 0.025, f"{length} {word}, to scale", 7, to="l")


# --- sections, story poles and bars

Layer = tuple[str, float, float]  # name, top and bottom below the surface [m]
_FILLS: Final = {"pavers": "8F9A94", "sand": "FFFFFF", "stone": "DDE0DE", "old base": "B9B4AA", "fill": "EFE7D3"}


# a title, layers with the words on them, whether geogrid is laid, and the ground below, shortest words first
Section = tuple[str, Sequence[Layer], Sequence[str], bool, Sequence[str]]


def _ground_layers(
    drawing: Drawing, layers: Sequence[Layer], x: float, wide: float, top: float, scale: float, *, grid: bool
) -> float:
    """Draw layers to scale with the geogrid below the base, and return where that is."""
    for name, upper, lower in layers:
        drawing.rectangle(x, top + upper * scale, wide, (lower - upper) * scale, _FILLS[name], 1)
    base = top + max(lower for name, _, lower in layers if name != "fill") * scale
    if grid:
        drawing.line((x, base), (x + wide, base), 3.5, "sysDash")
    return base


def sections(rows: Sequence[Section], width: float, height: float) -> Drawing:
    """Return sections side by side, depth to scale."""
    drawing = Drawing(width, height)
    deepest = max(layers[-1][2] for _, layers, _, _, _ in rows)
    top, scale, wide = 0.24, (height - 0.56) / deepest, (width - 0.1) / len(rows) - 0.1
    drawing.rectangle(0.02, top, width - 0.04, height - top - 0.02, "CDBFA8", 0)
    for at, (title, layers, words, grid, ground) in enumerate(rows):
        x = 0.1 + at * (wide + 0.1)
        middle = x + wide / 2
        drawing.text(middle, 0.11, title, min(8, max(wide * 120 / len(title), 5)), bold=True)
        base = _ground_layers(drawing, layers, x, wide, top, scale, grid=grid)
        for (name, upper, lower), said in zip(layers, words, strict=True):
            if said and (lower - upper) * scale > 0.1:
                size = 8.0 if (lower - upper) * scale > 0.16 else 6.5
                drawing.text(middle, top + (upper + lower) / 2 * scale, said, size, bold=name == "stone")
        filled, bottom = layers[-1][0] == "fill", top + layers[-1][2] * scale + 0.13
        if grid and filled:
            drawing.text(middle, base + 0.1, "geogrid", 7.5, bold=True)
        laid = "geogrid" if grid and not filled else ""
        below = [laid, *(", ".join(filter(None, (laid, one))) for one in ground)]
        fits = [one for one in below if one and (len(one) * 0.062 < wide or one == laid)]
        if fits:
            drawing.text(middle, bottom, fits[-1], 7.5, bold=bool(laid))
    return drawing


def poles(
    rows: Sequence[tuple[str, Sequence[Layer], Sequence[tuple[float, str]], bool]], width: float, height: float
) -> Drawing:
    """Return a story pole for each area, to scale: its name, layers, levels with words, whether geogrid is laid."""
    drawing = Drawing(width, height)
    deepest = max(layers[-1][2] for _, layers, _, _ in rows)
    top, wide, scale = 0.27, width / len(rows), (height - 0.38) / deepest
    for at, (title, layers, levels, grid) in enumerate(rows):
        x, bar, last = at * wide + 0.04, max(wide - 0.8, 0.3), -1.0
        drawing.text(x, 0.09, title, 8.5, bold=True, to="l")
        _ground_layers(drawing, layers, x, bar, top, scale, grid=grid)
        for name, upper, lower in layers:
            if (lower - upper) * scale > 0.14 and name in ("stone", "fill", "old base"):
                drawing.text(x + bar / 2, top + (upper + lower) / 2 * scale, name.upper(), 7.5, bold=True)
        for depth, words in levels:
            y = top + depth * scale
            drawing.line((x, y), (x + bar + 0.08, y), 0.75)
            last = max(y, last + 0.115)
            drawing.text(x + bar + 0.11, last, words, 8, bold=True, to="l")
    return drawing


def bars(
    rows: Sequence[tuple[str, float, float, float]], words: Mapping[int, tuple[str, str]], caption: str, width: float,
    row: float = 0.2
) -> Drawing:
    """Return bars from a least to a greatest value beside one value of all, the names at the left: a tornado."""
    height = row * len(rows) + 0.34
    drawing = Drawing(width, height)
    left, right = 2.35, 0.55
    low, high = min(least for _, least, _, _ in rows), max(most for _, _, _, most in rows)
    scale = (width - left - right - 0.4) / max(high - low, 1e-9)

    def x(value: float) -> float:
        return left + 0.4 + (value - low) * scale

    for at, (name, least, used, most) in enumerate(rows):
        y = 0.06 + at * row
        drawing.text(left - 0.08, y + row / 2, name, 8, to="r")
        if used > least:
            drawing.rectangle(x(least), y + 0.03, x(used) - x(least), row - 0.06, "33475B", 0.5)
        if most > used:
            drawing.rectangle(x(used), y + 0.03, x(most) - x(used), row - 0.06, "C9CFCB", 0.5)
        first, last = words[at]
        drawing.text(x(least) - 0.05, y + row / 2, first, 7.5, to="r")
        drawing.text(x(most) + 0.05, y + row / 2, last, 7.5, to="l")
    used = rows[0][2]
    drawing.line((x(used), 0.02), (x(used), height - 0.24), 1.5)
    drawing.text(x(used), height - 0.14, caption, 7.5)
    return drawing


def depth_curve(
    layers: Sequence[tuple[float, float, float]], readings: Sequence[Point], deepest: float, caption: str,
    width: float, height: float
) -> Drawing:
    """Return CBR by depth, downwards, on a scale of tens: layers (from, to, CBR) as steps, single readings as dots."""
    drawing = Drawing(width, height)
    left, top = 0.55, 0.34
    wide, high = width - left - 0.15, height - top - 0.1
    least = min((max(cbr, 0.1) for cbr in (*(cbr for _, cbr in readings), *(cbr for *_, cbr in layers))), default=0.1)
    low, most = floor(log10(least)), 2  # powers of ten

    def on(depth: float, cbr: float) -> Point:
        share = (log10(min(max(cbr, 10.0**low), 10.0**most)) - low) / (most - low)
        return left + wide * share, top + high * depth / deepest

    drawing.rectangle(left, top, wide, high, "FFFFFF", 0.75)
    for power in range(low, most + 1):
        x, _ = on(0, 10.0**power)
        drawing.line((x, top), (x, top + high), 0.5, ink="9AA5AF")
        drawing.text(x, top - 0.08, f"{10.0**power:g}", 7.5)
    drawing.text(left + wide / 2, 0.1, "CBR, %", 8, bold=True)
    for at in range(5):
        drawing.text(left - 0.06, top + high * at / 4, f"{deepest * at / 4:.0f}", 7.5, to="r")
    drawing.text(0.1, top + high / 2, caption, 8, bold=True, up=True)
    for upper, lower, cbr in layers:
        drawing.line(on(upper, cbr), on(lower, cbr), 2.5)
    for (_, lower, cbr), (_, _, after) in pairwise(layers):
        drawing.line(on(lower, cbr), on(lower, after), 2.5)
    for depth, cbr in readings:
        x, y = on(depth, cbr)
        drawing.rectangle(x - 0.02, y - 0.02, 0.04, 0.04, "33475B", 0.25)
    return drawing
