"""What a take-off hands on: one record per quantity, per area and per option."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from basecalc.base.depth import BaseDepth
from basecalc.brief import brief
from basecalc.job import Job, JobArea
from basecalc.working import Working

Option = Literal["stone", "geogrid", "habit"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """An amount of one thing, with the sum it comes from.

    Parameters
    ----------
    code
        The plain code the price sheet prices, such as ``base-stone``.
    item
        What it is, in words.
    area
        Name of the area it belongs to; nothing where it belongs to the whole job (loads, rolls).
    amount
        How much, in `unit`, not rounded unless it is counted in whole things.
    unit
        The unit of the amount: US or metric, as the job is.
    working
        The sum in words and numbers.
    variant
        Name of the owner's stone, paver or roll; nothing where there is none.
    also
        The same in other measures: what loads weigh and their loose volume, each with its unit.
    """

    code: str
    item: str
    area: str
    amount: float
    unit: str
    working: str
    variant: str = ""
    also: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True, slots=True)
class AreaTakeoff:
    """One area at one base depth: what is dug, brought in and laid.

    Parameters
    ----------
    area
        The area as the job describes it.
    depth
        The checks behind the base depth; None where a depth was given as a number (the habit, a what-if).
    base_m
        Compacted base depth [m].
    extension_m
        How far the base reaches beyond the open edge [m].
    dig_m
        Dig depth below the ground or below the old pavement [m]; nought where the finish stands high above the ground.
    below_finish_m
        Depth of the trench bottom below the finished surface [m]: what the crew measures.
    base_area_m2
        Plan area of dig and base, with the extension [m2].
    bank_m3, loose_m3
        Ground dug, with what the granular fill replaces, in place and in the truck [m3].
    fill_m2, fill_m
        Granular fill, compacted: its plan area [m2] and its depth [m]; 0 where there is none.
    spoil_kg
        Its mass [kg].
    pavement_m3
        Old pavement broken out, in place [m3].
    kept_m, new_m
        Old base that stays below the paving, and new stone laid there [m]; 0 and the whole base where none stays.
    beside_m
        Dig depth below the ground beside the paving, where the base reaches past its edge [m].
    stone_m3, stone_loose_m3, stone_kg
        Base stone, compacted and in the truck with waste [m3], and its mass [kg].
    lifts, lift_m
        Layers to compact, and the thickness of each [m].
    overlap_m
        Overlap of the roll laid here [m]; 0 where none is laid.
    strips
        Strips of roll side by side; 0 where none is laid.
    working
        The intermediate values that a sheet shows.
    flags
        What must catch the eye: topsoil left below the base, seams to be sewn, what becomes of an old base.
    old_base
        What becomes of an old base that was asked to stay, in words; nothing where nobody asked.
    """

    area: JobArea
    depth: BaseDepth | None
    base_m: float
    extension_m: float
    dig_m: float
    below_finish_m: float
    base_area_m2: float
    bank_m3: float
    fill_m2: float
    fill_m: float
    loose_m3: float
    spoil_kg: float
    pavement_m3: float
    kept_m: float
    new_m: float
    beside_m: float
    stone_m3: float
    stone_loose_m3: float
    stone_kg: float
    lifts: int
    lift_m: float
    overlap_m: float
    strips: int
    working: tuple[Working, ...] = ()
    flags: tuple[str, ...] = ()
    old_base: str = ""

    @property
    def fill_m3(self) -> float:
        """Granular fill, compacted [m3]."""
        return self.fill_m2 * self.fill_m


@dataclass(frozen=True, slots=True)
class Takeoff:
    """A job's every quantity for one option.

    Parameters
    ----------
    job
        The job it was taken from.
    option
        ``stone``, ``geogrid`` or ``habit``.
    areas
        One record per area, in the order of the job.
    quantities
        Every amount, in the order of the work; amounts of nought are left out.
    whole_loads
        Whether loads and rolls are whole, as ordered, or fractions, for rates.
    """

    job: Job
    option: Option
    areas: tuple[AreaTakeoff, ...]
    quantities: tuple[Quantity, ...]
    whole_loads: bool = True

    __repr__ = brief

    def area(self, name: str) -> AreaTakeoff:
        """Return the record of the area with this name."""
        return next(area for area in self.areas if area.area.name == name)

    def of(self, code: str) -> tuple[Quantity, ...]:
        """Return the quantities of one code."""
        return tuple(quantity for quantity in self.quantities if quantity.code == code)

    def amount(self, code: str) -> float:
        """Return how much of one code the whole job needs, in the unit of its quantities; 0 where it needs none."""
        return sum(quantity.amount for quantity in self.of(code))

    @property
    def base_m(self) -> Mapping[str, float]:
        """Base depth of each area [m], by name."""
        return {area.area.name: area.base_m for area in self.areas}
