"""One intermediate value of a calculation, so that a sheet can show why a result is what it is."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Working:
    """A named value on the way to a result: its unit, and a word on where it comes from."""

    name: str
    value: float | str
    unit: str = ""
    note: str = ""
