"""Field readings: what was tried, what it read, how wet the ground was, and what that says about its strength."""

from dataclasses import dataclass
from typing import Any, Final

from basecalc.checks import choice
from basecalc.errors import InputError
from basecalc.ground.classes import CLASSES, strong_edge, weaker_by
from basecalc.ground.cone import cone_curve, cone_curves
from basecalc.ground.scales import TESTS, Scaled, scale, test_row, usable
from basecalc.ground.soils import Soil
from basecalc.ground.soils import soil as soil_named
from basecalc.tables import table

__all__ = ["MOISTURES", "TESTS", "Finding", "Reading", "find", "test_help", "test_unit", "test_words"]

MOISTURES: Final = ("dry", "moist", "wet", "frozen")
_FROZEN: Final = "frozen"
# What to do about ground of which nothing was read but frozen.
THAW: Final = (
    "frozen ground does not show how strong it is after the thaw; test it again when it has thawed, or give the "
    "strength by hand"
)
_METRIC: Final = {"in": "mm", "tsf": "kPa"}


@dataclass(frozen=True, slots=True)
class Reading:
    """One test at one spot, as the estimator wrote it down.

    Parameters
    ----------
    test
        One of `TESTS`.
    value
        A number in the test's unit, text with a unit, or one of the test's words.
    moisture
        One of `MOISTURES`, or nothing.
    soil
        A soil of `basecalc.ground.soils.SOILS`, or nothing.
    note
        Anything else worth keeping.
    told
        How the value came about, in words a client understands, where the test's own phrase says too little: the
        layer of a log that governs.
    basis
        What the value itself rests on, printed after the source of the test.
    """

    test: str
    value: float | str
    moisture: str = ""
    soil: str = ""
    note: str = ""
    told: str = ""
    basis: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """What a reading says about the ground.

    Parameters
    ----------
    reading
        The reading itself.
    weakest, strongest
        The classes it leaves open, after the rules for dry and frozen ground: all of them where it does not count.
    cbr
        Bearing ratio [%] where the test measures one, after the same rules.
    as_read
        Weakest, strongest and CBR before those rules.
    sentence
        The reading and its meaning in words a client understands.
    source
        Where the step from reading to class was published, and how far that is trusted.
    label
        The reading in short, as a complaint names it: ``walk 2.5 in``.
    amount
        The number read in the test's unit; nothing where a word was read.
    counts
        Whether it says anything about the ground: a reading of frozen ground does not.
    """

    reading: Reading
    weakest: str
    strongest: str
    cbr: float | None
    as_read: tuple[str, str, float | None]
    sentence: str
    source: str
    label: str
    amount: float | None = None
    counts: bool = True


def test_unit(test: str) -> str:
    """Return the unit in which a test's plain numbers are taken; nothing where it is read in words only.

    Examples
    --------
    >>> test_unit("pocket"), test_unit("thumb")
    ('tsf', '')
    """
    return str(test_row(test)["unit"])


def test_words(test: str) -> tuple[str, ...]:
    """Return the words a test may be read in, weakest ground first; none where it takes numbers only.

    Examples
    --------
    >>> test_words("rod"), test_words("cone")
    (('easy', 'moderate', 'hard'), ())
    """
    words = str(test_row(test)["words"])
    return tuple(table(words).keys()) if words else ()


def test_help(test: str) -> str:
    """Return what to write down for a test.

    Examples
    --------
    >>> test_help("walk")
    'sink of a person walking, in'
    """
    return str(test_row(test)["help"])


def in_edition(test: str, value: float | str, units: str) -> float | str:
    """Return a reading with its metric unit where a plain number of a metric sheet is not in the test's own unit.

    Parameters
    ----------
    test
        One of `TESTS`.
    value
        What was read.
    units
        'us' or 'metric'.

    Examples
    --------
    >>> in_edition("walk", 60, "metric"), in_edition("walk", "2 in", "metric"), in_edition("walk", 2, "us")
    ('60 mm', '2 in', 2)
    """
    unit = _METRIC.get(test_unit(test), "") if units == "metric" else ""
    try:
        return f"{float(value):.12g} {unit}" if unit else value
    except ValueError:
        return value


def find(reading: Reading, *, class_down: bool = True) -> Finding:
    """Return what a reading says about the ground, the season thought of.

    Fine soil read dry is taken one class down, because it weakens when it gets wet; a soil that is not noted counts as
    fine. The class bounds double from class to class, so a measured CBR is halved with it, and never stays above what
    the class allows. A reading of frozen ground, fine or coarse, is kept and counts for nothing: ice binds the soil.

    Parameters
    ----------
    reading
        The reading.
    class_down
        Whether the rule for dry ground is followed; an owner may turn it off.

    Raises
    ------
    InputError
        An unknown test, word, moisture or soil; a missing value or one of another kind; a test for fine soil in a
        coarse one.
    OutOfRangeError
        A number outside the test's limits.

    Examples
    --------
    >>> find(Reading("walk", 2.5, "wet")).sentence
    'Walking on it: the boot sank 2.5 in, which means soft ground; read wet.'
    >>> find(Reading("cone", 20, "dry", "silt")).weakest
    'very stiff'
    """
    row = test_row(reading.test)
    moisture = choice("moisture", reading.moisture, MOISTURES) if _given(reading.moisture) else ""
    soil = soil_named(reading.soil) if _given(reading.soil) else None
    if row["fine_only"] and soil is not None and not soil.fine:
        raise InputError(
            f"{row['test']} is no test for {soil.name}, it reads fine soil (silt, clay, loam) only; use a boot, "
            "a truck or the cone"
        )
    seen = scale(reading.test, reading.value, soil.name if soil else "")
    weakest, strongest, cbr = seen.weakest, seen.strongest, seen.cbr
    counts = not (row["season"] and moisture == _FROZEN)
    lowered = class_down and bool(row["season"]) and moisture == "dry" and (soil is None or soil.fine)
    if lowered:
        weakest, strongest = weaker_by(weakest, 1), weaker_by(strongest, 1)
        cbr = None if cbr is None else usable(min(cbr / 2, strong_edge(strongest)))
    sentence = f"{reading.told or seen.told}, which means {ground_words(seen.weakest, seen.strongest)} ground"
    sentence += _measured(str(row["test"]), seen, soil)
    sentence += _season(bool(row["season"]), moisture, soil, class_down)
    if lowered:
        changed = (weakest, strongest) != (seen.weakest, seen.strongest)
        taken = (
            f"taken one class down, as {ground_words(weakest, strongest)}" if changed else "already the weakest class"
        )
        sentence += f"{taken}{'' if cbr is None else f' (bearing ratio {_two(cbr)} %)'}"
    if not counts:
        weakest, strongest, cbr = CLASSES[0], CLASSES[-1], None
    source = f"{seen.source}; {reading.basis}" if reading.basis else seen.source
    return Finding(
        reading, weakest, strongest, cbr, (seen.weakest, seen.strongest, seen.cbr), f"{sentence}.", source,
        _label(str(row["test"]), seen.written), seen.amount, counts,
    )  # fmt: skip


def ground_words(weakest: str, strongest: str) -> str:
    """Return an interval of classes in plain words.

    Examples
    --------
    >>> ground_words("soft", "soft"), ground_words("stiff", "hard"), ground_words("very soft", "medium")
    ('soft', 'stiff or better', 'medium or weaker')
    """
    if weakest == strongest:
        return weakest
    if strongest == CLASSES[-1]:
        return f"{weakest} or better"
    return f"{strongest} or weaker" if weakest == CLASSES[0] else f"{weakest} to {strongest}"


def _label(test: str, written: str) -> str:
    return written if written.startswith(test) else f"{test} {written}"


def _given(text: Any) -> bool:
    return bool(text.strip()) if isinstance(text, str) else text is not None


def _two(value: float) -> str:
    return f"{float(f'{value:.2g}'):g}"


def _measured(test: str, seen: Scaled, soil: Soil | None) -> str:
    if test == "cbr" or (seen.cbr is None and test != "cone"):
        return ""
    curve = ""
    if test == "cone":
        which = {"general": "for all soils", "CL": "for lean clay", "CH": "for fat clay"}[
            cone_curve(soil.name if soil else "")
        ]
        several = len(cone_curves(soil.name if soil else "")) > 1
        curve = f", by the curve {which}"
        curve += ", the weakest that fits" if several else ""
        curve += "" if soil else " as the soil is not noted"
    ratio = "too low to design with" if seen.cbr is None else f"{_two(seen.cbr)} %"
    return f" (bearing ratio {ratio}{curve})"


def _season(counts: bool, moisture: str, soil: Soil | None, class_down: bool) -> str:
    """Return what the sentence says about how wet the ground was."""
    if not counts:
        return ""
    if not moisture:
        return "; how wet the ground was is not noted"
    if moisture == _FROZEN:
        return "; read frozen, so it does not count: frozen ground does not show how strong it is after the thaw"
    if moisture != "dry":
        return f"; read {moisture}"
    if soil is not None and not soil.fine:
        return f"; read {moisture} and taken as read, because {soil.name} is a coarse soil"
    kind = f"{soil.name} is a fine soil" if soil else "the soil, not noted, counts as fine"
    if not class_down:
        return f"; read {moisture} and taken as read, by the owner's setting"
    return f"; read {moisture}, and because {kind} and weakens when it gets wet, it is "
