"""What a cone penetrometer's log says: readings, drops, layers, and the layer that a base is designed for."""

from dataclasses import dataclass
from typing import Final

from basecalc.rounding import printed
from basecalc.tables import table

RULES: Final = "cone_log_rules"


def log_rule(name: str) -> float:
    """Return one of the numbers by which a log is taken.

    Examples
    --------
    >>> log_rule("zone below the base")
    24.0
    """
    return float(table(RULES).exact(name)["value"])


@dataclass(frozen=True, slots=True)
class LogRow:
    """One reading of a log as it was written.

    Parameters
    ----------
    row
        Its number in the file, or in the table of a sheet.
    blows
        As counted, per step or in total.
    depth_mm
        As read, per step or in total [mm].
    factor
        Of the hammer.
    soil, note
        What stands beside it.
    """

    row: int
    blows: float
    depth_mm: float
    factor: float = 1.0
    soil: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """From one reading to the next: so many blows drove the cone from here to there, or nowhere at a stone.

    Parameters
    ----------
    row
        Row of the file in which the reading stands, from 1.
    top_m, bottom_m
        Depth below the start of the log, before and after [m].
    blows
        Blows between the two.
    hammer_factor
        1 for the 8 kg hammer, 2 for the 4.6 kg hammer.
    soil
        What the log says the soil is; nothing where it does not.
    note
        The comment in that row.
    """

    row: int
    top_m: float
    bottom_m: float
    blows: int
    hammer_factor: float = 1.0
    soil: str = ""
    note: str = ""

    @property
    def mm_per_blow(self) -> float:
        """The index: penetration per blow of the 8 kg hammer [mm/blow]; 0 where the blows did not move the cone."""
        return printed((self.bottom_m - self.top_m) * 1000 * self.hammer_factor / self.blows)


@dataclass(frozen=True, slots=True)
class Drop:
    """One driving of the cone, from the seating reading down.

    Parameters
    ----------
    name
        What the log calls it; nothing where the log holds one only.
    steps
        Its readings from the top down; each starts where the one before ended.
    ruler_mm
        How finely the depth was read [mm].
    notes
        What was assumed and what must be known about it, a sentence each.
    rows
        The readings as they were written, the seating reading and those where the cone had stopped among them.
    counted
        How their blows and depths are counted, "per step" or "total" each.
    """

    name: str
    steps: tuple[Step, ...]
    ruler_mm: float
    notes: tuple[str, ...] = ()
    rows: tuple[LogRow, ...] = ()
    counted: tuple[str, str] = ("per step", "total")

    @property
    def depth_m(self) -> float:
        """How deep the cone went below the start of the log [m]."""
        return self.steps[-1].bottom_m


@dataclass(frozen=True, slots=True)
class ConeLog:
    """A log as it was read and checked.

    Parameters
    ----------
    file
        Where it was read from.
    drops
        The drivings in it, in the order of the file.
    unit
        The unit in which the file gives depths.
    notes
        What was assumed for the whole file, a sentence each.
    comments
        Lines of the file that say something, each with its row.
    """

    file: str
    drops: tuple[Drop, ...]
    unit: str
    notes: tuple[str, ...] = ()
    comments: tuple[tuple[int, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Layer:
    """A run of readings of near-constant slope.

    Parameters
    ----------
    top_m, bottom_m
        From and to, below the start of the log [m].
    first_row, last_row
        Rows of its first and last reading.
    blows
        Blows driven through it.
    mm_per_blow
        Its index [mm/blow]: depth x hammer factor / blows, of the readings that are not set aside.
    cbr
        Its bearing ratio [%].
    soil
        The soil whose curve gives it; nothing where none is named.
    set_aside
        Rows of the readings that do not count in its index.
    """

    top_m: float
    bottom_m: float
    first_row: int
    last_row: int
    blows: int
    mm_per_blow: float
    cbr: float
    soil: str
    set_aside: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Profile:
    """A drop with its layers.

    Parameters
    ----------
    drop
        The drop.
    layers
        Its layers from the top down; together they cover it exactly.
    scatter
        How uneven the ground is, as the standard deviation of the logarithm of the index.
    remarks
        A sentence for each reading that stands out of its layer.
    step_cbrs
        Bearing ratio of each reading by itself [%].
    """

    drop: Drop
    layers: tuple[Layer, ...]
    scatter: float
    remarks: tuple[str, ...]
    step_cbrs: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Design:
    """The layer of a drop that a base is designed for.

    Parameters
    ----------
    profile
        The drop and its layers.
    layer
        The weakest layer that matters.
    zone_m
        From and to, below the start of the log [m]: where a weak layer matters.
    how
        How it was chosen, in a sentence.
    warnings
        What the choice does not cover, a sentence each.
    """

    profile: Profile
    layer: Layer
    zone_m: tuple[float, float]
    how: str
    warnings: tuple[str, ...] = ()

    @property
    def cbr(self) -> float:
        """The bearing ratio to design for [%], before the season is thought of."""
        return self.layer.cbr
