"""Everything basecalc refuses, as one tree.

::

    ValueError
    └── BasecalcError          any refusal; its text is one sentence a user can act on
        ├── InputError         a value that is missing, of the wrong kind, or not one of the words offered
        ├── OutOfRangeError    a number outside the limits of the method, table or site it is meant for
        ├── PriceError         something wrong in the owner's price workbook
        └── WorkbookError      a file that cannot be read or written as asked
"""

from pathlib import Path
from traceback import extract_tb
from typing import Final, Self

_LONGEST_FAULT: Final = 200
# A name of a file or a word of a job must not steer the terminal it is printed on.
_VISIBLE: Final = {code: f"\\x{code:02x}" for code in (*range(0x20), *range(0x7F, 0xA0))}


class BasecalcError(ValueError):
    """A refusal in one sentence: what, its value, the limit and the unit, and where it was found.

    Parameters
    ----------
    sentence
        The whole complaint without the place.
    where
        File, sheet and cell, or field of a job, where the value is.
    """

    def __init__(self, sentence: str, *, where: str = "") -> None:
        self.sentence = sentence
        self.where = where
        super().__init__((f"{where}: {sentence}" if where else sentence).translate(_VISIBLE))

    def at(self, where: str) -> Self:
        """Return the same refusal with an outer place put in front of the one it has."""
        return type(self)(self.sentence, where=f"{where}, {self.where}" if self.where else where)


class InputError(BasecalcError):
    """A value is missing, of the wrong kind or dimension, or not one of the words offered."""


class OutOfRangeError(BasecalcError):
    """A number lies outside the limits within which the method, table or rule may be used."""


class PriceError(BasecalcError):
    """A cell of the owner's price workbook cannot be used as it is, or a price is missing."""


class WorkbookError(BasecalcError):
    """A file is missing, is not what it should be, or cannot be written."""


def fault_sentence(fault: Exception) -> str:
    """Return one line for an error that is not a refusal: what the system would not do, or a fault of our own.

    Examples
    --------
    >>> fault_sentence(PermissionError(13, "Permission denied", "jobs/drive.toml"))
    'jobs/drive.toml: the file or folder cannot be used (permission denied)'
    """
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
