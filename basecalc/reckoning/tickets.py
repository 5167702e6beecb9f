"""Rows of tickets: one load each, or what was left over; weights agree, no number stands twice."""

from collections.abc import Mapping, MutableMapping
from math import isnan
from typing import Final

import pandas as pd

from basecalc.checks import shown
from basecalc.errors import InputError, OutOfRangeError
from basecalc.ground.log.columns import Faults
from basecalc.reckoning.columns import amounts, column, words
from basecalc.reckoning.headings import Heading
from basecalc.reckoning.record import Ticket
from basecalc.reckoning.words import HAULS, LEFT_OVER, MATERIALS
from basecalc.takeoff.aggregate import HEAVIEST_KG_M3, LIGHTEST_KG_M3

AGREE_KG: Final = 20.0  # weights printed in hundredths of a ton add up to within this; own choice
Seen = MutableMapping[tuple[str, str], str]


def tickets_of(
    frame: pd.DataFrame, known: Mapping[str, Heading], jobs: "pd.Series[str]", offered: Mapping[str, tuple[str, str]],
    faults: Faults, seen: Seen,
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
    faults
        Takes what is wrong.
    seen
        Where each ticket number of each supplier stands; those of these rows are added.
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
    _refuse_doubles(frame, known, stone & ~left, faults, seen)
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


def _refuse_doubles(
    frame: pd.DataFrame, known: Mapping[str, Heading], needed: "pd.Series[bool]", faults: Faults, seen: Seen
) -> None:
    if "ticket" not in known:
        return
    numbers, supplier = column(frame, known, "ticket"), column(frame, known, "supplier")
    faults.add((numbers == "") & needed, InputError, lambda _: "the ticket number is missing; other rows have one")
    again: dict[int, str] = {}
    for row in frame.index[numbers != ""]:
        key = (supplier[row].casefold(), numbers[row].casefold())
        if key in seen:
            again[row] = seen[key]
        else:
            seen[key] = f"{faults.where}, row {row}"
    faults.add(frame.index.to_series().isin(list(again)), InputError, lambda row: (
        f"ticket {shown(numbers[row])} stands twice; it stands in {again[row]} already"
    ))  # fmt: skip
