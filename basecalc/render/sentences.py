"""What a client reads in sentences: the offer, why the base is as deep as it is, what was found in the ground."""

from typing import Final

from basecalc.core.published import table
from basecalc.core.units import INCH_M
from basecalc.core.words import area_words, capital, depth_words, listed, lower_first, money, the
from basecalc.crew_plan import base_words
from basecalc.design.depth import BaseDepth, least_because
from basecalc.ground.classes import CLASSES
from basecalc.ground.old_pavement import Pavement, holes_needed, open_words, speaks
from basecalc.ground.readings import settled_gap_in
from basecalc.ground.strength import OLD_PAVEMENT, AreaStrength
from basecalc.job import JobArea
from basecalc.pricing.records import FillOption, FillWay, Quote
from basecalc.report import Option, Report, known_from

MOST_NAMED: Final = 3  # areas that a sentence names; of more it says how many
_UNTESTED: Final = "The strength was given to us; we have not tested it."


# --- the offer


def promise(made: Report) -> str:
    """Return the offer in a sentence: what, how large, on what ground."""
    areas = made.quote.job.areas
    size = area_words(sum(area.area_m2 for area in areas), made.units)
    names = [area.name for area in made.plan]
    one = len(names) == 1 and "drive" in names[0].casefold()
    where = listed([the(name) for name in names]) if len(names) <= MOST_NAMED else f"{len(names)} areas"
    what = f"A new {size} paver {lower_first(names[0])}" if one else f"New pavers, {size} for {where}"
    classes = {ground.strength.strength_class for ground in made.quote.ground.values()}
    soils = {area.soil for area in areas}
    if len(classes) == 1 and len(soils) == 1 and not any(area.loose_fill for area in areas):
        return f"{what}, built to stay level on the {classes.pop()} {soil_words(soils.pop())} at your site."
    return f"{what}, each part built for the ground it lies on."


def soil_words(soil: str) -> str:
    """Return a soil as a client calls it."""
    return "soil" if soil == "earth" else soil


def tip(made: Report, option: Option) -> str:
    """Return how deep an option is built, and whether we recommend it."""
    areas = option.estimate.takeoff.areas
    built: dict[str, list[str]] = {}
    for area in areas:
        grid = " over geogrid" if area.area.name in option.on_grid else ""
        built.setdefault(f"{base_words(area, made.units)}{grid}", []).append(the(area.area.name))
    if len(built) == 1:
        text = f"{next(iter(built))}."
    elif len(areas) <= MOST_NAMED:
        text = f"{capital('; '.join(f'{listed(names)}: {base}' for base, names in built.items()))}."
    else:
        depths = sorted(area.base_m for area in areas)
        grid = f", over geogrid in {len(option.on_grid)} of {len(areas)} areas" if option.on_grid else ""
        ends = " to ".join(dict.fromkeys(depth_words(one, made.units) for one in (depths[0], depths[-1])))
        text = f"{ends} of compacted stone{grid}. The depth of each area is on page 2."
    if option is made.offer:
        return f"{text} We recommend this one." if made.other else text
    return f"{text} Same strength, {'more' if option.estimate.option == 'stone' else 'less'} digging and trucking."


def softer(made: Report) -> str:
    """Return what one more step of base costs; where nothing is promised, that it is asked."""
    rates = []
    for option in made.options:
        first = [prices[0] for prices in option.deeper.areas.values() if prices]
        if first:
            rate = " to ".join(dict.fromkeys(money(one) for one in (min(first), max(first))))
            rates.append(f"{rate}{f' ({option.mark})' if option.mark else ''}")
    text = "If we dig into softer ground we stop and ask you. "
    if not rates:
        return text + "A deeper base is priced then, and you approve it first."
    if len(made.quote.job.areas) > 1:
        step = "further inch" if made.units == "us" else "further step of depth"
        return text + f"The price of every {step} is fixed on page 2."
    return text + f"{capital(made.offer.deeper.step)} more base is {' or '.join(rates)}. More prices by depth: page 2."


def softer_terms(made: Report, *, promised: bool) -> str:
    """Return the promise that goes with the prices by depth."""
    kept = [the(area.area.name) for area in made.quote.offer.takeoff.areas if area.kept_m > 0]
    text = "We show you the ground and ask before we go deeper. " + (
        "If you say yes, the base gets deeper and the price goes up by exactly the amount printed here. It includes "
        "digging, hauling, stone and tax. If the ground is as we read it, you pay nothing extra. Deeper than the "
        "table, or built another way? Then we stop and price it anew, and you approve it before anything goes on."
        if promised else "A deeper base is priced then, and you approve it first."
    )
    if not kept:
        return text
    return (
        f"{text} The old stone base stays under {listed(kept)}. If it has to come out, we price that anew and you "
        "approve it first."
    )


def fill_words(one: FillOption, area: JobArea, units: str) -> str:
    """Return the other way to deal with loose fill beside ours, and what it costs."""
    if one.other is None or one.more is None or area.loose_fill is None:
        return ""
    deep = depth_words(area.loose_fill.depth_m, units)

    def told(way: FillWay) -> str:
        base = f"{depth_words(way.base_m, units)} of compacted stone{' over geogrid' if way.on_grid else ''}"
        if way.way == "stone":
            return f"the loose fill stays, under {base}"
        dug = f"the loose fill is dug out to firm ground at {deep}"
        return f"{dug} and granular fill compacted in its place, under {base}"

    price = "the same" if not one.more else f"{money(abs(one.more))} {'more' if one.more > 0 else 'less'}"
    return (
        f"Our price: {told(one.chosen)}. The other way: {told(one.other)}. It costs {price} in all, tax included. Fill "
        "that stays in place can go on settling; fill that is replaced has been compacted."
    )


# --- why this base


def reasons(made: Report) -> list[str]:
    """Return why this base, in three lines: the ground, the depth, the geogrid or what sells the method."""
    quote, units = made.quote, made.units
    grounds = quote.ground
    deepest = max(quote.offer.takeoff.areas, key=lambda area: area.base_m).area
    ground = grounds[deepest.name]
    ranked = sorted({one.strength.strength_class for one in grounds.values()}, key=CLASSES.index)
    if len(ranked) == 1:
        text = f"Your soil is {ranked[0]}: {class_means(ranked[0], units)}."
    elif len(grounds) <= MOST_NAMED:
        told = [f"{the(name)} is {one.strength.strength_class}" for name, one in grounds.items()]
        text = f"Soil conditions vary across your site: {listed(told)}."
    else:
        text = f"Soil conditions vary across your site, from {ranked[0]} to {ranked[-1]}."
    counted = [row for row in made.ground if row.counts]
    tested = _tested(len({(row.area, row.where) for row in counted}), len(counted)) if counted else _UNTESTED
    lines = [f"{text} {tested}"]
    depth = why(quote.offered_depths[deepest.name], units, enough=needs_no_more(quote, deepest.name), without=False)
    if ground.governed_by and known_from(ground)[0] > 1 and ground.overruled != OLD_PAVEMENT:
        whose, its = ("", "the") if len(grounds) == 1 else (f" {the(deepest.name)}", "its")
        depth = (
            f"We design{whose} for {its} weakest spot, {lower_first(ground.governed_by)}. That's where a driveway "
            f"settles first. {depth}"
        )
    lines.append(depth)
    worked = "This base was worked out for this ground. It isn't one depth for every driveway."
    saved = quote.against_stone
    if quote.offered == "geogrid" and saved is not None and made.other is not None:
        ours, other = (option.estimate.takeoff.base_m[deepest.name] for option in made.options)
        does = f"With it, {depth_words(ours, units)} of stone does the work of {depth_words(other, units)}"
        less = does if ours < other else "It saves stone"
        loads = f": {saved.loads} fewer truckloads" if saved.loads > 1 else ""
        pay = f", and you pay {money(saved.money)} less" if saved.money > 0 else ""
        worked = f"Geogrid is a stiff mesh that locks the stone together. {less}{loads}{pay}. {worked}"
    return [*lines, worked]


def _tested(spots: int, tests: int) -> str:
    at = "one spot" if spots == 1 else f"{spots} spots"
    return f"We tested {at} with {'one test' if tests == 1 else f'{tests} tests'}."


def why(depth: BaseDepth, units: str, *, enough: bool = False, without: bool = True) -> str:
    """Return in a sentence why the base is as deep as it is, and what it would be without the geogrid."""
    own = depth_words(depth.required_m, units)
    grid = depth.reinforcement.kind == "geogrid" and depth.required_m < depth.unreinforced_m
    on_grid = " over geogrid" if grid else ""
    traffic = depth.traffic.meaning or depth.traffic.name
    because = {
        "platform": f"On this soil it takes {own} of stone{on_grid} to keep loaded wheels from rutting it",
        "structural": f"It takes {own} of stone{on_grid} to carry years of traffic ({traffic}) on this soil",
        "minimum": _least(depth, own, on_grid),
        "construction": f"The loaded trucks that bring the stone drive on it. It takes {own}{on_grid} to carry them",
        "reinforcement limit": f"Geogrid can replace half the stone at most, so {own} stays",
        "practice": f"The rule of the trade for this soil is {own} of stone",
        "frost": "In the spring thaw this soil is weaker than on the day we tested it, and then it takes "
        f"{own}{on_grid} to carry the load. That does not stop frost from lifting it",
    }
    text = f"{because.get(depth.governs, capital(depth.reason))}."
    if grid:
        more = f" Without the geogrid it would take {depth_words(depth.unreinforced_m, units)}."
        return text + (more if without else "")
    return f"{text} Going deeper would add cost and no strength." if enough and depth.governs == "minimum" else text


def _least(depth: BaseDepth, own: str, on_grid: str) -> str:
    because = least_because(depth.cbr, depth.settings, depth.site, depth.frost)
    if because:
        return f"{capital(own)} is the least depth for a driveway on {because}"
    if on_grid:
        return f"With the geogrid, {own}, the least depth for a driveway, is enough"
    return f"This soil would carry the load on less, so {own}, the least depth for a driveway, is enough"


def needs_no_more(quote: Quote, name: str) -> bool:
    """Return whether more base under an area would add nothing but cost, beyond doubt.

    So it is where the least depth decides on hard ground that was measured in season, by readings that agree, with no
    frost, no old pavement, no loose fill and no water near.
    """
    area, ground = next(one for one in quote.job.areas if one.name == name), quote.ground[name]
    firm = ground.strength.cbr is not None and ground.strength.strength_class == CLASSES[-1]
    doubtful = bool(ground.conflicts or ground.flags) or area.water_table_m is not None or quote.job.new_build
    in_season = all(
        finding.reading.moisture.strip().casefold() in ("moist", "wet") for spot in ground.spots
        for finding in spot.findings
    )
    frost = quote.job.climate is not None or quote.offered_depths[name].frost is not None
    return firm and in_season and bool(ground.spots) and not (doubtful or frost or area.loose_fill or ground.overruled)


# --- the ground


def class_means(strength_class: str, units: str) -> str:
    """Return what ground of a class does under a boot or a truck.

    Examples
    --------
    >>> class_means("soft", "us")
    'a boot sinks 2 to 3 in with every step'
    """
    row = table("class_words").exact(strength_class)
    return str(row["means_metric" if units == "metric" else "means"])


def ground_words(quote: Quote, area: JobArea) -> str:
    """Return what was found in an area, old pavement and loose fill with it, and why its base is so deep."""
    units, ground = quote.job.units, quote.ground[area.name]
    word, loose = ground.strength.strength_class, area.loose_fill
    means = class_means(word, units)
    if loose is not None and loose.way == "fill":
        text = (
            f"Loose fill here reaches {depth_words(loose.depth_m, units)} down. We dig it out and compact granular "
            f"fill in its place, so the base lies on {word} ground, where {means}."
        )
    elif area.strip_of and not ground.spots and area.strength is None:
        text = (
            "Beside a foundation the ground is often loose fill. Nobody has tested it here yet, so we rate it "
            f"{word}: {means}. If a test shows better, it costs less."
        )
    else:
        text = _rated(ground, units, short=len(quote.job.areas) > MOST_NAMED)
    stays = "Loose fill that stays below can go on settling." if loose is not None and loose.way == "stone" else ""
    reason = why(quote.offered_depths[area.name], units, enough=needs_no_more(quote, area.name))
    return " ".join(part for part in (text, stays, _pavement(area, units), _old_base(quote, area), reason) if part)


def _rated(ground: AreaStrength, units: str, *, short: bool) -> str:
    """Return how an area is rated, from how many tests, and which spot controls; short: among many areas."""
    word = ground.strength.strength_class
    spots, tests = known_from(ground)
    weakest = lower_first(ground.governed_by) if spots > 1 else ""
    if short and ground.governed_by and ground.overruled != OLD_PAVEMENT:
        return f"Rated {word}. Weakest spot: {weakest}." if weakest else f"Rated {word}."
    text = f"Rated {word}: {class_means(word, units)}."
    if not spots:
        return f"{text} {_UNTESTED}"
    text += f" {_tested(spots, tests)}"
    if ground.strength.cbr is not None and ground.strength.as_read is not None:
        text += " We didn't walk all of it, so we count less than the tests read."
    if ground.overruled == OLD_PAVEMENT:
        return f"{text} The old pavement shows weaker ground, and we go by the weaker of the two."
    if spots > 1:
        text += (
            f" The weakest spot ({weakest}) controls." if weakest
            else " The spots differ, so we design for little more than the weakest."
        )
    return text + (" Where readings didn't agree, we went by the weaker one." if ground.conflicts else "")


def walking(quote: Quote) -> str:
    """Return which areas were walked and which were not; nothing where no ground was read."""
    read = {name: ground.walked for name, ground in quote.ground.items() if known_from(ground)[0]}
    walked, rest = ([the(name) for name, walk in read.items() if walk is wanted] for wanted in (True, False))
    few = len(read) <= MOST_NAMED
    texts = []
    if walked:
        where = listed(walked) if few else f"{len(walked)} areas"
        texts.append(f"We walked all of {where} and tested the softest place.")
    if rest:
        where = listed(rest) if few else "the areas" if not walked else f"{len(rest)} areas"
        texts.append(f"We did not walk all of {where} for softer places. Between the spots the ground may differ.")
    return " ".join(texts)


def _pavement(area: JobArea, units: str) -> str:
    if area.pavement is None or (area.strip_of and not area.pavement.seen):
        return ""
    known, kind = area.pavement, area.old_pavement_kind
    said = open_words(speaks(known, kind, units))
    age = f", {known.age:g} years old," if known.age is not None else ""
    gap = max((one.gap_m for one in known.seen), default=0.0)
    if gap / INCH_M >= settled_gap_in():
        looks = f"has sunk or rutted by up to {depth_words(gap, units)}"
    elif known.state not in ("", "even"):
        looks = f"has {known.state.replace('and', 'and is')}" if "settled" in known.state else "is rutted"
    elif known.state == "even" or known.seen:
        looks = "has hardly sunk anywhere"
    else:
        return ""
    what = {"pavers": "old paving"}.get(kind, f"old {kind}")
    return f"The {what}{age} {looks}{f', a sign of {said} ground below' if said else ''}."


def _old_base(quote: Quote, area: JobArea) -> str:
    """Return whether the old base may stay, and which test holes say so."""
    if not area.old_pavement_m or area.strip_of:
        return ""
    taken, units = quote.offer.takeoff.area(area.name), quote.job.units
    known, holes = area.pavement or Pavement(), holes_needed(area.area_m2)
    if taken.kept_m > 0:
        laid = f", under {depth_words(taken.new_m, units)} of new stone" if taken.new_m > 0 else ""
        return (
            f"Our test holes showed clean old stone, so {depth_words(taken.kept_m, units)} of it stays{laid}. "
            f"Together they carry like the {depth_words(taken.base_m, units)} of new stone that this ground needs."
        )
    if len(known.holes) < holes and (area.keep_old_base or area.pavement):
        return (
            f"The old stone base is priced as dug out. It may stay only if {holes} test holes show clean stone, thick "
            "enough, on firm ground."
        )
    return "The old stone base cannot stay, so it is dug out." if area.keep_old_base else ""
