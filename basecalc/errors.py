"""Everything basecalc refuses, as one tree.

::

    ValueError
    └── BasecalcError          any refusal; its text is one sentence a user can act on
        ├── InputError         a value that is missing, of the wrong kind, or not one of the words offered
        ├── OutOfRangeError    a number outside the limits of the method, table or site it is meant for
        ├── PriceError         something wrong in the owner's price workbook
        └── WorkbookError      a file that cannot be read or written as asked
"""

from typing import Final, Self

# A name of a file or a word of a job must not steer the terminal it is printed on.
_VISIBLE: Final = {code: f"\\x{code:02x}" for code in (*range(0x20), *range(0x7F, 0xA0))}


class BasecalcError(ValueError):
    """A refusal in one sentence: what, its value, the limit and the unit, and where it was found.

    Parameters
    ----------
    sentence
        The whole complaint without the place.
    where
        File, sheet and cell, or field of a job, where the value stands.
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
    """A cell of the owner's price workbook cannot be used as it stands, or a price is missing."""


class WorkbookError(BasecalcError):
    """A file is missing, is not what it should be, or cannot be written."""
