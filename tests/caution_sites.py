"""Random sites and weaker evidence about them: what must never make a base thinner, by the seed of one random stream.

A site is a list of spots, each a list of readings; `OWNERS` are ways an owner may have the ground judged. Each property
gives a site before and after; the design must not be stronger after than before, or than a stated limit.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from random import Random
from typing import Any

import pytest

import basecalc
from basecalc import InputError, OutOfRangeError, Reading
from basecalc.design.depth import design_cbr
from basecalc.design.settings import DesignSettings
from basecalc.ground.readings import test_words

Spot = tuple[Reading, ...]
Site = tuple[Spot, ...]

FINE = ("clay", "silt", "loam", "earth", "")
SOILS = (*FINE, "fat clay", "sand", "gravel")
# Test: its least and greatest number, and whether a greater one is weaker ground.
NUMBERS: dict[str, tuple[float, float, bool]] = {
    "stand": (0, 6, True), "walk": (0, 6, True), "pickup": (0, 6, True), "dump truck": (0, 9, True),
    "straightedge": (0, 3, True), "rod": (0, 40, True), "cone": (2, 350, True), "spt": (0, 60, False),
    "cbr": (0.05, 40, False), "pocket": (0.01, 5, False), "vane": (0.01, 2.5, False),
}  # fmt: skip
WORDS = ("shovel", "thumb", "rod", "straightedge")
SETTINGS = {edge: DesignSettings(class_edge=edge) for edge in ("weak", "middle")}
FINE_ONLY = ("pocket", "vane", "thumb", "spt")


@dataclass(frozen=True)
class Owner:
    """How an owner has the ground judged, and whether the area was walked."""

    walked: bool = False
    allowance: float = 0.7
    spot_rule: str = "weakest"
    class_edge: str = "weak"
    class_down: bool = True


def owner(chance: Random) -> Owner:
    """Return one of the ways an owner may have it."""
    return Owner(
        chance.random() < 0.5,
        chance.choice([0.5, 0.7, 0.85, 1.0]),
        chance.choice(["weakest", "quartile"]),
        chance.choice(["weak", "middle"]),
        chance.random() < 0.7,
    )


def reading(chance: Random, soil: str, moisture: str) -> Reading:
    """Return a reading of any test that the soil allows."""
    fine = soil in FINE or soil == "fat clay"
    tests = [test for test in (*NUMBERS, *WORDS) if fine or test not in FINE_ONLY]
    test = chance.choice(tests)
    if test in WORDS and (test not in NUMBERS or chance.random() < 0.5):
        return Reading(test, chance.choice(test_words(test)), moisture, soil)
    low, high, _ = NUMBERS[test]
    value = low + (high - low) * chance.random() ** 2  # more of them where classes are narrow
    return Reading(test, round(value, chance.choice([1, 2, 6])) or low, moisture, soil)


def site(chance: Random) -> Site:
    """Return one to eight spots with one to four readings each."""
    soil = chance.choice(SOILS)
    return tuple(
        tuple(
            reading(chance, soil, chance.choice(["", "dry", "moist", "wet", "wet"]))
            for _ in range(chance.randint(1, 4))
        )
        for _ in range(chance.randint(1, 8))
    )


def weakened(one: Reading, chance: Random) -> Reading:
    """Return the same test read on weaker ground, or on ground as weak."""
    if isinstance(one.value, str):
        words = test_words(one.test)
        return replace(one, value=words[chance.randint(0, words.index(one.value))])
    low, high, greater = NUMBERS[one.test]
    by = chance.random() if chance.random() < 0.7 else chance.random() / 100
    return replace(one, value=one.value + (high - one.value) * by if greater else max(low, one.value * (1 - by)))


def _changed(of: Site, at: int, spot: Spot) -> Site:
    return (*of[:at], spot, *of[at + 1 :])


def a_reading_weakened(before: Site, chance: Random) -> Site:
    """One reading on weaker ground."""
    at = chance.randrange(len(before))
    place = chance.randrange(len(before[at]))
    weak = weakened(before[at][place], chance)
    return _changed(before, at, (*before[at][:place], weak, *before[at][place + 1 :]))


def a_weaker_reading_added(before: Site, chance: Random) -> Site:
    """A reading repeated at its spot, on weaker ground."""
    at = chance.randrange(len(before))
    return _changed(before, at, (*before[at], weakened(chance.choice(before[at]), chance)))


def a_spot_weakened(before: Site, chance: Random) -> Site:
    """Every reading of one spot on weaker ground."""
    at = chance.randrange(len(before))
    return _changed(before, at, tuple(weakened(one, chance) for one in before[at]))


def read_dry(before: Site, chance: Random) -> Site:
    """One spot read in dry ground."""
    at = chance.randrange(len(before))
    return _changed(before, at, tuple(replace(one, moisture="dry") for one in before[at]))


def in_another_order(before: Site, chance: Random) -> Site:
    """The same spots and readings in another order."""
    spots = [tuple(chance.sample(spot, len(spot))) for spot in before]
    return tuple(chance.sample(spots, len(spots)))


def frozen_readings_added(before: Site, chance: Random) -> Site:
    """A spot with one reading more, and a spot more, of frozen ground."""
    at = chance.randrange(len(before))
    ice = [reading(chance, before[0][0].soil, "frozen") for _ in range(2)]
    ice = [one if one.test != "straightedge" else Reading("walk", 0.0, "frozen") for one in ice]
    return (*_changed(before, at, (*before[at], ice[0])), (ice[1],))


def all_frozen(before: Site, chance: Random) -> Site:
    """Every reading in frozen ground, old pavements left out."""
    del chance
    return tuple(
        tuple(Reading("walk", 0.0, "frozen") if one.test == "straightedge" else replace(one, moisture="frozen")
              for one in spot)
        for spot in before
    )  # fmt: skip


WEAKER: dict[str, Callable[[Site, Random], Site]] = {
    "a reading weakened": a_reading_weakened,
    "a weaker reading added": a_weaker_reading_added,
    "a spot weakened": a_spot_weakened,
    "a spot read dry": read_dry,
    "another order": in_another_order,
    "frozen readings added": frozen_readings_added,
    "all of it frozen": all_frozen,
}


def designed(of: Site | Sequence[Spot], own: Owner) -> float:
    """Return the CBR that a base on a site is designed for [%]; 0 where none is: very soft, or frozen only."""
    spots = [replace(_judged(spot, own.class_down), name=f"S{place}") for place, spot in enumerate(of)]
    if all(one.moisture == "frozen" for spot in of for one in spot):
        with pytest.raises(InputError, match="read in frozen ground only"):
            basecalc.area_strength("Drive", spots)
        return 0.0
    area = basecalc.area_strength(
        "Drive", spots, class_edge=own.class_edge, walked=own.walked, allowance=own.allowance, spot_rule=own.spot_rule
    )
    try:
        return design_cbr(area.strength, SETTINGS[own.class_edge])[0]
    except OutOfRangeError:
        return 0.0


@lru_cache(maxsize=256)
def _judged(spot: Spot, class_down: bool) -> Any:
    return basecalc.spot_strength("S", spot, class_down=class_down)


def cases(chance: Random) -> Iterator[tuple[str, float, float]]:
    """Yield of one random site: the property, the most it may be designed for and what it is designed for [CBR, %]."""
    before, own = site(chance), owner(chance)
    now = designed(before, own)
    for name, change in WEAKER.items():
        yield name, now, designed(change(before, chance), own)
    yield "not walked", designed(before, replace(own, walked=True)), designed(before, replace(own, walked=False))
    alone = [designed([spot], own) for spot in before]
    weakest = alone.index(min(alone))
    added = tuple(weakened(one, chance) for one in before[weakest])
    yield "a spot weaker than all added", now, designed((*before, added), own)
    yield "the weak spot split off", now, alone[weakest]
    strong = (Reading("cbr", 100.0, "wet", "gravel"),)
    most = max(now, 1.25 * alone[weakest]) if own.spot_rule == "quartile" else now
    yield "a strong spot added", most, designed((*before, strong), own)


def no_stronger(most: float, cbr: float) -> bool:
    """Return whether a design is no stronger than it may be, float noise apart."""
    return cbr <= most * (1 + 1e-8)


def told(case: tuple[str, Any, Any]) -> str:
    """Return a case in words."""
    return f"{case[0]}: designed for CBR {case[2]:.6g} %, at most {case[1]:.6g} % is allowed"
