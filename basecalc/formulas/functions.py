"""The worksheet functions, for any spreadsheet program that can call Python.

Eleven are for any sheet; their names and arguments are settled. The others carry the estimating workbook: they read its
tables and the owner's own settings, and each is a thin call of the library. AREA_MEASURES and AREA_DESIGN give in one
call what AREA_MEASURE, AREA_STRENGTH, DESIGN_DEPTH, ROLL_OVERLAP and their reasons give one by one, which is enough for
a sheet of a few rows.
"""

from typing import Final

from basecalc.formulas import area, company, design, ground, log, owner, plan, site, takeoff
from basecalc.formulas.spec import Function, described

FOR_ANY_SHEET: Final[tuple[Function, ...]] = (
    described(ground.strength_class),
    described(ground.bearing_ratio),
    described(ground.site_strength, whole="classes"),
    described(ground.base_depth),
    described(ground.base_depth_reason),
    described(takeoff.excavation_volume),
    described(takeoff.loose_volume),
    described(takeoff.aggregate_tons),
    described(takeoff.truckloads),
    described(takeoff.base_lifts),
    described(takeoff.rolls),
)
FOR_THE_WORKBOOK: Final[tuple[Function, ...]] = (
    described(company.company_setting, rows=("settings_range",)),
    described(owner.owner_item, rows=("table",)),
    described(owner.owner_rows, rows=("table",)),
    described(owner.owner_value, rows=("table",)),
    described(owner.unit_factor),
    described(owner.spoil_value, rows=("soils",)),
    described(design.design_settings, rows=("settings_range",)),
    described(design.traffic_level, rows=("levels",)),
    described(design.design_cbr),
    described(design.design_depth),
    described(design.design_reason),
    described(log.cone_log, whole=("area_names", "area_soils"), rows=("log_rows",)),
    described(log.cone_log_says),
    described(log.cone_log_value),
    described(site.site_readings, whole=("area_names", "area_soils"), rows=("readings",)),
    described(site.site_rows),
    described(site.site_areas, whole="area_names"),
    described(site.reading_says),
    described(site.spot_strength),
    described(site.area_strength, rows=("area_row",)),
    described(site.area_strength_reason, rows=("area_row",)),
    described(plan.area_measure, rows=("area_row",)),
    described(plan.area_measures, rows=("area_row",)),
    described(area.design_task),
    described(area.area_design),
    described(plan.roll_overlap),
    described(plan.roll_strips),
    described(plan.pooled_rolls, whole=("strips", "lengths", "end_overlaps")),
)
FUNCTIONS: Final[tuple[Function, ...]] = (*FOR_ANY_SHEET, *FOR_THE_WORKBOOK)
