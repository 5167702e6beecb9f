"""What lists of tickets, hours, invoices and results say, a record a row."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Final

from basecalc.core.published import table


def rule(name: str) -> float:
    """Return one of the numbers by which quotes are followed up and a season is read.

    Examples
    --------
    >>> rule("days to the next call")
    7.0
    """
    return float(table("season_rules").exact(name)["value"])


WON: Final = "won"
SIGNED: Final = "signed"  # and not finished yet
LOST: Final = "lost"
OPEN: Final = "open"
# What people write of a quote: what the season takes it for, and its state in the book of quotes.
RESULTS: Final = {
    "sent": (OPEN, "sent"), "open": (OPEN, "sent"), "signed": (SIGNED, "signed"), "won": (WON, "signed"),
    "built": (WON, "built"), "lost": (LOST, "lost"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Ticket:
    """One load, or what was left over of a material."""

    where: str
    job: str
    code: str
    material: str
    net_kg: float | None
    volume_m3: float | None = None
    left_over: bool = False


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours spent on one kind of work."""

    where: str
    job: str
    code: str
    crew_h: float | None
    machine_h: float | None


@dataclass(frozen=True, slots=True)
class Result:
    """What became of a quote: its state, since when and why, and which revision and change order were signed."""

    where: str
    job: str
    result: str
    built: str = ""
    price: Decimal | None = None
    extra_m: float = 0.0
    checked: bool = False
    state: str = "sent"
    day: date | None = None
    reason: str = ""
    revision: int = 0
    change: int = 0


@dataclass(frozen=True, slots=True)
class Invoice:
    """What a supplier charged for something on a job; a credit is negative."""

    where: str
    job: str
    what: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Records:
    """Everything read from some files, every row checked."""

    files: tuple[str, ...]
    tickets: tuple[Ticket, ...]
    hours: tuple[Hours, ...]
    results: Mapping[str, Result]
    notes: tuple[str, ...] = ()
    doubts: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    invoices: tuple[Invoice, ...] = ()
