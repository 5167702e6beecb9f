"""What was found at a place and calls for a caution, told by a key that the table of cautions knows."""

from dataclasses import dataclass
from typing import Final

from basecalc.tables import table

ALWAYS: Final = "always"


@dataclass(frozen=True, slots=True)
class Fact:
    """One finding that calls for cautions; any room may bring its own.

    Parameters
    ----------
    key
        What the cautions are looked up by: one of `keys`.
    area, spot
        Where it was found; nothing where it holds for the whole job, or for the whole area.
    found
        What was found, in words a client may read; nothing where the key says it all.
    """

    key: str
    area: str = ""
    spot: str = ""
    found: str = ""

    @property
    def place(self) -> str:
        """Where it was found, in words; nothing where it holds for the whole job."""
        return ", ".join(part for part in (self.area, self.spot) if part)


def keys() -> tuple[str, ...]:
    """Return every key that cautions are looked up by.

    Examples
    --------
    >>> "water" in keys()
    True
    """
    return tuple(dict.fromkeys(str(row["when"]) for row in table("cautions").rows if row["when"] != ALWAYS))
