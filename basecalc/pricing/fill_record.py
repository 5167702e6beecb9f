"""Two ways to deal with loose fill below an area, priced side by side."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Way = Literal["stone", "fill"]


@dataclass(frozen=True, slots=True)
class FillWay:
    """One way to deal with loose fill: what the area takes, and what the whole job costs that way.

    Parameters
    ----------
    way
        ``stone``: the fill stays, under a base deep enough for it; ``fill``: it is replaced by granular fill.
    base_m
        Base depth of the area [m].
    bank_m3
        Ground dug there, in place [m3].
    stone_kg, fill_kg
        Base stone and granular fill to order for it [kg].
    loads_out, loads_in
        Whole loads of the whole job, since areas share trucks.
    cost, total
        Cost and total price of the whole job.
    on_grid
        Whether geogrid is laid below the area.
    """

    way: Way
    base_m: float
    bank_m3: float
    stone_kg: float
    fill_kg: float
    loads_out: int
    loads_in: int
    cost: Decimal
    total: Decimal
    on_grid: bool


@dataclass(frozen=True, slots=True)
class FillOption:
    """Digging loose fill out against more stone, for one area.

    Parameters
    ----------
    area
        Name of the area.
    chosen
        The way the quote is priced.
    other
        The other way; None where it cannot be built.
    cannot
        Why it cannot be built; nothing where it can.
    offered
        Whether the client sees the other way.
    recompact_m3
        Loose fill below the stone that stays, in place [m3].
    recompact
        What it adds to the way in which it stays, all included, to dig this fill out and put it back in compacted
        lifts; None where it cannot be priced.
    no_recompact
        Why it cannot be priced; nothing where it can.
    """

    area: str
    chosen: FillWay
    other: FillWay | None
    cannot: str
    offered: bool
    recompact_m3: float = 0.0
    recompact: Decimal | None = None
    no_recompact: str = ""

    @property
    def more(self) -> Decimal | None:
        """What the other way costs the client more, all included; negative where it is cheaper."""
        return None if self.other is None else self.other.total - self.chosen.total
