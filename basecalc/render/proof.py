"""The office's proof: what was read and what it allows, every check of the depth, what moves it, and the sources."""

from collections.abc import Sequence
from math import isinf
from typing import Any, Final

from basecalc.cautions import cautions
from basecalc.core.numbers import fixed, half_up, printed
from basecalc.core.published import TRUST, Working
from basecalc.core.published import table as published
from basecalc.core.units import convert
from basecalc.core.words import OPTION_WORDS, capital, depth_words, listed, money, number, unit
from basecalc.design.depth import BaseDepth
from basecalc.design.sensitivity import Sensitivity
from basecalc.ground.cone_log import Design
from basecalc.ground.evidence import SET_ASIDE, Span
from basecalc.ground.readings import ground_words
from basecalc.pricing.value_of_testing import LEAST_CHANCE, AtStrength, WorthOfTest
from basecalc.render import drawings
from basecalc.render.page import Formula, Page, Style, table
from basecalc.report import Report
from basecalc.workbook.style import put_text

_QUIET: Final = "7 high gray"
_US: Final = {"kN": "lbf", "kPa": "psi", "mm": "in"}


# --- proof of the ground


def ground(page: Page, made: Report) -> None:
    """Write every reading with what it allows, what each area is designed for, and what one more test is worth."""
    columns = "Spot 5|Test and reading 9|Moisture 2|As read 4|CBR, % 2>| 1|Taken as 3|CBR from, to 3|Part 3"
    for worth in made.worths:
        found, ground = made.evidence[worth.area], made.quote.ground[worth.area]
        page.head((1, 32, worth.area), gap=3)
        rows: list[list[Any]] = []
        for spot in found.spots:
            several, governs = len(spot.readings) > 1, "governs" if spot.governs else ""
            for place, one in enumerate(spot.readings):
                finding = one.finding
                weakest, strongest, measured = finding.as_read
                note = "layers: see Cone log" if finding.reading.basis else finding.reading.note
                rows.append([
                    ("" if place else capital(spot.name), "bold 8"), finding.label + (f" ({note})" if note else ""),
                    finding.reading.moisture or "not noted", ground_words(weakest, strongest),
                    (None if measured is None else half_up(measured, 2), "8 cbr"), None,
                    ground_words(finding.weakest, finding.strongest), _span(one.taken),
                    one.role if several else governs or one.role
                ])  # fmt: skip
            if several:
                aside = " (the weaker counts)" if any(one.role == SET_ASIDE for one in spot.readings) else ""
                taken = ground_words(spot.strength.strength_class, spot.left.strongest)
                together = (f"together{aside}", "", "", None, None, taken, _span(spot.left), governs)
                rows.append(["", *[(words, "bold 8") for words in together]])
        if rows:
            table(page, columns, rows, "8")
        confidence = found.confidence
        sure = [f"{capital(words)}." for words in (confidence.sentence, confidence.chance_sentence) if words]
        depth = worth.offered.depth
        notes = [
            ("Designed for", f"{capital(depth.cbr_from)}: {found.rule} [{found.rule_source}].", False),
            ("Confidence", " ".join(sure), confidence.few),
            ("Test next", capital(" ".join(worth.next_steps()) or ground.test_next), False),
            *[("Conflict", capital(text), True) for text in ground.conflicts],
            *[("Flag", capital(text), True) for text in ground.flags]
        ]
        for title, words, loud in notes:
            if words:
                page.said(title, words, 5, "8 high loud" if loud else "8 high")
    _worth(page, made)
    page.close()


def _span(span: Span) -> str:
    return " to ".join("no end" if isinf(cbr) else f"{float(f'{cbr:.2g}'):g}" for cbr in (span.low_cbr, span.high_cbr))


def _worth(page: Page, made: Report) -> None:
    page.head((1, 32, "What one more test is worth: the price of the whole job with one area changed"), gap=5)
    columns = " 5| 5| 2>| 4| 2>| 1| 5| 4>| 4>"
    titles = "Area 5|Test ends 5|CBR, % 2>|  Class 4|Stone base 2>| 1|Check that governs 5|Price 4>|Against offer 4>"
    table(page, titles, ())
    for worth in made.worths:
        first = page.row
        rows = []
        for place, (words, at) in enumerate(_ends(worth)):
            depth = at.depth
            grid = ", with geogrid" if depth.reinforcement.kind == "geogrid" else ""
            against: Any = at.note or None
            if at is worth.offered:
                against = "the offer"
            elif at.total is not None and worth.offered.total is not None:
                cell, offer, less = f"Y{first + place}", f"Y{first}", printed(float(at.total - worth.offered.total))
                text = f"=IF(AND(ISNUMBER({cell}),ISNUMBER({offer})),ROUND({cell}-{offer},2),NA())"
                against = Formula(text, less)
            rows.append([
                ("" if place else worth.area, "bold 8"), words, (half_up(at.cbr, 2), "8 cbr"),
                f"  {depth.strength.strength_class}", (depth_words(depth.required_m, made.units), "bold 8"), None,
                depth.governs + grid, ("cannot be built" if at.total is None else at.total, "8 money"),
                (against, "8 money")
            ])  # fmt: skip
        table(page, columns, rows, "8")
        page.line(_in_words(worth, made.units), "bold 8 high")


def _ends(worth: WorthOfTest) -> list[tuple[str, AtStrength]]:
    ends = [("as offered", worth.offered)]
    if worth.proposed:
        beyond = [worth.beyond] if worth.beyond else []
        ends += [(f"here: {100 * at.chance:.0f} %", at) for at in (*beyond, *worth.outcomes)]
    return ends + ([("walked, nothing softer", worth.walked)] if worth.walked else [])


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
    page.line(f"Traffic: {_traffic_words(traffic, units)}.", "8")
    alike: list[tuple[list[str], BaseDepth, BaseDepth | None]] = []
    for area in quote.job.areas:
        stone, grid = quote.depths[area.name], quote.geogrid_depths.get(area.name)
        same = next((names for names, *both in alike if both == [stone, grid]), None)
        if same is None:
            alike.append(([area.name], stone, grid))
        else:
            same.append(area.name)
    for names, stone, grid in alike:
        both = [("stone", stone), *([("geogrid", grid)] if grid is not None and grid != stone else [])]
        ways = [(capital(OPTION_WORDS[key]), depth) for key, depth in both]
        page.head((1, 32, listed(names)), gap=3)
        for one in quote.job.areas:
            for hole in one.pavement.holes if one.pavement and one.name in names else ():
                deep = depth_words(hole.base_m, units)
                page.line(f"Test hole, {hole.where}: {deep} of old base, {hole.state}.", "8")
        for words, depth in ways:
            page.line(
                f"{words}: {depth_words(depth.required_m, units)}. {capital(depth.reason)}. Designed with "
                f"{depth.cbr_from}; {depth.reinforcement.words}.", "8 high"
            )
        _checks(page, made, ways)
    page.close()


def _checks(page: Page, made: Report, ways: Sequence[tuple[str, BaseDepth]]) -> None:
    units, many = made.units, len(made.alike) > 2  # of many depths the working is beside the page, on the sheet only
    rows: list[list[Any]] = []
    beside: list[str] = []
    form = Style(size=8, format='0" mm"' if units == "metric" else '0.0" in"')
    for name in dict.fromkeys(check.name for _, depth in ways for check in depth.checks):
        found = [depth.check(name) for _, depth in ways]
        there = [check for check in found if check is not None]
        governs = [words for words, depth in ways if depth.governs == name]
        mark = "" if not governs else " (governs)" if len(governs) == len(ways) else f" (governs {governs[0].lower()})"
        depths = [
            None if check is None else "none" if check.depth_m is None else number(check.depth_m, "depth", units)
            for check in found
        ]
        depths += [None] * (2 - len(depths))
        text = "\n".join(dict.fromkeys(capital(check.sentence) for check in there))
        worked = "; ".join(dict.fromkeys(_working(item, units) for check in there for item in check.working))
        beside += [worked] if many else []
        rows.append([
            (name + mark, "bold 8"), *[(value, form) for value in depths], None,
            " / ".join(dict.fromkeys("yes" if check.counts else "no" for check in there)),
            (text if many or not worked else f"{text}\n{worked}", "6.5"),
            ("; ".join(dict.fromkeys(check.source for check in there)), "6.5 gray")
        ])  # fmt: skip
    first, second = page.row + 1, ways[1][0] if len(ways) > 1 else ""
    table(
        page, f"Check 5|{ways[0][0]} 3>|{second} 3>| 1|Counts 2|What it did, and with what 12|Source 6", rows, "8"
    )
    for place, working in enumerate(beside):
        put_text(page.sheet.cell(first + place, page.columns + 2), working)


def _working(item: Working, units: str) -> str:
    """Return a value on the way in a unit that the reader uses."""
    if isinstance(item.value, str):
        return f"{item.name} {item.value}"
    value, word = float(item.value), item.unit
    if word == "m":
        value, word = number(value, "depth", units), unit("depth", units)
    elif units == "us" and word in _US:
        value, word = convert(value, word, _US[word]), _US[word]
    return f"{item.name} {_short(value, grouped=abs(value) >= 100)} {word}".strip()


def _short(value: float, *, grouped: bool) -> str:
    return f"{value:,.0f}" if grouped else f"{float(f'{value:.3g}'):g}"


def _traffic_words(traffic: Any, units: str) -> str:
    if units == "metric":
        load = f"{traffic.wheel_load_kn:g} kN at {traffic.tire_kpa:g} kPa"
        rut = f"{traffic.rut_mm:g} mm"
    else:
        pounds = round(convert(traffic.wheel_load_kn, "kN", "lbf"), -1)
        load = f"{pounds:,.0f} lb at {convert(traffic.tire_kpa, 'kPa', 'psi'):.0f} psi"
        rut = f"{traffic.rut_mm / 25.4:.1f} in"
    name = f"{traffic.name}{f' ({traffic.meaning})' if traffic.meaning else ''}"
    return f"{name}: wheel load {load}, {traffic.passes:,.0f} passes, rut {rut}, {traffic.esal:,.0f} ESAL"


def sensitivity(page: Page, made: Report) -> None:
    """Write how far each input moves the base with the others held."""
    units = made.units
    word = unit("depth", units)
    columns = f"Input 6|Used 3>|From 2>|To 2>|Depth, {word} 2>|to, {word} 2>| 1|Where the range comes from 6"
    form = Style(size=8, format="0" if units == "metric" else "0.0")
    for (names, _), moved in zip(made.alike, made.sensitivities, strict=True):
        page.head((1, 24, listed(names)), gap=3)
        if moved.moving and len(made.alike) <= 2:
            drawing = _tornado(moved, units)
            page.draw(1, drawing)
            page.next(drawing.height * 72 + 4)
        rows: list[list[Any]] = []
        for row in moved.moving:
            word_of = _US.get(row.unit, row.unit) if units == "us" else row.unit
            used = [_number_words(value, row.unit, units) for value in (row.used, row.low.value, row.high.value)]
            ends = [
                "refused" if end.depth_m is None else number(end.depth_m, "depth", units) for end in (row.low, row.high)
            ]
            name = row.name + (f", {word_of}" if word_of else "")
            reason = (capital(row.reason), "6.5 gray")
            rows.append([(name, "bold 8"), *used, *[(end, form) for end in ends], None, reason])
        if rows:
            table(page, columns, rows, "8")
        if moved.still:
            still = ", ".join(row.name for row in moved.still)
            page.line(f"Within their ranges these do not move the depth: {still}.", "7.5 high")
    page.close()


def _number_words(value: float | str, word: str, units: str) -> str:
    """Return a value in the unit that the reader uses."""
    if isinstance(value, str):
        return value
    if units == "us" and word in _US:
        value = float(f"{convert(value, word, _US[word]):.3g}")
    return _short(value, grouped=value == round(value))


def _tornado(moved: Sensitivity, units: str) -> drawings.Drawing:
    rows, words = [], {}
    used, places = number(moved.designed_m, "depth", units), 0 if units == "metric" else 1
    for at, row in enumerate(moved.moving):
        least, most = (number(value, "depth", units) for value in row.depths_m(moved.designed_m))
        rows.append((row.name, least, used, most))
        words[at] = (fixed(least, places), fixed(most, places))
    caption = f"designed, {unit('depth', units)}; dark: less, light: more"
    return drawings.bars(rows, words, caption, 7.0)


def cone_logs(page: Page, made: Report) -> None:
    """Write every drop of a cone penetrometer: CBR by depth drawn, its layers, and the single readings."""
    units = made.units
    word = unit("depth", units)
    form = Style(size=8, format="0" if units == "metric" else "0.0")
    columns = f"{{}}|From, {word} 3>|To, {word} 3>|Blows 2>|mm/blow 3>|CBR, % 2>| 1|{{}} 7"

    def measured(top_m: float, bottom_m: float, blows: int, mm: float, cbr: float) -> list[Any]:
        depths = [(number(value, "depth", units), form) for value in (top_m, bottom_m)]
        return [*depths, blows, fixed(mm, 1), (half_up(cbr, 3), "8 cbr"), None]

    for spot in made.quote.job.spots:
        for design in spot.drops:
            profile = design.profile
            drop = profile.drop
            name = f", drop {drop.name}" if drop.name else ""
            page.head((1, 24, f"{capital(spot.name)} ({spot.area}): {spot.log}{name}"))
            page.write(
                None, (1, 5, "Design CBR, %", "bold"), (6, 8, half_up(design.cbr, 3), "bold cbr"),
                (9, 24, f"{design.how}. Season and moisture come on top: see Ground evidence.", "8.5 high")
            )
            for text in (*design.warnings, *profile.remarks, *drop.notes, *spot.log_notes):
                page.line(f"{text}.", _QUIET)
            page.draw(1, _curve(design, units))
            page.next(206)
            rows = []
            for place, layer in enumerate(profile.layers, 1):
                told = ["the design layer"] if layer is design.layer else []
                if layer.set_aside:
                    plural = "s" if len(layer.set_aside) > 1 else ""
                    told.append(f"without row{plural} {', '.join(map(str, layer.set_aside))}")
                values = measured(layer.top_m, layer.bottom_m, layer.blows, layer.mm_per_blow, layer.cbr)
                rows.append([place, *values, ", ".join(told) or layer.soil or ""])
            table(page, columns.format("Layer 3", "Counts"), rows, "8")
            table(page, columns.format("Row in log 3>", "Note"), [
                [step.row, *measured(step.top_m, step.bottom_m, step.blows, step.mm_per_blow, cbr), step.note]
                for step, cbr in zip(drop.steps, profile.step_cbrs, strict=True)
            ], "8")  # fmt: skip
    page.close()


def _curve(design: Design, units: str) -> drawings.Drawing:
    def shown(depth_m: float) -> float:
        return number(depth_m, "depth", units)

    profile = design.profile
    layers = [(shown(one.top_m), shown(one.bottom_m), one.cbr) for one in profile.layers]
    steps = zip(profile.drop.steps, profile.step_cbrs, strict=True)
    dots = [(shown((step.top_m + step.bottom_m) / 2), cbr) for step, cbr in steps]
    return drawings.depth_curve(layers, dots, shown(profile.drop.depth_m), f"depth, {unit('depth', units)}", 6.8, 2.8)


# --- sources


def sources(page: Page, made: Report) -> None:
    """Write what the readings of this job rest on, and the cautions with their sources and what calls for them.

    The sources of the checks are beside them, on Why this depth.
    """
    cited: dict[str, list[str]] = {}
    for ground in made.quote.ground.values():
        for spot in ground.spots:
            for finding in spot.findings:
                cited.setdefault(finding.source, []).append(finding.label)
    small, quiet = "7", "7 gray"
    if cited:
        page.head((1, 24, "What the readings of this job rest on"), gap=2)
        rows = [[(source, small), (", ".join(dict.fromkeys(uses)), quiet)] for source, uses in cited.items()]
        table(page, "Source 15|Used for 9", rows)
    page.line("Marks of trust: " + "; ".join(f"[{word}] {meaning}" for word, meaning in TRUST.items()) + ".", _QUIET)
    page.head((1, 24, "Cautions of the crew, and what calls for them here"), gap=5)
    rows = [
        [(caution.heading, "bold 7"), (capital(caution.told) or ("this job" if caution.found else "always"), small),
         (caution.source, quiet)] for caution in cautions("crew", made.facts, made.units)
    ]  # fmt: skip
    table(page, "Caution 6|Found here 7|Source 11", rows)
    chance, scatter = published("chance_weaker"), published("test_scatter")
    page.line(f"Chances: {chance.title}, {chance.cited}; {scatter.title}, {scatter.cited}.", _QUIET)
    page.close()
