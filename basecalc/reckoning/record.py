"""What tickets, hours and results say: one record a row."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

WON: Final = "won"
LOST: Final = "lost"
OPEN: Final = "open"


@dataclass(frozen=True, slots=True)
class Ticket:
    """One load, or what was left over of a material.

    Parameters
    ----------
    where
        File and row.
    job
        Number of the job.
    code
        What it is: ``base-stone``, ``bedding-sand``, ``foundation-fill``, ``spoil-haul`` or ``old-pavement-haul``.
    material
        Name of the owner's stone, where the ticket says it.
    net_kg
        Net weight [kg]; None for a load of soil that nobody weighed.
    volume_m3
        Loose volume measured in the truck [m3]; None where nobody measured it.
    left_over
        Whether it was brought back instead of delivered.
    """

    where: str
    job: str
    code: str
    material: str
    net_kg: float | None
    volume_m3: float | None = None
    left_over: bool = False


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours spent on one kind of work.

    Parameters
    ----------
    where
        File and row.
    job
        Number of the job.
    code
        The work code.
    crew_h, machine_h
        Hours [h]; None where none were written down.
    """

    where: str
    job: str
    code: str
    crew_h: float | None
    machine_h: float | None


@dataclass(frozen=True, slots=True)
class Result:
    """What became of a quote.

    Parameters
    ----------
    where
        File and row.
    job
        Number of the job.
    result
        ``won``, ``lost`` or ``open``.
    built
        The option built: ``stone``, ``geogrid``, ``habit``; nothing for the one offered.
    price
        What was charged before tax; None for the price quoted.
    extra_m
        Base depth built beyond the quoted one, in every area [m].
    checked
        Whether someone looked at what is in doubt and says that it is right.
    """

    where: str
    job: str
    result: str
    built: str = ""
    price: Decimal | None = None
    extra_m: float = 0.0
    checked: bool = False


@dataclass(frozen=True, slots=True)
class Records:
    """Everything read from some files, every row checked.

    Parameters
    ----------
    files
        Where it was read from.
    tickets, hours, results
        The rows; results by job number.
    notes
        What was assumed, a sentence each.
    doubts
        What may be wrong with the rows of a job, a sentence each, by job number.
    """

    files: tuple[str, ...]
    tickets: tuple[Ticket, ...]
    hours: tuple[Hours, ...]
    results: Mapping[str, Result]
    notes: tuple[str, ...] = ()
    doubts: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
