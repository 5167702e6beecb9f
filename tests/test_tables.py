"""A table is declared once: what it refuses is one sentence with its field and place, from a sheet or a mapping."""

from typing import Any

import pytest

from basecalc import BasecalcError, InputError, OutOfRangeError, PriceError
from basecalc.core.errors import Place
from basecalc.core.units import Measure
from basecalc.tables.from_mapping import MappingReader
from basecalc.tables.schema import Each, Field, Table, Text, Words, YesNo

EDGE = Table(
    "edges",
    (
        Field("open_edge", "free edge", Measure("m", "ft", "m", 0, 100, above=True, why="so says the site")),
        Field("kind", kind=Words(("curb", "grass")), needed=False, blank=""),
        Field("held", kind=YesNo(), needed=False, blank=False),
        Field("note", kind=Text(10), needed=False, blank=""),
        Field("offer", kind=Words(("stone", "geogrid")), needed=False, blank="stone"),
        Field("count", kind=Measure("", "", low=0, whole=True), needed=False, blank=1),
        Field("waste", kind=Measure("share", "share", low=0, high=0.5), needed=False, blank=0.0),
    ),
    lambda **values: values,
)
PLOT = Table("plot", (Field("edges", kind=Each(EDGE, 1)),))


def read(edge: Any, units: str = "us") -> tuple[Any, list[BasecalcError]]:
    reader = MappingReader(units)
    row = reader.table(PLOT, {"edges": [edge]}, Place("plot.toml"))
    return row, [*reader.stray, *reader.wrong]


@pytest.mark.parametrize(
    ("edge", "field", "sentence"),
    [
        ({}, "open_edge", "open edge is missing; it must be given"),
        ({"open_edge": None}, "open_edge", "open edge is missing; it must be a number above 0 and at most 100 ft"),
        ({"open_edge": "10 lb"}, "open_edge", "open edge is '10 lb'; it must be a number (ft), or a number with "
         "a unit that can be turned into ft"),
        ({"open_edge": 0}, "open_edge", "open edge is 0 ft; it must be above 0 and at most 100 ft (so says the site)"),
        ({"open_edge": 1, "kind": "hedge"}, "kind", "kind is 'hedge'; it must be one of: curb, grass"),
        ({"open_edge": 1, "held": "x"}, "held", "held is 'x'; it must be one of: yes, no"),
        ({"open_edge": 1, "note": "x" * 11}, "note", "note has 11 characters; it must be at most 10 characters"),
        ({"open_edge": 1, "note": ["x"]}, "note", "note is a list; it must be text"),
        ({"open_edge": 1, "note": "a\x07"}, "note", "note holds the control character U+0007; it must be plain text"),
        ({"open_edge": 1, "offer": "gold"}, "offer", "offer is 'gold'; it must be one of: stone, geogrid"),
        ({"open_edge": 1, "count": 2.5}, "count", "count is 2.5; it must be a whole number at least 0"),
        ({"open_edge": 1, "waste": ""}, "waste", "waste is missing; it must be from 0 to 50 %"),
        ({"open_edge": 1, "curb": 2}, "curb", "there is no key 'curb'; the keys here are: "),
        ({"open_edge": 1, "ofer": "stone"}, "ofer", "there is no key 'ofer'; did you mean 'offer'?"),
        (7, "edges", "edges is 7; it must be a table of fields"),
    ],
)  # fmt: skip
def test_each_refusal_is_one_sentence_with_its_field_and_its_place(edge: Any, field: str, sentence: str) -> None:
    (refusal,) = read(edge)[1]
    assert str(refusal).startswith(f"plot.toml, edge 1: {sentence}")
    assert (refusal.field, refusal.place.path, refusal.place.file) == (field, ("edges", 0), "plot.toml")


def test_several_refusals_come_at_once_each_of_its_kind() -> None:
    wrong = read({"open_edge": 1000, "kind": "hedge", "held": "x"})[1]
    assert [type(one) for one in wrong] == [OutOfRangeError, InputError, InputError]


def test_a_plain_number_is_in_the_units_of_the_job_and_a_text_in_its_own() -> None:
    assert read({"open_edge": 3}, "metric")[0].edges[0]["open_edge"] == 3
    assert read({"open_edge": 3})[0].edges[0]["open_edge"] == pytest.approx(0.9144)
    assert read({"open_edge": "3 m"})[0].edges[0]["open_edge"] == pytest.approx(3)
    assert "at most 30.48 m" in str(read({"open_edge": 40}, "metric")[1][0])


def test_blanks_are_what_the_field_says() -> None:
    edge = read({"open_edge": 1, "kind": " ", "held": None, "note": 7.0})[0].edges[0]
    assert [edge[key] for key in ("kind", "held", "note", "offer")] == ["", False, "7", "stone"]


def cells(**values: Any) -> tuple[Any, list[BasecalcError]]:
    units = {"open_edge": "in", "waste": "share"}
    columns = {"open_edge": 2, "waste": 5}
    return EDGE.row(
        values, lambda key: Place("a.xlsx", "Edges", row=4, column=columns.get(key, 1)), unit_of=units, kind=PriceError
    )


def test_a_row_of_a_sheet_is_read_in_the_units_of_its_headings_and_refused_by_its_cell() -> None:
    assert cells(open_edge=36, waste="5 %")[0] == {
        "open_edge": pytest.approx(0.9144), "kind": "", "held": False, "note": "", "offer": "stone", "count": 1,
        "waste": 0.05,
    }  # fmt: skip
    (refusal,) = cells(open_edge=0, waste=0.05)[1]
    assert type(refusal) is PriceError
    assert (refusal.field, refusal.place.cell) == ("open_edge", "B4")
    assert refusal.sentence.startswith("free edge is 0 in; it must be above 0 and at most 1200 in")
    (asked,) = cells(open_edge=36, waste=0.0005)[1]
    assert (asked.place.cell, "is that meant, or 5 %" in str(asked)) == ("E4", True)


def test_headings_name_the_unit_of_either_edition() -> None:
    headings = [field.heading("us") for field in EDGE.fields], [field.heading("metric") for field in EDGE.fields]
    assert headings[0][:2] == ["free edge [ft]", "kind"]
    assert headings[1][0] == "free edge [m]"
    assert headings[0][-1] == "waste [%]"
