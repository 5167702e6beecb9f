"""Field readings: what a test read, how wet the ground was, and what that says about its strength.

Here too: the soils a job may name, the tests and their tables, the cone's curves, the rule for dry and frozen ground.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import choice, number, printed, quoted
from basecalc.core.published import Cell, Table, table
from basecalc.core.units import TSF_KPA, to_unit, written
from basecalc.ground.classes import (
    CLASSES,
    LEAST_CBR,
    MOST_CBR,
    cbr_of_cohesion,
    class_of_cbr,
    rank,
    strong_edge,
    weaker_by,
)

SOILS: Final[tuple[str, ...]] = tuple(table("soils").keys())


@dataclass(frozen=True, slots=True)
class Soil:
    """A soil by its plain word."""

    name: str
    fine: bool
    cone: tuple[str, ...]
    swell: float


def soil_named(word: Any) -> Soil:
    """Return the soil that a word names, in any case; CL and CH are other spellings of lean and fat clay.

    References
    ----------
    FM-5-434, Table 1-1 (volumes); [memory]. The rest of the list is basecalc's own.
    """
    known = table("soils")
    spelled = str(word).strip().casefold()
    also = {str(row["also"]).casefold(): str(row["soil"]) for row in known.rows if row["also"]}
    row = known.exact(choice("soil", also.get(spelled, word), SOILS))
    swell = float(table("swell").exact(str(row["volumes"]))["swell"])
    return Soil(str(row["soil"]), bool(row["fine"]), tuple(str(row["cone"]).split(", ")), swell)


def question(word: str = "") -> tuple[str, str, str]:
    """Return what to ask about a soil that may be of several kinds, and its weak and its strong kind.

    Examples
    --------
    >>> question("fat clay")
    ('Is it lean or fat clay? A laboratory test of the soil would tell', 'lean clay', 'lab-tested fat clay')
    """
    row = table("soils").exact(soil_named(word).name if word else "earth")
    return str(row["ask"]), str(row["weak"]), str(row["strong"])


TESTS: Final[tuple[str, ...]] = tuple(table("reading_tests").keys())
_PER_BLOW: Final = re.compile(r"\s*(/|per)\s*blow\s*$", re.IGNORECASE)
_UNDER: Final = re.compile(r"(\S.*?)\s+under\s+(\S.*)", re.IGNORECASE)
_SPOKEN: Final = {"mm/blow": "mm"}


@dataclass(frozen=True, slots=True)
class Scaled:
    """What a reading says by itself, before the season is thought of."""

    weakest: str
    strongest: str
    cbr: float | None
    amount: float | None
    written: str
    told: str
    source: str


def test_row(test: Any) -> Mapping[str, Cell]:
    """Return what is laid down for a test: unit, limits, tables, phrases."""
    return table("reading_tests").exact(choice("test", test, TESTS))


def scale(test: Any, value: Any, soil: str = "") -> Scaled:
    """Return what a reading says by itself."""
    row = test_row(test)
    name, unit = str(row["test"]), str(row["unit"])
    words = table(str(row["words"])) if row["words"] else None
    if words is not None and (not unit or _is_word(value)):
        return _by_word(row, words, value)
    if name == "straightedge" and isinstance(value, str) and (told_both := _UNDER.fullmatch(value.strip())):
        return _under_length(row, *told_both.groups())
    if isinstance(value, str) and unit == "mm/blow":
        value = _PER_BLOW.sub("", value)
    amount = printed(to_unit(name, value, unit, float(row["low"]), float(row["high"]), why=str(row["help"])))
    plain = f"{amount:g} {_SPOKEN.get(unit, unit)}"
    written = value.strip() if isinstance(value, str) and _has_unit(value) else plain
    weakest, strongest, cbr, source = _by_number(row, name, amount, soil)
    told = str(row["number_phrase"]).format(value=written)
    return Scaled(weakest, strongest, cbr, amount, written, told, source)


def _under_length(row: Mapping[str, Cell], gap: str, length: str) -> Scaled:
    """Return what a gap under a straightedge of another length says: the classes between its least and its greatest."""
    for what, given, example in (("gap", gap, "1 in"), ("straightedge", length, "8 ft")):
        if not _has_unit(given):
            raise InputError(f"{what} is {quoted(given)}; it must have its unit, as in '{example}': '1 in under 8 ft'")
    amount = to_unit("gap", gap, "in", float(row["low"]), float(row["high"]), why=str(row["help"]))
    least, most = gap_under_six_feet(amount, to_unit("straightedge", length, "ft"))
    bands = table(str(row["bands"]))
    worst, best = bands.band("gap under 6 ft", most), bands.band("gap under 6 ft", least)
    written = f"{gap} under {length}"
    told = f"Looking at the old pavement: a gap of {gap} under a straightedge of {length}"
    source = f"{_cited(bands, str(worst['trust']))}; carried over to 6 ft by basecalc's own choice [own]"
    return Scaled(str(worst["weakest"]), str(best["strongest"]), None, most, written, told, source)


def _is_word(value: Any) -> bool:
    return isinstance(value, str) and bool(value.strip()) and not any(character.isnumeric() for character in value)


def _has_unit(text: str) -> bool:
    read = written(text)
    return read is None or bool(read[1])


def _by_word(row: Mapping[str, Cell], words: Table, value: Any) -> Scaled:
    name, unit = str(row["test"]), str(row["unit"])
    try:
        entry = words.exact(choice(name, value, words.keys()))
    except InputError:
        ways = f"it must be one of: {', '.join(words.keys())}" + (f"; or a number ({unit})" if unit else "")
        raise InputError(f"is {quoted(value)}; {ways}", about=name) from None
    told = str(row["word_phrase"]).format(value=entry["meaning"])
    source = _cited(words, str(entry["trust"]))
    return Scaled(str(entry["weakest"]), str(entry["strongest"]), None, None, str(entry["word"]), told, source)


def _by_number(row: Mapping[str, Cell], name: str, amount: float, soil: str) -> tuple[str, str, float | None, str]:
    if row["bands"]:
        bands = table(str(row["bands"]))
        band = bands.band(name, amount)
        return str(band["weakest"]), str(band["strongest"]), None, _cited(bands, str(band["trust"]))
    if name == "spt":
        by_blows = table("spt_classes")
        word = str(by_blows.band(name, amount)["class"])
        return word, word, None, by_blows.cited
    if name in ("pocket", "vane"):
        return _by_shear(name, amount)
    if name == "cone":
        cbr, source = cone_cbr(amount, soil), table("cone_equations").cited
    else:
        cbr, source = amount, "measured; class: " + table("cbr_classes").cited
    word = class_of_cbr(cbr)
    return word, word, usable(cbr), source


def _by_shear(name: str, amount: float) -> tuple[str, str, float | None, str]:
    """Return class and CBR by unconfined strength; the weaker class where table and CBR band differ by a hair.

    ``qu = 2 cu``, ``CBR = cu / 30 kPa``: the bounds of the printed table fall at CBR 0.399, 0.798 ...; the bands of CBR
    are rounded to 0.4, 0.8 ...
    """
    link = table("shear_strength")
    unconfined_per_cohesion = float(link.exact("qu per cu")["value"])
    unconfined = printed(amount if name == "pocket" else amount * unconfined_per_cohesion)
    cbr = cbr_of_cohesion(unconfined / unconfined_per_cohesion * TSF_KPA)
    by_table = str(table("qu_classes").band(name, unconfined)["class"])
    word = min(by_table, class_of_cbr(cbr), key=rank)
    return word, word, usable(cbr), f"{table('qu_classes').cited}; CBR: {link.cited}"


def usable(cbr: float) -> float | None:
    """Return the bearing ratio [%], or None where it is too low to be a number to design with."""
    return cbr if cbr >= LEAST_CBR else None


def _cited(printed_table: Table, trust: str) -> str:
    """Return the source of one row: the print, or our own closing of a gap between its rows."""
    if trust == "own" and printed_table.trust == "own":
        return f"basecalc's own choice, on the weak side, for the {printed_table.title} [own]"
    if trust == "own":
        silent = f"{printed_table.title} ({printed_table.source})"
        return f"basecalc's own choice, on the weak side, where the rule for {silent} is silent [own]"
    return ", ".join(part for part in (str(printed_table.source), printed_table.place, f"[{trust}]") if part)


def pavement_rule(name: str) -> float:
    """Return one of the numbers by which an old pavement is judged."""
    return float(table("pavement_rules").exact(name)["value"])


def gap_under_six_feet(gap_in: float, straightedge_ft: float) -> tuple[float, float]:
    """Return the least and the greatest gap that a 6 ft straightedge would show [in], from a gap under another length.

    Notes
    -----
    A sag that is one even curve has gaps as the squares of the lengths, ``gap x (6 ft / length)^2``; a narrow rut has
    the same gap under both. What lies between is left open, so that the classes that follow are an interval [own].
    """
    gap = number("gap", gap_in, "in", 0.0)
    length = number(
        "straightedge", printed(straightedge_ft), "ft", pavement_rule("shortest straightedge"),
        pavement_rule("longest straightedge"),
        why="the rule is made for 6 ft, and a gap under a length far from it says too little",
    )  # fmt: skip
    curved = gap * (pavement_rule("straightedge of the rule") / length) ** 2
    return printed(min(gap, curved)), printed(max(gap, curved))


def settled_gap_in() -> float:
    """Return the gap under a 6 ft straightedge from which a pavement counts as settled [in]."""
    return float(table("straightedge_gap").rows[0]["below"])


HAMMER_FACTORS: Final[tuple[float, ...]] = tuple(float(row["factor"]) for row in table("cone_hammers").rows)


def hammer_factor(hammer: Any) -> float:
    """Return what a blow of a hammer counts, by its weight [kg].

    References
    ----------
    FM-5-430-00-2, App. J: the light hammer counts essentially twice; [read].
    """
    known = table("cone_hammers")
    weight = f"{hammer:g}" if isinstance(hammer, int | float) and not isinstance(hammer, bool) else str(hammer or "")
    spelled = weight.casefold().replace(" ", "").removesuffix("kg").replace(",", ".").removesuffix(".0")
    for row in known.rows:
        if str(row["hammer"]).removesuffix(" kg") == spelled:
            return float(row["factor"])
    raise InputError(f"hammer is {quoted(hammer)}; it must be one of: {', '.join(known.keys())}")


def hammer_of(factor: float) -> str:
    """Return the hammer whose blow counts so much."""
    return next(str(row["hammer"]) for row in table("cone_hammers").rows if row["factor"] == factor)


def cone_curves(soil: str = "") -> tuple[str, ...]:
    """Return which curves may hold for a soil: any of them where none is named."""
    return soil_named(soil).cone if soil else tuple(table("cone_equations").keys())


def cone_curve(soil: str = "") -> str:
    """Return the weakest of the curves that may hold for a soil.

    Notes
    -----
    The curves are in one order at every index from 10 mm/blow on, and CL is the weakest of them wherever it is used:
    general 292/DPI^1.12 lies above CL 1/(0.017019 DPI)^2 from 16.5 mm/blow, and below CH 1/(0.002871 DPI) everywhere.
    """
    return min(cone_curves(soil), key=lambda curve: _by_rule(curve, 40.0))


def cone_cbr(mm_per_blow: float, soil: str = "", hammer_factor: float = 1.0) -> float:
    """Return the bearing ratio [%] of an index of the cone penetrometer, at most 100.

    Notes
    -----
    ::

        all soils             CBR = 292 / DPI^1.12
        lean clay, CBR < 10   CBR = 1 / (0.017019 DPI)^2
        fat clay              CBR = 1 / (0.002871 DPI)

    DPI penetration index, 1 to 350 mm per blow of the 8 kg hammer; a blow of the 4.6 kg hammer counts twice. The curve
    of lean clay (CL) gives less than 10 beyond 18.58 mm/blow; before that the curve for all soils is used. From 18.58
    to 20.34 mm/blow, where the curve for all soils is still above 10, the weaker of the two is taken. Where the word
    for a soil, or no word, lets several curves apply, the weakest is taken: fat clay takes its own curve only where a
    laboratory tested it.

    References
    ----------
    ASTM-D6951, equations for all soils, CL and CH; [read]. FM-5-430-00-2, App. J, hammers; [read].
    """
    if hammer_factor not in HAMMER_FACTORS:
        raise OutOfRangeError(
            f"hammer factor is {quoted(hammer_factor)}; it must be 1 (8 kg hammer) or 2 (4.6 kg hammer)"
        )
    limits = table("reading_tests").exact("cone")
    per_blow = number("cone", mm_per_blow, "mm/blow", 0, above=True)
    index = number("cone", per_blow * hammer_factor, "mm/blow", float(limits["low"]), float(limits["high"]),
                   why="millimeters per blow of the 8 kg hammer, not inches")  # fmt: skip
    return min(MOST_CBR, *(_by_rule(curve, index) for curve in cone_curves(soil)))


def _by_rule(curve: str, index: float) -> float:
    """Return the bearing ratio by a curve where it is used, by the curve for all soils otherwise."""
    cbr = _on_curve(curve, index)
    used = printed(cbr) < float(table("cone_equations").exact(curve)["used_below"])
    return cbr if used else _on_curve("general", index)


def _on_curve(curve: str, index: float) -> float:
    row = table("cone_equations").exact(curve)
    penetration: float = (float(row["factor"]) * index) ** float(row["exponent"])
    return float(row["numerator"]) / penetration


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
        A soil of `basecalc.ground.readings.SOILS`, or nothing.
    note
        Anything else worth keeping.
    told
        How the value came about, in words a client understands, where the test's own phrase says too little.
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
    """What a reading says about the ground."""

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

    @property
    def test(self) -> str:
        """The test, as the tables name it."""
        return self.reading.test.strip().casefold()

    @property
    def moisture(self) -> str:
        """How wet the ground was; nothing where it is not noted."""
        return self.reading.moisture.strip().casefold()

    @property
    def fine(self) -> bool:
        """Whether the soil weakens when wet; a soil that is not noted counts as fine."""
        return not self.reading.soil.strip() or soil_named(self.reading.soil).fine

    @property
    def seasonal(self) -> bool:
        """Whether a season changes what the test reads; not so where an old pavement is looked at."""
        return bool(test_row(self.test)["season"])

    @property
    def changed(self) -> bool:
        """Whether it counts otherwise than it was read."""
        return (self.weakest, self.strongest, self.cbr) != self.as_read


def test_unit(test: str) -> str:
    """Return the unit in which a test's plain numbers are taken; empty where it is read in words only."""
    return str(test_row(test)["unit"])


def test_words(test: str) -> tuple[str, ...]:
    """Return the words a test may be read in, weakest ground first; empty where it takes numbers only."""
    words = str(test_row(test)["words"])
    return tuple(table(words).keys()) if words else ()


def test_help(test: str) -> str:
    """Return what to write down for a test."""
    return str(test_row(test)["help"])


def in_edition(test: str, value: float | str, units: str) -> float | str:
    """Return a reading with its metric unit where a plain number of a metric sheet is not in the test's own unit."""
    unit = _METRIC.get(test_unit(test), "") if units == "metric" else ""
    plain, behind = (written(value) or (0.0, "?")) if isinstance(value, str) else (float(value), "")
    return f"{plain:.12g} {unit}" if unit and not behind else value


def find(reading: Reading, *, class_down: bool = True) -> Finding:
    """Return what a reading says about the ground, how wet it was taken into account.

    Notes
    -----
    Fine soil read dry is taken one class down, because it weakens when it gets wet; a soil that is not noted counts as
    fine. Class bounds double from class to class, so ``CBR = min(CBR / 2, strong edge of the lower class)``. A reading
    of frozen ground, fine or coarse, is kept and counts for nothing: ice binds the soil. Common practice, no source.
    """
    row = test_row(reading.test)
    moisture = choice("moisture", reading.moisture, MOISTURES) if _given(reading.moisture) else ""
    soil = soil_named(reading.soil) if _given(reading.soil) else None
    if row["fine_only"] and soil is not None and not soil.fine:
        raise InputError(
            f"{row['test']} is not a test for {soil.name}: it reads fine soil (silt, clay, loam) only; use a boot, a "
            "truck or the cone"
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
    """Return an interval of classes in plain words."""
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


# What a boot or a truck shows on ground that is weaker than a class: the rules of the readings the other way round.
CREW_TESTS: Final = ("stand", "walk", "pickup", "dump truck")


@dataclass(frozen=True, slots=True)
class WeakerSign:
    """The least reading of a test that leaves only classes weaker than the one designed for."""

    test: str
    least_in: float
    source: str


def weaker_signs(strength_class: str) -> tuple[WeakerSign, ...]:
    """Return what shows that ground is weaker than a class, by boot and by truck, in the order of `CREW_TESTS`.

    A test that cannot tell, because no reading of it rules the class out, is left out.
    """
    own = rank(strength_class)
    signs = []
    for test in CREW_TESTS:
        bands = table(str(test_row(test)["bands"]))
        for row in bands.rows:
            if rank(str(row["strongest"])) < own:
                source = f"{bands.source}, {bands.place} [{row['trust']}]"
                signs.append(WeakerSign(test, float(row["from"]), source))
                break
    return tuple(signs)


def rut_of(strength_class: str, test: str) -> tuple[float, float] | None:
    """Return the least and the greatest reading of a test that a class may show [in]; None where no reading may."""
    own = rank(strength_class)
    rows = [
        row for row in table(str(test_row(test)["bands"])).rows
        if rank(str(row["weakest"])) <= own <= rank(str(row["strongest"]))
    ]  # fmt: skip
    return (float(rows[0]["from"]), float(rows[-1]["below"])) if rows else None
