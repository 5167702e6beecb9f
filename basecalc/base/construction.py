"""The loaded stone trucks that build a base: whether the finished base bears them, by the platform method."""

from dataclasses import dataclass, replace
from typing import Final

from basecalc.base.check import Check
from basecalc.base.platform import platform_depth
from basecalc.base.reinforcement import NONE, Reinforcement
from basecalc.base.traffic import Traffic
from basecalc.errors import OutOfRangeError
from basecalc.tables import table
from basecalc.units import POUND_KG, PSI_KPA

_NEWTON: Final = 9.80665
_WAYS: Final = 2  # in and out
_MOST_PASSES: Final = 100_000
_TANDEM_AXLES: Final = 3


@dataclass(frozen=True, slots=True)
class StoneTrucks:
    """The loaded trucks that bring the stone of a job.

    Parameters
    ----------
    loads
        How many loads.
    axles
        Axles of the truck; None where the owner has not given them.
    """

    loads: int
    axles: int | None = None

    @property
    def words(self) -> str:
        """The trucks as a sheet prints them."""
        kind = "tandem behind" if (self.axles or 0) >= _TANDEM_AXLES else "single axle behind"
        return f"{self.loads} loaded stone truck{'s' if self.loads != 1 else ''}, {kind}"


def truck_traffic(trucks: StoneTrucks) -> Traffic:
    """Return what the trucks put on the base, as a traffic level of the platform method.

    Parameters
    ----------
    trucks
        The trucks.

    Examples
    --------
    >>> tandem = truck_traffic(StoneTrucks(14, 3))
    >>> round(tandem.wheel_load_kn, 1), round(tandem.tyre_kpa), tandem.passes
    (37.8, 689, 56.0)

    Notes
    -----
    P = W / (2 a), N = 2 a n: wheel load P, load W of a group of a axles, n loads, each axle a pass in and a pass out.

    References
    ----------
    23-CFR-658-17 [read] for W; tire pressure: common practice, no source.
    """
    tandem = (trucks.axles or 0) >= _TANDEM_AXLES
    row = table("stone_trucks").exact("tandem behind" if tandem else "single axle behind")
    group = float(row["in_group"])
    wheel_kn = float(row["axle_load"]) / group / 2 * POUND_KG * _NEWTON / 1000
    passes = min(max(_WAYS * group * trucks.loads, 1.0), float(_MOST_PASSES))
    return Traffic(
        "loaded stone trucks",
        wheel_kn,
        float(row["tire_pressure"]) * PSI_KPA,
        passes,
        float(row["rut"]),
        1.0,
        "the trucks that bring the stone",
    )


def construction_check(
    cbr: float,
    trucks: StoneTrucks,
    reinforcement: Reinforcement = NONE,
    base_cbr: float = 20.0,
    *,
    counts: bool = True,
) -> Check:
    """Return the construction check: the base on which the stone trucks of the job may drive.

    Parameters
    ----------
    cbr
        CBR of the ground [%], 0.4 to 100.
    trucks
        The trucks.
    reinforcement
        What is laid.
    base_cbr
        CBR of the base [%], 10 to 100.
    counts
        Whether they drive on the base, so that the required depth must bear them.

    Returns
    -------
    Check
        Depth [m]; it counts only where the trucks drive on the base. None where no depth bears them and it does not
        count.

    Raises
    ------
    OutOfRangeError
        The trucks drive on the base, and no depth bears them.
    """
    source = f"{table('stone_trucks').cited}; equation as in the platform check"
    try:
        made = platform_depth(cbr, truck_traffic(trucks), reinforcement, base_cbr)
    except OutOfRangeError as refusal:
        if counts:
            raise
        return Check("construction", None, False, f"{trucks.words}: {refusal.sentence}", (), source)
    what = "they drive on the base" if counts else "for information: whether they may drive on the base"
    return replace(
        made,
        name="construction",
        counts=counts,
        sentence=f"{trucks.words}, on the finished base; {what}; {made.sentence}",
        source=source,
    )
