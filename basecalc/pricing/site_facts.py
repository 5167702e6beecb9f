"""What was found on a job that calls for cautions, each with its place: the table of triggers, and what areas bring."""

import re
from collections.abc import Callable, Iterator, Mapping
from typing import Final

from basecalc.ground.classes import rank
from basecalc.ground.facts import Fact
from basecalc.pricing.record import Quote
from basecalc.pricing.site import water_near
from basecalc.rounding import printed
from basecalc.tables import table
from basecalc.takeoff.amounts import told
from basecalc.units import FOOT_M, INCH_M

_LONG: Final = ("foundation_edge_m",)  # told in feet, not in inches


def site_facts(quote: Quote) -> tuple[Fact, ...]:
    """Return the findings of a job that call for cautions, in the order of their table, each once.

    Parameters
    ----------
    quote
        The priced job; what its areas' strengths bring of their own is among the findings.
    """
    found = [
        Fact(str(row["key"]), area, spot, str(row["found"]).format(words))
        for row in table("caution_triggers").rows
        for area, spot, words in _WAYS[str(row["way"])](quote, str(row["value"]))
    ]
    found += [fact for ground in quote.ground.values() for fact in ground.facts]
    return tuple(dict.fromkeys(found))


_Found = Iterator[tuple[str, str, str]]  # area, spot, what was recognised


def _listed(value: str) -> list[str]:
    return [word.strip() for word in value.split(",")]


def _by_class(quote: Quote, value: str) -> _Found:
    for name, ground in quote.ground.items():
        if rank(ground.strength.strength_class) <= rank(value):
            yield name, ground.governed_by, ground.strength.strength_class


def _job_yes(quote: Quote, value: str) -> _Found:
    if getattr(quote.job, value):
        yield "", "", ""


def _area_yes(quote: Quote, value: str) -> _Found:
    for area in quote.job.areas:
        if getattr(area, value):
            yield area.name, "", ""


def _area_length(quote: Quote, value: str) -> _Found:
    for area in quote.job.areas:
        if (length := float(getattr(area, value))) > 0:
            yield area.name, "", _words(length, quote.job.units, long=value in _LONG)


def _old_base(quote: Quote, _value: str) -> _Found:
    for area in quote.offer.takeoff.areas:
        if area.kept_m > 0:
            yield area.area.name, "", told(area.kept_m, "depth", quote.job.units)


def _water(quote: Quote, _value: str) -> _Found:
    for area in quote.job.areas:
        if area.water_table_m is not None and water_near(area, quote.offer.takeoff.area(area.name).dig_m):
            yield area.name, "", _words(area.water_table_m, quote.job.units, long=False)


def _wheel_load(quote: Quote, value: str) -> _Found:
    traffic = next(iter(quote.offered_depths.values())).traffic
    if traffic.wheel_load_kn >= float(value):
        yield "", "", traffic.meaning or f"{traffic.name} traffic"


def _frost_group(quote: Quote, value: str) -> _Found:
    for name, depth in quote.offered_depths.items():
        if depth.frost is not None and depth.frost.group in _listed(value):
            yield name, "", depth.frost.group


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


def _note(quote: Quote, value: str) -> _Found:
    """Yield where a note holds one of the words, and the first of them."""
    words = re.compile(rf"\b({'|'.join(map(re.escape, _listed(value)))})\b", re.IGNORECASE)
    notes = [("", "", note) for note in quote.job.notes]
    notes += [(area.name, "", area.note) for area in quote.job.areas]
    notes += [(spot.area, spot.name, reading.note) for spot in quote.job.spots for reading in spot.readings]
    for area, spot, note in notes:
        if held := words.search(note):
            yield area, spot, held[0].casefold()


def _words(length_m: float, units: str, *, long: bool) -> str:
    """Return a length in the unit its reader expects: feet or inches, metres or millimetres."""
    if units == "metric":
        return f"{printed(length_m):,.3g} m" if long else f"{printed(length_m * 1000):,.0f} mm"
    return f"{printed(length_m / FOOT_M):,.3g} ft" if long else f"{printed(length_m / INCH_M):,.0f} in"


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
}
