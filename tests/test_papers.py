"""The papers of a quote: what client, crew and office read, worked out by hand, and what none of them may hold."""

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET
from zipfile import ZipFile

import pytest
from engines import printed_pages
from openpyxl import load_workbook
from openpyxl.utils import get_column_letter
from papers import (
    JOBS,
    client_file,
    crew_file,
    levels,
    office_file,
    papers,
    row_with,
    rows,
    sheets,
    text,
    trial,
    unsaid,
)
from printed import CLASSES, INCH_M, rank
from trial_quote import FIRM, METRIC, PRICES, SOFT, TERMS, trial_book, trial_quote

from basecalc import (
    BasecalcError,
    InputError,
    Quote,
    change_order,
    load_job,
    load_prices,
    parse_job,
    quote,
    write_change,
    write_quote,
)
from basecalc.demo import write_demo
from basecalc.ground.readings import CREW_TESTS, Reading, find, ground_words, rut_of, weaker_signs
from basecalc.pricing.value_of_testing import worth_of_tests
from basecalc.report import report


@pytest.fixture(scope="module", params=JOBS)
def made(request: pytest.FixtureRequest) -> Quote:
    return trial(request.param)


@pytest.fixture(scope="module")
def two() -> Quote:
    return trial("two areas")


def sloped(job: dict[str, Any], **keys: Any) -> dict[str, Any]:
    return job | {"area": [job["area"][0] | keys, *job["area"][1:]]}


def parts(data: bytes) -> dict[str, str]:
    with ZipFile(BytesIO(data)) as archive:
        return {
            name: archive.read(name).decode("utf-8") for name in archive.namelist() if name.endswith((".xml", ".rels"))
        }


def drawn(data: bytes) -> str:
    return "\n".join(words for name, words in parts(data).items() if name.startswith("xl/drawings/drawing"))


def every_cell(data: bytes) -> list[Any]:
    return [cell for sheet in load_workbook(BytesIO(data)) for row in sheet.iter_rows() for cell in row]


def numbers(data: bytes) -> set[Decimal]:
    """Return every number of the file: cell values, and numbers inside texts, formulas and drawings."""
    found = set()
    for name, words in parts(data).items():
        if name.startswith(("xl/worksheets/", "xl/drawings/", "docProps/", "xl/sharedStrings", "xl/workbook")):
            for node in ET.fromstring(words).iter():
                if node.tag.endswith(("}pt", "}ext", "}off", "}path")):
                    continue  # where a drawing's lines are
                own = [node.text or "", *(node.attrib.values() if name.startswith("docProps") else ())]
                for one in re.findall(r"\d[\d,]*\.?\d*", " ".join(own)):
                    found.add(round(Decimal(one.replace(",", "")), 4))
    return found


def secrets(quote: Quote) -> dict[str, Decimal]:
    """Return every number of the office's that a client must not find."""
    company = quote.book.company
    hidden = {f"unit price of {code}": Decimal(price) for code, _, price, _, _ in PRICES}
    for name in ("overhead", "profit", "contingency"):
        share = Decimal(str(getattr(company, name)))
        hidden |= {name: share, f"{name} in percent": share * 100}
    for one in (quote.stone, quote.geogrid, quote.standard):
        if one is not None:
            for field in ("cost", "contingency", "overhead", "profit", "before_tax", "taxable", "tax"):
                hidden[f"{field} of {one.option}"] = getattr(one, field)
            hidden |= {f"line {line.item} of {one.option}": line.amount for line in one.lines}
    assert quote.standard is not None
    hidden["total at the standard depth"] = quote.standard.total
    if quote.break_even is not None and quote.break_even.per_roll is not None:
        hidden["break-even price"] = quote.break_even.per_roll
    return {name: value for name, value in hidden.items() if value}


# ---- what no paper may hold


def test_no_cost_margin_or_unit_price_is_anywhere_in_the_client_file(made: Quote) -> None:
    seen = numbers(client_file(made))
    assert made.offer.total in seen  # the search finds what is there
    assert {name for name, value in secrets(made).items() if value in seen} == set()


def test_no_supplier_price_code_price_cell_or_file_is_anywhere_in_the_client_file(made: Quote) -> None:
    words = {supplier for *_, supplier in PRICES if supplier}
    words |= {"prices.xlsx", "crew-time", "base-stone", "spoil-haul", "overhead", "profit", "contingency", "habit"}
    words.add("standard depth")
    words |= {price.cell for price in made.book.prices.values()}
    found = "\n".join(parts(client_file(made)).values()).casefold()
    assert "fernhollow" in found
    assert {word for word in words if word.casefold() in found} == set()


def test_the_same_search_finds_the_office_numbers_in_the_office_file() -> None:
    """Otherwise an empty result above would prove nothing."""
    quote = trial("soft")
    seen = numbers(office_file(quote))
    missing = {name for name, value in secrets(quote).items() if value not in seen and "percent" not in name}
    # rows of work and material that this job does not need are in no file
    assert {name.split()[-1] for name in missing} <= {"old-pavement", "old-pavement-haul", "foundation-fill"}


def test_nothing_is_hidden_noted_or_named_in_the_client_file(made: Quote) -> None:
    data = client_file(made)
    book = load_workbook(BytesIO(data))
    assert [sheet.sheet_state for sheet in book] == ["visible"] * len(book.sheetnames)
    assert book.sheetnames == ["1 Proposal", "2 Prices and terms", "3 Ground report"]
    assert list(book.defined_names) == []
    for sheet in book:
        assert not any(one.hidden for one in (*sheet.column_dimensions.values(), *sheet.row_dimensions.values()))
    assert not [name for name in parts(data) if re.search("comment|externalLink|customXml|vba|printerSettings", name)]
    assert book.properties.creator == book.properties.lastModifiedBy == "Fernhollow Driveways"
    assert (book.properties.description, book.properties.keywords) == (None, None)


def test_no_cost_price_or_supplier_is_anywhere_in_the_crews_file(made: Quote) -> None:
    data = crew_file(made)
    seen = numbers(data)
    # a rate or a share may be a small number that a depth happens to be; money is looked for to the cent
    money = {name: value for name, value in secrets(made).items() if value > 100 or value % 1}
    assert {name for name, value in money.items() if value in seen} == set()
    page = text(data).casefold()
    assert {
        one for one in (*(row[4] for row in PRICES if row[4]), "$", "overhead", "profit") if one.casefold() in page
    } == set()
    assert all(sheet.sheet_state == "visible" for sheet in load_workbook(BytesIO(data)))


# Read against: American spelling, no tag of trust and no symbol on what client and crew read, no word of the house.
BRITISH = """tyre|metre|litre|colour|grey|kerb|plough|labour|centre|neighbour|mark-up|rubbish|programme|aluminium|whilst
nought|slip of the pen"""
STRANGE = """[memory]|[read]|[own]|[practice]|[digitized]|[computed]|no source|(CBR|CBR,|.toml|.csv
 stands|habit|told|held against| is no | are no |{|}"""
OFFICE = """we know this ground|could save|could show|expected saving|cone test|would not change the depth
money in the ground|more than a quarter|chance of|confidence|everything included"""


def named(words: str, page: str) -> list[str]:
    """Return which of some words a page names."""
    return [one for one in re.split(r"[|\n]", words) if one in page]


def all_words(data: bytes) -> str:
    """Return every word of a paper, those of its drawings with it."""
    return f"{text(data)}\n{' '.join(re.findall(r'<a:t>([^<]*)', drawn(data)))}"


def strange(data: bytes, *, metric: bool = False) -> list[str]:
    """Return what a client or a crew should not have to read."""
    page = all_words(data).replace("water stands", "water")
    return named(f"{BRITISH}\n{STRANGE}", page) + ([] if metric else re.findall(r"\d (?:mm|m|cm|kPa|kN)\b|tsf", page))


def test_client_and_crew_read_plain_american_english_without_tags(made: Quote) -> None:
    for data in (client_file(made), crew_file(made)):
        assert strange(data, metric=made.job.units == "metric") == []


def test_every_paper_of_the_demo_reads_as_an_american_trade_would_say_it(tmp_path: Path) -> None:
    """All of it is printed (pytest -s): three quotes and a change order, for the client, the crew and the office."""
    demo = write_demo(tmp_path / "demo")
    book = load_prices(demo.prices)
    quotes = [quote(load_job(path), book) for path in demo.jobs]
    files = [write_quote(one, tmp_path / "q") for one in quotes]
    files.append(write_change(change_order(quotes[1], {"Driveway": 0.55}, 1), tmp_path / "q"))
    for one in files:
        for path in (one.client, one.crew, one.office):
            data = path.read_bytes()
            print(f"--- {path.name}\n{all_words(data)}")
            if path == one.office:
                assert named(BRITISH, all_words(data)) + re.findall(r"\d kN", all_words(data)) == [], path.name
            else:
                assert strange(data) == [], path.name


def test_the_client_reads_no_claim_to_know_the_ground_and_no_advice_of_the_office(made: Quote) -> None:
    """Every part of the file unzipped: no 'we know', no worth of a test, no chance."""
    words = "\n".join(parts(client_file(made)).values()).casefold()
    assert named(OFFICE, words) == []


def test_nothing_is_named_as_included_that_no_line_pays_for() -> None:
    """Without edge restraint and geotextile neither is in the price, so neither is in what the price is made of."""
    parted = {row[0]: row[1] for row in rows(client_file(trial("firm")), "2 Prices and terms") if len(row) == 3}
    assert "edge restraint" in parted["Paved surface"]
    bare = trial_quote(sloped(SOFT, edge_restraint=0, geotextile=False))
    parted = {row[0]: row[1] for row in rows(client_file(bare), "2 Prices and terms") if len(row) == 3}
    assert parted["Paved surface"] == "Bedding sand, pavers laid and cut to the edges and sand in the joints."
    assert parted["Reinforcement below the base"].startswith("Geogrid on the ground")


def test_text_of_the_client_that_looks_like_a_formula_stays_text(two: Quote) -> None:
    for data in papers(two).values():
        found = [cell for cell in every_cell(data) if isinstance(cell.value, str)]
        live = [cell.value for cell in found if cell.data_type == "f"]
        assert all(re.match(r"=(IF|SUM|SUMIF|ROUND|Costs!|[A-Z]+\d+[+-])", value) for value in live)
        assert not [value for value in live if "Sandhollow" in value or value == "=1+1"]
    odd = [cell for cell in every_cell(client_file(two)) if str(cell.value).startswith(("=Marg", "@Plot", "+T."))]
    assert len(odd) >= 3
    assert all(cell.data_type == "s" and cell.quotePrefix for cell in odd)
    assert "=1+1" in text(crew_file(two))


# ---- the client


PROPOSAL = """PROPOSAL FH-118, revision 3
Odalys Pemberwick
31 Rushes Lane
April 21, 2026
Good until May 21, 2026
A new 1,344 sq ft paver driveway
96 ft x 14 ft = 1,344 sq ft
Cobble gray, 2-3/8 in thick
206 ft of edge restraint
Price: mark one box
A.  Stone base with geogrid
B.  Stone base only
my initials
By the gate
The boot sank 2.5 in
Your soil is soft: a boot sinks 2 to 3 in
Geogrid is a stiff mesh that locks the stone together
It isn't one depth for every driveway
811
frost
T. Marrow, Fernhollow Driveways
30% at signing
stays wet
It read 0.45 tons per sq ft"""


def test_the_proposal_says_who_what_how_much_and_why() -> None:
    soft = trial("soft")
    data = client_file(soft, 3)
    assert unsaid(data, "\n".join((PROPOSAL, *TERMS))) == set()
    assert "96 ft" in drawn(data)
    values = [value for line in rows(data) for value in line]
    assert all(float(price) in values for price in soft.deeper.areas["Driveway"])


def test_the_parts_of_the_price_are_numbers_and_sum_to_the_price_on_page_one(made: Quote) -> None:
    data = client_file(made)
    page = rows(data, "2 Prices and terms")
    at = next(place for place, row in enumerate(page) if str(row[0]).startswith("What the price is made of"))
    lines = page[at + 1 : at + 1 + len(made.offer.scope_prices)]
    assert [(row[0], row[-1]) for row in lines] == [
        (part.title, float(part.amount)) for part in made.offer.scope_prices
    ]
    total = page[at + 1 + len(lines)]
    assert total[-1] == pytest.approx(float(made.offer.total)) == pytest.approx(sum(row[-1] for row in lines))
    sheet = load_workbook(BytesIO(data))["2 Prices and terms"]
    assert [cell.value for row in sheet.iter_rows() for cell in row if str(cell.value).startswith("=SUM(")]
    shown = [
        row[-1]
        for row in rows(data, "1 Proposal")
        if "work day" in str(row) or re.match(r"[AB]\.  |Stone base", str(row[0]))
    ]
    priced = [one.total for one in (made.offer, made.stone if made.offered == "geogrid" else made.geogrid) if one]
    assert shown[: len(priced)] == [pytest.approx(float(total)) for total in priced]


def test_deposit_and_balance_are_the_price(made: Quote) -> None:
    (words,) = [value for row in rows(client_file(made), "1 Proposal") for value in row if "at signing" in str(value)]
    paid, rest = (re.findall(r"\$([\d,]+\.\d\d)", line) for line in words.split("Balance"))
    for first, last, option in zip(paid, rest, report(made).options, strict=True):
        deposit, balance = (Decimal(one.replace(",", "")) for one in (first, last))
        assert deposit + balance == option.estimate.total
        assert float(deposit) == pytest.approx(float(option.estimate.total) * 0.3, abs=0.006)


def test_what_the_company_leaves_blank_is_not_printed_and_what_it_fills_in_is() -> None:
    bare = text(client_file(trial("firm")))
    assert not [word for word in ("Warranty", "License", "Not included") if word in bare]
    filled = trial_quote(
        FIRM,
        license="License BW-1",
        warranty="Two years on settling.",
        insurance="Liability insured.",
        payment="Check or transfer.",
        not_included="Permit fees.",
    )
    said = text(client_file(filled))
    words = [
        "License BW-1",
        "Two years on settling.",
        "Liability insured.",
        "Check or transfer.",
        "Not included: Permit fees.",
    ]
    assert [one for one in (*words, "Warranty and license") if one not in said] == []


def test_color_pattern_phone_and_start_are_printed_where_they_are_given() -> None:
    job = FIRM["job"] | {
        "paver_color": "harbor gray",
        "paver_pattern": "herringbone",
        "client_phone": "555 0199",
        "start": date(2026, 6, 1),
    }
    quote = trial_quote({**FIRM, "job": job})
    client, crew = text(client_file(quote)), text(crew_file(quote))
    assert "Harbor gray, herringbone pattern" in client
    assert "Start Monday, June 1, 2026." in client
    assert "Cobble gray, harbor gray, herringbone." in crew
    assert "555 0199" in crew
    assert "Mon June 1" in crew
    assert "Start" not in text(client_file(trial("firm")), "1 Proposal").replace("Start Monday", "")


def test_a_logo_and_photos_are_put_in_as_they_are_and_a_missing_one_is_named(tmp_path: Path) -> None:
    dot = bytes.fromhex(
        "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c4944415408d763f8cfc000000301010018dd8db0"
        "0000000049454e44ae426082"
    )  # a picture of one pixel
    (tmp_path / "gate.png").write_bytes(dot)
    (tmp_path / "mark.png").write_bytes(dot)
    job = {**FIRM, "job": FIRM["job"] | {"photos": [{"file": "gate.png", "caption": "The gate"}, "gate.png"]}}
    book = replace(trial_book(logo="mark.png"), path=str(tmp_path / "prices.xlsx"))
    made = quote(parse_job(job, str(tmp_path / "drive.toml")), book)
    data = client_file(made)
    with ZipFile(BytesIO(data)) as archive:
        assert [archive.read(name) for name in archive.namelist() if name.startswith("xl/media/")] == [dot] * 3
    assert "The gate" in text(data, "3 Ground report")
    (tmp_path / "gate.png").unlink()
    with pytest.raises(InputError, match=r"photo gate\.png: there is no such picture"):
        write_quote(made, tmp_path / "q")
    (tmp_path / "gate.png").write_text("no picture")
    with pytest.raises(InputError, match="is not a picture that can be printed"):
        write_quote(made, tmp_path / "q")


def test_a_strength_given_by_hand_is_never_called_tested() -> None:
    said = text(client_file(trial("metric")))
    assert "The strength was given to us; we have not tested it." in said
    assert "We tested" not in said


def test_walking_is_said_where_it_was_done_and_where_it_was_not(made: Quote) -> None:
    walked = {ground.walked for ground in made.ground.values() if ground.spots}
    said = text(client_file(made))
    assert ("We walked all of" in said) is (True in walked)
    assert ("We did not walk all of" in said) is (False in walked)


def test_a_quote_without_geogrid_offers_one_way() -> None:
    quote = trial_quote(SOFT, grid=False)
    said = text(client_file(quote))
    assert quote.geogrid is None
    assert "mark one box" not in said
    assert "B.  " not in said
    assert "geogrid" not in said.casefold().replace("geotextile or geogrid", "")


def test_paper_and_measures_follow_the_units() -> None:
    us, metric = (load_workbook(BytesIO(client_file(trial(name))))["1 Proposal"] for name in ("soft", "metric"))
    assert [int(sheet.page_setup.paperSize) for sheet in (us, metric)] == [1, 9]
    assert "200 mm" in text(client_file(trial("metric")))


def test_the_offer_without_a_date_still_says_how_long_it_holds() -> None:
    job = {**FIRM, "job": {key: value for key, value in FIRM["job"].items() if key != "date"}}
    said = text(client_file(trial_quote(job)))
    assert "good for 30 days" in said
    assert str(date.today().year) not in said


def many(count: int, name: str) -> dict[str, Any]:
    areas = [{**SOFT["area"][0], "name": f"{name} {at + 1}"} for at in range(count)]
    spots = [{**SOFT["spot"][0], "name": f"spot {at}", "area": area["name"]} for at, area in enumerate(areas)]
    return {**SOFT, "area": areas, "spot": spots}


def test_areas_of_one_base_are_said_together_and_an_article_is_never_doubled() -> None:
    assert "of compacted stone over geogrid. We recommend" in text(client_file(trial_quote(many(3, "Court"))))
    job = many(2, "The long bend")
    job["area"][1] |= {"name": "The turning place"}
    job["spot"][1] |= {"area": "The turning place"}
    assert "the the" not in text(client_file(trial_quote(job))).casefold()


def test_ten_areas_take_one_more_page_and_each_still_has_its_price_by_depth() -> None:
    quote = trial_quote(many(10, "Bay"))
    data = client_file(quote)
    assert [sheet.title for sheet in sheets(data)] == ["1 Proposal", "2 Prices", "3 Terms", "4 Ground report"]
    values = [value for row in rows(data, "2 Prices") for value in row]
    assert all(float(price) in values for prices in quote.deeper.areas.values() for price in prices)


def test_every_row_is_as_high_as_the_lines_its_text_needs(two: Quote) -> None:
    """Cut text would be the first thing a client sees; 1.35 letters of type 10 to a column unit is the least."""
    for data in papers(two).values():
        for sheet in load_workbook(BytesIO(data)):
            merged = {str(area).split(":")[0]: area for area in sheet.merged_cells.ranges}
            for row in sheet.iter_rows():
                for cell in row:
                    area = merged.get(cell.coordinate)
                    if not isinstance(cell.value, str) or not cell.alignment.wrap_text or cell.data_type == "f":
                        continue
                    if area and area.max_row > area.min_row:
                        continue
                    columns = range(area.min_col, area.max_col + 1) if area else (cell.column,)
                    width = sum(sheet.column_dimensions[get_column_letter(column)].width for column in columns)
                    size = float(cell.font.size)
                    least = sum(max(1, len(part) // (width * 1.35 * 10 / size)) for part in cell.value.split("\n"))
                    assert sheet.row_dimensions[cell.row].height >= least * size * 1.15, (sheet.title, cell.coordinate)


# ---- the drawings


def test_the_plan_is_drawn_to_scale_with_the_building_and_every_side() -> None:
    """The demo's L: sides of 70, 16, 34, 24, 36 and 40 ft; only one side is as long as the building, 34 ft."""
    quote = trial("two areas")
    (plan, _) = report(quote).plan
    assert plan.walls == (2,)
    assert (
        plan.strip_words
        == "fill strip 4 ft, dig to " + text(crew_file(quote)).split("BOTTOM OF STRIP\n")[1].split("\n")[0] + " in"
    )
    words = re.findall(r"<a:t>([^<]*)", drawn(client_file(quote)))
    assert {"70 ft", "16 ft", "34 ft", "24 ft", "36 ft", "40 ft"} <= set(words)
    outlines = re.findall(r'<a:path w="(\d+)" h="(\d+)">', drawn(client_file(quote)))
    shapes = [(int(wide), int(high)) for wide, high in outlines if int(high)]
    assert any(wide / high == pytest.approx(70 / 40, rel=1e-3) for wide, high in shapes)


def test_shape_numbers_are_their_own_on_a_sheet_and_each_drawing_hangs_on_one_cell(two: Quote) -> None:
    for data in papers(two).values():
        for name, words in parts(data).items():
            if name.startswith("xl/drawings/drawing"):
                ids = re.findall(r'<xdr:cNvPr id="(\d+)"', words)
                assert len(ids) == len(set(ids))
                assert "twoCellAnchor" not in words
                ET.fromstring(words)


# ---- the crew


def test_levels_by_hand_from_zero_down() -> None:
    """2-3/8 in of paver and 1 in of sand over 15 in of stone are 18-3/8 in; 15 in in lifts of at most 4 in are 4 of
    3.75 in; 3.75 x 1.254 = 4.70 in loose, to the eighth 4-3/4. 96 ft at 1/4 in/ft fall 24 in.
    """
    data = crew_file(trial_quote(sloped(SOFT, slope="1/4 in/ft", slope_direction="length")))
    assert levels(data) == {
        "BOTTOM OF DIG": "18-3/8", "Top of lift 1": "14-5/8", "Top of lift 2": "10-7/8", "Top of lift 3": "7-1/8",
        "Top of lift 4 = base": "3-3/8", "Top of sand bed": "2-3/8", "Top of pavers": "0",
    }  # fmt: skip
    said = text(data)
    assert "4 lifts, 4-3/4 in loose to 3-3/4 in" in said
    assert "4 passes each" in said
    assert "String at ZERO is highest at A; lower at B 24 in and C 24 in, 2.1% in all." in said
    assert "15 in past every open edge, not at the building" in said


def test_metric_levels_by_hand() -> None:
    """60 and 25 mm over 200 mm of stone are 286; 2 lifts of 100 mm, 125.4 loose, to 5 mm: 125. 5.5 m fall 110."""
    job = sloped(METRIC, slope="20 mm/m", slope_direction="width")
    data = crew_file(trial_quote(job, units="metric", passes=6))
    assert levels(data)["BOTTOM OF DIG"] in ("285", "286")
    assert "2 lifts, 125 mm loose to 100 mm. 6 passes each." in text(data)
    # the area is known by its size alone: the corners are those of the box that is drawn
    assert "lower at the upper right 110 mm and the upper left 110 mm" in text(data)


def test_a_fall_both_ways_is_measured_from_the_highest_corner() -> None:
    """3 in up from A to B and 1 in down from A to D: B is the highest; A is 3 in below it, C 1 in, D 4 in."""
    said = text(crew_file(trial_quote(sloped(FIRM, fall_length=-3, fall_width="1 in"))))
    assert "highest at B; lower at A 3 in, C 1 in and D 4 in" in said


@pytest.mark.source("ICPI-TOLERANCES, slope of at least 2 %; [read]")
def test_a_finish_that_is_too_flat_is_called_out() -> None:
    flat = "the finish falls less than 2 %"
    # 62 ft at 2 % are 14.88 in
    assert flat in text(crew_file(trial_quote(sloped(FIRM, fall_length=14.8))))
    assert flat not in text(crew_file(trial_quote(sloped(FIRM, fall_length=14.9))))


def test_strips_are_cut_to_the_building_and_no_more_rolls_are_used_than_ordered(made: Quote) -> None:
    """Soft: 96 ft + 15 in past the one open end = 97 ft 3 in, and not past the garage at the other."""
    used: dict[str, int] = {}
    for area in report(made).crew:
        for roll in area.rolls:
            assert len(roll.pieces) == roll.strips
            for pieces in roll.pieces:
                covered = sum(piece.length_m for piece in pieces) - (len(pieces) - 1) * roll.end_lap_m
                assert covered == pytest.approx(roll.length_m)
            used[roll.name] = roll.pieces[-1][-1].roll
    ordered = {one.variant: one.amount for code in ("geogrid", "geotextile") for one in made.offer.takeoff.of(code)}
    assert used.keys() == ordered.keys()
    assert all(used[name] <= ordered[name] for name in used)
    if made.job.number == "FH-118":
        assert "2 strips of 97 ft 3 in" in text(crew_file(made))
        assert "SEW THE SEAMS" in text(crew_file(made))


@pytest.mark.source("INDOT-JTRP-2017-16: 1 in on new subgrade, 1/2 in on stabilised, 20 tons; [read]")
@pytest.mark.source("ILLINOIS-DOT-2005: 1/2 in; [read]")
def test_proof_roll_limits_as_printed_where_the_ground_may_carry_a_truck() -> None:
    hard = text(crew_file(trial("firm")))
    assert "Dug bottom rolled with a loaded tandem truck of 20 tons or more, at walking pace: rut 1 in at most" in hard
    soft = text(crew_file(trial("soft")))
    assert "Dug bottom walked end to end, no stop sign seen. No truck on it." in soft
    assert "No loaded truck just to test it" in soft  # light traffic
    assert "dump truck" not in soft  # no truck may drive there, so no sign asks for one
    assert "at walking pace: rut 1/2 in at most" in text(crew_file(trial("two areas")))  # delivery


@pytest.mark.source("ETL-1110-1-189, ground under load; [memory]")
@pytest.mark.parametrize(
    ("word", "signs"),
    [
        ("soft", {"stand": 3, "walk": 3}),
        ("medium", {"stand": 2, "walk": 2}),
        ("stiff", {"stand": 1, "walk": 1, "pickup": 1, "dump truck": 6}),
        ("very stiff", {"stand": 1, "walk": 1, "pickup": 0.5, "dump truck": 3}),
        ("hard", {"stand": 1, "walk": 1, "pickup": 0.5, "dump truck": 1}),
    ],
)
def test_what_shows_weaker_ground_follows_the_rules_of_the_readings(word: str, signs: dict[str, float]) -> None:
    assert {sign.test: sign.least_in for sign in weaker_signs(word)} == signs
    for test, least in signs.items():
        assert rank(find(Reading(test, least, "wet")).strongest) < rank(word)
        assert rank(find(Reading(test, least - 0.01, "wet")).strongest) >= rank(word)


def test_only_hard_ground_may_pass_a_roll_with_an_inch_of_rut() -> None:
    passing = [word for word in CLASSES if (seen := rut_of(word, CREW_TESTS[-1])) and seen[1] <= 1]
    assert passing == ["hard"]


def test_the_crew_sheet_has_signs_pavers_loads_and_what_to_do(two: Quote) -> None:
    words = """CALL 811. NO DIGGING until all utilities are marked.
    A person standing still sinks 3 in or more
    No stone, no truck on it
    555 0142
    the client agrees first
    ZERO = top of finished pavers
    Cobble gray
    1,411 sq ft"""
    assert unsaid(crew_file(trial("soft")), words) == set()
    page = text(crew_file(two), "Crew sheet")
    takeoff = two.offer.takeoff
    assert f"{round(takeoff.amount('spoil-haul'))} loads out" in page
    assert f"{round(takeoff.amount('joint-sand'))} bags" in page
    for code, material in (("base-stone", "3/4 in crushed base"), ("bedding-sand", "Bedding sand")):
        loads = sum(one.amount for one in takeoff.of("stone-haul") if one.variant == material)
        assert re.search(rf"{takeoff.amount(code):,.0f}(\.\d)? tons, {loads:.0f} load", page) or code == "bedding-sand"
    safety = text(crew_file(two), "Safety and days")
    for words in ("licensed engineer", "Local code governs", "APF 10", "power line"):
        assert words in safety


def test_how_deep_to_dig_is_said_with_and_without_an_old_pavement() -> None:
    """FIRM: 6 in of stone, 1 in of sand, 2-3/8 in of paver, 1 in of it above the ground: 8-3/8 in, or 5-3/8 below 3."""
    assert "8-3/8 in below today's ground" in text(crew_file(trial("firm")))
    old = trial_quote(sloped(FIRM, old_pavement=3, old_pavement_kind="asphalt"))
    assert "5-3/8 in below the old pavement" in text(crew_file(old))


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"slope": 2}, "slope direction is missing"),
        ({"slope_direction": "length"}, "slope is missing"),
        ({"slope": 2, "slope_direction": "length", "fall_width": 3}, "slope and a fall are both given"),
        ({"slope": 26, "slope_direction": "length"}, "from -25 to 25 %"),
        ({"slope": "steep", "slope_direction": "length"}, "such as '2 %'"),
        ({"slope": 2, "slope_direction": "north"}, "length, width"),
        ({"fall_width": 60}, "at most 25%"),
    ],
)
def test_a_slope_that_cannot_be_meant_is_one_clear_sentence(keys: dict[str, Any], told: str) -> None:
    with pytest.raises(BasecalcError, match=told):
        trial_quote(sloped(FIRM, **keys))


def test_the_length_of_a_rectangle_is_the_one_the_file_calls_so() -> None:
    """A rectangle 14 ft long and 62 ft wide falls 2 % along its 14 ft: 3.36 in across the longer side."""
    quote = trial_quote(sloped(FIRM, length=14, width=62, slope=2, slope_direction="length"))
    fall = quote.job.areas[0].fall_m
    assert fall is not None
    assert (fall[0], fall[1] / INCH_M) == (0.0, pytest.approx(3.36))


# ---- the office


def test_the_first_page_says_price_cost_and_margin(made: Quote) -> None:
    data = office_file(made)
    page = rows(data, "Job summary")
    at = next(place for place, row in enumerate(page) if "Margin %" in row and "Per crew day" in row and "Cost" in row)
    total, cost, margin, share, day = page[at + 1]
    assert (total, cost) == (pytest.approx(float(made.offer.total)), pytest.approx(float(made.offer.cost)))
    assert margin == pytest.approx(float(made.offer.before_tax - made.offer.cost))
    assert share == pytest.approx(margin / float(made.offer.before_tax))
    crew_h = sum(work.crew_h or 0 for work in made.offer.hours)
    assert day == pytest.approx(margin / (crew_h / made.book.company.hours_per_day), abs=0.006)
    words = "OFFICE ONLY|Lost, why:|Risks|Next call|Valid until|At signing|811|Standard depth"
    assert unsaid(data, words.replace("|", "\n"), "Job summary") == set()


def test_the_first_page_takes_its_money_from_the_sheet_of_costs(two: Quote) -> None:
    """How cost becomes price is live: each sum on page one is the cell of Costs that works it out."""
    book = load_workbook(BytesIO(office_file(two)))
    page, costs = book["Job summary"], book["Costs"]
    live = [(cell.row, str(cell.value)) for row in page.iter_rows() for cell in row if cell.data_type == "f"]
    named = {
        page.cell(row, 1).value: costs[words[7:]].value for row, words in live if re.fullmatch(r"=Costs!O\d+", words)
    }
    assert str(named["Cost"]).startswith("=SUM(")
    assert "ROUND(" in next(str(text) for label, text in named.items() if str(label).startswith("Profit"))
    assert {"Cost", "Price before tax", "Total"} <= set(named)


def test_the_sheets_are_in_the_order_of_the_work_and_what_only_the_program_reads_is_hidden(two: Quote) -> None:
    book = load_workbook(BytesIO(office_file(two)))
    names = "Job summary|Costs|Quantities|Stone order|Ground evidence|Why this depth|What moves the depth"
    seen = [sheet.title for sheet in book if sheet.sheet_state == "visible"]
    assert seen == [*names.split("|"), "Cautions and sources"]
    assert [sheet.title for sheet in book if sheet.sheet_state == "hidden"] == ["As quoted"]


def test_every_line_is_a_live_guarded_formula_and_every_option_has_its_total(two: Quote) -> None:
    data = office_file(two)
    values, live = (load_workbook(BytesIO(data), data_only=only)["Costs"] for only in (True, False))
    row_of = {str(values.cell(row, 1).value): row for row in range(1, values.max_row + 1)}
    assert two.geogrid is not None
    assert two.standard is not None
    for letter, one in (("O", two.geogrid), ("T", two.stone), ("Y", two.standard)):
        assert values[f"{letter}{row_of['Total']}"].value == pytest.approx(float(one.total))
        cells = [
            (values[f"{letter}{row}"].value, str(live[f"{letter}{row}"].value)) for row in range(4, row_of["Cost"])
        ]
        amounts = [(amount, words) for amount, words in cells if words.startswith("=")]
        assert sum(amount for amount, _ in amounts) == pytest.approx(float(one.cost))
        assert all(words.startswith("=IF(AND(ISNUMBER(") and words.endswith(",NA())") for _, words in amounts)
        assert sorted(amount for amount, _ in amounts if amount) == pytest.approx(
            sorted(float(line.amount) for line in one.lines)
        )
    assert "agrees with the price to the cent" in text(data, "Costs")
    assert two.break_even is not None
    assert two.break_even.sentence in text(data, "Costs")


def test_every_quantity_has_its_working(two: Quote) -> None:
    found = [(row[0], row[2], row[-1]) for row in rows(office_file(two), "Quantities") if len(row) > 4]
    for quantity in two.offer.takeoff.quantities:
        assert quantity.working
        assert (quantity.code, quantity.area or "whole job", quantity.working) in found


def test_every_check_of_every_area_has_its_working_and_source(two: Quote) -> None:
    words = text(office_file(two), "Why this depth").casefold()
    for depths in (two.depths, two.geogrid_depths):
        for depth in depths.values():
            assert depth.reason.casefold() in words
            for check in depth.checks:
                assert check.source.casefold() in words
                assert all(item.name.casefold() in words for item in check.working)
    assert "wheel load 8,990 lb at 80 psi" in words  # delivery: 40 kN at 550 kPa


@pytest.mark.parametrize("job", ["soft", "firm", "two areas"])
def test_the_stone_order_asks_for_the_loads_that_were_priced(job: str) -> None:
    quote = trial(job)
    hauled = {quantity.variant: quantity for quantity in quote.offer.takeoff.of("stone-haul")}
    assert hauled
    for name, quantity in hauled.items():
        _, tons, full, loads, last = row_with(office_file(quote), f"{name}, all", "Stone order")
        assert loads == quantity.amount
        assert 0 < last <= full + 0.005
        assert (loads - 1) * full + last == pytest.approx(tons, abs=0.006)


def test_cautions_and_sources_are_named(two: Quote) -> None:
    cited = "1926.652(a)(1)|1926.651(b)|1926.651(j)(2)|1926.651(i)|1926.1153 Table 1|[memory] from memory|Geogrid|Fill"
    assert unsaid(office_file(two), cited.replace("|", "\n"), "Cautions and sources") == set()
    assert "\nGeogrid\n" not in text(office_file(trial("firm")), "Cautions and sources")


def test_an_office_file_is_written_where_stone_alone_is_possible() -> None:
    area = SOFT["area"][0] | {"finish_above_ground": 20, "strength": 0.5}
    quote = trial_quote(SOFT | {"area": [area], "spot": []})
    assert (quote.standard, quote.geogrid) == (None, None)
    said = text(office_file(quote))
    assert quote.no_standard in said
    assert float(quote.stone.total) in [value for row in rows(office_file(quote), "Costs") for value in row]


# ---- proof of the ground and of the depth

QUARTILE = {
    **FIRM,
    "spot": [{"name": f"S{k}", "readings": [{"test": "cone", "reading": 40 + 9 * k}]} for k in range(5)],
}


@pytest.fixture(scope="module", params=[*JOBS, "quartile"])
def proved(request: pytest.FixtureRequest) -> Quote:
    return trial_quote(QUARTILE) if request.param == "quartile" else trial(request.param)


def test_every_reading_has_what_it_allows_as_read_and_as_taken_and_its_source(proved: Quote) -> None:
    found, sources = rows(office_file(proved), "Ground evidence"), text(office_file(proved), "Cautions and sources")
    for ground in proved.ground.values():
        for spot in ground.spots:
            for finding in spot.findings:
                (row, *_) = [row for row in found if any(str(cell).startswith(finding.label) for cell in row)]
                assert (finding.reading.moisture or "not noted") in row
                assert ground_words(*finding.as_read[:2]) in row
                assert ground_words(finding.weakest, finding.strongest) in row
                measured = [cell for cell in row if isinstance(cell, int | float)]
                assert measured == (
                    [] if finding.as_read[2] is None else [pytest.approx(finding.as_read[2], abs=0.0051)]
                )
                assert finding.source in sources


def test_one_reading_of_each_spot_decides_and_one_spot_governs_or_the_quartile_does(proved: Quote) -> None:
    parts_of = [str(row[-1]) for row in rows(office_file(proved), "Ground evidence")]
    spots = [spot for ground in proved.ground.values() for spot in ground.spots]
    governing = [ground.governed_by for ground in proved.ground.values() if ground.governed_by]
    assert parts_of.count("governs") == len(governing)
    single = [spot for spot in spots if len(spot.findings) == 1 and spot.name in governing]
    assert parts_of.count("decides") == len(spots) - len(single)
    assert parts_of.count("set aside") + parts_of.count("cut off") == sum(len(spot.conflicts) for spot in spots)


def test_the_rule_the_confidence_and_every_note_are_in_words(proved: Quote) -> None:
    words = text(office_file(proved), "Ground evidence").casefold()
    for worth in worth_of_tests(proved):
        ground = proved.ground[worth.area]
        confidence = worth.evidence.confidence
        told = (ground.rule, confidence.sentence, confidence.chance_sentence, *worth.next_steps())
        assert all(said.casefold() in words for said in (*told, *ground.conflicts, *ground.flags))
        assert worth.sentence(proved.job.units).casefold() in words


def test_every_outcome_has_its_chance_its_depth_and_the_price_of_the_job(proved: Quote) -> None:
    names = ("as offered", "here: ", "walked, nothing softer")
    page = rows(office_file(proved), "Ground evidence")
    found = [row for row in page if any(str(cell).startswith(names) for cell in row[:2])]
    ends = []
    for worth in worth_of_tests(proved):
        proposed = [*([worth.beyond] if worth.beyond else []), *worth.outcomes] if worth.proposed else []
        ends += [worth.offered, *proposed, *([worth.walked] if worth.walked else [])]
    for row, at in zip(found, ends, strict=True):
        values = [cell for cell in row if isinstance(cell, int | float)]
        assert at.total is not None
        assert values[:2] == [pytest.approx(at.cbr, abs=0.0051), pytest.approx(float(at.total))]
        if "as offered" not in row:
            assert values[2] == pytest.approx(float(at.total - proved.offer.total))


def test_an_end_that_cannot_be_built_shows_no_price_and_says_why() -> None:
    area = SOFT["area"][0] | {"finish_above_ground": 24, "strength": "soft"}
    quote = trial_quote(SOFT | {"area": [area], "spot": [], "job": {**SOFT["job"], "offer": "stone"}})
    (*_, row) = (row for row in rows(office_file(quote), "Ground evidence") if "cannot be built" in row)
    assert row[-1] == worth_of_tests(quote)[0].strong.note


@pytest.mark.parametrize("units", ["us", "metric"])
def test_what_moves_the_depth_is_listed_most_first_in_the_units_of_the_job(units: str) -> None:
    quote = trial("soft" if units == "us" else "metric")
    (moved,) = report(quote).sensitivities
    page = rows(office_file(quote), "What moves the depth")
    scale = 1 / INCH_M if units == "us" else 1000
    places = [next(at for at, row in enumerate(page) if str(row[0]).startswith(one.name)) for one in moved.moving]
    assert places == sorted(places)
    for one, at in zip(moved.moving, places, strict=True):
        depths = [None if end.depth_m is None else pytest.approx(end.depth_m * scale) for end in (one.low, one.high)]
        assert [cell for cell in page[at] if isinstance(cell, int | float)] == [
            depth for depth in depths if depth is not None
        ]
    assert text(office_file(quote), "What moves the depth").count("kPa") == (
        0 if units == "us" else 1 if moved.moving else 0
    )


def test_areas_of_one_depth_share_one_table() -> None:
    job = sloped(SOFT) | {
        "area": [{**SOFT["area"][0], "name": name} for name in ("Driveway", "Apron")],
        "spot": [{**SOFT["spot"][0], "area": name, "name": f"at {name}"} for name in ("Driveway", "Apron")],
    }
    page = text(office_file(trial_quote(job)), "What moves the depth")
    assert "Driveway and Apron" in page
    assert page.count("Where the range comes from") == 1


# ---- paper

SEVEN = {
    "job": {**METRIC["job"], "traffic": "delivery", "units": "metric"},
    "area": [
        {"name": f"Court {k}", "shape": "rectangle", "length": 10 + k, "width": 4, "strength": 0.7 + 0.6 * k}
        for k in range(7)
    ],
}


@pytest.mark.libreoffice
@pytest.mark.parametrize("faces", [None, Path("/usr/share/fonts/truetype/dejavu")], ids=["usual", "without Arial"])
def test_every_paper_prints_on_the_pages_it_may_take(faces: Path | None, tmp_path: Path) -> None:
    """Client 1 to 3 pages, crew one of work and one of safety, office 8 for one area and 12 for seven; in any face."""
    if faces is not None and not faces.is_dir():
        pytest.skip("the DejaVu faces are not installed")
    most = {"soft": (3, 8, 2), "two areas": (3, 9, 2), "seven": (4, 12, 4)}
    files = {}
    for name, limits in most.items():
        made = trial_quote(SEVEN, units="metric") if name == "seven" else trial(name)
        for (kind, data), limit in zip(papers(made).items(), limits, strict=True):
            path = tmp_path / f"{name.replace(' ', '-')}-{kind}.xlsx"
            path.write_bytes(data)
            files[path] = limit
    counts = printed_pages(list(files), tmp_path, faces)
    assert {path.stem: pages for path, pages in counts.items() if pages > files[path]} == {}
    assert all(pages >= 1 for pages in counts.values())
