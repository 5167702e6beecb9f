"""What a season of jobs suggests for the sheet Company: densities, compaction factors, waste and production rates.

Weigh tickets alone say one thing of a stone: how much is bought for a volume of finished base. That is loose density x
compaction factor x (1 + waste), and no number of tickets can take it apart. Stone brought back says the waste; the
volume of loads measured in the truck says the loose density; what neither says is held as the sheet has it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from basecalc.checks import counted
from basecalc.company import Company, Stone
from basecalc.pricing.price_cells import Grid
from basecalc.reckoning.outcome import Brought, JobActuals, Suggestion
from basecalc.reckoning.places import place
from basecalc.reckoning.ratio import FEWEST, Interval, Sums, interval
from basecalc.takeoff.codes import code
from basecalc.takeoff.count import stone_mass_kg
from basecalc.takeoff.owner import NEEDED
from basecalc.units import convert

_BOUGHT, _BUILT, _LEFT, _WEIGHED, _MEASURED = range(5)
SHEET: Final = "sheet Company"
Rows = Sequence[tuple[float, ...]]


def suggestions(jobs: Sequence[JobActuals], company: Company, grids: Mapping[str, Grid]) -> tuple[Suggestion, ...]:
    """Return what the jobs suggest, stone by stone and work by work, in the order of the sheet.

    Parameters
    ----------
    jobs
        The jobs with what they used.
    company
        The owner's settings as they are.
    grids
        The tables of the sheet Company, for the cells; empty where the company comes from no sheet.
    """
    found: list[Suggestion] = []
    for stone in company.stones:
        brought = [one for job in jobs for one in job.brought if one.material == stone.name]
        if brought:
            found += _joined(list(_Of(stone, brought, company.units, grids.get("stones")).all()))
    for work in dict.fromkeys(one.code for job in jobs for one in job.worked):
        found += _rates(work, jobs, company, grids.get("rates"))
    return tuple(found)


def _joined(found: Sequence[Suggestion]) -> Iterator[Suggestion]:
    """Yield what is said of a stone, its parts held together: the product of the three is what was measured."""
    together = sum(one.new is not None and bool(one.cell) for one in found) > 1
    moves = together and any(one.verdict == "consider" for one in found)
    for one in found:
        yield replace(one, joined=moves)


def _few(count: int) -> str:
    return f"From {counted(count, 'job')}: fewer than {FEWEST} say too little, so nothing is suggested"


class _Of:
    """One stone over the jobs that brought it."""

    def __init__(self, stone: Stone, brought: Sequence[Brought], units: str, grid: Grid | None) -> None:
        self.stone, self.brought, self.grid = stone, brought, grid
        edge = NEEDED["loose density"].unit(units)
        self.unit = grid.units.get("loose_density", edge) if grid else edge

    def rows(self, *, left: bool = False, measured: bool = False) -> Rows:
        """Return the sums of each job that has what is asked for."""
        return [
            (one.delivered_kg, one.built_m3, one.left_kg or 0.0, one.weighed_kg, one.measured_m3)
            for one in self.brought
            if (one.left_kg is not None or not left) and (one.measured_m3 > 0 or not measured)
        ]

    def all(self) -> Iterator[Suggestion]:
        """Yield what can be said of the stone, the whole first and then its parts."""
        stone = self.stone
        whole = self.rows()
        old = convert(stone_mass_kg(1.0, stone), "kg/m3", self.unit)
        if len(whole) < FEWEST:
            yield self._made("weight bought per volume built", self.unit, old, None, len(whole), _few(len(whole)), "")
            return
        yield self._made(
            "weight bought per volume built", self.unit, old, self._density(interval(whole, _bought_per_built)),
            len(whole),
            "All that tickets alone can say: loose density x compaction factor x (1 + waste), as one number; a base "
            "deeper or wider than planned is in it too", "",
        )  # fmt: skip
        back, volumes = self.rows(left=True), self.rows(measured=True)
        splits, weighs = len(back) >= FEWEST, len(volumes) >= FEWEST
        if weighs:
            yield self._made(
                "loose density", self.unit, convert(stone.loose_density_kg_m3, "kg/m3", self.unit),
                self._density(interval(volumes, lambda sums: sums[_WEIGHED] / sums[_MEASURED])), len(volumes),
                "Weight over volume of the loads measured in the truck, with the water they held", "loose_density",
            )  # fmt: skip
        yield self._factor(splits=splits, weighs=weighs)
        if splits:
            made = interval(back, lambda sums: sums[_LEFT] / (sums[_BOUGHT] - sums[_LEFT]))
            yield self._made(
                "waste", "share", stone.waste, made, len(back),
                "Stone brought back over stone used; what sank into soft ground is in the compaction factor", "waste",
            )  # fmt: skip
        else:
            yield self._made("waste", "share", stone.waste, None, len(back), (
                f"Left-over stone was written down on {len(back)} jobs, {FEWEST} are needed: the waste cannot be told "
                "from the compaction factor"
            ), "waste")  # fmt: skip

    def _factor(self, *, splits: bool, weighs: bool) -> Suggestion:
        stone, rows = self.stone, self.rows(left=splits, measured=weighs)
        if len(rows) < FEWEST:
            told = f"{_few(len(rows))}: these have both left-over stone and measured loads"
            return self._made(
                "compaction factor", "", stone.compaction_factor, None, len(rows), told, "compaction_factor"
            )

        def value(sums: Sums) -> float:
            placed = sums[_BOUGHT] - sums[_LEFT] if splits else sums[_BOUGHT] / (1 + stone.waste)
            density = sums[_WEIGHED] / sums[_MEASURED] if weighs else stone.loose_density_kg_m3
            return float(placed / sums[_BUILT] / density)

        held = [f"a waste of {stone.waste:.1%}"] if not splits else []
        if not weighs:
            held.append(f"a loose density of {convert(stone.loose_density_kg_m3, 'kg/m3', self.unit):.2f} {self.unit}")
        told = (
            f"Holds only with {' and '.join(held)}, as the sheet has"
            if held
            else "Stone placed over the volume built and the loose density measured"
        )
        made = interval(rows, value)
        limits = NEEDED["compaction factor"]
        if not limits.low <= made.value <= limits.high:
            told = (
                f"The jobs give {made.value:.3f}, outside {limits.low:g} to {limits.high:g}: "
                "look for wrong tickets or a wrong density first"
            )
            return self._made(
                "compaction factor", "", stone.compaction_factor, None, len(rows), told, "compaction_factor"
            )
        return self._made("compaction factor", "", stone.compaction_factor, made, len(rows), told, "compaction_factor")

    def _density(self, made: Interval) -> Interval:
        per = convert(1.0, "kg/m3", self.unit)
        return Interval(made.value * per, made.low * per, made.high * per, made.error * per, made.jobs)

    def _made(
        self, what: str, unit: str, old: float, made: Interval | None, jobs: int, told: str, field: str
    ) -> Suggestion:
        cell = place(self.grid, self.stone.name, field) or SHEET if field else ""
        low = None if made is None else max(made.low, 0.0) if unit == "share" else made.low
        return Suggestion(
            what, self.stone.name, unit, old, made.value if made else None, low, made.high if made else None, jobs,
            cell, told,
        )  # fmt: skip


def _bought_per_built(sums: Sums) -> float:
    return float(sums[_BOUGHT] / sums[_BUILT])


def _rates(work: str, jobs: Sequence[JobActuals], company: Company, grid: Grid | None) -> Iterator[Suggestion]:
    rate = next((one for one in company.rates if one.code == work), None)
    unit = rate.unit if rate else code(work).unit(company.units)
    for who in ("crew", "machine"):
        rows = [
            (convert(one.amount, one.unit, unit), hours)
            for job in jobs for one in job.worked
            if one.code == work and (hours := getattr(one, f"{who}_h"))
        ]  # fmt: skip
        if not rows:
            continue
        field = f"per_{who}_hour"
        old = getattr(rate, field) if rate else None
        cell = place(grid, work, field) or (SHEET if rate else f"{SHEET}, work rates, a new row")
        told = "Amount built over hours written down" if rate else (
            "Amount built over hours written down; the table of work rates has no row of this work yet"
        )  # fmt: skip
        made = interval(rows, lambda sums: sums[0] / sums[1]) if len(rows) >= FEWEST else None
        if made is None:
            told = _few(len(rows))
        elif made.low <= 0:
            made, told = None, "The jobs differ too much among themselves to suggest a rate"
        value, low, high = (None, None, None) if made is None else (made.value, made.low, made.high)
        yield Suggestion(field.replace("_", " "), work, unit, old, value, low, high, len(rows), cell, told, 1)
