"""The numbers of the second opinions on depth, each with its own publication."""

from typing import Final

from basecalc.tables import sources, table

#: Said of every second opinion, so that nobody takes it for a check of the design.
SHOWN_ONLY: Final = "a second opinion, shown beside the checks and never mixed with them"


def opinion_number(name: str) -> float:
    """Return a number of a comparison method, in the unit of its row in the table.

    Parameters
    ----------
    name
        A row of the table.

    Examples
    --------
    >>> opinion_number("forest service, with geotextile")
    5.0
    """
    return float(table("second_opinions").exact(name)["value"])


def opinion_source(name: str) -> str:
    """Return where a number of a comparison method was published, and how far that is trusted.

    Parameters
    ----------
    name
        A row of the table.

    Examples
    --------
    >>> opinion_source("corps, passes per coverage")[-57:]
    'Table 5-2: single axle, dual wheels, 10 to 15 kip, [read]'
    """
    row = table("second_opinions").exact(name)
    return f"{sources()[str(row['from'])]}, {row['place']}, [{row['trust']}]"
