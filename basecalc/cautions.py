"""What on a job calls for cautions, each with its place: the table of triggers, and what areas bring.

A new caution is a row of ``data/cautions.toml`` and, where nothing triggers its key yet, a trigger in the same file,
whose "way" names the function below that looks for it.
"""

import re
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from basecalc.core.numbers import printed
from basecalc.core.published import sources, table
from basecalc.core.units import FOOT_M, INCH_M
from basecalc.core.words import amount, depth_words
from basecalc.ground.classes import rank
from basecalc.ground.readings import soil_named
from basecalc.ground.strength import ALWAYS, AreaStrength, Fact
from basecalc.job import Job
from basecalc.pricing.quote import missing, separator_required
from basecalc.pricing.records import Quote
from basecalc.pricing.site import water_near

_LONG: Final = ("foundation_edge_m",)  # in feet, not in inches


def site_facts(quote: Quote) -> tuple[Fact, ...]:
    """Return the findings of a job that call for cautions, in the order of their table, each once."""
    facts = [
        Fact(str(row["key"]), area, spot, str(row["found"]).format(words))
        for row in table("cautions/triggers").rows
        for area, spot, words in _WAYS[str(row["way"])](quote, str(row["value"]))
    ]
    facts += [fact for ground in quote.ground.values() for fact in ground.facts]
    return tuple(dict.fromkeys(facts))


def unknown_fill(job: Job, ground: Mapping[str, AreaStrength]) -> dict[str, str]:
    """Return the areas where a sign speaks of loose fill and nobody measured how deep it goes, with the signs."""
    known = _Known(job, ground)
    signs = [
        (area, words)
        for row in table("cautions/triggers").rows
        if row["key"] == _FILL and row["way"] in _OF_THE_JOB
        for area, _, seen in _OF_THE_JOB[str(row["way"])](known, str(row["value"]))
        if (words := str(row["found"]).format(seen))
    ]
    signs += [(name, fact.found) for name, area in ground.items() for fact in area.facts if fact.key == _FILL]
    unknown = {
        area.name: ", ".join(dict.fromkeys(words for place, words in signs if place in ("", area.name)))
        for area in job.areas
        if area.loose_fill is None and not area.fill_looked_for
    }
    return {name: words for name, words in unknown.items() if words}


@dataclass(frozen=True, slots=True)
class _Known:
    """What is known before a job is priced."""

    job: Job
    ground: Mapping[str, AreaStrength]


#: What must be done before a price holds where the depth of loose fill is not known.
FIND_THE_FILL: Final = (
    "nobody measured how deep it goes. Dig a test hole or push the rod to sound ground, and give loose_fill_depth "
    "(0 where there is no fill)"
)
_FILL: Final = "fill"
_Found = Iterator[tuple[str, str, str]]  # area, spot, what was recognized


def _listed(value: str) -> list[str]:
    return [word.strip() for word in value.split(",")]


def _by_class(quote: Quote, value: str) -> _Found:
    for name, ground in quote.ground.items():
        if rank(ground.strength.strength_class) <= rank(value):
            yield name, ground.governed_by, ground.strength.strength_class


def _job_yes(quote: Quote | _Known, value: str) -> _Found:
    if getattr(quote.job, value):
        yield "", "", ""


def _area_yes(quote: Quote | _Known, value: str) -> _Found:
    for area in quote.job.areas:
        if getattr(area, value):
            yield area.name, "", ""


def _area_length(quote: Quote, value: str) -> _Found:
    for area in quote.job.areas:
        if (length := float(getattr(area, value))) > 0:
            yield area.name, "", (_long if value in _LONG else _whole)(length, quote.job.units)


def _old_base(quote: Quote, _value: str) -> _Found:
    for area in quote.offer.takeoff.areas:
        if area.kept_m > 0:
            yield area.area.name, "", depth_words(area.kept_m, quote.job.units)


def _water(quote: Quote, _value: str) -> _Found:
    for area in quote.job.areas:
        if area.water_table_m is not None and water_near(area, quote.offer.takeoff.area(area.name).dig_m):
            yield area.name, "", _whole(area.water_table_m, quote.job.units)


def _wheel_load(quote: Quote, value: str) -> _Found:
    traffic = next(iter(quote.offered_depths.values())).traffic
    if traffic.wheel_load_kn >= float(value):
        yield "", "", traffic.meaning or f"{traffic.name} traffic"


def _frost_group(quote: Quote, value: str) -> _Found:
    for name, base in quote.offered_depths.items():
        if base.frost is not None and base.frost.group in _listed(value):
            yield name, "", base.frost.group


def _soil(quote: Quote, value: str) -> _Found:
    for area in quote.job.areas:
        if area.soil in _listed(value):
            yield area.name, "", area.soil
    own = {area.name: area.soil for area in quote.job.areas}
    for spot in quote.job.spots:
        for reading in spot.readings:
            if reading.soil in _listed(value) and reading.soil != own.get(spot.area):
                yield spot.area, spot.name, reading.soil


def _geogrid(quote: Quote, _value: str) -> _Found:
    if quote.offered == "geogrid":
        yield "", "", ""


def _note(quote: Quote | _Known, value: str) -> _Found:
    """Yield where a note holds one of the words, and the first of them."""
    words = re.compile(rf"\b({'|'.join(map(re.escape, _listed(value)))})\b", re.IGNORECASE)
    notes = [("", "", note) for note in quote.job.notes]
    notes += [(area.name, "", area.note) for area in quote.job.areas]
    notes += [(spot.area, spot.name, reading.note) for spot in quote.job.spots for reading in spot.readings]
    for area, spot, note in notes:
        if match := words.search(note):
            yield area, spot, match[0].casefold()


def _fill_depth(quote: Quote, _value: str) -> _Found:
    for name, words in unknown_fill(quote.job, quote.ground).items():
        yield name, "", words


def _separator(quote: Quote, value: str) -> _Found:
    for name, words in missing(quote).items():
        base = quote.offered_depths[name]
        required = separator_required(base.cbr, on_grid=base.reinforcement.kind == "geogrid")
        if required == (value == "required"):
            yield name, "", words


def _fine_pit(quote: Quote, value: str) -> _Found:
    """Yield where fine soil lies below a base so deep that it holds water like a tub."""
    for area in quote.offer.takeoff.areas:
        if soil_named(area.area.soil).fine and printed(area.base_m / INCH_M) >= float(value):
            yield area.area.name, "", f"{depth_words(area.base_m, quote.job.units)} of stone in {area.area.soil}"


def _slope(quote: Quote, value: str) -> _Found:
    for area in quote.job.areas:
        if area.fall_m is None or not all(area.extent_m):
            continue
        steepest = max(abs(fall) / side for fall, side in zip(area.fall_m, area.extent_m, strict=True)) * 100
        if printed(steepest) >= float(value):
            yield area.name, "", f"a slope of {steepest:.0f} %"


def _long(length_m: float, units: str) -> str:
    """Return a long length in feet or meters, to three digits."""
    return f"{printed(length_m):,.3g} m" if units == "metric" else f"{printed(length_m / FOOT_M):,.3g} ft"


def _whole(length_m: float, units: str) -> str:
    return amount(length_m, "mm" if units == "metric" else "in", 0)


_OF_THE_JOB: Final[Mapping[str, Callable[[_Known, str], _Found]]] = {
    "job yes": _job_yes,
    "area yes": _area_yes,
    "note": _note,
}
_WAYS: Final[Mapping[str, Callable[[Quote, str], _Found]]] = {
    "class": _by_class,
    "job yes": _job_yes,
    "area yes": _area_yes,
    "area length": _area_length,
    "old base": _old_base,
    "water": _water,
    "wheel load": _wheel_load,
    "frost group": _frost_group,
    "soil": _soil,
    "note": _note,
    "geogrid": _geogrid,
    "fill depth": _fill_depth,
    "separator": _separator,
    "fine pit": _fine_pit,
    "slope": _slope,
}


_SHOWN: Final = 3
_MEASURE: Final = re.compile(r"\{([^|{}]+)\|([^|{}]+)\}")


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution."""

    key: str
    heading: str
    text: str
    found: tuple[Fact, ...]
    source: str

    @property
    def told(self) -> str:
        """Where it was found and what, in words, place by place; nothing where it always holds."""
        places: dict[str, list[str]] = {}
        for fact in self.found:
            places.setdefault(fact.place, []).append(fact.found)
        told = [": ".join(part for part in (place, ", ".join(filter(None, found))) if part)
                for place, found in places.items()]  # fmt: skip
        more = len(told) - _SHOWN
        return "; ".join(filter(None, told[:_SHOWN])) + (f"; and {more} more" if more > 0 else "")


def cautions(who: str, facts: Collection[Fact], units: str = "us") -> tuple[Caution, ...]:
    """Return the cautions that concern a reader of this job.

    Examples
    --------
    >>> from basecalc.ground.strength import Fact
    >>> found = cautions("crew", [Fact("water", "Driveway", "", "water 36 in below the ground")])
    >>> [caution.told for caution in found if caution.key == "crew water"]
    ['Driveway: water 36 in below the ground']
    """
    found = []
    for row in table("cautions").rows:
        calling = tuple(fact for fact in facts if fact.key == row["when"])
        if row["who"] == who and (calling or row["when"] == ALWAYS):
            place = f", {row['place']}" if row["place"] else ""
            text = _MEASURE.sub(r"\2" if units == "metric" else r"\1", str(row["text"]))
            source = f"{sources()[str(row['source'])]}{place} [{row['trust']}]"
            found.append(Caution(str(row["key"]), str(row["heading"]), text, calling, source))
    return tuple(found)
