"""What the command line prints of a quote: a few lines of text, or the same numbers for JSON."""

from typing import Any

from basecalc.cautions import FIND_THE_FILL
from basecalc.core.numbers import printed
from basecalc.core.units import INCH_M
from basecalc.core.words import OPTION_WORDS, depth_words, money
from basecalc.pricing.price_changes import old_numbers, old_words
from basecalc.pricing.records import Estimate, Quote
from basecalc.report import Report, report
from basecalc.runs import Outcome


def _estimate_numbers(estimate: Estimate | None) -> dict[str, Any] | None:
    if estimate is None:
        return None
    return {
        "base_depth_in": {name: printed(depth / INCH_M) for name, depth in estimate.takeoff.base_m.items()},
        "total": str(estimate.total),
        "price": {key: str(estimate.sum(key)) for key in ("charged", "discount", "small_job", "rounding", "rest")},
        "extra_lines": [
            {
                "code": line.code,
                "item": line.item,
                "area": line.area,
                "quantity": str(line.quantity),
                "unit": line.unit,
                "unit_price": str(line.unit_price),
                "amount": str(line.amount),
                "taxable": line.taxable,
                "sense": line.sense,
                "scope": line.text,
            }
            for line in estimate.lines
            if line.extra
        ],
        "quantities": [
            {"code": one.code, "area": one.area, "amount": one.amount, "unit": one.unit, "material": one.variant}
            for one in estimate.takeoff.quantities
        ],
    }


def quote_numbers(outcome: Outcome) -> dict[str, Any]:
    """Return what became of a job as plain values: ground, depths, options, files, or the refusal."""
    numbers: dict[str, Any] = {
        "job_file": str(outcome.job), "refusal": outcome.refusal or None, "notes": list(outcome.notes),
    }  # fmt: skip
    if outcome.left_out:
        return numbers | {"left_out": "its quote is there already"}
    quote, files = outcome.quote, outcome.files
    if quote is None:
        return numbers
    made = report(quote)
    return numbers | {
        "number": quote.job.number,
        "revision": files.revision if files else None,
        "unchanged": outcome.unchanged,
        "client": quote.job.client,
        "ground": {
            name: {
                "strength_class": area.strength.strength_class,
                "cbr_percent": area.strength.cbr,
                "cbr_as_read_percent": area.strength.as_read or area.strength.cbr,
                "walked": area.walked,
                "rule": area.rule,
            }
            for name, area in quote.ground.items()
        },
        "confidence": {area.name: _confidence_numbers(made, area.name) for area in quote.job.areas},
        "governs": {name: depth.governs for name, depth in quote.offered_depths.items()},
        "offered": quote.offered,
        "total": str(quote.offer.total),
        "payments": [{"due": one.words, "amount": str(one.amount)} for one in quote.payments],
        "options": {
            "stone": _estimate_numbers(quote.stone),
            "geogrid": _estimate_numbers(quote.geogrid),
            "habit": _estimate_numbers(quote.standard),
        },
        "loose_fill": [
            {
                "area": one.area,
                "priced": one.chosen.way,
                "other_way_total": None if one.other is None else str(one.other.total),
                "cannot": one.cannot or None,
                "recompacting_adds": None if one.recompact is None else str(one.recompact),
                "cannot_recompact": one.no_recompact or None,
            }
            for one in quote.fill_options
        ],
        "weak_corners": [
            {
                "area": one.area,
                "spot": one.spot,
                "spots": one.spots,
                "share_of_area": printed(one.share),
                "whole_area": {"base_depth_in": printed(one.whole_m / INCH_M), "total": str(one.whole_total)},
                "corner_by_itself": {
                    "corner_base_depth_in": printed(one.weak_m / INCH_M),
                    "rest_base_depth_in": printed(one.rest_m / INCH_M),
                    "total": str(one.split_total),
                },
            }
            for one in quote.weak_corners
        ],
        "price_depends_on_fill": dict(made.unknown_fill),
        "separator": None
        if quote.separator is None
        else {
            "missing_in": dict(quote.separator.why),
            "adds_to_total": None if quote.separator.more is None else str(quote.separator.more),
            "cannot": quote.separator.cannot or None,
        },
        "construction": {
            name: {
                "depth_in": None if check.depth_m is None else printed(check.depth_m / INCH_M),
                "counts": check.counts,
                "trucks_may_drive": made.may_drive[name],
                "sentence": check.sentence,
            }
            for name, check in made.construction.items()
        },
        "old_base": {
            one.area.name: {"stays_in": printed(one.kept_m / INCH_M), "new_stone_in": printed(one.new_m / INCH_M)}
            for one in quote.offer.takeoff.areas
            if one.kept_m > 0
        },
        "deeper_base": {
            name: [
                {"base_depth_in": printed((deep + place * quote.deeper.step_m) / INCH_M), "adds": str(price)}
                for place, price in enumerate(quote.deeper.areas.get(name, ()), 1)
            ]
            for name, deep in quote.offer.takeoff.base_m.items()
        },
        "work": {
            "days": made.offer.days,
            "crew_hours": printed(made.offer.crew_h),
            "machine_hours": printed(made.offer.machine_h),
            "steps": [
                {
                    "work": one.code,
                    "what": one.title,
                    "hours": one.hours,
                    "first_day": one.first_day,
                    "last_day": one.last_day,
                }
                for one in made.order.plan
            ],
        },
        "order": {
            "stone": [
                {"code": one.code, "material": one.material, "tons": one.tons, "loads": one.loads}
                for one in made.order.stones
            ],
            "extra_lines": [
                {"item": one.item, "area": one.area, "quantity": str(one.quantity), "unit": one.unit, "scope": one.text}
                for one in made.order.extras
            ],
        },
        "client_file": str(files.client) if files else None,
        "office_file": str(files.office) if files else None,
        "crew_file": str(files.crew) if files else None,
        "pdf": str(outcome.pdf) if outcome.pdf else None,
        "crew_pdf": str(outcome.crew_pdf) if outcome.crew_pdf else None,
        "old_prices": old_numbers(made.old_prices),
    }


def _confidence_numbers(made: Report, name: str) -> dict[str, Any]:
    known = made.evidence[name].confidence
    return {
        "word": known.word,
        "spots": known.spots,
        "readings": known.tests,
        "walked": known.walked,
        "chance_weaker": known.chance,
        "doubts": list(known.doubts),
    }


def quote_text(outcome: Outcome) -> str:
    """Return a quote as a few lines of text: the ground, the depths, the money, the files."""
    quote, files = outcome.quote, outcome.files
    if quote is None:
        return ""
    rows = ["", f"{quote.job.number}  {quote.job.client}, {quote.job.site}"]
    if files is None:
        rows.append("  dry run: priced and not written")
    elif outcome.unchanged:
        rows.append(f"  no change: {quote.job.number}-r{files.revision} holds, and no new revision was written")
    rows += [f"  {name}: {_ground(quote, name)}; base {_depths(quote, name)}" for name in quote.ground]
    offer = f"  offered: {OPTION_WORDS[quote.offered]}, {money(quote.offer.total)}"
    rows.append("; ".join(words for words in (offer, _others(quote)) if words))
    made = report(quote)
    rows += [f"  {words}" for words in worth_a_look(made)]
    if words := old_words(made.old_prices, quote.book.company):
        rows.append(f"  {words}")
    written = (files.client, files.office, files.crew) if files else ()
    rows += [f"  {path}" for path in (*written, outcome.pdf, outcome.crew_pdf) if path is not None]
    return "\n".join(rows)


def worth_a_look(made: Report) -> list[str]:
    """Return what the office must know before it sends the quote: fill of unknown depth, a missing separator."""
    rows = [f"price is conditional, {name}: {words}; {FIND_THE_FILL}" for name, words in made.unknown_fill.items()]
    if (added := made.quote.separator) is not None:
        price = f"cannot be priced: {added.cannot}" if added.more is None else f"adds {money(added.more)}"
        rows += [f"no separator, {name}: {words}; a geotextile {price}" for name, words in added.why.items()]
    return rows


def _ground(quote: Quote, name: str) -> str:
    strength = quote.ground[name].strength
    return strength.strength_class + ("" if strength.cbr is None else f" (CBR {strength.cbr:.2g})")


def _depths(quote: Quote, name: str) -> str:
    units = quote.job.units
    words = [depth_words(quote.stone.takeoff.base_m[name], units)]
    if quote.geogrid is not None:
        words.append(f"{depth_words(quote.geogrid.takeoff.base_m[name], units)} with geogrid")
    if quote.standard is not None:
        words.append(f"standard depth {depth_words(quote.standard.takeoff.base_m[name], units)}")
    return ", ".join(words)


def _others(quote: Quote) -> str:
    return ", ".join(
        f"{OPTION_WORDS[estimate.option]} {money(estimate.total)}"
        for estimate in (quote.stone, quote.geogrid, quote.standard)
        if estimate is not None and estimate.option != quote.offered
    )
