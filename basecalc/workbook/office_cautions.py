"""The office's sheet Cautions and sources: what can hurt someone, and what the numbers rest on."""

from basecalc.cautions import site_facts
from basecalc.core.published import TRUST
from basecalc.pricing.records import Quote
from basecalc.workbook.cautions import cautions
from basecalc.workbook.client_words import capital
from basecalc.workbook.layout import Flow
from basecalc.workbook.office_sheet import columns, finish, start
from basecalc.workbook.values import ValuedBook

TITLE = "Cautions and sources"


def write(book: ValuedBook, quote: Quote, revision: int) -> None:
    """Write the sheet."""
    flow = start(
        book, TITLE, (22.0, 64.0, 34.0, 40.0), quote, revision,
        "The calculation informs; local code and a licensed engineer decide.",
    )  # fmt: skip
    columns(flow, "Caution", "What to do", "Found here", "Source")
    for caution in cautions("crew", site_facts(quote), quote.job.units):
        flow.put(1, 1, caution.heading, "label")
        flow.put(2, 2, caution.text)
        flow.put(3, 3, capital(caution.told) or ("always" if not caution.found else "this job"))
        flow.put(4, 4, caution.source, "quiet")
        flow.next(rule=True)
    _sources(flow, quote)
    finish(flow, quote)


def _sources(flow: Flow, quote: Quote) -> None:
    """Write what the numbers of this job rest on, each once, and what the marks of trust mean."""
    flow.heading("What the numbers of this job rest on", 0)
    cited: dict[str, list[str]] = {}
    for ground in quote.ground.values():
        for spot in ground.spots:
            for finding in spot.findings:
                cited.setdefault(finding.source, []).append(f"reading: {finding.label}")
    for depths in (quote.depths, quote.geogrid_depths):
        for depth in depths.values():
            for check in depth.checks:
                cited.setdefault(check.source, []).append(f"check: {check.name}")
    columns(flow, "Source", "", "Used for", "")
    for source, uses in cited.items():
        flow.put(1, 2, source)
        flow.put(3, 4, ", ".join(dict.fromkeys(uses)), "quiet")
        flow.next(rule=True)
    flow.gap(4)
    flow.put(1, 1, "Marks of trust", "label")
    flow.put(2, 4, "; ".join(f"[{word}] {meaning}" for word, meaning in TRUST.items()) + ".", "quiet")
    flow.next()
