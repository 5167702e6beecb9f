"""One check of the base: the depth it asks for, whether it counts, and the working behind it."""

from dataclasses import dataclass

from basecalc.working import Working


@dataclass(frozen=True, slots=True)
class Check:
    """What one check says of the base.

    Parameters
    ----------
    name
        'platform', 'structural', 'minimum', 'practice', and the like.
    depth_m
        Depth it asks for [m], not yet rounded; nothing where the check does not apply.
    counts
        Whether the required depth takes it into account.
    sentence
        What it did, in plain words, without the depth itself.
    working
        Inputs and intermediate values.
    source
        Where its equation or table was published.
    """

    name: str
    depth_m: float | None
    counts: bool
    sentence: str
    working: tuple[Working, ...]
    source: str
