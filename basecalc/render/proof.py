"""The office's proof: what was read and what it allows, every check of the depth, what moves it, and the sources."""

from collections.abc import Sequence
from math import isinf
from typing import Any, Final

from basecalc.cautions import cautions
from basecalc.core.numbers import fixed, half_up, printed
from basecalc.core.published import TRUST, Working
from basecalc.core.published import table as published
from basecalc.core.units import convert
from basecalc.core.words import (
    capital,
    depth_words,
    listed,
    money,
    number,
    unit,
)
from basecalc.design.depth import BaseDepth
from basecalc.design.sensitivity import Sensitivity
from basecalc.ground.cone_log import Design
from basecalc.ground.evidence import SET_ASIDE, Span
from basecalc.ground.readings import ground_words
from basecalc.pricing.value_of_testing import LEAST_CHANCE, AtStrength, WorthOfTest
from basecalc.render import drawings
from basecalc.render.page import Page, Style, table
from basecalc.report import Report
from basecalc.workbook.style import put_text

_CAP: Final = "8 low gray thin"
_CAPR: Final = "8 right low gray thin"
_CELL: Final = "8.5 hair"
_UP: Final = "8.5 high"
_QUIET: Final = "7 high gray"
_LOUD: Final = "bold 8.5 high loud"


# --- proof of the ground


def ground(page: Page, made: Report) -> None:
    """Write every reading with what it allows, what each area is designed for, and what one more test is worth."""
    heads = (
        (1, 5, "Spot", "left"), (6, 14, "Test and reading", "left"), (15, 16, "Moisture", "left"),
        (17, 20, "As read", "left"), (21, 22, "CBR, %", "right"), (23, 23, "", "left"), (24, 26, "Taken as", "left"),
        (27, 29, "CBR from, to", "left"), (30, 32, "Part", "left")
    )
    for worth in made.worths:
        found, ground = made.evidence[worth.area], made.quote.ground[worth.area]
        page.head((1, 32, worth.area), gap=3)
        rows: list[list[Any]] = []
        for spot in found.spots:
            several = len(spot.readings) > 1
            governs = "governs" if spot.governs else ""
            for place, one in enumerate(spot.readings):
                finding = one.finding
                measured = finding.as_read[2]
                part = one.role if several else governs or one.role
                note = "layers: see Cone log" if finding.reading.basis else finding.reading.note
                label = finding.label + (f" ({note})" if note else "")
                rows.append(
                    [
                        ("" if place else capital(spot.name), "bold 8"), (label, "8"),
                        finding.reading.moisture or "not noted", ground_words(*finding.as_read[:2]),
                        (None if measured is None else half_up(measured, 2), "8 cbr"), None,
                        ground_words(finding.weakest, finding.strongest), _span(one.taken), part
                    ]
                )
            if several:
                aside = " (the weaker counts)" if any(one.role == SET_ASIDE for one in spot.readings) else ""
                rows.append(
                    [
                        "", (f"together{aside}", "bold 8"), "", "", None, None,
                        (ground_words(spot.strength.strength_class, spot.left.strongest), "bold 8"),
                        (_span(spot.left), "bold 8"), (governs, "bold 8")
                    ]
                )
        if rows:
            table(page, heads, rows, "8")
        depth = worth.offered.depth
        notes = [("Designed for", f"{capital(depth.cbr_from)}: {found.rule} [{found.rule_source}].", False)]
        notes.append(
            (
                "Confidence",
                " ".join(
                    f"{capital(words)}." for words in (found.confidence.sentence, found.confidence.chance_sentence)
                    if words
                ), found.confidence.few
            )
        )
        steps = worth.next_steps()
        advice = ground.test_next if not steps else " ".join(steps)
        notes.append(("Test next", capital(advice), False))
        notes += [
            ("Conflict", f"{capital(text)}", True) for text in ground.conflicts
        ] + [("Flag", capital(text), True) for text in ground.flags]
        for title, words, loud in notes:
            if words:
                page.said(title, words, 5, "8 high loud" if loud else "8 high")
    _worth(page, made)
    page.close()


def _span(span: Span) -> str:
    def told(value: float) -> str:
        return "no end" if isinf(value) else f"{float(f'{value:.2g}'):g}"

    return f"{told(span.low_cbr)} to {told(span.high_cbr)}"


OFFERED: Final = "as offered"


def _worth(page: Page, made: Report) -> None:
    page.head((1, 32, "What one more test is worth: the price of the whole job with one area changed"), gap=5)
    heads = (
        (1, 5, "Area", "left"), (6, 10, "The test ends", "left"), (11, 12, "CBR, %", "right"),
        (13, 16, "  Class", "left"), (17, 18, "Stone base", "right"), (19, 19, "", "left"),
        (20, 24, "Check that governs", "left"), (25, 28, "Price", "right"), (29, 32, "Against offer", "right")
    )
    page.write(12, *[(a, b, words, _CAPR if to == "right" else _CAP) for a, b, words, to in heads])
    for worth in made.worths:
        offer = f"Y{page.row}"
        for place, (words, at) in enumerate(_ends(worth)):
            _end(page, made, (worth.area if not place else "", words), at, worth, offer)
        page.write(None, (1, 32, _in_words(worth, made.units), "bold 8 high"))


def _ends(worth: WorthOfTest) -> list[tuple[str, AtStrength]]:
    ends = [(OFFERED, worth.offered)]
    if worth.proposed:
        beyond = [worth.beyond] if worth.beyond else []
        ends += [(f"here: {100 * at.chance:.0f} %", at) for at in (*beyond, *worth.outcomes)]
    return ends + ([("walked, nothing softer", worth.walked)] if worth.walked else [])


def _end(page: Page, made: Report, names: tuple[str, str], at: AtStrength, worth: WorthOfTest, offer: str) -> None:
    depth, look = at.depth, "8 hair"
    right = "8 right hair money"
    row = page.row
    page.put(1, 5, names[0] or None, "bold 8 hair")
    page.put(6, 10, names[1], look)
    page.put(11, 12, half_up(at.cbr, 2), "8 right hair cbr")
    page.put(13, 16, f"  {depth.strength.strength_class}", look)
    page.put(17, 18, depth_words(depth.required_m, made.units), "bold 8 right hair")
    page.put(19, 19, None, look)
    page.put(20, 24, depth.governs + (", with geogrid" if depth.reinforcement.kind == "geogrid" else ""), look)
    page.put(25, 28, "cannot be built" if at.total is None else at.total, right)
    if at is worth.offered:
        page.put(29, 32, "the offer", right)
    elif at.total is not None and worth.offered.total is not None:
        less = printed(float(at.total - worth.offered.total))
        page.formula(29, 32, f"=IF(AND(ISNUMBER(Y{row}),ISNUMBER({offer})),ROUND(Y{row}-{offer},2),NA())", less, right)
    else:
        page.put(29, 32, at.note or None, look)
    page.next(12.5)


def _in_words(worth: WorthOfTest, units: str) -> str:
    """Return what the test is worth in words and in money: what it saves, what more costs, never netted."""
    if not worth.proposed:
        return worth.sentence(units)
    parts = [] if worth.saves is None else [f"expected saving {money(worth.saves)}"]
    if worth.chance_more >= LEAST_CHANCE and worth.more:
        least = "at least " if worth.engineer else ""
        parts.append(f"where more is needed, {least}{money(worth.more)} more, owed with or without the test")
    return " ".join([worth.sentence(units), *([f"In money: {'; '.join(parts)}."] if parts else [])])


# --- proof of the depth


def depth(page: Page, made: Report) -> None:
    """Write every check of every different depth, both options side by side, with its working and source."""
    quote, units = made.quote, made.units
    traffic = next(iter(quote.offered_depths.values())).traffic
    page.write(None, (1, 32, f"Traffic: {_traffic_words(traffic, units)}.", "8"))
    done: list[tuple[BaseDepth, BaseDepth | None]] = []
    for area in quote.job.areas:
        stone, grid = quote.depths[area.name], quote.geogrid_depths.get(area.name)
        if (stone, grid) in done:
            continue
        done.append((stone, grid))
        names = [
            one.name for one in quote.job.areas
            if (quote.depths[one.name], quote.geogrid_depths.get(one.name)) == (stone, grid)
        ]
        ways = [("Stone alone", stone)] + ([("With geogrid", grid)] if grid is not None and grid != stone else [])
        page.head((1, 32, listed(names)), gap=3)
        for one in quote.job.areas:
            for hole in one.pavement.holes if one.pavement and one.name in names else ():
                page.write(
                    None,
                    (
                        1, 32, f"Test hole, {hole.where}: {depth_words(hole.base_m, units)} of old base, {hole.state}.",
                        "8"
                    )
                )
        for words, depth in ways:
            text = (
                f"{words}: {depth_words(depth.required_m, units)}. {capital(depth.reason)}. Designed with "
                f"{depth.cbr_from}; {depth.reinforcement.words}."
            )
            page.write(None, (1, 32, text, "8 high"))
        _checks(page, made, ways)
    page.close()


def _checks(page: Page, made: Report, ways: Sequence[tuple[str, BaseDepth]]) -> None:
    units = made.units
    heads = [
        (1, 5, "Check", "left"), (6, 8, ways[0][0], "right"), (9, 11, ways[1][0] if len(ways) > 1 else "", "right"),
        (12, 12, "", "left"), (13, 14, "Counts", "left"), (15, 26, "What it did, and with what", "left"),
        (27, 32, "Source", "left")
    ]
    rows: list[list[Any]] = []
    beside: list[str] = []
    quiet = "6.5 gray"
    for name in dict.fromkeys(check.name for _, depth in ways for check in depth.checks):
        found = [depth.check(name) for _, depth in ways]
        there = [check for check in found if check is not None]
        governs = [words for words, depth in ways if depth.governs == name]
        mark = "" if not governs else " (governs)" if len(governs) == len(ways) else f" (governs {governs[0].lower()})"
        depths = [
            None if check is None else ("none" if check.depth_m is None else number(check.depth_m, "depth", units))
            for check in found
        ]
        depths += [None] * (2 - len(depths))
        form = '0" mm"' if units == "metric" else '0.0" in"'
        text = "\n".join(dict.fromkeys(capital(check.sentence) for check in there))
        many = len(made.alike) > 2  # of many depths the working is beside the page, on the sheet only
        worked = "; ".join(dict.fromkeys(_working(item, units) for check in there for item in check.working))
        beside += [worked] if many else []
        rows.append(
            [
                (name + mark, "bold 8"), *[(value, Style(size=8, format=form)) for value in depths], None,
                " / ".join(dict.fromkeys("yes" if check.counts else "no" for check in there)),
                (text if many or not worked else f"{text}\n{worked}", "6.5"),
                ("; ".join(dict.fromkeys(check.source for check in there)), quiet)
            ]
        )
    first = page.row + 1
    table(page, heads, rows, "8")
    for place, working in enumerate(beside):
        put_text(page.sheet.cell(first + place, page.columns + 2), working)


def _working(item: Working, units: str) -> str:
    """Return a value on the way in a unit that the reader uses."""
    if isinstance(item.value, str):
        return f"{item.name} {item.value}"
    value, word = float(item.value), item.unit
    if word == "m":
        value, word = number(value, "depth", units), "mm" if units == "metric" else "in"
    elif units == "us" and word in _US:
        word, to = _US[word], _US[word]
        value = convert(value, item.unit, to)
    shown = f"{value:,.0f}" if abs(value) >= 100 else f"{float(f'{value:.3g}'):g}"
    return f"{item.name} {shown} {word}".strip()


_US: Final = {"kN": "lbf", "kPa": "psi", "mm": "in"}


def _traffic_words(traffic: Any, units: str) -> str:
    name = f"{traffic.name}{f' ({traffic.meaning})' if traffic.meaning else ''}"
    if units == "metric":
        return (
            f"{name}: wheel load {traffic.wheel_load_kn:g} kN at {traffic.tyre_kpa:g} kPa, "
            f"{traffic.passes:,.0f} passes, rut {traffic.rut_mm:g} mm, {traffic.esal:,.0f} ESAL"
        )
    load = convert(traffic.wheel_load_kn, "kN", "lbf")
    return (
        f"{name}: wheel load {round(load, -1):,.0f} lb at "
        f"{convert(traffic.tyre_kpa, 'kPa', 'psi'):.0f} psi, {traffic.passes:,.0f} passes, "
        f"rut {traffic.rut_mm / 25.4:.1f} in, {traffic.esal:,.0f} ESAL"
    )


def sensitivity(page: Page, made: Report) -> None:
    """Write how far each input moves the base with the others held."""
    units = made.units
    word, form = unit("depth", units), "0" if units == "metric" else "0.0"
    for (names, _), moved in zip(made.alike, made.sensitivities, strict=True):
        page.head((1, 24, listed(names)), gap=3)
        if moved.moving and len(made.alike) <= 2:
            drawing = _tornado(moved, units)
            page.draw(1, drawing)
            page.next(drawing.height * 72 + 4)
        heads = (
            (1, 6, "Input", "left"), (7, 9, "Used", "right"), (10, 11, "From", "right"), (12, 13, "To", "right"),
            (14, 15, f"Depth, {word}", "right"), (16, 17, f"to, {word}", "right"), (18, 18, "", "left"),
            (19, 24, "Where the range comes from", "left")
        )
        rows: list[list[Any]] = []
        for row in moved.moving:
            ends = [
                "refused" if end.depth_m is None else number(end.depth_m, "depth", units) for end in (row.low, row.high)
            ]
            used, low, high = (
                _number_words(value, row.unit, units) for value in (row.used, row.low.value, row.high.value)
            )
            word_of = _US.get(row.unit, row.unit) if units == "us" else row.unit
            name = row.name + (f", {word_of}" if word_of else "")
            rows.append(
                [
                    (name, "bold 8"), used, low, high, *[(end, Style(size=8, format=form)) for end in ends], None,
                    (capital(row.reason), "6.5 gray")
                ]
            )
        if rows:
            table(page, heads, rows, "8")
        if moved.still:
            page.write(
                None,
                (
                    1, 24,
                    f"Within their ranges these do not move the depth: {', '.join(row.name for row in moved.still)}.",
                    "7.5 high"
                )
            )
    page.close()


def _number_words(value: float | str, word: str, units: str) -> str:
    """Return a value in the unit that the reader uses."""
    if isinstance(value, str):
        return value
    if units == "us" and word in _US:
        value = float(f"{convert(value, word, _US[word]):.3g}")
    return f"{value:,.0f}" if value == round(value) else f"{float(f'{value:.3g}'):g}"


def _tornado(moved: Sensitivity, units: str) -> drawings.Drawing:
    rows, words = [], {}
    for at, row in enumerate(moved.moving):
        least, most = (number(value, "depth", units) for value in row.depths_m(moved.designed_m))
        used = number(moved.designed_m, "depth", units)
        rows.append((row.name, least, used, most))
        places = 0 if units == "metric" else 1
        words[at] = (fixed(least, places), fixed(most, places))
    caption = f"designed, {unit('depth', units)}; dark: less, light: more"
    return drawings.bars(rows, words, caption, 7.0)


def cone_logs(page: Page, made: Report) -> None:
    """Write every drop of a cone penetrometer: CBR by depth drawn, its layers, and the single readings."""
    units = made.units
    word = unit("depth", units)
    form = "0" if units == "metric" else "0.0"
    for spot in made.quote.job.spots:
        for design in spot.drops:
            drop = design.profile.drop
            page.head(
                (1, 24, f"{capital(spot.name)} ({spot.area}): {spot.log}{f', drop {drop.name}' if drop.name else ''}")
            )
            page.write(
                None, (1, 5, "Design CBR, %", "bold"), (6, 8, half_up(design.cbr, 3), "bold cbr"),
                (9, 24, f"{design.how}. Season and moisture come on top: see Ground evidence.", _UP)
            )
            for text in (*design.warnings, *design.profile.remarks, *drop.notes, *spot.log_notes):
                page.write(None, (1, 24, f"{text}.", _QUIET))
            page.draw(1, _curve(design, units))
            page.next(206)
            heads = (
                (1, 3, "Layer", "left"), (4, 6, f"From, {word}", "right"), (7, 9, f"To, {word}", "right"),
                (10, 11, "Blows", "right"), (12, 14, "mm/blow", "right"), (15, 16, "CBR, %", "right"),
                (17, 17, "", "left"), (18, 24, "Counts", "left")
            )
            rows = []
            for place, layer in enumerate(design.profile.layers, 1):
                told = ["the design layer"] if layer is design.layer else []
                told += (
                    [f"without row{'s' if len(layer.set_aside) > 1 else ''} {', '.join(map(str, layer.set_aside))}"]
                    if layer.set_aside else []
                )
                depths = [
                    (number(value, "depth", units), Style(size=8, format=form))
                    for value in (layer.top_m, layer.bottom_m)
                ]
                rows.append(
                    [
                        place, *depths, layer.blows, fixed(layer.mm_per_blow, 1), (half_up(layer.cbr, 3), "8 cbr"),
                        None, ", ".join(told) or layer.soil or ""
                    ]
                )
            table(page, heads, rows, "8")
            steps = [(step, cbr) for step, cbr in zip(design.profile.drop.steps, design.profile.step_cbrs, strict=True)]
            heads = (
                (1, 3, "Row in log", "right"), (4, 6, f"From, {word}", "right"), (7, 9, f"To, {word}", "right"),
                (10, 11, "Blows", "right"), (12, 14, "mm/blow", "right"), (15, 16, "CBR, %", "right"),
                (17, 17, "", "left"), (18, 24, "Note", "left")
            )
            table(
                page, heads,
                [
                    [
                        step.row,
                        *[(number(v, "depth", units), Style(size=8, format=form)) for v in (step.top_m, step.bottom_m)],
                        step.blows, fixed(step.mm_per_blow, 1), (half_up(cbr, 3), "8 cbr"), None, step.note
                    ] for step, cbr in steps
                ], "8"
            )
    page.close()


def _curve(design: Design, units: str) -> drawings.Drawing:
    layers = [
        (number(one.top_m, "depth", units), number(one.bottom_m, "depth", units), one.cbr)
        for one in design.profile.layers
    ]
    steps = zip(design.profile.drop.steps, design.profile.step_cbrs, strict=True)
    dots = [(number((step.top_m + step.bottom_m) / 2, "depth", units), cbr) for step, cbr in steps]
    deepest = number(design.profile.drop.depth_m, "depth", units)
    return drawings.depth_curve(layers, dots, deepest, (f"depth, {unit('depth', units)}", ""), 6.8, 2.8)


# --- sources


def sources(page: Page, made: Report) -> None:
    """Write what the numbers of this job rest on, and the cautions with their sources and what calls for them."""
    quote = made.quote
    cited: dict[str, list[str]] = {}
    for ground in quote.ground.values():
        for spot in ground.spots:
            for finding in spot.findings:
                cited.setdefault(finding.source, []).append(f"reading: {finding.label}")
    for depths in (quote.depths, quote.geogrid_depths):
        for depth in depths.values():
            for check in depth.checks:
                cited.setdefault(check.source, []).append(f"check: {check.name}")
    page.head((1, 24, "What the numbers of this job rest on"), gap=2)
    small, quiet = "7", "7 gray"
    table(
        page, ((1, 15, "Source", "left"), (16, 24, "Used for", "left")),
        [[(source, small), (", ".join(dict.fromkeys(uses)), quiet)] for source, uses in cited.items()]
    )
    page.write(
        None,
        (1, 24, "Marks of trust: " + "; ".join(f"[{word}] {meaning}" for word, meaning in TRUST.items()) + ".", _QUIET)
    )
    page.head((1, 24, "Cautions of the crew, and what calls for them here"), gap=5)
    rows = [
        [
            (caution.heading, "bold 7"),
            (capital(caution.told) or ("always" if not caution.found else "this job"), small), (caution.source, quiet)
        ] for caution in cautions("crew", made.facts, made.units)
    ]
    table(page, ((1, 6, "Caution", "left"), (7, 13, "Found here", "left"), (14, 24, "Source", "left")), rows)
    chance, scatter = published("chance_weaker"), published("test_scatter")
    page.write(None, (1, 24, f"Chances: {chance.title}, {chance.cited}; {scatter.title}, {scatter.cited}.", _QUIET))
    page.close()
