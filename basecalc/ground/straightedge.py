"""A gap under a straightedge of another length than the 6 ft that the rule of the trade is made for."""

from basecalc.checks import number
from basecalc.rounding import printed
from basecalc.tables import table


def pavement_rule(name: str) -> float:
    """Return one of the numbers by which an old pavement is judged.

    Examples
    --------
    >>> pavement_rule("age without settlement")
    10.0
    """
    return float(table("pavement_rules").exact(name)["value"])


def gap_under_six_feet(gap_in: float, straightedge_ft: float) -> tuple[float, float]:
    """Return the least and the greatest gap that a 6 ft straightedge would show [in], from a gap under another length.

    A sag that is one even curve has gaps as the squares of the lengths; a narrow rut has the same gap under both. What
    lies between is left open, so that the classes that follow are an interval.

    Parameters
    ----------
    gap_in
        Gap under the straightedge [in].
    straightedge_ft
        Its length [ft], near enough to 6 ft to be carried over at all.

    Raises
    ------
    OutOfRangeError
        A straightedge too short or too long for the rule of the trade.

    Examples
    --------
    >>> gap_under_six_feet(0.75, 6.0), gap_under_six_feet(1.0, 10.0)
    ((0.75, 0.75), (0.36, 1.0))
    """
    gap = number("gap", gap_in, "in", 0.0)
    length = number(
        "straightedge", printed(straightedge_ft), "ft", pavement_rule("shortest straightedge"),
        pavement_rule("longest straightedge"),
        why="the rule is made for 6 ft, and a gap under a length far from it says too little",
    )  # fmt: skip
    curved = gap * (pavement_rule("straightedge of the rule") / length) ** 2
    return printed(min(gap, curved)), printed(max(gap, curved))


def settled_gap_in() -> float:
    """Return the gap under a 6 ft straightedge from which a pavement counts as settled [in]."""
    return float(table("straightedge_gap").rows[0]["below"])
