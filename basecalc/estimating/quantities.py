"""How the quantities of an option follow from the columns of the sheet Areas; each is a row of the sheet Estimate.

A formula is written for one option: {Q:key} is another quantity of the option, {P:key} the first cell of a pair and
{S:key} its second, {A:column} a column of the sheet Areas, {V:kind-what} a published number.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from basecalc.estimating.edition import Edition
from basecalc.plan.area import OLD_PAVEMENTS
from basecalc.takeoff.codes import Code, codes


@dataclass(frozen=True, slots=True)
class QuantityRow:
    """A quantity: what it is, its unit, its formula; a pair (weight and loose volume) has two."""

    key: str
    label: str
    unit: str
    formula: str
    second: str = ""


@dataclass(frozen=True, slots=True)
class LineRow:
    """A priced line."""

    key: str
    label: str
    unit: str
    price: str
    scope: str


_STONES: Final[Mapping[str, tuple[str, str]]] = {
    "base-stone": ("Stone", "base stone"),
    "bedding-sand": ("Sand", "bedding sand"),
    "foundation-fill": ("Fill", "granular fill"),
}
WORK: Final = tuple(key for key, code in codes().items() if code.kind == "work")


def quantity_rows(edition: Edition) -> tuple[QuantityRow, ...]:
    """Return the quantities, in the order of the work."""
    per, cubes, mass, volume = edition.depths_in_length, edition.cubes_in_volume, edition.mass, edition.volume
    made = [
        QuantityRow("plan", "plan area", edition.area, "SUM({A:plan})"),
        QuantityRow("old-pavement", "old pavement broken out", edition.area, 'SUMIF({A:old},">0",{A:plan})'),
        QuantityRow("dig", "dig, in the ground", volume, "SUM({A:o_bank})"),
        QuantityRow(
            "spoil", "spoil: weight, loose volume", f"{mass}, {volume}", "SUM({A:o_spoil})", "SUM({A:o_loose})"
        ),
        _loads("spoil-haul", "spoil", "loads of spoil", "SpoilTruck", edition),
    ]
    for kind in OLD_PAVEMENTS:
        seen = f'SUMPRODUCT(--({{A:old_kind}}="{kind}"),{{A:plan}},{{A:old}})/{per}/{cubes}'
        made += [
            QuantityRow(f"{kind}-place", f"old {kind}, in place", volume, seen),
            QuantityRow(
                f"old {kind}",
                f"old {kind}: weight, loose volume",
                f"{mass}, {volume}",
                f"{{Q:{kind}-place}}*{{V:{kind}-weight}}",
                f"{{Q:{kind}-place}}*{{V:{kind}-bulking}}",
            ),
            _loads(f"old-pavement-haul {kind}", f"old {kind}", f"loads of old {kind}", "SpoilTruck", edition),
        ]
    made += [
        QuantityRow("geotextile", "geotextile", "roll", _rolls("o_textile", "textile", "Textile", edition)),
        QuantityRow("geogrid", "geogrid", "roll", _rolls("geogrid_grid", "grid", "Grid", edition)),
        QuantityRow("base-place", "base, compacted", volume, "SUM({A:o_stone})"),
        QuantityRow("bedding-place", "bedding sand, screeded", volume, f"{{Q:plan}}*Bedding/{per}/{cubes}"),
        QuantityRow("foundation-place", "granular fill, compacted", volume, "SUM({A:fill})"),
    ]
    for key, place in (
        ("base-stone", "base-place"),
        ("bedding-sand", "bedding-place"),
        ("foundation-fill", "foundation-place"),
    ):
        name, words = _STONES[key]
        weight = f"{{Q:{place}}}*{name}Factor*{name}Density*(1+{name}Waste)"
        loose = f"{{Q:{place}}}*{name}Factor*(1+{name}Waste)"
        numbers = f"AND(ISNUMBER({name}Factor),ISNUMBER({name}Density),ISNUMBER({name}Waste))"
        made += [
            QuantityRow(
                key,
                f"{words}: weight, loose volume",
                f"{mass}, {volume}",
                f"IF({{Q:{place}}}=0,0,IF({numbers},{weight},NA()))",
                f"IF({{Q:{place}}}=0,0,IF({numbers},{loose},NA()))",
            ),
            _loads(f"stone-haul {key}", key, f"loads of {words}", "StoneTruck", edition),
        ]
    made += [
        QuantityRow("pavers", "pavers", edition.area, "IF(ISNUMBER(PaverWaste),{Q:plan}*(1+PaverWaste),NA())"),
        QuantityRow("paver-lay", "pavers to lay", edition.area, "{Q:plan}"),
        QuantityRow("edge-restraint", "edge restraint", edition.length, "SUM({A:restraint})"),
        QuantityRow(
            "joint-sand",
            "joint sand",
            "bag",
            f"IF(ISNUMBER(JointSand),ROUNDUP(ROUND({{Q:plan}}*JointSand/{edition.bag},9),0),NA())",
        ),
    ]
    return tuple(made)


def _loads(key: str, pair: str, label: str, truck: str, edition: Edition) -> QuantityRow:
    given = f"{{P:{pair}}},{truck}Payload,{{S:{pair}}},{truck}Box"
    if edition.units == "metric":
        given = f'{{P:{pair}}}&" t",{truck}Payload&" t",{{S:{pair}}}&" m3",{truck}Box&" m3"'
    return QuantityRow(key, label, "load", f"IF({{P:{pair}}}=0,0,TRUCKLOADS({given}))")


def _rolls(columns: str, laps: str, name: str, edition: Edition) -> str:
    strips = f"{{A:{columns}_strips}}"
    call = f'POOLED_ROLLS({strips},{{A:{columns}_length}},{{A:{laps}_end}},{name}Length,"{edition.length}")'
    return f"IF(COUNT({strips})=0,0,{call})"


def line_rows(edition: Edition) -> tuple[LineRow, ...]:
    """Return the lines that are priced, in the order of the work."""
    made: list[LineRow] = []
    for key, code in codes().items():
        if code.kind == "work":
            made += _work(key, code, edition)
        elif code.kind != "time":
            made += _bought(key, code, edition)
    return tuple(made)


def _work(key: str, code: Code, edition: Edition) -> list[LineRow]:
    return [
        LineRow(f"{key} own", code.title, code.unit(edition.units), f'"{key}"', code.scope),
        LineRow(f"{key} crew", f"   crew: {code.title}", "h", '"crew-time"', code.scope),
        LineRow(f"{key} machine", f"   machine: {code.title}", "h", '"machine-time"', code.scope),
    ]


def _bought(key: str, code: Code, edition: Edition) -> list[LineRow]:
    unit, price = code.unit(edition.units), f'"{key}"'
    if key == "old-pavement-haul":
        return [LineRow(f"{key} {kind}", f"{code.title}: {kind}", unit, price, code.scope) for kind in OLD_PAVEMENTS]
    if key == "stone-haul":
        return [
            LineRow(f"{key} {stone}", f"{code.title}: {words}", unit, price, code.scope)
            for stone, (_, words) in _STONES.items()
        ]
    if key == "spoil-tip":
        return [LineRow("spoil-haul", code.title, unit, price, code.scope)]
    own = {"pavers": "PaverCode", "geogrid": "GridCode", "geotextile": "TextileCode"}
    own |= {stone: f"{name}Code" for stone, (name, _) in _STONES.items()}
    return [LineRow(key, code.title, unit, own.get(key, price), code.scope)]
