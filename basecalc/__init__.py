"""From a site visit to a priced quote for paved driveways.

The names below are the public library. Each is loaded when it is first used, so that a worksheet function or the
command line does not wait for what it does not need.

>>> from basecalc import base_depth
>>> round(base_depth("hard", "light").required_m, 4)
0.1524
"""

from importlib import import_module
from types import FunctionType
from typing import TYPE_CHECKING, Any

from basecalc import version

if TYPE_CHECKING:
    from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError, PriceError, WorkbookError
    from basecalc.design.depth import BaseDepth, base_depth, depth_column
    from basecalc.design.settings import DesignSettings, reinforcement, traffic
    from basecalc.estimating.carry_over import CarriedOver, carry_over
    from basecalc.estimating.read_job import load_job
    from basecalc.estimating.template import write_template
    from basecalc.frames import checks_frame, evidence_frame, findings_frame, lines_frame, quantities_frame, worth_frame
    from basecalc.ground.classes import Strength, strength
    from basecalc.ground.evidence import AreaEvidence, ground_evidence
    from basecalc.ground.readings import Reading
    from basecalc.ground.strength import area_strength, spot_strength
    from basecalc.job import Job, parse_job
    from basecalc.price_runs import Repriced, reprice
    from basecalc.pricing.archive import Kept, load_quote
    from basecalc.pricing.changes import ChangeOrder, change_order
    from basecalc.pricing.estimate import estimate
    from basecalc.pricing.price_changes import OldPrice, PriceChange, old_prices, price_changes
    from basecalc.pricing.prices import PriceBook, load_prices
    from basecalc.pricing.records import Estimate, Quote
    from basecalc.pricing.value_of_testing import WorthOfTest, worth_of_tests
    from basecalc.render.save import ChangeFiles, QuoteFiles, write_change, write_quote
    from basecalc.runs import quote
    from basecalc.schedule import order_text
    from basecalc.season.book import load_book
    from basecalc.season.run import load_season, write_book, write_season
    from basecalc.takeoff.takeoff import take_off
    from basecalc.workbook.template import write_price_workbook

__version__ = version.VERSION

__all__ = [
    "AreaEvidence",
    "BaseDepth",
    "BasecalcError",
    "CarriedOver",
    "ChangeFiles",
    "ChangeOrder",
    "DesignSettings",
    "Estimate",
    "InputError",
    "Job",
    "Kept",
    "OldPrice",
    "OutOfRangeError",
    "PriceBook",
    "PriceChange",
    "PriceError",
    "Quote",
    "QuoteFiles",
    "Reading",
    "Repriced",
    "Strength",
    "WorkbookError",
    "WorthOfTest",
    "area_strength",
    "base_depth",
    "carry_over",
    "change_order",
    "checks_frame",
    "depth_column",
    "estimate",
    "evidence_frame",
    "findings_frame",
    "ground_evidence",
    "lines_frame",
    "load_book",
    "load_job",
    "load_prices",
    "load_quote",
    "load_season",
    "old_prices",
    "order_text",
    "parse_job",
    "price_changes",
    "quantities_frame",
    "quote",
    "reinforcement",
    "reprice",
    "spot_strength",
    "strength",
    "take_off",
    "traffic",
    "worth_frame",
    "worth_of_tests",
    "write_book",
    "write_change",
    "write_price_workbook",
    "write_quote",
    "write_season",
    "write_template",
]

_ROOMS = {
    "season.book": ("load_book",),
    "season.run": ("load_season", "write_book", "write_season"),
    "core.errors": ("BasecalcError", "InputError", "OutOfRangeError", "PriceError", "WorkbookError"),
    "design.depth": ("BaseDepth", "base_depth", "depth_column"),
    "design.settings": ("DesignSettings", "reinforcement", "traffic"),
    "estimating.carry_over": ("CarriedOver", "carry_over"),
    "estimating.read_job": ("load_job",),
    "estimating.template": ("write_template",),
    "frames": ("checks_frame", "evidence_frame", "findings_frame", "lines_frame", "quantities_frame", "worth_frame"),
    "ground.classes": ("Strength", "strength"),
    "ground.evidence": ("AreaEvidence", "ground_evidence"),
    "ground.readings": ("Reading",),
    "ground.strength": ("area_strength", "spot_strength"),
    "job": ("Job", "parse_job"),
    "price_runs": ("Repriced", "reprice"),
    "pricing.archive": ("Kept", "load_quote"),
    "pricing.changes": ("ChangeOrder", "change_order"),
    "pricing.estimate": ("estimate",),
    "pricing.price_changes": ("OldPrice", "PriceChange", "old_prices", "price_changes"),
    "pricing.prices": ("PriceBook", "load_prices"),
    "pricing.records": ("Estimate", "Quote"),
    "pricing.value_of_testing": ("WorthOfTest", "worth_of_tests"),
    "runs": ("quote",),
    "schedule": ("order_text",),
    "takeoff.takeoff": ("take_off",),
    "render.save": ("ChangeFiles", "QuoteFiles", "write_change", "write_quote"),
    "workbook.template": ("write_price_workbook",),
}
_ROOM = {name: room for room, names in _ROOMS.items() for name in names}


def __getattr__(name: str) -> Any:
    """Load a public name from its room when it is first asked for."""
    if name not in _ROOM:
        raise AttributeError(f"module 'basecalc' has no attribute {name!r}")
    value = getattr(import_module(f"basecalc.{_ROOM[name]}"), name)
    if isinstance(value, FunctionType):
        from basecalc.core.arguments import checked

        value = checked(value)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return [*globals(), *__all__]
