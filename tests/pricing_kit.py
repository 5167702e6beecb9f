"""An invented owner and a small job, for the tests of jobs, take-offs and estimates."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from printed import FOOT_M, INCH_M, SHORT_TON_KG, YARD3_M3

from basecalc import PriceBook
from basecalc.company import Company, Paver, Rate, Roll, Stone, Truck, company
from basecalc.pricing.prices import Price

TON_YD3 = SHORT_TON_KG / YARD3_M3

# code: unit, unit price, taxable
PRICES: Mapping[str, tuple[str, str, bool]] = {
    "old-pavement-haul": ("load", "140", False),
    "spoil-haul": ("load", "95", False),
    "spoil-tip": ("load", "60", False),
    "geotextile": ("roll", "410", True),
    "geogrid": ("roll", "780", True),
    "base-stone": ("ton", "24.50", True),
    "stone-haul": ("load", "0", False),
    "bedding-sand": ("ton", "31", True),
    "pavers": ("ft2", "4.15", True),
    "paver-lay": ("ft2", "5.25", False),
    "edge-restraint": ("ft", "2.35", True),
    "joint-sand": ("bag", "28", True),
    "foundation-fill": ("ton", "27", True),
    "crew-time": ("h", "148", False),
    "machine-time": ("h", "72", False),
}


def owner(**settings: Any) -> Company:
    """Return the owner; settings as the Company sheet takes them."""
    given = {
        "name": "Any Paving", "overhead": 0.12, "profit": 0.15, "contingency": 0.03, "tax_rate": 0.07, "deposit": 0.3,
    }  # fmt: skip
    return company(
        {**given, **settings},
        stones=(
            Stone("crusher run", "base-stone", "base", 1.48 * TON_YD3, 1.254, 0.05),
            Stone("concrete sand", "bedding-sand", "bedding", 1.35 * TON_YD3, 1.1, 0.1),
            Stone("washed gravel", "foundation-fill", "fill", 1.4 * TON_YD3, 1.15, 0.0),
        ),
        pavers=(Paver("plain block", "pavers", 2.375 * INCH_M, 0.05),),
        rolls=(
            Roll("stiff grid", "geogrid", "geogrid", 164 * FOOT_M, 13.1 * FOOT_M, 0.32),
            Roll("woven cloth", "geotextile", "geotextile", 300 * FOOT_M, 12.5 * FOOT_M, 0.0),
        ),
        trucks=(Truck("tandem", "both", 14 * SHORT_TON_KG, 12 * YARD3_M3),),
        rates=(
            Rate("old-pavement", 120.0, 120.0, "ft2"),
            Rate("dig", 10.0, 10.0, "yd3"),
            Rate("base-place", 6.0, 6.0, "yd3"),
            Rate("foundation-place", 4.0, None, "yd3"),
        ),
    )


def book(prices: Mapping[str, tuple[str, str, bool]] = PRICES, own: Company | None = None) -> PriceBook:
    """Return the owner with these prices."""
    rows = {
        code: Price(
            code, f"own words for {code}", unit, Decimal(price), taxed, date(2026, 4, 1), "Any Pit", f"Prices, {code}"
        )
        for code, (unit, price, taxed) in prices.items()
    }
    return PriceBook(own or owner(), rows, "prices.xlsx")


def priced_at(code: str, price: str) -> PriceBook:
    """Return the owner's book with one other price."""
    unit, _, taxed = PRICES[code]
    return book({**PRICES, code: (unit, price, taxed)})


def job_data(**area: Any) -> dict[str, Any]:
    """Return a job of one 40 x 20 ft driveway on soft clay, its area changed as asked."""
    drive = {
        "name": "Driveway", "shape": "rectangle", "length": 40, "width": 20, "soil": "clay", "strength": "soft",
    }  # fmt: skip
    return {"job": {"number": "Q-7", "client": "Any Client", "site": "Any Lane 1"}, "area": [{**drive, **area}]}


def changed(data: dict[str, Any], **job: Any) -> dict[str, Any]:
    """Return the job file with other keys in its [job] table."""
    return {**data, "job": {**data["job"], **job}}
