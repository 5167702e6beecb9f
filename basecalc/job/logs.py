"""A spot of a job file that names a cone penetrometer's log: its keys, and the log as readings like any other."""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Final

from pydantic import BeforeValidator, Field, ValidationInfo

from basecalc.checks import choice, shown
from basecalc.errors import InputError
from basecalc.ground.log.design import designs, log_reading
from basecalc.ground.log.entries import BOTTOM, DEPTH, Entry, blow_count, entry_drops, hammer_word
from basecalc.ground.log.headings import HOW, UNITS
from basecalc.ground.log.record import ConeLog, Design
from basecalc.ground.readings import Reading
from basecalc.ground.soils import soil as soil_named
from basecalc.validation import Record, measured, one_of, text, words

ROWS_OF_THE_JOB: Final = "kept with the job"  # what a log of no file of its own is called
_OF_ROWS: Final = ("log_rows", "log_blows", "log_depths", "base_bottom")  # keys that rows of a log go with
Hammer = Annotated[str, BeforeValidator(hammer_word)]


def _drop(value: Any, info: ValidationInfo) -> str:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(f"{words(info.field_name)} is {shown(value)}; it must be the name of a drop in the log")
    return f"{value:g}" if isinstance(value, float) else str(value).strip()


def _soil(value: Any) -> str:
    return "" if value is None or value == "" else soil_named(value).name


class LogRowFields(Record):
    """One row of a log that stands in the job itself."""

    row: int = 0  # as the user counts it; 0: by its place
    drop: Annotated[str, text(needed=False)] = ""
    depth: Annotated[float, measured(DEPTH)]
    blows: Annotated[float, BeforeValidator(blow_count)]
    hammer: Hammer = ""
    soil: Annotated[str, BeforeValidator(_soil)] = ""
    note: Annotated[str, text(needed=False, longest=2000)] = ""


class LogFields(Record):
    """The keys of a spot that say which log was driven there, and how it is read."""

    log: Annotated[str, text(needed=False)] = ""
    log_unit: Annotated[str, one_of(tuple(UNITS), blank="")] = ""
    log_blows: Annotated[str, one_of(HOW, blank="")] = ""
    log_depths: Annotated[str, one_of(HOW, blank="")] = ""
    log_drop: Annotated[str, BeforeValidator(_drop)] = ""
    hammer: Hammer = ""
    base_bottom: Annotated[float | None, measured(BOTTOM, blank=True)] = None
    log_rows: Annotated[list[LogRowFields], Field(min_length=1, max_length=10_000)] | None = None


def log_content(log: str, where: str, logs: Mapping[str, str] | None = None) -> str:
    """Return what stands in the log of a spot, as text.

    Parameters
    ----------
    log
        Its name in the job file, beside which it lies.
    where
        The job file.
    logs
        The logs by name, where they came along with the job.

    Raises
    ------
    WorkbookError
        There is no such log, or it is no text.
    InputError
        The job is in no file, or the log lies outside the folder of the job.
    """
    if logs is not None:
        if log not in logs:
            raise InputError(f"the log {shown(log)} did not come along with the job")
        return logs[log]
    if not Path(where).suffix:
        raise InputError(f"log is {shown(log)}, but the job is in no file; a log is looked for beside its job file")
    from basecalc.ground.log.text import decoded, read_bytes  # pandas, which most jobs never need

    path = Path(where).parent / log
    try:
        inside = path.resolve().is_relative_to(Path(where).parent.resolve())
    except (OSError, ValueError, RuntimeError):  # a name that no file can have, or links that lead in a circle
        inside = False
    if not inside:
        raise InputError(
            f"log is {shown(log)}; it must be a file in the folder of the job or below it. Copy the log there and "
            "write its name"
        )
    return decoded(read_bytes(path), str(path)).replace("\r\n", "\n").replace("\r", "\n")


def spot_designs(fields: LogFields, soil: str, where: str, content: str) -> tuple[tuple[Design, ...], tuple[str, ...]]:
    """Return the layer to design for of every drop of a spot's log, and what was assumed; nothing where it has none.

    Parameters
    ----------
    fields
        The keys of the spot.
    soil
        The soil at the spot, for a log that names none.
    where
        The job file, beside which the log lies.
    content
        What stands in the log.

    Raises
    ------
    InputError, OutOfRangeError
        A key that needs a log, a row of the log that cannot be used, or a drop that is not in it.
    """
    said = [name for name in LogFields.model_fields if getattr(fields, name) not in ("", None)]
    if fields.log_rows:
        if beside := [name for name in said if name not in _OF_ROWS]:
            raise InputError(
                f"{words(beside[0])} goes with the file of a log, but its rows stand here; it must be left out"
            )
        held = rows_log(fields)
        return designs(held, soil, fields.base_bottom), held.notes
    if not fields.log:
        if said:
            raise InputError(f"log is missing; {words(said[0])} says how a log is read, so one must be named")
        return (), ()
    from basecalc.ground.log.reader import cone_log  # pandas, which most jobs never need
    from basecalc.ground.log.text import cells

    log = str(Path(where).parent / fields.log)
    read = cone_log(
        cells(content.encode(), log), log, unit=fields.log_unit, hammer=fields.hammer, blows=fields.log_blows,
        depths=fields.log_depths,
    )  # fmt: skip
    made = designs(read, soil, fields.base_bottom)
    if not fields.log_drop:
        return made, read.notes
    wanted = choice("log drop", fields.log_drop, [one.profile.drop.name for one in made])
    return tuple(one for one in made if one.profile.drop.name == wanted), read.notes


def rows_log(fields: LogFields, where: str = "", unit: str = "in") -> ConeLog:
    """Return the log whose rows stand in the job itself.

    Parameters
    ----------
    fields
        The keys of the spot.
    where
        What a refusal calls it; nothing where the rows say enough.
    unit
        The unit in which its depths are written.

    Raises
    ------
    InputError, OutOfRangeError
        The first row that cannot be used.
    """
    entries = [
        Entry(one.row or place, one.depth, one.blows, one.hammer, one.drop, one.soil, one.note)
        for place, one in enumerate(fields.log_rows or (), 1)
    ]
    drops, notes = entry_drops(entries, fields.log_blows or "per step", fields.log_depths or "total")
    comments = tuple((one.row, one.note) for one in entries if one.note)
    return ConeLog(where, drops, unit, notes, comments)


def design_readings(
    made: tuple[Design, ...], notes: tuple[str, ...], file: str, moisture: str, soil: str, units: str
) -> tuple[Reading, ...]:
    """Return the drops of a spot's log as readings of the cone.

    Parameters
    ----------
    made
        The layer to design for of each.
    notes
        What was assumed for the whole log.
    file
        The log.
    moisture
        How wet the ground was.
    soil
        The soil at the spot.
    units
        'us' or 'metric': how depths are told.
    """
    return tuple(log_reading(one, file, moisture, soil, assumed=notes, metric=units == "metric") for one in made)
