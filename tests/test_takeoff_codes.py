"""Everything that is priced: each code has its quantity and its unit, each line of the client's its text."""

import pytest

from basecalc import InputError
from basecalc.core.expressions import KINDS, Quantity
from basecalc.core.units import convert
from basecalc.takeoff.codes import code
from basecalc.takeoff.model import CODES, MODEL, SCOPES

WANTED = [
    "old-pavement", "old-pavement-haul", "dig", "spoil-haul", "spoil-tip", "geotextile", "geogrid", "base-stone",
    "stone-haul", "base-place", "bedding-sand", "pavers", "paver-lay", "edge-restraint", "joint-sand",
    "foundation-fill", "foundation-place", "crew-time", "machine-time",
]  # fmt: skip
QUANTITIES = [one for key in ("job", "rubble") for one in MODEL.tables[key].quantities if one.code]


def test_every_quantity_of_the_work_has_a_code_and_every_line_a_text() -> None:
    assert list(CODES) == WANTED
    assert {one.code for one in QUANTITIES} == {key for key, of in CODES.items() if of.kind != "time"}
    assert list(SCOPES) == ["remove", "dig", "base", "reinforcement", "surface", "foundation"]
    assert {of.scope for of in CODES.values()} == {*SCOPES, ""}
    assert all((of.scope == "") == (of.kind == "time") for of in CODES.values())
    assert all(scope.title and scope.text.endswith(".") for scope in SCOPES.values())


def test_only_work_may_be_priced_through_hours_and_only_material_is_taxed() -> None:
    free = {name for name, entry in CODES.items() if not entry.must_be_priced}
    assert free == {"old-pavement", "dig", "base-place", "paver-lay", "foundation-place"}
    assert all(entry.taxable_default == (entry.kind == "material") for entry in CODES.values())


@pytest.mark.parametrize("quantity", QUANTITIES, ids=lambda one: one.key)
def test_a_code_is_counted_in_the_unit_of_its_quantity(quantity: Quantity) -> None:
    of = code(quantity.code)
    assert of.whole == (quantity.kind == "count")
    if not of.whole:
        assert of.units == (KINDS[quantity.kind].us, KINDS[quantity.kind].metric)
        assert convert(1.0, of.unit("us"), of.unit("metric")) > 0
    else:
        assert of.unit("us") == of.unit("metric")
        assert of.us in {"load", "roll", "bag"}


def test_an_unknown_code_is_answered_with_the_known_ones() -> None:
    with pytest.raises(InputError, match="code is 'stone'; it must be one of: old-pavement, "):
        code("stone")
    with pytest.raises(InputError, match="units is 'imperial'"):
        code("dig").unit("imperial")
