"""What pydantic refuses reads as one sentence of ours, with the place and the name the user knows."""

from typing import Annotated, Any, Literal

import pytest
from pydantic import ValidationError

from basecalc.core.errors import InputError, OutOfRangeError, PriceError
from basecalc.core.records import Record, measure, one_of, refusals, text, yes_no


class Edge(Record):
    open_edge: Annotated[float, measure("m", "ft", "m", 0, 100, above=True, why="so says the site")]
    kind: Annotated[str, one_of(("curb", "grass"), blank="grass")] = "grass"
    held: Annotated[bool, yes_no(blank=False)] = False
    note: Annotated[str, text(needed=False, longest=10)] = ""
    offer: Literal["stone", "geogrid"] = "stone"
    count: int = 1


class Plot(Record):
    edges: list[Edge]


def refused(edge: Any, **context: Any) -> list[str]:
    with pytest.raises(ValidationError) as caught:
        Plot.model_validate({"edges": [edge]}, context=context)
    return [str(one) for one in refusals(caught.value, lambda path: ".".join(map(str, path)))]


@pytest.mark.parametrize(
    ("edge", "sentence"),
    [
        ({}, "edges.0.open_edge: open edge is missing; it must be given"),
        ({"open_edge": None}, "edges.0.open_edge: open edge is missing; it must be a number above 0 and "
         "at most 100 ft"),
        ({"open_edge": "10 lb"}, "edges.0.open_edge: open edge is '10 lb'; it must be a number (ft), or a number with "
         "a unit that can be turned into ft"),
        ({"open_edge": 0}, "edges.0.open_edge: open edge is 0 ft; it must be above 0 and at most 100 ft (so "
         "says the site)"),
        ({"open_edge": 1, "kind": "hedge"}, "edges.0.kind: kind is 'hedge'; it must be one of: curb, grass"),
        ({"open_edge": 1, "held": "x"}, "edges.0.held: held is 'x'; it must be one of: yes, no"),
        ({"open_edge": 1, "note": "x" * 11}, "edges.0.note: note has 11 characters; it must be at most 10 characters"),
        ({"open_edge": 1, "note": ["x"]}, "edges.0.note: note is a list; it must be text"),
        ({"open_edge": 1, "offer": "gold"}, "edges.0.offer: offer is 'gold'; it must be one of: 'stone', 'geogrid'"),
        ({"open_edge": 1, "count": "2"}, "edges.0.count: count is '2'; it must be a whole number"),
        ({"open_edge": 1, "curb": 2}, "edges.0.curb: there is no field 'curb'"),
        (7, "edges.0: edges is 7; it must be a table of fields"),
    ],
)  # fmt: skip
def test_each_refusal_is_one_sentence_with_its_place(edge: Any, sentence: str) -> None:
    assert refused(edge) == [sentence]


def test_several_refusals_are_told_at_once() -> None:
    assert len(refused({"open_edge": -1, "kind": "hedge", "held": "x"})) == 3


def test_units_and_names_come_from_the_context() -> None:
    assert Edge.model_validate({"open_edge": 3}, context={"units": "metric"}).open_edge == 3
    assert Edge.model_validate({"open_edge": 36}, context={"unit_of": {"open_edge": "in"}}).open_edge == pytest.approx(
        0.9144
    )
    assert Edge.model_validate({"open_edge": "3 m"}).open_edge == pytest.approx(3)
    assert refused({"open_edge": 40}, units="metric") == [
        "edges.0.open_edge: open edge is 40 m; it must be above 0 and at most 30.48 m (so says the site)"
    ]
    assert refused({"open_edge": 1}, unit_of={"open_edge": "kg"}) == [
        "edges.0.open_edge: the unit of open edge is 'kg'; it must be one that can be turned into ft"
    ]
    assert refused({"open_edge": 0}, labels={"open_edge": "free edge"})[0].startswith(
        "edges.0.open_edge: free edge is 0"
    )


def test_blanks_stand_for_what_the_field_says() -> None:
    edge = Edge.model_validate({"open_edge": 1, "kind": " ", "held": None, "note": 7.0})
    assert (edge.kind, edge.held, edge.note) == ("grass", False, "7")


def test_the_class_of_error_is_kept_or_chosen() -> None:
    with pytest.raises(ValidationError) as caught:
        Edge.model_validate({"open_edge": 1000, "count": "x"})
    assert [type(one) for one in refusals(caught.value, lambda _: "here")] == [OutOfRangeError, InputError]
    assert {type(one) for one in refusals(caught.value, lambda _: "here", PriceError)} == {PriceError}
