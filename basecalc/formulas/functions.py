"""The eleven worksheet functions, for any spreadsheet program that can call Python; names and arguments are settled."""

from typing import Final

from basecalc.formulas import ground, takeoff
from basecalc.formulas.spec import Function, described

FUNCTIONS: Final[tuple[Function, ...]] = (
    described(ground.strength_class),
    described(ground.bearing_ratio),
    described(ground.site_strength, whole="classes"),
    described(ground.base_depth),
    described(ground.base_depth_reason, like=ground.base_depth),
    described(takeoff.excavation_volume),
    described(takeoff.loose_volume),
    described(takeoff.aggregate_tons),
    described(takeoff.truckloads),
    described(takeoff.base_lifts),
    described(takeoff.rolls),
)
