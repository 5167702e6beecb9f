"""The office's sheet Ground evidence: readings, rule, worth of a test, and a source beside every number."""

from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from engines import ironcalc_results, printed_pages, stored
from openpyxl import load_workbook
from openpyxl.worksheet.worksheet import Worksheet
from trial_quote import FIRM, METRIC, SOFT, TWO_AREAS, trial_quote

from basecalc.ground.readings import ground_words
from basecalc.pricing.records import Quote
from basecalc.pricing.value_of_testing import worth_of_tests
from basecalc.workbook import office_evidence
from basecalc.workbook.figures import number
from basecalc.workbook.values import ValuedBook

QUARTILE = {
    **FIRM,
    "spot": [{"name": f"S{k}", "readings": [{"test": "cone", "reading": 40 + 9 * k}]} for k in range(5)],
}
JOBS = {"soft": SOFT, "firm": FIRM, "two areas": TWO_AREAS, "metric": METRIC, "quartile": QUARTILE}
SOURCE = 10  # the column of the sources


@pytest.fixture(scope="module", params=JOBS)
def made(request: pytest.FixtureRequest) -> Quote:
    return trial_quote(JOBS[request.param], **({"units": "metric"} if request.param == "metric" else {}))


def written(quote: Quote) -> bytes:
    book = ValuedBook()
    office_evidence.write(book, quote, 1)
    return book.to_bytes()


def sheet_of(quote: Quote) -> Worksheet:
    return load_workbook(BytesIO(written(quote)), data_only=True)[office_evidence.TITLE]


def rows(quote: Quote) -> list[tuple[Any, ...]]:
    return list(sheet_of(quote).iter_rows(values_only=True))


def test_every_number_has_its_source_beside_it(made: Quote) -> None:
    numbers = 0
    for row in sheet_of(made).iter_rows():
        found = [cell.value for cell in row if isinstance(cell.value, int | float)]
        numbers += len(found)
        source = row[SOURCE - 1].value
        assert not found or (isinstance(source, str) and len(source) > 12), (row[0].row, found)
    assert numbers >= 8  # the walk finds what is there
    sources = {str(row[SOURCE - 1]) for row in rows(made) if row[SOURCE - 1]}
    readings = [finding for ground in made.ground.values() for spot in ground.spots for finding in spot.findings]
    for finding in readings:
        assert any(words.startswith(finding.source) for words in sources)


def test_every_reading_stands_with_what_it_allows_as_read_and_as_taken(made: Quote) -> None:
    found = rows(made)
    for ground in made.ground.values():
        for spot in ground.spots:
            for finding in spot.findings:
                (row, *_) = [row for row in found if row[1] == finding.label and row[3]]
                assert row[2] == (finding.reading.moisture or "not noted")
                assert row[3] == ground_words(*finding.as_read[:2])
                assert row[5] == ground_words(finding.weakest, finding.strongest)
                assert (row[4] is None) == (finding.as_read[2] is None)
                if row[4] is not None:
                    assert row[4] == pytest.approx(finding.as_read[2], abs=0.0051)


def test_one_reading_of_each_spot_decides_and_one_spot_governs_or_the_quartile_does(made: Quote) -> None:
    parts = [row[8] for row in rows(made)]
    spots = [spot for ground in made.ground.values() for spot in ground.spots]
    governing = [ground.governed_by for ground in made.ground.values() if ground.governed_by]
    assert parts.count("governs") == len(governing)
    single = [spot for spot in spots if len(spot.findings) == 1 and spot.name in governing]
    assert parts.count("decides") == len(spots) - len(single)
    conflicts = sum(len(spot.conflicts) for spot in spots)
    assert parts.count("set aside") + parts.count("cut off") == conflicts


def test_the_rule_the_confidence_and_every_note_stand_in_words(made: Quote) -> None:
    words = "\n".join(str(cell) for row in rows(made) for cell in row if cell).casefold()
    for worth in worth_of_tests(made):
        ground = made.ground[worth.area]
        for told in (
            ground.rule,
            ground.test_next.replace("No further test is needed here.", "").strip(),
            worth.evidence.confidence.sentence,
            worth.evidence.confidence.chance_sentence,
            *worth.next_steps(),
            *ground.conflicts,
            *ground.flags,
        ):
            assert told.casefold() in words
        assert worth.sentence(made.job.units).casefold() in words


def test_every_outcome_has_its_chance_its_depth_and_the_price_of_the_job(made: Quote) -> None:
    found = [row for row in rows(made) if str(row[1]).startswith(("as offered", "here: ", "walked, nothing softer"))]
    ends = []
    for worth in worth_of_tests(made):
        proposed = [*([worth.beyond] if worth.beyond else []), *worth.outcomes] if worth.proposed else []
        ends += [worth.offered, *proposed, *([worth.walked] if worth.walked else [])]
    for row, at in zip(found, ends, strict=True):
        assert row[2] == pytest.approx(at.cbr, abs=0.0051)
        assert row[4] == pytest.approx(number(at.depth.required_m, "depth", made.job.units))
        assert at.total is not None
        assert row[6] == pytest.approx(float(at.total))
        if row[1] == "as offered":
            assert row[6] == pytest.approx(float(made.offer.total))
        else:
            assert row[8] == pytest.approx(float(at.total - made.offer.total))


def test_the_chance_is_said_and_loudly_where_one_or_two_spots_were_read(made: Quote) -> None:
    said = [str(row[1]) for row in rows(made) if row[0] == "Chance"]
    known = [worth.evidence.confidence for worth in worth_of_tests(made) if worth.evidence.confidence.spots]
    assert len(said) == len(known)
    for words, confidence in zip(said, known, strict=True):
        assert "more than a quarter of the area is weaker than designed for" in words
        assert words.startswith("Only ") is (confidence.spots < 3)


def test_its_formulas_give_what_is_stored_beside_them(made: Quote, tmp_path: Path) -> None:
    path = tmp_path / "evidence.xlsx"
    path.write_bytes(written(made))
    values, calculated = stored(path), ironcalc_results(path)
    differences = [row for row in rows(made) if str(row[1]).startswith(("here: ", "walked, nothing softer"))]
    assert len(values) == len(differences)
    for place, value in values.items():
        assert calculated[place] == pytest.approx(value, abs=1e-6), place


def test_an_end_that_cannot_be_built_shows_no_price_and_says_why() -> None:
    area = SOFT["area"][0] | {"finish_above_ground": 24, "strength": "soft"}
    quote = trial_quote(SOFT | {"area": [area], "spot": [], "job": {**SOFT["job"], "offer": "stone"}})
    *_, row = (row for row in rows(quote) if row[6] == "cannot be built")
    assert (row[6], row[8]) == ("cannot be built", None)
    assert worth_of_tests(quote)[0].strong.note in row[SOURCE - 1]


@pytest.mark.libreoffice
@pytest.mark.parametrize("job", ["soft", "two areas", "quartile"])
def test_it_prints_on_one_or_two_pages(job: str, tmp_path: Path) -> None:
    path = tmp_path / "evidence.xlsx"
    path.write_bytes(written(trial_quote(JOBS[job])))
    assert printed_pages(path, tmp_path) <= 2
