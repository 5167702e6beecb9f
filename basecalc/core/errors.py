"""Everything basecalc refuses, as one tree.

::

    ValueError
    └── BasecalcError          any refusal; its text is one sentence a user can act on
        ├── InputError         a value that is missing, of the wrong kind, or not one of the words offered
        ├── OutOfRangeError    a number outside the limits of the method, table or site it is meant for
        ├── PriceError         something wrong in the owner's price workbook
        └── WorkbookError      a file that cannot be read or written as asked
"""

from dataclasses import dataclass
from pathlib import Path
from traceback import extract_tb
from typing import Any, Final, Self

KeyPath = tuple[int | str, ...]  # tables of data as keys and positions from 0, such as ("area", 1, "frost")
_LONGEST_FAULT: Final = 200
# A name of a file or a word of a job must not steer the terminal it is printed on.
_VISIBLE: Final = {code: f"\\x{code:02x}" for code in (*range(0x20), *range(0x7F, 0xA0))}


def column_letters(column: int) -> str:
    """Return the letters of a column of a sheet, the first of which is 1."""
    letters = ""
    while column > 0:
        column, last = divmod(column - 1, 26)
        letters = chr(ord("A") + last) + letters
    return letters


@dataclass(frozen=True, slots=True)
class Place:
    """Where a value is, as far as that is known.

    Parameters
    ----------
    file
        The path of the file, or what data of no file is called.
    sheet
        The sheet of a workbook.
    within
        The tables of a job or the drops of a log that it is in, the outer ones first, each as a person names it.
    row, column
        The row of a sheet or a list and the column of a sheet, from 1; 0 where there is none.
    path
        The tables of a job as keys and positions from 0, such as ``("area", 1, "frost")``.

    Examples
    --------
    >>> str(Place("prices.xlsx", "Company", row=7, column=2)), str(Place("drive.toml", within=("area 2",)))
    ('prices.xlsx, sheet Company, cell B7', 'drive.toml, area 2')
    """

    file: str = ""
    sheet: str = ""
    within: tuple[str, ...] = ()
    row: int = 0
    column: int = 0
    path: KeyPath = ()

    @property
    def cell(self) -> str:
        """The cell of a sheet, such as B7; nothing where only a row is known, or not even that."""
        return f"{column_letters(self.column)}{self.row}" if self.row and self.column else ""

    def __str__(self) -> str:
        """Return the place in words."""
        last = f"cell {self.cell}" if self.cell else f"row {self.row}" if self.row else ""
        parts = (self.file, f"sheet {self.sheet}" if self.sheet else "", *self.within, last)
        return ", ".join(part for part in parts if part)

    def inside(self, outer: "Place | str") -> "Place":
        """Return the place with an outer one around it; words name a table of a job or a drop of a log."""
        around = Place(within=(outer,) if outer else ()) if isinstance(outer, str) else outer
        other = (self.file,) if around.file and self.file not in ("", around.file) else ()  # a log that a job names
        return Place(
            around.file or self.file, around.sheet or self.sheet, (*around.within, *other, *self.within),
            self.row or around.row, self.column or around.column, (*around.path, *self.path),
        )  # fmt: skip


class BasecalcError(ValueError):
    """A refusal in one sentence: what, its value, the limit and the unit, and where it was found.

    What a program needs to know of it is in ``place``, ``field`` and ``about``; nobody takes the sentence apart.

    Parameters
    ----------
    sentence
        The whole complaint without the place; where `about` is given, without the words that it starts with.
    where
        Where the value is: a `Place`, or words.
    about
        The name of what is refused as a person writes it; the sentence starts with it.
    field
        The key of what is refused: of a field of a job, or of a column of a table; `about` where it has none.
    """

    def __init__(self, sentence: str, *, where: Place | str = "", about: str = "", field: str = "") -> None:
        self.about, self.rest = about, sentence
        self.sentence = f"{about} {sentence}" if about else sentence
        self.place = where if isinstance(where, Place) else Place().inside(where)
        self.field = field or about
        super().__init__((f"{self.where}: {self.sentence}" if self.where else self.sentence).translate(_VISIBLE))

    @property
    def where(self) -> str:
        """File, sheet and cell, or the table of a job, in words; nothing where it is not known."""
        return str(self.place)

    def at(self, where: Place | str, *, field: str = "") -> Self:
        """Return the same refusal with an outer place put in front of the one it has, and its key where given."""
        place = self.place.inside(where)
        return type(self)(self.rest, where=place, about=self.about, field=field or self.field)

    def changed(self, kind: "type[BasecalcError] | None" = None, **changes: Any) -> "BasecalcError":
        """Return the same refusal as another kind, or with another `where`, `about`, `field` or `sentence`."""
        given: dict[str, Any] = {"where": self.place, "about": self.about, "field": self.field}
        given |= changes
        return (kind or type(self))(given.pop("sentence", self.rest), **given)


class InputError(BasecalcError):
    """A value is missing, of the wrong kind or dimension, or not one of the words offered."""


class OutOfRangeError(BasecalcError):
    """A number lies outside the limits within which the method, table or rule may be used."""


class PriceError(BasecalcError):
    """A cell of the owner's price workbook cannot be used as it is, or a price is missing."""


class WorkbookError(BasecalcError):
    """A file is missing, is not what it should be, or cannot be written."""


def fault_sentence(fault: Exception) -> str:
    """Return one line for an error that is not a refusal: what the system would not do, or a fault of our own."""
    words = " ".join(str(fault).split())
    if isinstance(fault, OSError):
        reason = (fault.strerror or words or type(fault).__name__).lower()
        if fault.filename is not None:
            return f"{fault.filename}: the file or folder cannot be used ({reason})"
        return f"the system refused to read or write ({reason})"
    steps = extract_tb(fault.__traceback__)
    place = f", in {Path(steps[-1].filename).name} line {steps[-1].lineno}" if steps else ""
    what = f"{type(fault).__name__}: {words}" if words else type(fault).__name__
    return f"a fault in basecalc itself: please report it ({what[:_LONGEST_FAULT]}{place})"
