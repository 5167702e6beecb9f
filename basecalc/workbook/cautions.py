"""The cautions that concern a reader of a job, each with the findings that call for it."""

import re
from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from basecalc.core.published import sources, table
from basecalc.ground.strength import ALWAYS, Fact

_SHOWN: Final = 3
_MEASURE: Final = re.compile(r"\{([^|{}]+)\|([^|{}]+)\}")


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution."""

    key: str
    heading: str
    text: str
    found: tuple[Fact, ...]
    source: str

    @property
    def told(self) -> str:
        """Where it was found and what, in words, place by place; nothing where it always holds."""
        places: dict[str, list[str]] = {}
        for fact in self.found:
            places.setdefault(fact.place, []).append(fact.found)
        told = [": ".join(part for part in (place, ", ".join(filter(None, found))) if part)
                for place, found in places.items()]  # fmt: skip
        more = len(told) - _SHOWN
        return "; ".join(filter(None, told[:_SHOWN])) + (f"; and {more} more" if more > 0 else "")


def cautions(who: str, facts: Collection[Fact], units: str = "us") -> tuple[Caution, ...]:
    """Return the cautions that concern a reader of this job.

    Examples
    --------
    >>> from basecalc.ground.strength import Fact
    >>> found = cautions("crew", [Fact("water", "Driveway", "", "water 36 in below the ground")])
    >>> [caution.told for caution in found if caution.key == "crew water"]
    ['Driveway: water 36 in below the ground']
    """
    found = []
    for row in table("cautions").rows:
        calling = tuple(fact for fact in facts if fact.key == row["when"])
        if row["who"] == who and (calling or row["when"] == ALWAYS):
            place = f", {row['place']}" if row["place"] else ""
            text = _MEASURE.sub(r"\2" if units == "metric" else r"\1", str(row["text"]))
            source = f"{sources()[str(row['source'])]}{place} [{row['trust']}]"
            found.append(Caution(str(row["key"]), str(row["heading"]), text, calling, source))
    return tuple(found)
