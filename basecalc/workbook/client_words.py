"""What the client reads: the ground, the depth and its reason in words that need no trade."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Final

from basecalc.core.published import table
from basecalc.design.depth import BaseDepth, least_because
from basecalc.ground.classes import CLASSES
from basecalc.ground.readings import test_row
from basecalc.ground.strength import OLD_PAVEMENT, SOUND_GROUND, AreaStrength
from basecalc.pricing.records import Quote
from basecalc.takeoff.takeoff import AreaTakeoff
from basecalc.workbook.figures import depth_words

MOST_NAMED: Final = 3  # areas that one sentence names; of more it says how many


def class_means(strength_class: str, units: str) -> str:
    """Return what ground of a class does under a boot or a truck.

    Examples
    --------
    >>> class_means("soft", "us")
    'a boot sinks 2 to 3 in with every step'
    """
    row = table("class_words").exact(strength_class)
    return str(row["means_metric" if units == "metric" else "means"])


def listed(words: list[str]) -> str:
    """Return words as a sentence lists them.

    Examples
    --------
    >>> listed(["a"]), listed(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def capital(text: str) -> str:
    """Return the text with its first letter as a capital."""
    return text[:1].upper() + text[1:]


def valid_until(quote: Quote) -> date | None:
    """Return the last day of the offer; None where the job has no date."""
    return quote.job.date + timedelta(days=quote.book.company.valid_days) if quote.job.date else None


def in_short(quote: Quote) -> str:
    """Return the offer in two sentences."""
    units = quote.job.units
    areas = quote.offer.takeoff.areas
    built: dict[str, list[str]] = {}  # areas of one base are told together
    for area in areas:
        name = area.area.name
        grid = " on a geogrid" if on_grid(quote, name) else ""
        built.setdefault(f"{base_words(area, units)}{grid}", []).append(the(name))
    depths = [f"{base} under {listed(names)}" for base, names in built.items()]
    if len(areas) > MOST_NAMED:
        grids = sum(on_grid(quote, area.area.name) for area in areas)
        least, most = (depth_words(end(area.base_m for area in areas), units) for end in (min, max))
        under = f"{'all' if grids == len(areas) else grids} of" if grids else ""
        grid = f", on a geogrid under {under} the {len(areas)} areas" if grids else f" under its {len(areas)} areas"
        depths = [f"{least if least == most else f'{least} to {most}'} of compacted stone{grid}"]
    grounds = sorted({ground.strength.strength_class for ground in quote.ground.values()})
    alike = len(grounds) == 1 and not any(area.loose_fill for area in quote.job.areas)
    ground = f"{grounds[0]} ground" if alike else "ground that differs from place to place"
    return f"We found {ground}. To stay level, it needs {listed(depths)}. What we saw, and why, stands below."


def base_words(area: AreaTakeoff, units: str, *, short: bool = False) -> str:
    """Return the base of an area in words, with the old one that stays."""
    new = f"{depth_words(area.new_m, units)}{'' if short else ' of compacted stone'}"
    if area.kept_m <= 0:
        return new
    kept = f"{depth_words(area.kept_m, units)} of the old base"
    return f"{new} on {kept}" if area.new_m > 0 else kept


def on_grid(quote: Quote, name: str) -> bool:
    """Return whether the offer lays geogrid below an area."""
    return quote.offered_depths[name].reinforcement.kind == "geogrid"


def the(name: str) -> str:
    """Return an area's name with its article, inside a sentence.

    Examples
    --------
    >>> the("Driveway"), the("The long bend"), the("Area 2"), the("RV pad")
    ('the driveway', 'the long bend', 'area 2', 'the RV pad')
    """
    words = lower_first(name)
    return words if words.casefold().startswith("the ") or words[-1:].isdigit() else f"the {words}"


def lower_first(name: str) -> str:
    """Return an area's name as it stands inside a sentence, names in capitals left alone."""
    return name if name[:2].isupper() or any(letter.isupper() for letter in name[1:]) else name[:1].lower() + name[1:]


def found(ground: AreaStrength, units: str) -> str:
    """Return in a sentence what was found in an area and what it means."""
    strength = ground.strength
    measured = "" if strength.cbr is None else f" (bearing ratio {strength.cbr:.2g} %, measured)"
    if strength.as_read is not None:
        measured = f" (bearing ratio {strength.as_read:.2g} %, we count {strength.cbr:.2g} %)"
    meaning = (
        f"{capital(strength.strength_class)} ground{measured}, where {class_means(strength.strength_class, units)}"
    )
    if not ground.spots:
        return f"{meaning}: the strength was given to us, we did not read it ourselves."
    spots = [spot for spot in ground.spots if spot.counts]
    tests = sum(finding.counts for spot in spots for finding in spot.findings)
    count = f"{_many(len(spots), 'spot')} with {_many(tests, 'test')}"
    return f"{meaning}: we read it at {count}{decided(ground)}."


def _many(count: int, word: str) -> str:
    return f"one {word}" if count == 1 else f"{count} {word}s"


def decided(ground: AreaStrength) -> str:
    """Return how spots, and an old pavement, became one strength, for a client."""
    if ground.overruled == OLD_PAVEMENT:
        return ", but the old pavement speaks for weaker ground, and we go by the weaker of the two"
    if sum(spot.counts for spot in ground.spots) < 2:
        return ""
    if not ground.governed_by:
        return ", and as the spots differ we design for little more than the weakest of them"
    return f", and the weakest ({ground.governed_by}) decides, because that is where a driveway sinks first"


def what_we_did(ground: AreaStrength) -> str:
    """Return what was done to know the ground, at how many spots and by which tests; nothing where it was not read."""
    if not _read(ground):
        return ""
    spots = [spot for spot in ground.spots if spot.counts]
    ways = dict.fromkeys(_way(one.reading.test) for spot in spots for one in spot.findings if one.counts)
    return f"What we did at {_many(len(spots), 'spot')}: {listed(list(ways))}."


def walking(grounds: Mapping[str, AreaStrength]) -> str:
    """Return which areas were walked and which were not; nothing where no ground was read."""
    read = {name: ground.walked for name, ground in grounds.items() if _read(ground)}
    walked, rest = (
        [the(name) for name, walk in read.items() if walk is wanted] for wanted in (True, False)
    )  # fmt: skip
    few = len(read) <= MOST_NAMED
    texts = []
    if walked:
        texts.append(
            f"We walked all of {listed(walked) if few else f'{len(walked)} areas'} and tested the softest place."
        )
    if rest:
        where = listed(rest) if few else "every area" if not walked else f"{len(rest)} areas"
        texts.append(f"We did not walk all of {where} for softer places; between the spots the ground may differ.")
    return " ".join(texts)


def _read(ground: AreaStrength) -> bool:
    """Return whether the strength rests on what was read there."""
    return ground.overruled != SOUND_GROUND and any(spot.counts for spot in ground.spots)


def _way(test: str) -> str:
    """Return how a test is made, in the words that its readings begin with."""
    row = test_row(test)
    return lower_first(str(row["number_phrase"] or row["word_phrase"]).split(":")[0])


def needs_no_more(quote: Quote, name: str) -> bool:
    """Return whether more base under an area would add nothing but cost, beyond doubt.

    So it is where the least depth decides on hard ground that was measured in season, by readings that agree, with no
    frost, no old pavement, no loose fill and no water near.
    """
    area, ground = next(one for one in quote.job.areas if one.name == name), quote.ground[name]
    firm = ground.strength.cbr is not None and ground.strength.strength_class == CLASSES[-1]
    doubtful = bool(ground.conflicts or ground.flags) or area.water_table_m is not None or quote.job.new_build
    in_season = all(
        finding.reading.moisture.strip().casefold() in ("moist", "wet")
        for spot in ground.spots
        for finding in spot.findings
    )
    frost = quote.job.climate is not None or quote.offered_depths[name].frost is not None
    return firm and in_season and bool(ground.spots) and not (doubtful or frost or area.loose_fill or ground.overruled)


def why(depth: BaseDepth, units: str, *, enough: bool = False) -> str:
    """Return in a sentence why the base is as deep as it is."""
    own = depth_words(depth.required_m, units)
    reasons: Mapping[str, str] = {
        "platform": f"stone spreads the load of a wheel over more ground, and on ground this weak it takes {own} of it "
        "before a loaded wheel no longer presses ruts into the soil below",
        "structural": f"years of traffic ({depth.traffic.meaning or depth.traffic.name}) work on the ground below, "
        f"and on ground this strong {own} of compacted stone keeps the surface even for that long",
        "minimum": _least(depth, own, enough=enough),
        "construction": f"the loaded trucks that bring the stone drive on it, and it takes {own} to bear them",
        "reinforcement limit": f"a geogrid can spare stone, but never more than half of it, so {own} stays",
        "practice": f"the rule of the trade for this ground asks for {own}",
        "frost": "in the thaw this ground is weaker than it was on the day we read it, and then it takes "
        f"{own} to carry the load; that does not stop frost from lifting it",
    }
    text = f"Why {own} of stone: {reasons.get(depth.governs, depth.reason)}"
    if depth.reinforcement.kind == "geogrid" and depth.required_m < depth.unreinforced_m:
        full = depth_words(depth.unreinforced_m, units)
        text += (
            f"; without the geogrid, a stiff mesh that holds the stones so that they spread the load further, it would "
            f"take {full}"
        )
    return f"{text}."


def _least(depth: BaseDepth, own: str, *, enough: bool) -> str:
    """Return why the least depth of a driveway decides; that deeper is waste only where nothing speaks against it."""
    why = least_because(depth.cbr, depth.settings, depth.site, depth.frost)
    if why:
        return f"the least depth for a driveway on {why}, {own}, decides"
    least = f"this ground would carry the load on less, so the least depth for a driveway, {own}, decides"
    return f"{least}. Going deeper would add cost and no strength" if enough else least
