"""A call of every worksheet function as a sheet makes it: ranges as rows of cells, None for what is left out."""

from typing import Any

from test_worksheet_excel import CASES

from basecalc.formulas.functions import FUNCTIONS
from basecalc.plan.area import AREA_FIELDS

Rows = tuple[tuple[Any, ...], ...]
CALLABLE = {function.name: function for function in FUNCTIONS}

SETTINGS: Rows = (
    ("company name", "Fallow & Larch Driveways", ""),
    ("thickest lift", 100.0, "mm"),
    ("overhead on cost", 0.12, "share"),
    ("profit as a share of the price", 0.15, "share"),
    ("contingency on cost", 0.0, "share"),
    ("sales tax", "6.5 %", "share"),
    ("deposit at signing", 0.25, "share"),
)
STONES: Rows = (
    ("name", "use", "loose density [ton/yd3]", "compaction factor", "waste [share]"),
    ("crushed base", "base", 1.48, 1.254, 0.0),
    ("bedding sand", "bedding", 1.35, 1.1, 0.05),
)
SOILS: Rows = (("name", "swell"), ("clay", 1.35))
SOIL = AREA_FIELDS.index("soil")
AREAS: Rows = (
    ("Driveway", "rectangle", 96.0, 14.0, *[""] * 5, "", 14.0, *[""] * 15),
    ("Turning", "circle", 20.0, *[""] * 13, "sand", *[""] * 9),
    ("",) * 26,
)
READINGS: Rows = (
    ("by the ditch", "Driveway", "thumb", "thumb deep", "", ""),
    ("by the ditch", "Driveway", "vane", "18 kPa", "wet", ""),
    ("turning", "Turning", "walk", 0.0, "", ""),
    ("",) * 6,
)
SITE = str(
    CALLABLE["SITE_READINGS"](READINGS, [[row[0]] for row in AREAS], [[row[SOIL]] for row in AREAS], "moist", "clay")
)
LOG_ROWS: Rows = (
    ("by the gate", "Driveway", "", 0.0, 0.0, "", "", "", ""),
    *(("", "", "", 2.0 * row, 5.0, "", "", "", "") for row in range(1, 8)),
    *(("", "", "", 14.0 + 3.0 * row, 2.0, "", "", "", "") for row in range(1, 5)),
    ("",) * 9,
)
LOG_AREAS = (tuple((row[0],) for row in AREAS), tuple((row[SOIL],) for row in AREAS), "clay")
LOG = str(CALLABLE["CONE_LOG"](LOG_ROWS, "per step", "total", *LOG_AREAS))
DESIGN = str(CALLABLE["DESIGN_SETTINGS"](SETTINGS, 60.0, "mm"))
LIGHT = str(CALLABLE["TRAFFIC_LEVEL"]("light"))
TASK = str(CALLABLE["DESIGN_TASK"](DESIGN, LIGHT, "weak", 0.32, "none", "none"))

EXAMPLES: dict[str, tuple[Any, ...]] = {
    **{name: given for name, (given, _, _) in CASES.items()},
    "SITE_STRENGTH": ((("stiff",), (2.5,), ("",), ("medium",)), "weakest"),
    "COMPANY_SETTING": ("thickest lift", SETTINGS, "in"),
    "OWNER_ITEM": (STONES, "base", "crushed base"),
    "OWNER_ROWS": (STONES, "bedding sand"),
    "OWNER_VALUE": (STONES, "crushed base", "loose density", "ton/yd3"),
    "UNIT_FACTOR": ("ton", "lb"),
    "SPOIL_VALUE": ("clay", "swell", SOILS, None),
    "DESIGN_SETTINGS": (SETTINGS, 2.375, "in"),
    "TRAFFIC_LEVEL": ("delivery", None),
    "DESIGN_CBR": ("soft", DESIGN),
    "DESIGN_DEPTH": (1.2, LIGHT, DESIGN, "clay", "mm", 0.32, "none", "none"),
    "DESIGN_REASON": (1.2, LIGHT, DESIGN, "clay", "in"),
    "SITE_READINGS": (
        READINGS,
        tuple((row[0],) for row in AREAS),
        tuple((row[SOIL],) for row in AREAS),
        "moist",
        "clay",
        "yes",
        "us",
        LOG,
    ),
    "SITE_ROWS": (SITE, 2.0, 3.0),
    "SITE_AREAS": (SITE, (("Turning",), ("",))),
    "CONE_LOG": (LOG_ROWS, "per step", "total", *LOG_AREAS, "us"),
    "CONE_LOG_SAYS": (3.0, LOG),
    "CONE_LOG_VALUE": (LOG, 1.0, "layer cbr", 2.0, "us"),
    "READING_SAYS": (2.0, SITE),
    "SPOT_STRENGTH": ("turning", SITE),
    "AREA_STRENGTH": (AREAS[:1], SITE, "middle"),
    "AREA_STRENGTH_REASON": (AREAS[1:2], SITE),
    "AREA_MEASURE": (AREAS[:1], "area", "clay", "us"),
    "AREA_MEASURES": (AREAS[:1], "clay", "us"),
    "DESIGN_TASK": (DESIGN, LIGHT, "weak", 0.32, "none", "none", "in"),
    "AREA_DESIGN": ("Yard", "soft", "clay", SITE, TASK),
    "ROLL_OVERLAP": ("geogrid", 2.2, "end", None, "m"),
    "ROLL_STRIPS": (96.0, 14.0, 164.0, 13.1, 1.0, 1.5),
    "POOLED_ROLLS": (((2.0,), ("",)), ((96.0,), ("",)), ((1.0,), ("",)), 164.0),
}


def directly(name: str, given: tuple[Any, ...]) -> Any:
    """Return what the library itself answers to a call; what is left out at the end, or is None, takes its default."""
    from basecalc.formulas.cells import LEFT_OUT

    return CALLABLE[name](*[LEFT_OUT if cell is None else cell for cell in given])
