"""The office's sheet Ground evidence: each reading and what it allows, what decides, what a further test is worth."""

from math import isinf
from typing import Final

from basecalc.core.numbers import half_up, printed
from basecalc.core.published import table
from basecalc.ground.classes import strong_edge, weak_edge
from basecalc.ground.evidence import SET_ASIDE, AreaEvidence, ReadingEvidence, Span, SpotEvidence, scatter
from basecalc.ground.readings import ground_words
from basecalc.ground.strength import ENOUGH, AreaStrength
from basecalc.pricing.records import Quote
from basecalc.pricing.value_of_testing import LEAST_CHANCE, AtStrength, WorthOfTest, worth_of_tests
from basecalc.workbook import style
from basecalc.workbook.client_words import capital
from basecalc.workbook.figures import depth_format, money, number
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import COUNTS, columns, finish, start
from basecalc.workbook.values import ValuedBook

TITLE: Final = "Ground evidence"
_WIDTHS: Final = (19.0, 22.0, 9.5, 18.0, 12.5, 19.0, 9.0, 9.0, 13.0, 66.0)
_LAST: Final = len(_WIDTHS)
_CBR: Final = "[<10]0.0#;0.0"
OFFERED: Final = "as offered"
WALKED: Final = "walked, nothing softer"


def write(book: ValuedBook, quote: Quote, revision: int) -> None:
    """Write the sheet."""
    flow = start(book, TITLE, _WIDTHS, quote, revision, "Every reading, what it allows, what decides, what is open.")
    worths = worth_of_tests(quote)
    _worth(flow, worths, quote)
    for worth in worths:
        _area(flow, worth, quote.ground[worth.area])
    finish(flow, quote)


def _area(flow: Flow, worth: WorthOfTest, ground: AreaStrength) -> None:
    found = worth.evidence
    top = flow.heading(found.area, 0)
    titles = ("Spot", "Test and reading", "Moisture", "As read", "CBR, %", "Taken as", "From, %", "To, %", "Part")
    columns(flow, *titles, "  Source", right=(5, 7, 8))
    for spot in found.spots:
        _spot(flow, spot)
        flow.keep(top)
        top = flow.row
    _conclusion(flow, found, worth)
    steps = worth.next_steps()
    advice = ground.test_next.replace(f"{ENOUGH}.", "").strip() if steps else ground.test_next
    for place, text in enumerate(words for words in (advice, *steps) if words):
        flow.put(1, 1, "" if place else "Test next", "label")
        flow.put(2, _LAST, capital(text))
        flow.next()
    for words, texts in (("Conflict", ground.conflicts), ("Flag", ground.flags)):
        for text in texts:
            flow.put(1, 1, words, "label")
            flow.put(2, _LAST, capital(text), "caution")
            flow.next()
    flow.keep(top)


def _spot(flow: Flow, spot: SpotEvidence) -> None:
    governs = "governs" if spot.governs else ""
    several = len(spot.readings) > 1
    for place, one in enumerate(spot.readings):
        part = one.role if several else governs or one.role
        _reading(flow, capital(spot.name) if place == 0 else "", one, part)
    if several:
        flow.put(2, 2, "together", "label")
        flow.put(6, 6, ground_words(spot.strength.strength_class, spot.left.strongest), "label")
        _cbrs(flow, spot.left, "strong")
        flow.put(9, 9, governs, "label")
        aside = any(one.role == SET_ASIDE for one in spot.readings)
        conflict = "; where they conflict the weaker counts" if aside else ""
        _source(flow, f"what all readings of the spot allow{conflict}; {table('confidence_rules').cited}")
        flow.next(rule=True)


def _reading(flow: Flow, name: str, one: ReadingEvidence, part: str) -> None:
    finding = one.finding
    flow.put(1, 1, name, "label")
    flow.put(2, 2, finding.label)
    flow.put(3, 3, finding.reading.moisture or "not noted")
    flow.put(4, 4, ground_words(*finding.as_read[:2]))
    if (measured := finding.as_read[2]) is not None:
        flow.put(5, 5, half_up(measured, 2), "number", _CBR)
    flow.put(6, 6, ground_words(finding.weakest, finding.strongest))
    _cbrs(flow, one.taken, "number")
    flow.put(9, 9, part)
    _source(flow, one.source)
    flow.next(rule=True)
    note = "its layers stand on the sheet Cone log" if finding.reading.basis else finding.reading.note
    if note:
        flow.put(2, _LAST, f"Note: {note}", "quiet")
        flow.next()


def _cbrs(flow: Flow, span: Span, look: style.Look) -> None:
    flow.put(7, 7, half_up(span.low_cbr, 2), look, _CBR)
    high = "no end" if isinf(span.high_cbr) else half_up(span.high_cbr, 2)
    flow.put(8, 8, high, look, _CBR, across="right")


def _source(flow: Flow, words: str) -> None:
    style.align(flow.put(_LAST, _LAST, words, "quiet"), across="left", indent=1)


def _conclusion(flow: Flow, found: AreaEvidence, worth: WorthOfTest) -> None:
    """Write what the area is designed for and by which rule, what is left open, and how far it can be trusted."""
    made = worth.offered.depth
    flow.put(1, 1, "Designed for", "label")
    flow.put(2, 6, f"{capital(made.cbr_from)}: {found.rule}.")
    flow.put(7, 7, half_up(made.cbr, 2), "strong", _CBR)
    _source(flow, found.rule_source)
    flow.next(rule=True)
    flow.put(1, 1, "Left open", "label")
    flow.put(2, 6, f"{capital(_left(found))}.")
    _cbrs(flow, found.left, "strong")
    _source(flow, _why_open(found.left))
    flow.next(rule=True)
    flow.put(1, 1, "Confidence", "label")
    flow.put(2, 9, f"{capital(found.confidence.sentence)}.")
    _source(flow, found.confidence.source)
    flow.next(rule=True)
    if chance := found.confidence.chance_sentence:
        flow.put(1, 1, "Chance", "label")
        flow.put(2, 9, f"{capital(chance)}.", "caution" if found.confidence.few else "text")
        _source(flow, f"{table('chance_weaker').title}: {table('chance_weaker').cited}")
        flow.next(rule=True)


def _left(found: AreaEvidence) -> str:
    if found.to_test:
        return f"what a cone test there may still find ({'; '.join(found.to_test)})"
    return "what the number that decides may be off by" if found.spots else "what a test may still find"


def _why_open(left: Span) -> str:
    edges = {weak_edge(left.weakest), strong_edge(left.strongest)}
    if edges == {left.low_cbr, left.high_cbr}:
        return f"weak edge of {left.weakest} to strong edge of {left.strongest}: {table('cbr_classes').cited}"
    low, high = scatter()
    reason = str(table("sensitivity_ranges").exact("cbr")["reason"])
    return f"a measured CBR times {low:g} to {high:g}, within the classes of the other readings: {reason}"


def _worth(flow: Flow, worths: tuple[WorthOfTest, ...], quote: Quote) -> None:
    top = flow.heading("What one more test is worth, the price of the whole job with one area changed", 0)
    for first, last, title in (
        (1, 1, "Area"), (2, 2, "The test ends"), (3, 3, "CBR, %"), (4, 4, "Class"), (5, 5, "Stone base"),
        (6, 6, "Check that governs"), (7, 8, "Price"), (9, 9, "Against offer"), (_LAST, _LAST, "  Source"),
    ):  # fmt: skip
        flow.put(first, last, title, "column", across="right" if first in (3, 5, 7, 9) else "")
    flow.next()
    for worth in worths:
        offer = f"G{flow.row}"
        for place, (words, at) in enumerate(_ends(worth)):
            _end(flow, worth.area if place == 0 else "", words, at, worth, offer, quote.job.units)
        flow.put(2, _LAST, _in_words(worth, quote.job.units), "good")
        flow.next()
        flow.keep(top)
        top = flow.row


def _ends(worth: WorthOfTest) -> list[tuple[str, AtStrength]]:
    """Return the offer, what the test may end in with its chance, and the area walked, each with its words."""
    ends = [(OFFERED, worth.offered)]
    if worth.proposed:
        beyond = [worth.beyond] if worth.beyond else []
        ends += [(f"here: {100 * at.chance:.0f} %", at) for at in (*beyond, *worth.outcomes)]
    return ends + ([(WALKED, worth.walked)] if worth.walked else [])


def _end(flow: Flow, area: str, words: str, at: AtStrength, worth: WorthOfTest, offer: str, units: str) -> None:
    depth = at.depth
    flow.put(1, 1, area, "label")
    flow.put(2, 2, words)
    flow.put(3, 3, half_up(at.cbr, 2), "number", _CBR)
    flow.put(4, 4, depth.strength.strength_class)
    flow.put(5, 5, number(depth.required_m, "depth", units), "strong", depth_format(depth.required_m, units))
    flow.put(6, 6, depth.governs + (", with geogrid" if depth.reinforcement.kind == "geogrid" else ""))
    own = f"G{flow.row}"
    flow.put(7, 8, "cannot be built" if at.total is None else at.total, "number", "money", across="right")
    if at is worth.offered:
        flow.put(9, 9, "the offer", across="right")
    elif at.total is not None and worth.offered.total is not None:
        less = printed(float(at.total - worth.offered.total))
        flow.formula(9, 9, COUNTS.format(own, offer, f"ROUND({own}-{offer},2)"), less, "number", "money whole")
    check = depth.check(depth.governs)
    chance = f"; chance and CBR: {table('test_scatter').title}, {table('test_scatter').cited}" if at.chance else ""
    source = f"depth: {check.source if check else depth.reason}; price: this file's prices, as on Costs{chance}"
    _source(flow, "; ".join(part for part in (source, at.note) if part))
    flow.next(rule=True)


def _in_words(worth: WorthOfTest, units: str) -> str:
    """Return what the test is worth in words and in money: what it saves, what more costs, never netted."""
    if not worth.proposed:
        return worth.sentence(units)
    parts = [] if worth.saves is None else [f"expected saving {money(worth.saves)}"]
    if worth.chance_more >= LEAST_CHANCE and worth.more:
        least = "at least " if worth.engineer else ""
        parts.append(f"where more is needed, {least}{money(worth.more)} more, owed with or without the test")
    return " ".join([worth.sentence(units), *([f"In money: {'; '.join(parts)}."] if parts else [])])
