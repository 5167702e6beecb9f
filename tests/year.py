"""A year of an invented company: sixty jobs from a known truth, their quotes, change orders and lists in a folder.

Quotes are kept as archives alone, the sheet As quoted of the office file without the papers around it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any

from bench.season_coverage import maker
from estimating_kit import demo_prices
from openpyxl import Workbook

from basecalc import ChangeOrder, Quote, change_order, write_price_workbook
from basecalc.pricing.archive import change_rows, quote_rows

JOBS = 60
STATES = ("built", "lost", "built", "sent", "built", "signed", "lost", "built", "built", "sent")  # of every ten jobs
REASONS = ("price", "went with asphalt", "moved away")
GROUNDS = {3: "soft", 13: "soft", 23: "soft", 25: "soft", 33: "soft", 45: "soft"}  # found softer, by place from 1
UNSIGNED = (25, 45)
TWICE = 33  # this job has two change orders, of which the second was signed


@dataclass(frozen=True)
class Year:
    """The folder of quotes, the lists beside it, and what is known of every job without reading either."""

    prices: Path
    folder: Path
    drives: Sequence[Any]
    quotes: Sequence[Quote]
    changes: dict[str, ChangeOrder]

    @property
    def built(self) -> list[Quote]:
        """The jobs as they were built: with their signed change orders."""
        signed = {quote.job.number: quote for quote in self.quotes}
        for place in set(GROUNDS) - set(UNSIGNED):
            number = self.quotes[place - 1].job.number
            signed[number] = self.changes[number].found
        return list(signed.values())


def drives() -> tuple[Any, ...]:
    """Return sixty driveways on clay, quoted from February on, what the penetrometer read and what became of each."""
    chance, found = Random(27), []
    for place in range(1, JOBS + 1):
        state = STATES[(place - 1) % len(STATES)]
        found.append(
            maker().Drive(
                f"YR-{place:03d}", f"Client {place}", f"{place} Long Lane, Brackwater", chance.randrange(30, 100, 2),
                chance.randrange(10, 20, 2), round(chance.uniform(1.6 if place in GROUNDS else 0.6, 3.6), 1),
                result=state, reason=REASONS[place % 3] if state == "lost" else "",
                change="" if place not in GROUNDS or place in UNSIGNED else "2" if place == TWICE else "1",
                start=date(2026, 2, 20) + timedelta(days=5 * place),
            )
        )  # fmt: skip
    return tuple(found)


def keep(path: Path, quote: Quote, order: ChangeOrder | None = None, place: int = 0) -> None:
    """Write the archive of a quote or a change order as its office file, and a client file beside it."""
    book = Workbook()
    book.active.title = "As changed" if order else "As quoted"
    for row in change_rows(order, place, date(2026, 6, 1)) if order else quote_rows(quote, 1):
        book.active.append(row)
    book.save(path)
    path.with_name(path.name.replace("-office", "" if order else "-quote")).write_bytes(b"client")


def make_year(scratch: Path) -> Year:
    """Write the year into a folder and return it."""
    prices, jobs = write_price_workbook(scratch / "prices.xlsx", demo_prices()), drives()
    folder = scratch / "quotes"
    folder.mkdir()
    quotes = maker().quotes(maker().job_files(scratch / "jobs", jobs), prices)
    changes: dict[str, ChangeOrder] = {}
    for place, quote in enumerate(quotes, 1):
        keep(folder / f"{quote.job.number}-r1-office.xlsx", quote)
        if place in GROUNDS:
            order = changes[quote.job.number] = change_order(quote, {"Driveway": GROUNDS[place]}, 1)
            if place == TWICE:
                first = change_order(quote, {"Driveway": 0.6}, 1)
                keep(folder / f"{quote.job.number}-r1-change1-office.xlsx", quote, first, 1)
            change = 2 if place == TWICE else 1
            keep(folder / f"{quote.job.number}-r1-change{change}-office.xlsx", quote, order, change)
    return Year(prices, folder, jobs, quotes, changes)


def write_lists(year: Year, folder: Path, seed: int) -> list[Path]:
    """Write tickets, hours, invoices and results of a seed and return the files."""
    files = []
    for name, text in maker().records(year.built, seed, year.drives).items():
        files.append(folder / name)
        files[-1].write_text(text, "utf-8")
    return files
