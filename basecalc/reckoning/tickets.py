"""Rows of tickets: one load each, or what was left over; weights agree, no load is listed twice."""

import re
from collections.abc import Iterable, Mapping, MutableMapping
from dataclasses import dataclass
from datetime import date
from math import isnan
from typing import Any, Final

import pandas as pd

from basecalc.checks import shown
from basecalc.errors import InputError, OutOfRangeError
from basecalc.ground.log.columns import Faults
from basecalc.reckoning.columns import amounts, column, words
from basecalc.reckoning.headings import Heading
from basecalc.reckoning.record import Ticket
from basecalc.reckoning.words import HAULS, LEFT_OVER, MATERIALS
from basecalc.takeoff.aggregate import HEAVIEST_KG_M3, LIGHTEST_KG_M3
from basecalc.units import convert

AGREE_KG: Final = 20.0  # weights printed in hundredths of a ton add up to within this; own choice
OVERLOAD: Final = 1.3  # of the largest payload; a load beyond is in another unit, or another truck's; own choice


@dataclass(frozen=True, slots=True)
class Load:
    """What a load is known by, to see it again: where it is listed, supplier, job, day and net weight [kg]."""

    where: str
    ticket: str
    supplier: str
    job: str
    day: date | None
    net_kg: float

    def is_again(self, other: "Load") -> bool:
        """Return whether another load of the same number is this one, by what both lists say of it."""
        mine, theirs = (frozenset(re.findall(r"\w+", one.supplier.casefold())) for one in (self, other))
        if mine == theirs:
            return True  # a supplier gives a number once
        same_day = self.day == other.day or self.day is None or other.day is None
        both_nan = isnan(self.net_kg) and isnan(other.net_kg)
        same_weight = both_nan or abs(self.net_kg - other.net_kg) <= AGREE_KG
        alike = self.job == other.job and same_day and same_weight
        named_alike = mine <= theirs or theirs <= mine  # 'Ostmoor', 'Ostmoor Quarry', or one list without suppliers
        return alike and (named_alike or (self.day is not None and self.day == other.day and not both_nan))


Seen = MutableMapping[str, list[Load]]


def tickets_of(
    frame: pd.DataFrame, known: Mapping[str, Heading], jobs: "pd.Series[str]", offered: Mapping[str, tuple[str, str]],
    days: "pd.Series[Any]", payload_kg: float, faults: Faults, seen: Seen,
) -> list[Ticket]:  # fmt: skip
    """Return the tickets in some rows.

    Parameters
    ----------
    frame, known
        The cells, and their headings by what the column holds.
    jobs
        Number of the job of each row.
    offered
        What each word for a material stands for.
    days
        Day of each row.
    payload_kg
        What the largest of the owner's trucks carries [kg].
    faults
        Takes what is wrong.
    seen
        The loads of each ticket number; those of these rows are added.
    """
    names = ", ".join((*MATERIALS, *HAULS))
    what = words(column(frame, known, "material"), "material", offered, faults, lambda: f"{names}, or a stone of yours")
    left = words(
        column(frame, known, "kind"), "kind", LEFT_OVER, faults, lambda: "delivered, left over", needed=False
    ).map(lambda one: one is True)
    code = what.map(lambda one: one[0] if isinstance(one, tuple) else "")
    stone = code.isin(MATERIALS)
    faults.add(left & ~stone & (code != ""), InputError, lambda row: f"kind is left over; {code[row]} is hauled away")
    net = _net(frame, known, left, faults)
    faults.add(net.isna() & (stone | left), InputError, lambda row: (
        f"the net weight is missing; {code[row] or 'this row'} needs it, or gross and tare"
    ))  # fmt: skip
    volume = amounts(frame, known, "volume", faults, nought=False)
    density = net / volume
    faults.add(stone & ~left & ((density < LIGHTEST_KG_M3) | (density > HEAVIEST_KG_M3)), OutOfRangeError, lambda row: (
        f"{net[row]:,.0f} kg in {volume[row]:,.2f} m3 is {density[row]:,.0f} kg/m3; loose stone weighs "
        f"{LIGHTEST_KG_M3:,.0f} to {HEAVIEST_KG_M3:,.0f} kg/m3; is a unit wrong?"
    ))  # fmt: skip
    written = column(frame, known, "net" if "net" in known else "gross")
    faults.add(
        (net > OVERLOAD * payload_kg) & ~written.str.contains("[A-Za-z]"), OutOfRangeError, lambda row: (
            f"the load is {_tons(net[row])}, and your largest truck on Company carries {_tons(payload_kg)}; is the "
            "unit right? Where a larger truck brought it, write the unit behind the weight"
        ),
    )  # fmt: skip
    _refuse_doubles(frame, known, stone & ~left, jobs, days, net, faults, seen)
    return [
        Ticket(
            f"{faults.where}, row {row}", str(jobs[row]), str(code[row]), what[row][1], _known(net[row]),
            _known(volume[row]) if stone[row] and not left[row] else None, bool(left[row]),
        )
        for row in frame.index if isinstance(what[row], tuple)
    ]  # fmt: skip


def _known(value: float) -> float | None:
    return None if isnan(value) else float(value)


def _net(frame: pd.DataFrame, known: Mapping[str, Heading], left: "pd.Series[bool]", faults: Faults) -> pd.Series:
    """Return the net weight [kg] as written, or gross less tare; where all three stand they must agree."""
    net = amounts(frame, known, "net", faults, nought=True)
    faults.add((net == 0) & ~left, OutOfRangeError, lambda _: "the net weight is 0; it must be above 0")
    gross, tare = (amounts(frame, known, kind, faults, nought=False) for kind in ("gross", "tare"))
    worked = gross - tare
    faults.add(worked <= 0, OutOfRangeError, lambda row: (
        f"gross is {gross[row]:,.0f} kg and tare {tare[row]:,.0f} kg; gross must be the greater"
    ))  # fmt: skip
    faults.add((worked - net).abs() > AGREE_KG, InputError, lambda row: (
        f"gross less tare is {worked[row]:,.0f} kg, but net is {net[row]:,.0f} kg; they must agree within "
        f"{AGREE_KG:.0f} kg"
    ))  # fmt: skip
    return net.fillna(worked)


def _tons(mass_kg: float) -> str:
    return f"{convert(mass_kg, 'kg', 'ton'):,.1f} ton ({mass_kg:,.0f} kg)"


def plain_number(ticket: str) -> str:
    """Return a ticket number as it is compared: a spreadsheet's 1.0 and a printed 001 are 1.

    Examples
    --------
    >>> [plain_number(one) for one in ("001", "1.0", "No. 1", "A-017", "0")]
    ['1', '1', '1', 'a17', '0']
    """
    plain = re.sub(r"^(?:no|nr|ticket)\b|[^\w.]", "", ticket.casefold().replace("_", ""))
    plain = re.sub(r"^(\d+)\.0*$", r"\1", plain.strip(".")).replace(".", "")
    return re.sub(r"(?<!\d)0+(?=\d)", "", plain)


def _refuse_doubles(
    frame: pd.DataFrame, known: Mapping[str, Heading], needed: "pd.Series[bool]", jobs: "pd.Series[str]",
    days: "pd.Series[Any]", net: "pd.Series[float]", faults: Faults, seen: Seen,
) -> None:  # fmt: skip
    if "ticket" not in known:
        return
    numbers, supplier = column(frame, known, "ticket"), column(frame, known, "supplier")
    faults.add((numbers == "") & needed, InputError, lambda _: "the ticket number is missing; other rows have one")
    again: dict[int, Load] = {}
    for row in frame.index[numbers != ""]:
        load = Load(
            f"{faults.where}, row {row}", numbers[row], supplier[row], str(jobs[row]), days[row], float(net[row])
        )
        known_by = seen.setdefault(plain_number(load.ticket), [])
        if before := _listed(load, known_by):
            again[row] = before
        known_by.append(load)
    faults.add(frame.index.to_series().isin(list(again)), InputError, lambda row: (
        f"ticket {shown(numbers[row])} is listed twice: {_spelled(again[row], numbers[row])} in {again[row].where}. "
        "Leave one out; where it is another load, add a letter to its number"
    ))  # fmt: skip


def _listed(load: Load, known_by: Iterable[Load]) -> Load | None:
    return next((other for other in known_by if load.is_again(other)), None)


def _spelled(other: Load, ticket: str) -> str:
    return "it is" if other.ticket == ticket else f"it is {shown(other.ticket)}"
