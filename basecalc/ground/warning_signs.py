"""What a boot or a truck shows on ground that is weaker than a class: the readings rules, read the other way round."""

from dataclasses import dataclass
from typing import Final

from basecalc.core.published import table
from basecalc.ground.classes import rank
from basecalc.ground.readings import test_row

CREW_TESTS: Final = ("stand", "walk", "pickup", "dump truck")


@dataclass(frozen=True, slots=True)
class WeakerSign:
    """The least reading of a test that leaves only classes weaker than the one designed for."""

    test: str
    least_in: float
    source: str


def weaker_signs(strength_class: str) -> tuple[WeakerSign, ...]:
    """Return what shows that ground is weaker than a class, by boot and by truck, in the order of `CREW_TESTS`.

    A test that cannot tell, because no reading of it rules the class out, is left out.

    Examples
    --------
    >>> [(sign.test, sign.least_in) for sign in weaker_signs("stiff")]
    [('stand', 1.0), ('walk', 1.0), ('pickup', 1.0), ('dump truck', 6.0)]
    """
    own = rank(strength_class)
    signs = []
    for test in CREW_TESTS:
        bands = table(str(test_row(test)["bands"]))
        for row in bands.rows:
            if rank(str(row["strongest"])) < own:
                source = f"{bands.source}, {bands.place} [{row['trust']}]"
                signs.append(WeakerSign(test, float(row["from"]), source))
                break
    return tuple(signs)


def rut_of(strength_class: str, test: str) -> tuple[float, float] | None:
    """Return the least and the greatest reading of a test that a class may show [in]; None where no reading may."""
    own = rank(strength_class)
    rows = [
        row for row in table(str(test_row(test)["bands"])).rows
        if rank(str(row["weakest"])) <= own <= rank(str(row["strongest"]))
    ]  # fmt: skip
    return (float(rows[0]["from"]), float(rows[-1]["below"])) if rows else None
