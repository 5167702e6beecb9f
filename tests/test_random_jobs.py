"""Random jobs of an invented company, every quantity and every cent held against a second working-out.

``python tests/test_random_jobs.py 5000`` runs as many jobs as asked and prints what it saw.
"""

import sys
from collections import Counter
from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from oracle import SI, Ground, Job

from basecalc import BasecalcError, lines_frame, load_prices, parse_job, quantities_frame, quote, write_price_workbook

SHORT = 100
BOOKS = 12


def records(rng: Random) -> dict[str, Any]:
    """Return an owner's price workbook, every number drawn."""
    units = {
        "base-stone": ("ton", "lb"), "bedding-sand": ("ton",), "foundation-fill": ("ton", "lb"), "pavers": ("ft2", "yd2"),
        "paver-lay": ("ft2",), "edge-restraint": ("ft", "m"), "dig": ("yd3", "ft3"), "base-place": ("yd3", "m3"),
        "foundation-place": ("yd3",), "old-pavement": ("ft2", "yd2"), "joint-sand": ("bag",), "geogrid": ("roll",),
        "geotextile": ("roll",), "spoil-haul": ("load", "yd3", "h"), "spoil-tip": ("load", "ton", "yd3"),
        "stone-haul": ("load", "ton"), "old-pavement-haul": ("load", "ton"), "crew-time": ("h",), "machine-time": ("h",),
    }  # fmt: skip
    around = {"lb": 0.0125, "ton": 25, "ft2": 5, "yd2": 40, "ft": 2.5, "m": 8, "yd3": 9, "ft3": 0.4, "m3": 12, "bag": 17,
              "roll": 600, "load": 120, "h": 110}  # fmt: skip
    by_hours = {
        code for code in ("dig", "base-place", "foundation-place", "old-pavement", "paver-lay") if rng.random() < 0.5
    }
    prices = []
    for code, choices in units.items():
        if code not in by_hours:
            unit = rng.choice(choices)
            price = round(around[unit] * rng.uniform(0.5, 2.0), 4 if unit == "lb" else 2)
            row = {"code": code, "unit": unit, "unit_price": price, "taxable": rng.choice(("yes", "no"))}
            if code.endswith(("-haul", "-tip")) and rng.random() < 0.4:
                row["minimum"] = float(rng.choice((150, 600, 2000)))
            prices.append(row)
    rates = [
        {"code": code, "per_crew_hour": round(rng.uniform(5, 80), 1), "unit": units[code][0]}
        | ({"per_machine_hour": round(rng.uniform(5, 80), 1)} if rng.random() < 0.5 else {})
        for code in sorted(by_hours)
    ]
    if any(row["code"] == "spoil-haul" and row["unit"] == "h" for row in prices):
        rates.append({"code": "spoil-haul", "per_machine_hour": 1.6, "unit": "load"})
    return {
        "settings": {
            "name": "Larch Fork Paving", "overhead": rng.choice((0.1, 0.12, 0.085)), "profit": rng.choice((0.1, 0.15, 0.225)),
            "contingency": rng.choice((0.0, 0.03, 0.05)), "tax_rate": rng.choice((0.0, 0.06, 0.07125)), "deposit": 0.3,
            "joint_sand_kg_m2": rng.choice((1.0, 0.8, 1.25)), "edge_extension_m": rng.choice((6.0, 9.0)),
            "mobilization": rng.choice((0, 0, 425)), "discount": rng.choice((0, 0, 0.05)),
            "minimum_charge": rng.choice((0, 0, 24_000)), "round_price": rng.choice(("off", "off", "1", "10", "50")),
        },
        "stones": [
            {"name": "crusher run", "code": "base-stone", "use": "base", "loose_density": round(rng.uniform(1.3, 1.6), 2),
             "compaction_factor": round(rng.uniform(1.1, 1.35), 3), "waste": rng.choice((0.0, 0.05, 0.1))},
            {"name": "screenings", "code": "bedding-sand", "use": "bedding", "loose_density": 1.35,
             "compaction_factor": 1.15, "waste": rng.choice((0.0, 0.05))},
            {"name": "washed gravel", "code": "foundation-fill", "use": "fill", "loose_density": 1.4,
             "compaction_factor": 1.15, "waste": 0.0},
        ],
        "pavers": [{"name": "cobble", "code": "pavers", "thickness": rng.choice((2.375, 3.125)),
                    "cutting_waste": rng.choice((0.03, 0.07))}],
        "rolls": [
            {"name": "grid", "code": "geogrid", "kind": "geogrid", "length": rng.choice((100, 150, 200)),
             "width": rng.choice((10, 13)), "aperture_stability": 0.4},
            {"name": "cloth", "code": "geotextile", "kind": "geotextile", "length": 300, "width": 12.5}
            | ({"overlap": 2.0} if rng.random() < 0.3 else {}),
        ],
        "trucks": [{"name": "tandem", "use": "both", "payload": rng.choice((10, 14, 18)), "box": rng.choice((8, 12, 16))}],
        "soils": [{"soil": "clay", "swell": 1.35}] if rng.random() < 0.5 else [],
        "rates": rates,
        "prices": prices,
    }  # fmt: skip


def job_data(rng: Random, number: int) -> dict[str, Any]:
    """Return the tables of a job file: one to five areas of every shape, in either unit system."""
    metric = rng.random() < 0.4
    soil = rng.choice(("clay", "earth", "sand"))
    job = {
        "number": f"R-{number}", "client": "Any Client", "site": "1 Any Lane, Brackwater", "soil": soil,
        "units": "metric" if metric else "us", "traffic": rng.choice(("light", "delivery")),
        "offer": rng.choice(("stone", "geogrid", "cheaper")),
    }  # fmt: skip
    areas = [_area(rng, place, metric=metric) for place in range(rng.randint(1, 5))]
    return {"job": job, "area": areas, "line": [_line(rng, place) for place in range(rng.choice((0, 0, 1, 2, 4)))]}


def _line(rng: Random, place: int) -> dict[str, Any]:
    """Return an extra line of any unit, marked up or charged as it is."""
    unit = rng.choice(("each", "lump", "h", "day", "ft", "ft2", "yd3", "ton"))
    line = {"item": f"Extra {place}", "unit": unit, "unit_price": round(rng.uniform(0.5, 900), rng.choice((2, 4)))}
    if unit != "lump":
        line["quantity"] = round(rng.uniform(0.5, 300), rng.choice((0, 1, 3))) or 1
    return line | {"taxable": rng.choice(("yes", "no")), "sense": rng.choice(("cost", "cost", "price"))}


def _area(rng: Random, place: int, *, metric: bool) -> dict[str, Any]:
    def long(low: float, high: float) -> float:
        return round(rng.uniform(low, high) * (0.3048 if metric else 1.0), 1)

    def thick(low: float, high: float) -> float:
        return round(rng.uniform(low, high) * 25.4) if metric else round(rng.uniform(low, high) * 4) / 4

    area: dict[str, Any] = {"name": f"Area {'ABCDE'[place]}", "strength": _strength(rng)}
    shape = rng.choice(("rectangle", "rectangle", "rectangle", "polygon", "trapezoid", "circle", "triangle"))
    area["shape"] = shape
    if shape == "rectangle":
        area |= {"length": long(25, 110), "width": long(9, 24)}
        if rng.random() < 0.4:
            area["length"], area["width"] = (50.0, 20.0) if not metric else (15.0, 6.0)
        side = area[rng.choice(("length", "width"))]
        if rng.random() < 0.5:
            area["foundation_edge"] = side
            if (what := rng.random()) < 0.35:
                area |= {"foundation_fill_depth": thick(6, 36), "foundation_fill_width": long(2, 6)}
            elif what < 0.7:
                area |= {
                    "foundation_strip": True,
                    "foundation_fill_width": long(2, 6),
                    "foundation_strip_strength": "soft",
                }
    elif shape == "polygon":
        a, b, c, d = long(40, 80), long(30, 60), long(12, 24), long(12, 24)
        area["points"] = [[0, 0], [a, 0], [a, c], [d, c], [d, b], [0, b]]
        if rng.random() < 0.5:
            area["foundation_edge"] = round(rng.choice((a, c, a - d, b - c, d, b)), 1)
    elif shape == "trapezoid":
        area |= {"parallel_sides": [long(20, 40), long(10, 20)], "height": long(15, 40)}
    elif shape == "circle":
        area["diameter"] = long(15, 40)
    else:
        area["sides"] = [long(20, 30), long(20, 30), long(20, 30)]
    if rng.random() < 0.4:
        area["finish_above_ground"] = thick(-2, 2)
    if rng.random() < 0.3:
        area["soil"] = rng.choice(("clay", "earth", "sand", "gravel"))
    if rng.random() < 0.3 and not area.get("foundation_strip"):
        area |= {
            "old_pavement": thick(2, 4),
            "old_pavement_kind": rng.choice(("asphalt", "concrete", "pavers", "gravel")),
        }
        if rng.random() < 0.6:
            area |= {"keep_old_base": True, "test_holes": [
                {"where": f"hole {n}", "base": thick(6, 12), "state": "clean"} for n in range(rng.randint(2, 5))
            ]}  # fmt: skip
            area["strength"] = rng.choice(("stiff", "very stiff", "hard"))
    elif rng.random() < 0.2 and not area.get("foundation_fill_depth") and area.get("foundation_edge"):
        area |= {"loose_fill": "fill", "loose_fill_depth": thick(24, 60)}
        if not area.get("foundation_strip"):
            area["sound_ground"] = "hard"
        else:
            area["sound_ground"] = "very stiff"
    area["geotextile"] = rng.random() < 0.3
    if rng.random() < 0.2:
        area["edge_restraint"] = long(10, 60)
    return area


def _strength(rng: Random) -> str | float:
    if rng.random() < 0.5:
        return rng.choice(("soft", "medium", "stiff", "very stiff", "hard"))
    return round(rng.uniform(0.45, 9.0), 2)


@cache
def price_book(seed: int) -> tuple[dict[str, Any], Any]:
    """Return an owner's records, and what is read from the workbook written of them."""
    given = records(Random(f"owner {seed}"))
    with TemporaryDirectory() as folder:
        return given, load_prices(write_price_workbook(Path(folder, "prices.xlsx"), given))


def differences(number: int) -> tuple[list[str], int] | None:
    """Return where library and second working-out differ on a random job, and how many options were held; None: refused."""
    rng = Random(f"job {number}")
    given, book = price_book(number % BOOKS)
    data = job_data(rng, number)
    try:
        made = quote(parse_job(data), book)
    except BasecalcError:
        return None
    job, wrong, held = Job(data, given), [], 0
    for option in (made.stone, made.geogrid, made.standard):
        if option is None:
            continue
        held += 1
        ground = {
            one.area.name: Ground(
                one.base_m, made.depths[one.area.name].cbr, made.depths[one.area.name].strength.strength_class,
                one.depth is not None and one.depth.reinforcement.kind == "geogrid",
            )
            for one in option.takeoff.areas
        }  # fmt: skip
        amounts = job.take_off(ground)
        wrong += [f"R-{number} {option.option}: {words}" for words in _quantities(quantities_frame(option), amounts)]
        wrong += [f"R-{number} {option.option}: {words}" for words in _money(option, job, amounts)]
    return wrong, held


def _quantities(frame: Any, amounts: Mapping[tuple[str, str], float]) -> list[str]:
    seen: dict[tuple[str, str], float] = {}
    for row in frame.itertuples():
        key = (row.code, row.material)
        seen[key] = seen.get(key, 0.0) + row.amount * SI[row.unit]
    return [
        f"{key}: {seen.get(key)} against {amounts.get(key)}"
        for key in sorted(seen.keys() | amounts.keys())
        if abs(seen.get(key, 0.0) - amounts.get(key, 0.0)) > 1e-9 * max(amounts.get(key, 0.0), 1e-6)
    ]


def _money(option: Any, job: Job, amounts: Mapping[tuple[str, str], float]) -> list[str]:
    due = job.price(amounts)
    got = Counter(
        (row.code, Decimal(row.quantity), row.unit, Decimal(row.unit_price).normalize(), row.amount, bool(row.taxable))
        for row in lines_frame(option).itertuples()
    )
    want = Counter((code, n, unit, price.normalize(), cost, taxed) for code, n, unit, price, cost, taxed in due.lines)
    wrong = [f"line {line}" for line in (got - want)] + [f"line missing {line}" for line in (want - got)]
    if option.total != due.total or option.cost != due.cost:
        wrong.append(f"total {option.total} against {due.total}, cost {option.cost} against {due.cost}")
    scopes = {one.scope: one.amount for one in option.scope_prices}
    if scopes != due.scopes:
        wrong.append(f"client's lines {scopes} against {due.scopes}")
    return wrong


@pytest.mark.parametrize("block", range(10))
def test_a_second_working_out_gives_every_quantity_and_every_cent(block: int) -> None:
    results = [differences(number) for number in range(block * SHORT // 10, (block + 1) * SHORT // 10)]
    assert sum(one is not None for one in results) >= SHORT // 20
    assert [words for one in results if one is not None for words in one[0]] == []


if __name__ == "__main__":
    count, refused, options, faults = int(sys.argv[1]), 0, 0, 0
    for job_number in range(count):
        outcome = differences(job_number)
        refused += outcome is None
        for line in outcome[0] if outcome else ():
            faults += 1
            print(line)
        options += outcome[1] if outcome else 0
    print(f"{count} jobs: {count - refused} quoted, {refused} refused, {options} options, {faults} differences")
    sys.exit(bool(faults))
