"""The catalogue of codes is complete, priceable and checked as it is read."""

import tomllib
from collections.abc import Callable
from importlib.resources import files
from typing import Any

import pytest

from basecalc.core.errors import InputError
from basecalc.core.published import TableError
from basecalc.core.units import convert
from basecalc.takeoff.codes import check, code, codes, scopes

WANTED = [
    "old-pavement",
    "old-pavement-haul",
    "dig",
    "spoil-haul",
    "spoil-tip",
    "geotextile",
    "geogrid",
    "base-stone",
    "stone-haul",
    "base-place",
    "bedding-sand",
    "pavers",
    "paver-lay",
    "edge-restraint",
    "joint-sand",
    "foundation-fill",
    "foundation-place",
    "crew-time",
    "machine-time",
]
SCOPES = ["remove", "dig", "base", "reinforcement", "surface", "foundation"]


def raw() -> dict[str, Any]:
    return tomllib.loads((files("basecalc") / "data" / "quantity_codes.toml").read_text("utf-8"))


def test_every_quantity_of_the_work_has_a_code_and_every_line_a_text() -> None:
    assert list(codes()) == WANTED
    assert list(scopes()) == SCOPES
    assert all(scope.title and scope.text.endswith(".") for scope in scopes().values())


def test_only_work_may_be_priced_through_hours() -> None:
    free = {name for name, entry in codes().items() if not entry.must_be_priced}
    assert free == {"old-pavement", "dig", "base-place", "paver-lay", "foundation-place"}


def test_material_is_taxed_by_default_and_nothing_else() -> None:
    assert all(entry.taxable_default == (entry.kind == "material") for entry in codes().values())


@pytest.mark.parametrize("name", WANTED)
def test_the_metric_unit_measures_the_same_thing_as_the_us_one(name: str) -> None:
    entry = code(name)
    us, metric = entry.unit("us"), entry.unit("metric")
    if us == metric:
        assert us in {"load", "roll", "bag", "h"}
        assert entry.whole == (us != "h")
    else:
        assert convert(1.0, us, metric) > 0
        assert not entry.whole


def test_an_unknown_code_is_answered_with_the_known_ones() -> None:
    with pytest.raises(InputError, match="code is 'stone'; it must be one of: old-pavement, "):
        code("stone")
    with pytest.raises(InputError, match="units is 'imperial'"):
        code("dig").unit("imperial")


def changed(**change: Any) -> Callable[[dict[str, Any]], None]:
    return lambda data: data["codes"][0].update(change)


@pytest.mark.parametrize(
    ("spoil", "complaint"),
    [
        (lambda data: data["codes"].append(data["codes"][0]), "old-pavement stands twice"),
        (lambda data: data["scopes"].append(data["scopes"][0]), "a line stands twice"),
        (lambda data: data["scopes"].append({"scope": "roof", "title": "Roof", "text": "."}), "a line has no code"),
        (lambda data: data["codes"][0].pop("kind"), "does not have the keys"),
        (lambda data: data.update(source="NOBODY"), "source or trust is unknown"),
        (lambda data: data.update(trust="hearsay"), "source or trust is unknown"),
        (changed(kind="magic"), "kind 'magic' is unknown"),
        (changed(scope="roof"), "line 'roof'"),
        (changed(scope=""), "line ''"),
        (changed(units=["yd3", "m2"]), "units .* are unknown"),
        (changed(units="ft2"), "units is not a list"),
        (changed(taxable_default="no"), "taxable_default is not a bool"),
        (changed(must_be_priced=True), "only work may go without a price"),
        (changed(code="Old Pavement"), "is no plain code"),
    ],
)
def test_a_damaged_catalogue_is_refused(spoil: Callable[[dict[str, Any]], object], complaint: str) -> None:
    data = raw()
    spoil(data)
    with pytest.raises(TableError, match=complaint):
        check(data)
