"""The tables of one job in the estimating workbook, once: what the writer writes and the reader reads.

A field is the key of a job file wherever there is one; the fields that a sheet needs of its own are explained beside
them. A plain number is in the unit of its heading: the US one in the US edition, the metric one in the metric edition.
"""

from dataclasses import dataclass
from typing import Final

from basecalc.design.frost import GROUPS
from basecalc.ground.cone_log import HOW
from basecalc.ground.readings import MOISTURES, SOILS, TESTS
from basecalc.job.fields import OFFERS
from basecalc.plan.area import OLD_PAVEMENTS, SHAPES
from basecalc.tables.schema import Field

START_SHEET: Final = "Start"
GROUND_SHEET: Final = "Ground"
LOG_SHEET: Final = "Cone log"
AREAS_SHEET: Final = "Areas"
ESTIMATE_SHEET: Final = "Estimate"
QUOTE_SHEET: Final = "Quote"
SOURCES_SHEET: Final = "Sources"
SHEETS: Final = (
    START_SHEET, "Company", "Prices", GROUND_SHEET, LOG_SHEET, AREAS_SHEET, ESTIMATE_SHEET, QUOTE_SHEET, SOURCES_SHEET,
)  # fmt: skip
CLIMATE: Final = ("freezing_index", "mean_annual_temperature", "freezing_season")  # a table of its own in a job file
YES_NO: Final = ("yes", "no")


@dataclass(frozen=True, slots=True)
class _Plain:
    """A cell that the reader of a job reads."""

    us: str
    metric: str

    def unit(self, units: str) -> str:
        """Return the unit of its heading."""
        return self.metric if units == "metric" else self.us


def Column(  # noqa: N802
    key: str, label: str, help: str, unit: str = "", metric: str = "", format: str = "general",
    choices: tuple[str, ...] | str = (), optional: bool = False,
) -> Field:  # fmt: skip
    """Return a column of a sheet."""
    return Field(key, label, _Plain(unit, metric), help, format=format, offers=choices, optional=optional)


@dataclass(frozen=True, slots=True)
class JobTable:
    """One table of a job: its name in the workbook, the sheet it stands on, its columns, and the rows made ready."""

    name: str
    sheet: str
    title: str
    columns: tuple[Field, ...]
    ready_rows: int


@dataclass(frozen=True, slots=True)
class JobEntry:
    """One line of the job card: the key of a job file, its label, its help, what may stand there."""

    key: str
    label: str
    help: str
    choices: tuple[str, ...] | str = ()
    needed: bool = False
    default: str = ""


# The card has three columns, found by these headings; an entry is found by its label.
JOB_TABLE: Final = "JobCard"
JOB_COLUMNS: Final = (
    Column("label", "this job", ""),
    Column("value", "fill in", ""),
    Column("help", "what it is", ""),
)
JOB_ENTRIES: Final = (
    JobEntry("number", "quote number", "Starts the names of the files: letters, digits, - _ and .", needed=True),
    JobEntry("client", "client", "As printed on the quote.", needed=True),
    JobEntry("site", "site", "Street and town.", needed=True),
    JobEntry("date", "date", "Day of the quote, as a date; its validity counts from it."),
    JobEntry("prepared_by", "prepared by", "As printed on the quote."),
    JobEntry("traffic", "traffic", "What drives here: light, delivery, heavy, or one of your own (Company).",
             "traffics", needed=True, default="light"),
    JobEntry("season", "ground on the day", "How wet it was; a reading that says nothing itself takes it.", MOISTURES),
    JobEntry("walked", "walked and tested",
             "yes: the whole area was walked and its softest place tested. Then readings count in full.",
             YES_NO, default="no"),
    JobEntry("soil", "soil dug", "An area or a reading that says nothing itself takes it.", SOILS),
    JobEntry("new_build", "newly built plot", "yes or no: loose fill is likely there.", YES_NO, default="no"),
    JobEntry("offer", "offer", "stone, geogrid, or the cheaper of the two.", OFFERS, needed=True, default="cheaper"),
    JobEntry("stone", "base stone", "Blank: the first on the sheet Company.", "stones"),
    JobEntry("paver", "paver", "Blank: the first on the sheet Company.", "pavers"),
    JobEntry("geogrid", "geogrid", "Blank: the first on the sheet Company.", "rolls"),
    JobEntry("geotextile", "geotextile", "Blank: the first on the sheet Company.", "rolls"),
    JobEntry("spoil_truck", "truck for soil", "Blank: the first on the sheet Company.", "trucks"),
    JobEntry("stone_truck", "truck for stone", "Blank: the first on the sheet Company.", "trucks"),
    JobEntry("start", "first day of work", "As a date, once it is known: the stone order counts from it."),
    JobEntry("freezing_index", "freezing index",
             "Of the design winter, degree days F (metric: C). All three, or none."),
    JobEntry("mean_annual_temperature", "mean annual temperature", "Of the place, F (metric: C)."),
    JobEntry("freezing_season", "freezing season", "How long frost lasts in the design winter, days."),
    JobEntry("notes", "notes", "One to a line (Alt+Enter); printed on the quote."),
)  # fmt: skip

GROUND: Final = JobTable(
    "Readings", GROUND_SHEET, "readings",
    (
        Column("spot", "spot", "Where it was read, in your words. Rows of one spot belong together.", format="text"),
        Column("area", "area", "The area it stands for, as named on Areas; blank where there is only one.",
               format="text", choices="areas"),
        Column("test", "test", "What was tried; the sheet Sources says what to write.", choices=TESTS),
        Column("reading", "reading", "A number in the unit of the test, one with its own unit, or a word."),
        Column("moisture", "moisture", "How the ground was; blank: as on Start.", choices=MOISTURES),
        Column("soil", "soil", "Soil at the spot; blank: that of the area.", choices=SOILS),
        Column("note", "note", "For the office and the crew.", format="text"),
    ),
    40,
)  # fmt: skip
# The columns are those of `basecalc.ground.cone_log.LOG_FIELDS`, in that order.
LOG: Final = JobTable(
    "ConeLog", LOG_SHEET, "cone logs",
    (
        Column("spot", "spot", "Where the cone was driven, in your words. Blank: the spot of the row above.",
               format="text"),
        Column("area", "area", "The area it stands for, as named on Areas; blank where there is only one, or as above.",
               format="text", choices="areas"),
        Column("drop", "drop", "Its name or number, only where a spot has several. Blank: the one of the row above.",
               format="text"),
        Column("depth", "depth", "What the ruler says, from the seating reading down.", "in", "mm", "general"),
        Column("blows", "blows", "0 in the seating reading, which is the first of each drop.", format="general"),
        Column("hammer", "hammer", "8 kg or 4.6 kg. Blank: as above; at the top of a spot, 8 kg.",
               choices=("8 kg", "4.6 kg")),
        Column("soil", "soil", "Soil at that depth; blank: that of the area.", choices=SOILS),
        Column("base_bottom", "bottom of base",
               "How deep below the first reading the bottom of the base will lie, in one row of the spot. Blank: every "
               "layer counts, also one that is dug out.", "in", "mm", "general"),
        Column("note", "note", "What was heard or seen at that depth.", format="text"),
    ),
    60,
)  # fmt: skip
# How a log is counted: two lines above it, found as those of the job card are.
COUNTING_TABLE: Final = "LogCounting"
COUNTING: Final = (
    JobEntry("log_blows", "blows", "since the row above (per step), or all together (total).", HOW, default="per step"),
    JobEntry("log_depths", "depths", "below one point, as on a ruler (total), or since the row above (per step).", HOW,
             default="total"),
)  # fmt: skip
COUNTING_COLUMNS: Final = (
    Column("label", "how it is counted", ""),
    Column("value", "fill in", ""),
)
AREAS: Final = JobTable(
    "Areas", AREAS_SHEET, "areas",
    (
        Column("name", "area", "What the quote calls it.", format="text"),
        Column("shape", "shape", "The column sizes says which sizes each shape needs.", choices=SHAPES),
        Column("size_1", "size 1", "First size of the shape.", "ft", "m", "general"),
        Column("size_2", "size 2", "Second size of the shape.", "ft", "m", "general"),
        Column("size_3", "size 3", "Third size of the shape.", "ft", "m", "general"),
        Column("size_4", "size 4", "First leg of a trapezoid, if it is not upright and even.", "ft", "m", "general"),
        Column("size_5", "size 5", "Second leg of a trapezoid.", "ft", "m", "general"),
        Column("points", "corners at", "Polygon: its corners in turn, 'x y; x y; ...', walked round once.", "ft", "m",
               "text"),
        Column("area", "measured area", "Measured shape: its plan area.", "ft2", "m2", "general"),
        Column("perimeter", "measured outline", "Measured shape: the length around it.", "ft", "m", "general"),
        Column("foundation_edge", "along a building", "Length along a building: the base is not carried on there.",
               "ft", "m", "general"),
        Column("open_edge", "open edge", "Edge past which the base is carried on; blank: all but the building.",
               "ft", "m", "general"),
        Column("corners", "open corners", "Outside less inside corners of the open edge; blank: by the shape.",
               format="general"),
        Column("finish_above_ground", "finish above ground",
               "How far the paving stands above the ground; minus: below.", "in", "mm", "general"),
        Column("fall_length", "fall along", "How far the finish falls along its length; minus: it rises. For the crew.",
               "in", "mm", "general", optional=True),
        Column("fall_width", "fall across", "How far the finish falls along its width; minus: it rises. For the crew.",
               "in", "mm", "general", optional=True),
        Column("soil", "soil", "What is dug here; blank: as on Start.", choices=SOILS),
        Column("old_pavement", "old pavement", "Its thickness, where one is broken out.", "in", "mm", "general"),
        Column("old_pavement_kind", "kind of it", "asphalt, concrete, pavers or gravel.", choices=OLD_PAVEMENTS),
        Column("keep_old_base", "keep its base?", "yes if the old base might stay; asked, never assumed.",
               choices=YES_NO),
        Column("foundation_fill_depth", "fill depth", "Granular fill along the building, below the base.", "in", "mm",
               "general"),
        Column("foundation_fill_width", "fill width", "Of that fill, away from the building.", "ft", "m", "general"),
        Column("edge_restraint", "edge restraint", "Blank: as long as the open edge.", "ft", "m", "general"),
        Column("geotextile", "geotextile", "yes for a separation geotextile below the base.", choices=YES_NO),
        Column("strength", "strength by hand", "A class or a CBR, only where nothing was read."),
        Column("water_table", "water table", "Depth of the highest water of the year. Blank: not known.",
               "in", "mm", "general", optional=True),
        Column("frost_group", "frost group", "Only where a laboratory gave it; else the soil and the next two decide.",
               choices=GROUPS, optional=True),
        Column("fines_below_20_microns", "finer than 0.02 mm",
               "Share by weight, by hydrometer; not what passes the No. 200 sieve. Blank: not known.", "%", "%",
               "general", optional=True),
        Column("plasticity_index", "plasticity", "Plasticity index, for clay. Blank: not known.", format="general",
               optional=True),
        Column("dry_density", "dry weight", "Of the ground as it lies, dry: for how deep frost goes. Blank: not known.",
               "pcf", "kg/m3", "general", optional=True),
        Column("water_content", "water content", "By dry weight: for how deep frost goes. Blank: not known.", "%", "%",
               "general", optional=True),
        Column("note", "note", "For the office and the crew.", format="text"),
    ),
    12,
)  # fmt: skip
