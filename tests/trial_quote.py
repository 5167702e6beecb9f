"""An invented company, its prices and its jobs, whose every number is easy to find again in a file."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from printed import FOOT_M, SHORT_TON_KG, YARD3_M3

from basecalc import PriceBook, Quote, parse_job, quote
from basecalc.company import Company, Paver, Rate, Roll, Stone, Truck, company
from basecalc.pricing.prices import Price

LOOSE_KG_M3 = 1.48 * SHORT_TON_KG / YARD3_M3
TERMS = (
    "We begin within four weeks of signing, weather permitting.",
    "Access for a tandem truck is kept open by the client; sprinklers and lights are moved before we start.",
    "Changes are agreed in writing before they are built.",
)
# code, unit, unit price, taxable, supplier: odd prices, so that none occurs by chance
PRICES = (
    ("old-pavement", "ft2", "1.37", False, ""), ("old-pavement-haul", "load", "187.13", False, "Gorse Bank Haulage"),
    ("spoil-haul", "load", "171.29", False, "Gorse Bank Haulage"),
    ("spoil-tip", "load", "63.41", False, "Ninebark Pit"),
    ("geotextile", "roll", "413.77", True, "Tern & Sedge Supply"),
    ("geogrid", "roll", "639.83", True, "Tern & Sedge Supply"),
    ("base-stone", "ton", "23.87", True, "Ninebark Quarry"),
    ("stone-haul", "load", "148.61", False, "Gorse Bank Haulage"),
    ("bedding-sand", "ton", "31.43", True, "Ninebark Quarry"), ("pavers", "ft2", "4.79", True, "Alder Mews Pavers"),
    ("edge-restraint", "ft", "2.17", True, "Alder Mews Pavers"),
    ("joint-sand", "bag", "11.93", True, "Alder Mews Pavers"),
    ("foundation-fill", "ton", "27.19", True, "Ninebark Quarry"), ("paver-lay", "ft2", "3.61", False, ""),
    ("crew-time", "h", "167.39", False, ""), ("machine-time", "h", "93.71", False, ""),
)  # fmt: skip
RATES = (
    ("dig", 14.0, 14.0, "yd3"), ("base-place", 11.0, 22.0, "yd3"), ("foundation-place", 5.0, None, "yd3"),
    ("paver-lay", 62.0, None, "ft2"),
)  # fmt: skip


def trial_company(**changes: Any) -> Company:
    values = {
        "name": "Fernhollow Driveways", "address": "12 Kiln Lane, Brackwater", "phone": "555 0142",
        "email": "office@fernhollow.example", "overhead": 0.1173, "profit": 0.1561, "contingency": 0.0331,
        "tax_rate": 0.0625, "deposit": 0.3,
    }  # fmt: skip
    return company(
        values | changes,
        stones=(
            Stone("3/4 in crushed base", "base-stone", "base", LOOSE_KG_M3, 1.254, 0.05),
            Stone("Bedding sand", "bedding-sand", "bedding", LOOSE_KG_M3, 1.15, 0.05),
            Stone("Clean granular fill", "foundation-fill", "fill", LOOSE_KG_M3, 1.2, 0.0),
        ),
        pavers=(Paver("Cobble gray", "pavers", 0.060325, 0.05),),
        rolls=(
            Roll("Open mesh 32", "geogrid", "geogrid", 50.0, 4.0, 0.32),
            Roll("Woven separation", "geotextile", "geotextile", 300 * FOOT_M, 12.5 * FOOT_M, 0.0),
        ),
        trucks=(Truck("Tandem", "both", 14 * SHORT_TON_KG, 12 * YARD3_M3),),
        rates=tuple(Rate(*row) for row in RATES),
        terms=TERMS,
    )


def trial_book(**changes: Any) -> PriceBook:
    prices = {
        code: Price(code, "", unit, Decimal(price), taxable, date(2026, 3, 9), supplier, f"sheet Prices, cell D{row}")
        for row, (code, unit, price, taxable, supplier) in enumerate(PRICES, 5)
    }
    return PriceBook(trial_company(**changes), prices, "prices.xlsx")


SOFT: dict[str, Any] = {
    "job": {
        "number": "FH-118", "client": "Odalys Pemberwick", "site": "31 Rushes Lane, Brackwater",
        "date": date(2026, 4, 21), "prepared_by": "T. Marrow", "season": "wet", "soil": "clay",
        "notes": ["The low corner by the ditch stays wet all spring; work there begins after a dry week."],
    },
    "area": [{"name": "Driveway", "shape": "rectangle", "length": 96, "width": 14, "foundation_edge": 14,
              "geotextile": True, "edge_restraint": 206}],
    "spot": [
        {"name": "By the gate", "readings": [{"test": "walk", "reading": 2.5}, {"test": "pocket", "reading": 0.45}]},
        {"name": "Half way", "readings": [{"test": "walk", "reading": 2.25}, {"test": "vane", "reading": "25 kPa"}]},
        {"name": "By the ditch", "readings": [{"test": "thumb", "reading": "thumb deep"}]},
    ],
}  # fmt: skip

FIRM: dict[str, Any] = {
    "job": {
        "number": "FH-119", "client": "Corbin Vastra", "site": "9 Quarry Rise, Brackwater", "date": date(2026, 4, 14),
        "prepared_by": "T. Marrow", "season": "moist", "soil": "clay",
    },
    "area": [{"name": "Driveway", "shape": "rectangle", "length": 62, "width": 14, "finish_above_ground": 1,
              "foundation_edge": 14, "edge_restraint": 138}],
    "spot": [
        {"name": "At the street",
         "readings": [{"test": "dump truck", "reading": 0.5}, {"test": "pocket", "reading": 4.5}]},
        {"name": "At the garage",
         "readings": [{"test": "cone", "reading": 10.5}, {"test": "shovel", "reading": "pick"}]},
    ],
}  # fmt: skip

TWO_AREAS: dict[str, Any] = {
    "job": {
        "number": "FH-120.B", "client": "=Marguerite Sandhollow", "site": "@Plot 4, Tannery Field, Brackwater",
        "date": date(2026, 5, 6), "prepared_by": "+T. Marrow", "season": "moist", "traffic": "delivery",
        "new_build": True, "soil": "earth", "walked": True, "notes": ["-Gate code is with the neighbor."],
    },
    "area": [
        {"name": "Driveway", "shape": "polygon", "points": [[0, 0], [70, 0], [70, 16], [36, 16], [36, 40], [0, 40]],
         "foundation_edge": 34, "foundation_fill_depth": 24, "foundation_fill_width": 4, "note": "=1+1",
         "old_pavement": 3, "old_pavement_kind": "asphalt"},
        {"name": "Parking bay", "shape": "trapezoid", "parallel_sides": [24, 18], "height": 20,
         "finish_above_ground": 2, "soil": "sand"},
    ],
    "spot": [
        {"name": "Street end", "area": "Driveway", "readings": [{"test": "cone", "reading": 62, "soil": "sand"},
         {"test": "pickup", "reading": 1.5}, {"test": "rod", "reading": 9}]},
        {"name": "At the house", "area": "Driveway", "readings": [{"test": "walk", "reading": 1.5},
         {"test": "rod", "reading": 30, "note": "@backfill along the foundation"}]},
        {"name": "Bay", "area": "Parking bay", "readings": [{"test": "cone", "reading": 24},
         {"test": "shovel", "reading": "hard"}]},
    ],
}  # fmt: skip

METRIC: dict[str, Any] = {
    "job": {
        "number": "FH-121", "client": "Ansel Thorngate", "site": "2 Weir Street, Brackwater", "date": date(2026, 6, 2),
        "units": "metric", "season": "moist", "soil": "silt",
    },
    "area": [{"name": "Driveway", "shape": "measured", "area": 118.5, "perimeter": 52,
              "length": 22, "width": 5.5, "strength": "medium"}],
}  # fmt: skip


def trial_quote(job: dict[str, Any], *, grid: bool = True, **changes: Any) -> Quote:
    book = trial_book(**changes)
    if not grid:
        rolls = tuple(roll for roll in book.company.rolls if roll.kind != "geogrid")
        book = replace(book, company=replace(book.company, rolls=rolls))
    return quote(parse_job(job), book)
