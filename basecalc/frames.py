"""Estimates and quotes as pandas tables: one row a thing, the unit in its own column or in the heading.

pandas is loaded here alone, when a table is asked for, so that it need not be installed for anything else.
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Final

from basecalc.core.errors import InputError
from basecalc.core.units import INCH_M
from basecalc.pricing.records import Estimate, Quote
from basecalc.report import report
from basecalc.takeoff.takeoff import Takeoff

if TYPE_CHECKING:
    import pandas as pd

QUANTITIES: Final = "option code item area material amount unit working"
LINES: Final = "option scope code item quantity unit unit_price amount taxable work working note"
CHECKS: Final = (
    "option area strength_class cbr_percent check depth_m depth_in counts governs required_m required_in sentence "
    "source"
)
FINDINGS: Final = "area spot test reading moisture soil weakest strongest cbr_percent decides sentence source"
EVIDENCE: Final = (
    "area spot governs test reading moisture part read_weakest read_strongest read_cbr_percent weakest strongest "
    "cbr_percent low_cbr_percent high_cbr_percent source"
)
WORTH: Final = (
    "area strength_class cbr_percent confidence low_cbr_percent high_cbr_percent depth_m depth_weak_m depth_strong_m "
    "total total_weak total_strong spots_to_test sentence expected_saving_m expected_saving chance_more more_then_m "
    "more_then walked chance_weaker chance_weaker_one_more_spot chance_weaker_if_walked"
)


def _frame(columns: str, rows: Iterable[tuple[Any, ...]], numbers: str = "") -> "pd.DataFrame":
    """Return rows as a table; columns of numbers are that even where they are empty."""
    try:
        import pandas as pd
    except ImportError:
        raise InputError("this table is a pandas DataFrame, and pandas is not installed: pip install pandas") from None
    return pd.DataFrame(list(rows), columns=columns.split()).astype(dict.fromkeys(numbers.split(), "float64"))


def quantities_frame(source: Estimate | Takeoff) -> "pd.DataFrame":
    """Return the quantities of one option, a row each; the area is empty where they belong to the whole job.

    Parameters
    ----------
    source
        An estimate, or a take-off that was never priced.
    """
    takeoff = source.takeoff if isinstance(source, Estimate) else source
    return _frame(QUANTITIES, (
        (takeoff.option, one.code, one.item, one.area, one.variant, one.amount, one.unit, one.working)
        for one in takeoff.quantities
    ))  # fmt: skip


def lines_frame(source: Estimate) -> "pd.DataFrame":
    """Return the office's priced lines of one option; quantities and money stay exact decimals.

    Parameters
    ----------
    source
        An estimate.
    """
    return _frame(LINES, (
        (source.takeoff.option, *(getattr(line, name) for name in LINES.split()[1:])) for line in source.lines
    ))  # fmt: skip


def checks_frame(source: Quote) -> "pd.DataFrame":
    """Return every check behind every base depth, without and with geogrid.

    Parameters
    ----------
    source
        A quote.
    """
    return _frame(CHECKS, (
        (
            option, area, depth.strength.strength_class, depth.cbr, check.name, check.depth_m,
            None if check.depth_m is None else check.depth_m / INCH_M, check.counts, check.name == depth.governs,
            depth.required_m, depth.required_m / INCH_M, check.sentence, check.source,
        )
        for option, depths in (("stone", source.depths), ("geogrid", source.geogrid_depths))
        for area, depth in depths.items()
        for check in depth.checks
    ), "depth_m depth_in")  # fmt: skip


def findings_frame(source: Quote) -> "pd.DataFrame":
    """Return every reading and what it says, in the order read.

    Parameters
    ----------
    source
        A quote.
    """
    return _frame(FINDINGS, (
        (
            ground.name, spot.name, finding.reading.test, str(finding.reading.value), finding.reading.moisture,
            finding.reading.soil, finding.weakest, finding.strongest, finding.cbr, finding is spot.decided_by,
            finding.sentence, finding.source,
        )
        for ground in source.ground.values()
        for spot in ground.spots
        for finding in spot.findings
    ), "cbr_percent")  # fmt: skip


def evidence_frame(source: Quote) -> "pd.DataFrame":
    """Return every reading with what it allows, as read and as taken, and its part: decides, agrees or set aside.

    Parameters
    ----------
    source
        A quote.
    """
    return _frame(EVIDENCE, (
        (
            name, spot.name, spot.governs, one.finding.reading.test, str(one.finding.reading.value),
            one.finding.reading.moisture, one.role, *one.finding.as_read, one.finding.weakest, one.finding.strongest,
            one.finding.cbr, one.taken.low_cbr, one.taken.high_cbr, one.source,
        )
        for name, known in report(source).evidence.items()
        for spot in known.spots
        for one in spot.readings
    ), "read_cbr_percent cbr_percent low_cbr_percent high_cbr_percent")  # fmt: skip


def worth_frame(source: Quote) -> "pd.DataFrame":
    """Return what one more test of each area's ground is worth, a row each; money stays exact decimals.

    The columns weak and strong are the weakest and the strongest of five equally likely readings. expected_saving and
    more_then are never netted; the chances are shares. Where nothing can be said a cell is empty.

    Parameters
    ----------
    source
        A quote.
    """
    return _frame(WORTH, (
        (
            one.area, one.evidence.strength.strength_class, one.offered.cbr, one.evidence.confidence.word,
            one.evidence.left.low_cbr, one.evidence.left.high_cbr, one.offered.depth.required_m,
            one.weak.depth.required_m, one.strong.depth.required_m, one.offered.total, one.weak.total,
            one.strong.total, "; ".join(one.evidence.to_test), one.sentence(source.job.units),
            one.saves_m, one.saves, one.chance_more, one.more_m, one.more, one.evidence.confidence.walked,
            one.evidence.confidence.chance, one.more_spot, one.if_walked,
        )
        for one in report(source).worths
    ), "chance_weaker chance_weaker_one_more_spot chance_weaker_if_walked")  # fmt: skip
