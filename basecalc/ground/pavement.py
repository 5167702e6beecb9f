"""What an old pavement says about the ground below it."""

from dataclasses import dataclass
from typing import Final

from basecalc.ground.readings import ground_words
from basecalc.ground.straightedge import gap_under_six_feet, pavement_rule, settled_gap_in
from basecalc.rounding import printed
from basecalc.tables import table
from basecalc.units import FOOT_M, INCH_M

WHAT: Final = ("settlement", "rut")
STATES: Final = ("even", "settled", "rutted", "settled and rutted")
PLACES: Final = tuple(table("pavement_places").keys())
BASE_STATES: Final = tuple(table("old_base_credit").keys())


@dataclass(frozen=True, slots=True)
class Seen:
    """One settlement or rut of an old pavement.

    Parameters
    ----------
    what
        One of `WHAT`.
    where
        One of `PLACES`.
    gap_m
        Greatest gap under the straightedge [m].
    straightedge_m
        Length of the straightedge [m].
    note
        Anything else worth keeping.
    """

    what: str
    where: str
    gap_m: float
    straightedge_m: float = 6 * FOOT_M
    note: str = ""


@dataclass(frozen=True, slots=True)
class TestHole:
    """A hole opened through an old pavement down into the ground.

    Parameters
    ----------
    where
        What the sketch calls it.
    base_m
        Thickness of the old stone base found there [m]; 0 where there is none.
    state
        One of `BASE_STATES`.
    """

    __test__ = False

    where: str
    base_m: float
    state: str


@dataclass(frozen=True, slots=True)
class Pavement:
    """What is known of an old pavement beyond its kind and thickness.

    Parameters
    ----------
    age
        Its age [years]; None where nobody knows.
    state
        One of `STATES`; nothing where nobody looked.
    seen
        Its settlements and ruts.
    base_m
        Thickness of the old base as somebody says [m]; only test holes make it count.
    holes
        The test holes opened.
    """

    age: float | None = None
    state: str = ""
    seen: tuple[Seen, ...] = ()
    base_m: float = 0.0
    holes: tuple[TestHole, ...] = ()


@dataclass(frozen=True, slots=True)
class Speaks:
    """What an old pavement says about the ground.

    Parameters
    ----------
    weakest, strongest
        The classes it leaves open; nothing where it says nothing.
    sentences
        What was seen and what it speaks for, for the office.
    source
        Where the step to classes comes from, and how far that is trusted; nothing where no step was made.
    """

    weakest: str
    strongest: str
    sentences: tuple[str, ...]
    source: str


def speaks(pavement: Pavement, kind: str, units: str) -> Speaks:
    """Return what an old pavement says about the ground below it.

    The greatest gap counts. Concrete bridges what sinks below it, so that an even slab says nothing (own choice).

    Parameters
    ----------
    pavement
        What is known of it.
    kind
        'asphalt', 'pavers', 'concrete' or 'gravel'.
    units
        'us' or 'metric', for the words.

    Examples
    --------
    >>> said = speaks(Pavement(age=12, state="even"), "asphalt", "us")
    >>> said.weakest, said.strongest
    ('stiff', 'hard')
    """
    sentences = [_seen_words(one, units) for one in pavement.seen]
    gaps = [gap_under_six_feet(one.gap_m / INCH_M, one.straightedge_m / FOOT_M) for one in pavement.seen]
    bands = table("straightedge_gap")
    if gaps and (kind != "concrete" or max(high for _, high in gaps) >= settled_gap_in()):
        worst, least = bands.band("gap", max(high for _, high in gaps)), bands.band("gap", max(low for low, _ in gaps))
        source = f"gap under a straightedge: {bands.source} [{worst['trust']}]"
        if any(low < high for low, high in gaps):
            source += ", carried over to 6 ft by basecalc's own choice [own]"
        return Speaks(str(worst["weakest"]), str(least["strongest"]), tuple(sentences), source)
    if kind == "concrete":
        sentences.append("concrete bridges what sinks below it: an even slab says nothing about the ground")
        return Speaks("", "", tuple(sentences), "")
    old = pavement.age is not None and pavement.age >= pavement_rule("age without settlement")
    if pavement.state == "even" and old:
        words = table("straightedge_words")
        row = words.exact("no settlement")
        sentences.append(f"{pavement.age:g} years old and even")
        return Speaks(str(row["weakest"]), str(row["strongest"]), tuple(sentences), f"{words.source} [{row['trust']}]")
    if pavement.state == "even":
        age = "its age is not known" if pavement.age is None else f"it is only {pavement.age:g} years old"
        sentences.append(f"it is even, but {age}: that says something after ten years only")
    elif pavement.state:
        sentences.append(f"it is {pavement.state}, but no gap was measured: lay a 6 ft straightedge on it")
    return Speaks("", "", tuple(sentences), "")


def _seen_words(one: Seen, units: str) -> str:
    row = table("pavement_places").exact(one.where)
    metric = units == "metric"
    gap = f"{one.gap_m * 1000:.0f} mm" if metric else f"{printed(one.gap_m / INCH_M):g} in"
    under = f"{printed(one.straightedge_m):.3g} m" if metric else f"{printed(one.straightedge_m / FOOT_M):.3g} ft"
    note = f" ({one.note})" if one.note else ""
    return f"{one.what} {row['words']}, {gap} under a straightedge of {under}{note}: {row['speaks_for']}"


def open_words(speech: Speaks) -> str:
    """Return the classes an old pavement leaves open, in plain words; nothing where it says nothing."""
    return ground_words(speech.weakest, speech.strongest) if speech.weakest else ""
