"""The client's ground report: what was tested, how it rates, why the base is as deep as it is, pictures of the site."""

from pathlib import Path
from typing import Final

from basecalc.core.published import table
from basecalc.core.units import INCH_M
from basecalc.core.words import capital, depth_words, listed, lower_first, the
from basecalc.design.depth import BaseDepth, least_because
from basecalc.ground.classes import CLASSES
from basecalc.ground.old_pavement import Pavement, holes_needed, open_words, speaks
from basecalc.ground.readings import settled_gap_in
from basecalc.ground.strength import OLD_PAVEMENT, AreaStrength
from basecalc.job import JobArea
from basecalc.pricing.records import Quote
from basecalc.render import drawings
from basecalc.render.page import INK, Page, Style, need
from basecalc.report import Report, known_from

_MOST_NAMED: Final = 3  # areas that a sentence names; of more it says how many
_NOTE: Final = "8 gray"
_UP: Final = "high"
_PHOTO_IN: Final = (3.4, 2.6)


def ground_report(page: Page, made: Report) -> None:
    """Write the last page: what was tested where, what it means for each area, and pictures."""
    quote, job, units = made.quote, made.quote.job, made.units
    page.write(24, (1, 24, "Ground report", "bold 14 ink"))
    tested = f" Tested by {job.prepared_by}." if job.prepared_by and made.ground else ""
    page.write(16, (1, 24, f"{job.site}.{tested}", ""))
    if made.ground:
        _classes(page, made)
    page.head((1, 24, "What it means for your driveway"))
    many = len(job.areas) > 1
    for area in job.areas:
        found = _found(quote, area, short=len(job.areas) > _MOST_NAMED)
        reason = why(quote.offered_depths[area.name], units, enough=needs_no_more(quote, area.name))
        words = f"{found} {reason}"
        page.said(area.name if many else "Your ground", words)
    walked = _walking(quote)
    if walked:
        page.said("Between the spots", walked)
    words = (
        "Tests show the ground at those spots on that day. If we dig into softer soil we show you, and "
        "the prices on page 2 apply."
    )
    page.said("Please note", words)
    _photos(page, made)


_SHORT: Final = {
    "us": (
        "sinks\n3 in or more", "boot sinks\n2 to 3 in", "boot sinks\n1 to 2 in", "pickup ruts\n1/2 to 1 in",
        "truck ruts\n1 to 3 in", "truck ruts\nunder 1 in"
    ),
    "metric": (
        "sinks 75\nmm or more", "boot sinks\n50 to 75 mm", "boot sinks\n25 to 50 mm", "pickup ruts\n13 to 25 mm",
        "truck ruts\n25 to 75 mm", "truck ruts\nunder 25 mm"
    )
}


def _classes(page: Page, made: Report) -> None:
    """Write every reading with the classes it allows as filled cells, the weakest spot dark."""
    page.head((1, 24, "What we tested, what we saw, how it rates"))
    spans = [(13 + 2 * at, 14 + 2 * at) for at in range(6)]
    page.write(17, *[(a, b, word, "bold 8.5 center") for (a, b), word in zip(spans, CLASSES, strict=True)])
    low = "bold low"
    page.write(
        24, (1, 4, "Where", low), (5, 8, "Test", low), (9, 12, "What we saw", low),
        *[(a, b, word, "6 center high") for (a, b), word in zip(spans, _SHORT[made.units], strict=True)]
    )
    many = len(made.quote.ground) > 1
    before = ("", "")
    for row in made.ground:
        where = f"{row.where}\n(weakest)" if row.weakest else row.where
        if many and row.area != before[0]:
            page.write(14, (1, 24, row.area, Style(bold=True, color=INK, fill="EEF1EF")))
        same, bold = (row.area, row.where) == before, "bold " if row.weakest else ""
        look = "8.5 hair"
        height = max(
            need(5, 8, row.test, look), need(9, 12, row.saw, look), 14.0,
            0.0 if same else need(1, 4, where, f"{bold}8.5")
        )
        fills = [
            ("24443B" if row.weakest else "93A39C") if row.low <= at <= row.high and row.counts else ""
            for at in range(6)
        ]
        page.write(
            height, (1, 4, None if same else where, f"{bold}8.5 hair{'' if same else ' top-thin'}"),
            (5, 8, row.test, look), (9, 12, row.saw if row.counts else f"{row.saw} (frozen, does not count)", look),
            *[(a, b, None, Style(box="thin", fill=fill)) for (a, b), fill in zip(spans, fills, strict=True)]
        )
        before = (row.area, row.where)
    page.write(12, (13, 18, "weaker", "7"), (19, 24, "stronger", "7 right"))


def _photos(page: Page, made: Report) -> None:
    """Write the pictures of the job, two side by side, each with its caption."""
    photos = made.quote.job.photos
    if not photos:
        return
    page.head((1, 24, "Pictures of your site"))
    folder = Path(made.quote.job.source_path).parent
    for first in range(0, len(photos), 2):
        pair = photos[first : first + 2]
        taken = [drawings.picture(folder / photo.file, f"photo {photo.file}", *_PHOTO_IN) for photo in pair]
        for column, one in zip((1, 13), taken, strict=False):
            page.draw(column, one)
        page.next(max(one.height for one in taken) * 72 + 4)
        page.write(None, *[(c, c + 11, photo.caption or None, "8.5") for c, photo in zip((1, 13), pair, strict=False)])


# --- what a client reads of the ground


def class_means(strength_class: str, units: str) -> str:
    """Return what ground of a class does under a boot or a truck.

    Examples
    --------
    >>> class_means("soft", "us")
    'a boot sinks 2 to 3 in with every step'
    """
    row = table("class_words").exact(strength_class)
    return str(row["means_metric" if units == "metric" else "means"])


def _found(quote: Quote, area: JobArea, *, short: bool = False) -> str:
    """Return what was found in an area, old pavement and loose fill with it."""
    units, ground = quote.job.units, quote.ground[area.name]
    word = ground.strength.strength_class
    means = class_means(word, units)
    loose = area.loose_fill
    if loose is not None and loose.way == "fill":
        deep = depth_words(loose.depth_m, units)
        text = (
            f"Loose fill here reaches {deep} down. We dig it out and compact granular fill in its place, "
            f"so the base lies on {word} ground, where {means}."
        )
    elif area.strip_of and not ground.spots and area.strength is None:
        text = (
            "Beside a foundation the ground is often loose fill. Nobody has tested it here yet, so we "
            f"rate it {word}: {means}. If a test shows better, it costs less."
        )
    else:
        text = _rated(ground, units, short=short)
    stays = "Loose fill that stays below can go on settling." if loose is not None and loose.way == "stone" else ""
    return " ".join(part for part in (text, stays, _pavement(area, units), _old_base(quote, area)) if part)


def _rated(ground: AreaStrength, units: str, *, short: bool) -> str:
    """Return how an area is rated, from how many tests, and which spot controls; short: among many areas."""
    word = ground.strength.strength_class
    if short and ground.governed_by and ground.overruled != OLD_PAVEMENT:
        return f"Rated {word}. Weakest spot: {lower_first(ground.governed_by)}."
    text = f"Rated {word}: {class_means(word, units)}."
    spots, tests = known_from(ground)
    if not spots:
        return f"{text} The strength was given to us; we have not tested it."
    text += (
        f" We tested {'one spot' if spots == 1 else f'{spots} spots'} with "
        f"{'one test' if tests == 1 else f'{tests} tests'}."
    )
    if ground.strength.cbr is not None and ground.strength.as_read is not None:
        text += " We didn't walk all of it, so we count less than the tests read."
    if ground.overruled == OLD_PAVEMENT:
        return f"{text} The old pavement shows weaker ground, and we go by the weaker of the two."
    if spots > 1 and ground.governed_by:
        text += f" The weakest spot ({lower_first(ground.governed_by)}) controls."
    elif spots > 1:
        text += " The spots differ, so we design for little more than the weakest."
    return text + (" Where readings didn't agree, we went by the weaker one." if ground.conflicts else "")


def _walking(quote: Quote) -> str:
    """Return which areas were walked and which were not; nothing where no ground was read."""
    read = {name: ground.walked for name, ground in quote.ground.items() if known_from(ground)[0]}
    walked, rest = ([the(name) for name, walk in read.items() if walk is wanted] for wanted in (True, False))
    few = len(read) <= _MOST_NAMED
    texts = []
    if walked:
        texts.append(
            f"We walked all of {listed(walked) if few else f'{len(walked)} areas'} and tested the softest place."
        )
    if rest:
        where = listed(rest) if few else "every area" if not walked else f"{len(rest)} areas"
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
            f"Our test holes showed clean old stone, so {depth_words(taken.kept_m, units)} of it "
            f"stays{laid}. Together they carry "
            f"like the {depth_words(taken.base_m, units)} of new stone that this ground needs."
        )
    if len(known.holes) < holes and (area.keep_old_base or area.pavement):
        return (
            f"The old stone base is priced as dug out. It may stay only if {holes} test holes show clean "
            "stone, thick enough, on firm ground."
        )
    return "The old stone base cannot stay, so it is dug out." if area.keep_old_base else ""


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


def why(depth: BaseDepth, units: str, *, enough: bool = False) -> str:
    """Return in a sentence why the base is as deep as it is."""
    own = depth_words(depth.required_m, units)
    grid = depth.reinforcement.kind == "geogrid" and depth.required_m < depth.unreinforced_m
    on_grid = " over geogrid" if grid else ""
    traffic = depth.traffic.meaning or depth.traffic.name
    reasons = {
        "platform": f"On this soil it takes {own} of stone{on_grid} to keep loaded wheels from rutting it",
        "structural": f"It takes {own} of stone{on_grid} to carry years of traffic ({traffic}) on this soil",
        "minimum": _least(depth, own, on_grid),
        "construction": f"The loaded trucks that bring the stone drive on it. It takes {own}{on_grid} to carry them",
        "reinforcement limit": f"Geogrid can replace half the stone at most, so {own} stays",
        "practice": f"The rule of the trade for this soil is {own} of stone",
        "frost": "In the spring thaw this soil is weaker than on the day we tested it, and then it takes "
        f"{own}{on_grid} to carry the load. That does not stop frost from lifting it",
    }
    text = f"{reasons.get(depth.governs, capital(depth.reason))}."
    if grid:
        return f"{text} Without the geogrid it would take {depth_words(depth.unreinforced_m, units)}."
    return f"{text} Going deeper would add cost and no strength." if enough and depth.governs == "minimum" else text


def _least(depth: BaseDepth, own: str, on_grid: str) -> str:
    because = least_because(depth.cbr, depth.settings, depth.site, depth.frost)
    if because:
        return f"{capital(own)} is the least depth for a driveway on {because}"
    if on_grid:
        return f"With the geogrid, {own}, the least depth for a driveway, is enough"
    return f"This soil would carry the load on less, so {own}, the least depth for a driveway, is enough"
