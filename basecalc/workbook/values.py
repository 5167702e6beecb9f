"""Workbooks whose formulas carry their values: previews, pandas and a phone then show numbers, not blanks.

openpyxl writes a formula without the value it gives. A pass over the saved bytes stores it, and refuses a formula
without a value; every other part of the file stays byte for byte as it was.
"""

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from io import BytesIO
from math import isfinite
from types import MappingProxyType
from typing import Final
from xml.sax.saxutils import escape
from zipfile import ZIP_DEFLATED, ZipFile

from defusedxml.ElementTree import fromstring
from openpyxl.utils.datetime import to_excel

Value = float | Decimal | str | bool | date

ERRORS: Final = frozenset({"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"})
# A cell with a formula as openpyxl writes one; markup inside text is always escaped.
_FORMULA_CELL: Final = re.compile(
    rb'<c r="(?P<at>[A-Z]+\d+)"(?P<marks>[^>]*)>(?P<formula><f[ >][^<]*</f>)(?:<v>[^<]*</v>|<v ?/>)?</c>'
)
_MARK: Final = re.compile(rb' t="[^"]*"')
_MAIN: Final = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_LINK: Final = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


def store_values(
    data: bytes, values: dict[str, dict[str, Value]], spans: Mapping[str, Sequence[str]] = MappingProxyType({})
) -> bytes:
    """Return the bytes of an .xlsx file with a value stored beside each formula, and the spans of each sheet merged.

    Its parts stay packed or unpacked as they were: whoever changes them last packs them.
    """
    out = BytesIO()
    with ZipFile(BytesIO(data)) as old, ZipFile(out, "w", ZIP_DEFLATED) as new:
        sheets = _sheet_parts(old)
        for item in old.infolist():
            part = old.read(item)
            if item.filename in sheets:
                title = sheets[item.filename]
                part = _with_values(part, title, values.get(title, {}))
                if title in spans:  # openpyxl takes longer over a span than over its cells
                    merged = "".join(f'<mergeCell ref="{span}"/>' for span in spans[title])
                    part = part.replace(b"</sheetData>", f"</sheetData><mergeCells>{merged}</mergeCells>".encode())
            new.writestr(item, part)
    return out.getvalue()


def _sheet_parts(archive: ZipFile) -> dict[str, str]:
    links = fromstring(archive.read("xl/_rels/workbook.xml.rels"))
    target = {link.get("Id"): link.get("Target", "") for link in links}
    book = fromstring(archive.read("xl/workbook.xml"))
    parts = {}
    for sheet in book.iter(f"{_MAIN}sheet"):
        path = target[sheet.get(_LINK)]
        parts[path.lstrip("/") if path.startswith("/") else f"xl/{path}"] = sheet.get("name", "")
    return parts


def _with_values(part: bytes, title: str, values: dict[str, Value]) -> bytes:
    if not values and b"<f>" not in part and b"<f " not in part:
        return part
    bare: set[str] = set()
    done: set[str] = set()

    def valued(cell: re.Match[bytes]) -> bytes:
        at = cell["at"].decode()
        if at not in values:
            bare.add(at)
            return cell[0]
        done.add(at)
        kind, text = _typed(values[at])
        marks = _MARK.sub(b"", cell["marks"]) + (f' t="{kind}"'.encode() if kind else b"")
        return b'<c r="%b"%b>%b<v>%b</v></c>' % (cell["at"], marks, cell["formula"], escape(text).encode())

    valued_part = _FORMULA_CELL.sub(valued, part)
    lost = sorted(set(values) - done)
    if bare or lost:
        raise LookupError(f"{title}: formulas without a value: {sorted(bare)}; values without a formula: {lost}")
    return valued_part


def _typed(value: Value) -> tuple[str, str]:
    """Return the type mark of a stored value and its text."""
    if isinstance(value, bool):
        return "b", str(int(value))
    if isinstance(value, float | int | Decimal):
        if not isfinite(value):
            raise ValueError(f"{value} cannot be stored as the value of a formula")
        return "", format(value, "f") if isinstance(value, Decimal) else repr(value)
    if isinstance(value, date | datetime):
        return "", repr(to_excel(value))  # type: ignore[no-untyped-call]  # openpyxl does not say its types here
    if not isinstance(value, str):
        raise TypeError(f"{value!r} cannot be stored as the value of a formula")
    return ("e" if value in ERRORS else "str"), value
