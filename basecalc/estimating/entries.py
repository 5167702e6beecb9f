"""A job as what is typed on the entry sheet, and back: the tables of a job file to cells, and cells to those tables.

What a plain cell cannot say without doubt is written as TOML (``{drop = "a;b"}``), so that nothing of a job file is lost.
"""

import datetime as dt
import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any, Final

from basecalc.core.errors import InputError
from basecalc.estimating.fields import (
    CARD,
    JOB,
    LINE_FIELDS,
    LOG_TEST,
    READING_EXTRA,
    READING_FIELDS,
    SIZE_KEYS,
    Particular,
    area_fields,
    listed_particulars,
)
from basecalc.plan.area import corner_points

Table = Mapping[str, Any]
ROWS: Final = "rows"  # the reading of a cone log whose rows are particulars
_LISTS: Final = ("sides", "parallel_sides", "legs")
_PLAIN: Final = re.compile(r"-?(\d+\.?\d*|\.\d+)")
_DATES: Final = ("%Y-%m-%d", "%m/%d/%Y", "%b %d, %Y", "%B %d, %Y", "%d %b %Y")


def entries(data: Table) -> dict[str, Any]:
    """Return what is typed for a job: the card by key, and the rows of its lists."""
    job = data.get("job", {})
    card = {key: _text(job.get(key)) for key, *_ in CARD}
    areas: list[dict[str, Any]] = []
    readings: list[dict[str, Any]] = []
    said: list[dict[str, str]] = []
    _said(said, "", "job", job, {key for key, *_ in CARD} | {"units"})
    known = {one.key for one in area_fields("us")}
    for area in data.get("area", ()):
        shape = str(area.get("shape", "rectangle"))
        sizes = SIZE_KEYS.get(shape, ("length", "width"))
        row = {key: _text(area.get(key)) for key in known - {"length", "width", "shape"}}
        row |= {column: _text(area.get(key)) for column, key in zip(("length", "width"), sizes, strict=True) if key}
        areas.append(row | {"shape": "" if shape == "rectangle" else shape})
        _said(
            said, str(area.get("name", "")), "area", area, (known - {"length", "width"}) | {key for key in sizes if key}
        )
    for spot in data.get("spot", ()):
        name, area = _text(spot.get("name")), _text(spot.get("area"))
        for one in spot.get("readings") or ():
            readings.append({"spot": name, "area": area, **{key: _text(value) for key, value in one.items()}})
        if spot.get("log") or spot.get("log_rows") or not spot.get("readings"):
            readings.append({"spot": name, "area": area, "test": LOG_TEST, "reading": _text(spot.get("log")) or ROWS})
        _said(said, str(name), "spot", spot, {"name", "area", "readings", "log"})
    lines = [{one.key: _text(line.get(one.key)) for one in LINE_FIELDS} for line in data.get("line", ())]
    return {"card": card, "areas": areas, "lines": lines, "readings": readings, "particulars": said}


def _said(rows: list[dict[str, str]], name: str, scope: str, table: Table, known: Any) -> None:
    """Add the particulars of a job, an area or a spot."""
    listed = listed_particulars()
    within = {one.within for (of, _), one in listed.items() if of == scope and one.within}
    for key, value in table.items():
        if key in known or value is None or value == "" or (key in ("area", "spot") and scope == "job"):
            continue
        if key in within and isinstance(value, Mapping):
            for inner, held in value.items():
                rows.append(
                    {"for": name, "what": inner.replace("_", " "), "text": _written(listed.get((scope, inner)), held)}
                )
            continue
        one = listed.get((scope, key))
        several = value if one is not None and one.listed and isinstance(value, list) else [value]
        rows += [{"for": name, "what": key.replace("_", " "), "text": _written(one, held)} for held in several]


def _written(one: Particular | None, value: Any) -> str:
    """Return a value as one cell says it, so that it reads back the same."""
    text = _plainly(one, value)
    try:
        if one is not None and text is not None and _same(_value(one, text), value):
            return text
    except InputError:  # corners with blanks in their numbers
        pass
    return _toml(value)


def _plainly(one: Particular | None, value: Any) -> str | None:
    if one is not None and one.parts and isinstance(value, Mapping):
        if set(value) - set(one.parts):
            return None
        held = ["" if part not in value else str(_text(value[part])) for part in one.parts]
        return "; ".join(held).rstrip("; ")
    if isinstance(value, list):
        if one is not None and one.key == "points" and all(isinstance(point, list) for point in value):
            return "; ".join(" ".join(str(_text(part)) for part in point) for point in value)
        return (
            "; ".join(str(_text(part)) for part in value)
            if all(not isinstance(part, list | Mapping) for part in value)
            else None
        )
    return None if isinstance(value, Mapping) else str(_text(value))


def _text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:.15g}"
    return value.isoformat() if isinstance(value, dt.date) else str(value)


def _toml(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key} = {_toml(held)}" for key, held in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_toml(held) for held in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        signs = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r", "\t": "\\t"}
        return '"' + "".join(signs.get(sign, sign) for sign in value) + '"'
    return _text(value)


def _same(read: Any, value: Any) -> bool:
    """Return whether what was read is what was given; a number may be read as text, a yes as a word."""
    if isinstance(value, Mapping):
        return (
            isinstance(read, Mapping) and set(read) == set(value) and all(_same(read[key], value[key]) for key in value)
        )
    if isinstance(value, list):
        return isinstance(read, list) and len(read) == len(value) and all(map(_same, read, value))
    return not isinstance(read, Mapping | list) and str(_text(read)) == str(_text(value))


def _value(one: Particular, text: str) -> Any:
    """Return what a cell of a particular says."""
    text = text.strip()
    if text[:1] in ("{", "[", '"'):
        try:
            return tomllib.loads(f"value = {text}")["value"]
        except tomllib.TOMLDecodeError:
            pass
    if one.parts:
        parts = [part.strip() for part in text.split(";", len(one.parts) - 1)]
        return {key: number(part) for key, part in zip(one.parts, parts, strict=False) if part}
    if one.key in _LISTS:
        return [number(part.strip()) for part in text.split(";")]
    if one.key == "points":
        return corner_points(text)
    return number(text) if one.kind else text


def number(text: Any) -> Any:
    """Return a plain number as one, anything else as it is."""
    if isinstance(text, str) and _PLAIN.fullmatch(text):
        return float(text) if "." in text else int(text)
    return text


def _date(value: Any) -> Any:
    if isinstance(value, dt.datetime):
        return value.date()
    for form in _DATES:
        try:
            return dt.datetime.strptime(" ".join(str(value).split()), form).date()
        except ValueError:
            continue
    return value


def tables(
    card: Table, rows: Mapping[str, Sequence[Table]], units: str
) -> tuple[dict[str, Any], list[tuple[int, InputError]]]:
    """Return the tables of a job file that typed cells give, and what is wrong with particulars, by their row."""
    job: dict[str, Any] = {key: value for key, value in card.items() if value not in (None, "")}
    job |= {key: _date(job[key]) for key in ("date", "start") if key in job}
    job["units"] = units
    made: list[dict[str, Any]] = []
    for row in rows["areas"]:
        shape = str(row.get("shape") or "rectangle").strip().casefold()
        sizes = dict(zip(("length", "width"), SIZE_KEYS.get(shape, ("length", "width")), strict=True))
        area = {
            sizes.get(key) or key: value for key, value in row.items() if value not in (None, "") and key != "shape"
        }
        made.append(area | {"shape": shape})
    spots: dict[str, dict[str, Any]] = {}
    for row in rows["readings"]:
        name = str(row.get("spot") or "").strip()
        spot = spots.setdefault(name.casefold(), {"name": name})
        if row.get("area"):
            spot.setdefault("area", row["area"])
        if str(row.get("test") or "").strip().casefold() == LOG_TEST:
            if row.get("reading") != ROWS:
                spot["log"] = row.get("reading")
            continue
        keys = [one.key for one in (*READING_FIELDS, *READING_EXTRA)][2:]
        spot.setdefault("readings", []).append(
            {key: number(row[key]) if key == "reading" else row[key] for key in keys if row.get(key) not in (None, "")}
        )
    lines = [{key: value for key, value in row.items() if value not in (None, "")} for row in rows["lines"]]
    data = {"job": job, "area": made, "spot": list(spots.values()), "line": lines}
    return data, _particulars(data, spots, rows["particulars"])


def _particulars(data: dict[str, Any], spots: Table, said: Sequence[Table]) -> list[tuple[int, InputError]]:
    listed, wrong = listed_particulars(), []
    areas = {str(area.get("name", "")).strip().casefold(): area for area in data["area"]}
    for place, row in enumerate(said):
        name = " ".join(str(row.get("for") or "").split()).casefold()
        key = "_".join(str(row.get("what") or "").casefold().split())
        if name in ("", JOB):
            scope, table = "job", data["job"]
        elif name in areas:
            scope, table = "area", areas[name]
        else:
            scope, table = "spot", spots.get(name)
        one = listed.get((scope, key))
        if table is None:
            wrong.append(
                (place, InputError(f"for is {row.get('for')!r}; it must be an area, a spot, or blank for the job"))
            )
        elif one is None:
            wrong.append((place, InputError(f"what is {row.get('what')!r}; pick one from the list")))
        elif row.get("text") in (None, ""):
            wrong.append((place, InputError(f"{one.word} has no value")))
        else:
            try:
                value = _value(one, str(row["text"]))
            except InputError as error:
                wrong.append((place, error))
                continue
            held = table if not one.within else table.setdefault(one.within, {})
            if one.listed:
                held.setdefault(key, []).append(value)
            elif key in held:
                wrong.append((place, InputError(f"{one.word} is there twice")))
            else:
                held[key] = value
    return wrong
