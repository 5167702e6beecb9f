"""The client's file says what a client must know, and not one number that is the office's own."""

import re
from datetime import date
from decimal import Decimal
from io import BytesIO
from math import log2
from typing import Any
from xml.etree import ElementTree as ET
from zipfile import ZipFile

import pytest
from openpyxl import Workbook, load_workbook
from trial_quote import FIRM, METRIC, PRICES, SOFT, TERMS, TWO_AREAS, trial_quote

from basecalc.pricing.records import Quote
from basecalc.workbook import strength_chart
from basecalc.workbook.client import client_file
from basecalc.workbook.crew import crew_file
from basecalc.workbook.office import office_file

JOBS = {"soft": SOFT, "firm": FIRM, "two areas": TWO_AREAS, "metric": METRIC}


@pytest.fixture(scope="module", params=JOBS)
def made(request: pytest.FixtureRequest) -> tuple[Quote, bytes]:
    changes = {"units": "metric"} if request.param == "metric" else {}
    quote = trial_quote(JOBS[request.param], **changes)
    return quote, client_file(quote, 1)


def parts(data: bytes) -> dict[str, str]:
    with ZipFile(BytesIO(data)) as archive:
        return {name: archive.read(name).decode("utf-8") for name in archive.namelist()}


def numbers(data: bytes) -> set[Decimal]:
    """Return every number of the file: cell values, and numbers inside texts, formulas and charts."""
    found = set()
    for name, text in parts(data).items():
        if name.startswith(("xl/worksheets/", "xl/charts/", "docProps/", "xl/sharedStrings", "xl/workbook")):
            for node in ET.fromstring(text).iter():
                own = [node.text or "", *(node.attrib.values() if name.startswith("docProps") else ())]
                for one in re.findall(r"\d[\d,]*\.?\d*", " ".join(own)):
                    found.add(round(Decimal(one.replace(",", "")), 4))  # 93.71 is saved as 93.70999999999999
    return found


def secrets(quote: Quote) -> dict[str, Decimal]:
    """Return every number of the office's that a client must not find."""
    company = quote.book.company
    hidden = {f"unit price of {code}": Decimal(price) for code, _, price, _, _ in PRICES}
    for name, share in (
        ("overhead", company.overhead), ("profit", company.profit), ("contingency", company.contingency),
    ):  # fmt: skip
        hidden[name] = Decimal(str(share))
        hidden[f"{name} in percent"] = Decimal(str(share)) * 100
    for one in (quote.stone, quote.geogrid, quote.habit):
        if one is not None:
            for field in ("cost", "contingency", "overhead", "profit", "before_tax", "taxable", "tax"):
                hidden[f"{field} of {one.option}"] = getattr(one, field)
            hidden |= {f"line {line.item} of {one.option}": line.amount for line in one.lines}
    hidden["total of the habit"] = quote.habit.total
    if quote.break_even is not None and quote.break_even.per_roll is not None:
        hidden["break-even price"] = quote.break_even.per_roll
    return {name: value for name, value in hidden.items() if value}


def test_no_cost_margin_or_unit_price_is_anywhere_in_the_client_file(made: tuple[Quote, bytes]) -> None:
    quote, data = made
    seen = numbers(data)
    assert quote.offer.total in seen  # the search finds what is there
    assert {name for name, value in secrets(quote).items() if value in seen} == set()


def test_no_supplier_price_code_or_price_cell_is_anywhere_in_the_client_file(made: tuple[Quote, bytes]) -> None:
    quote, data = made
    words = {supplier for *_, supplier in PRICES if supplier}
    words |= {
        "prices.xlsx",
        "Ninebark",
        "Gorse Bank",
        "Alder Mews",
        "Sedge",
        "crew-time",
        "base-stone",
        "spoil-haul",
        "overhead",
        "profit",
        "contingency",
        "habit",
    }
    words |= {price.cell for price in quote.book.prices.values()}
    text = "\n".join(parts(data).values()).casefold()
    assert "fernhollow" in text
    assert {word for word in words if word.casefold() in text} == set()


def test_the_same_search_finds_the_office_numbers_in_the_office_file() -> None:
    """Otherwise an empty result above would prove nothing."""
    quote = trial_quote(SOFT)
    seen = numbers(office_file(quote, 1))
    missing = {name for name, value in secrets(quote).items() if value not in seen and "percent" not in name}
    # rows of work and material that this job does not need are in no file
    assert {name.split()[-1] for name in missing} <= {"old-pavement", "old-pavement-haul", "foundation-fill"}


def test_nothing_is_hidden_noted_or_named_in_the_client_file(made: tuple[Quote, bytes]) -> None:
    _, data = made
    book = load_workbook(BytesIO(data))
    assert [(sheet.title, sheet.sheet_state) for sheet in book] == [("Quote", "visible")]
    assert list(book.defined_names) == []
    assert not any(dimension.hidden for dimension in book["Quote"].column_dimensions.values())
    assert not any(dimension.hidden for dimension in book["Quote"].row_dimensions.values())
    assert not [name for name in parts(data) if re.search("comment|externalLink|customXml|vba|printerSettings", name)]
    assert book.properties.creator == book.properties.lastModifiedBy == "Fernhollow Driveways"
    assert (book.properties.description, book.properties.keywords) == (None, None)


def texts(data: bytes) -> str:
    return "\n".join(
        str(cell.value) for row in load_workbook(BytesIO(data))["Quote"].iter_rows() for cell in row if cell.value
    )


def cells(data: bytes) -> Workbook:
    return load_workbook(BytesIO(data), data_only=True)


def test_the_soft_quote_says_what_was_read_what_it_means_and_why_this_depth() -> None:
    quote = trial_quote(SOFT)
    text = texts(client_file(quote, 3))
    for words in (
        "Odalys Pemberwick", "31 Rushes Lane", "FH-118, revision 3", "April 21, 2026", "May 21, 2026", "By the gate",
        "the boot sank 2.5 in", "Soft ground, where a boot sinks 2 to 3 in", "thumb goes in several inches",
        "geogrid, a stiff mesh", "Two ways to build it", "softer than we read it", "811", "frost", *TERMS,
        "T. Marrow", "signing", "ditch stays wet",
    ):  # fmt: skip
        assert words in text, words
    for price in quote.deeper.areas["Driveway"]:
        assert f"{price:f}".rstrip("0").rstrip(".") in text


def test_the_clients_lines_are_numbers_and_sum_to_the_total(made: tuple[Quote, bytes]) -> None:
    quote, data = made
    sheet, live = cells(data)["Quote"], load_workbook(BytesIO(data))["Quote"]
    rows = {sheet.cell(row, 1).value: row for row in range(1, sheet.max_row + 1) if sheet.cell(row, 1).value}
    for line in quote.offer.scope_prices:
        assert live.cell(rows[line.title], 11).value == pytest.approx(
            float(line.amount)
        )  # a formula would show the cost
    total = next(row for words, row in rows.items() if str(words).startswith("Total."))
    assert sheet.cell(total, 11).value == pytest.approx(float(quote.offer.total))
    assert str(live.cell(total, 11).value).startswith("=SUM(")
    deposit = next(row for words, row in rows.items() if str(words).startswith("Deposit"))
    assert sheet.cell(deposit, 11).value + sheet.cell(deposit + 1, 11).value == pytest.approx(float(quote.offer.total))
    assert sheet.cell(deposit, 11).value == pytest.approx(float(quote.offer.total) * 0.3, abs=0.006)


def test_text_of_the_client_that_looks_like_a_formula_stays_text() -> None:
    quote = trial_quote(TWO_AREAS)
    for data in (client_file(quote, 1), office_file(quote, 1), crew_file(quote, 1)):
        book = load_workbook(BytesIO(data))
        found: dict[str, Any] = {
            cell.value: cell
            for sheet in book
            for row in sheet.iter_rows()
            for cell in row
            if isinstance(cell.value, str)
        }
        live = [value for value, cell in found.items() if cell.data_type == "f"]
        assert all(re.match(r"=(IF|MAX|MIN|SUM|SUMIF|ROUND|ROUNDUP|[A-Z]+\d+|Costs!)", value) for value in live)
        assert not [value for value in live if "Sandhollow" in value or value == "=1+1"]
    client = load_workbook(BytesIO(client_file(quote, 1)))["Quote"]
    odd = [cell for row in client.iter_rows() for cell in row if str(cell.value).startswith(("=Marg", "@Plot", "+T."))]
    assert len(odd) >= 3
    assert all(cell.data_type == "s" and cell.quotePrefix for cell in odd)
    crew = load_workbook(BytesIO(crew_file(quote, 1)))["Driveway"]
    note = [cell for row in crew.iter_rows() for cell in row if str(cell.value).endswith("=1+1")]
    assert [cell.data_type for cell in note] == ["s"]


def charts(data: bytes) -> list[ET.Element]:
    return [ET.fromstring(text) for name, text in parts(data).items() if re.fullmatch(r"xl/charts/chart\d+\.xml", name)]


CHART = "{http://schemas.openxmlformats.org/drawingml/2006/chart}"


def kind(chart: ET.Element) -> tuple[str | None, ...]:
    """Return which way the bars of a chart lie, and how they are grouped."""
    return tuple(chart.find(f".//{CHART}{tag}").get("val") for tag in ("barDir", "grouping"))  # type: ignore[union-attr]


def test_the_section_is_a_stacked_chart_of_the_layers_with_its_axes_shown() -> None:
    quote = trial_quote(TWO_AREAS)
    data = client_file(quote, 1)
    section = next(chart for chart in charts(data) if kind(chart) == ("col", "stacked"))
    assert [axis.get("val") for axis in section.iter(f"{CHART}delete")] == ["0", "0"]
    ranges = [node.text or "" for node in section.iter(f"{CHART}f")]
    sheet = cells(data)["Quote"]
    layers = []
    for reference in ranges[1::2]:
        block = sheet[reference.split("!")[1].replace("$", "")]
        layers.append([row[0].value for row in block])
    for place, area in enumerate(quote.offer.takeoff.areas):
        built = [layer[place] for layer in layers]
        assert built == pytest.approx([2.375, 1.0, area.base_m / 0.0254])
        assert sum(built) == pytest.approx(area.below_finish_m / 0.0254)


def test_a_quote_without_geogrid_compares_no_options() -> None:
    quote = trial_quote(SOFT, grid=False)
    data = client_file(quote, 1)
    assert quote.geogrid is None
    assert sorted(map(kind, charts(data))) == [("bar", "stacked"), ("col", "stacked")]
    assert "Two ways" not in texts(data)


def test_paper_follows_the_units() -> None:
    us, metric = (
        load_workbook(BytesIO(client_file(trial_quote(job, **changes), 1)))["Quote"]
        for job, changes in ((SOFT, {}), (METRIC, {"units": "metric"}))
    )
    assert (us.page_setup.paperSize, metric.page_setup.paperSize) == ("1", "9") or (
        int(us.page_setup.paperSize), int(metric.page_setup.paperSize)
    ) == (1, 9)  # fmt: skip
    assert "200 mm" in texts(client_file(trial_quote(METRIC, units="metric"), 1))


def test_a_long_job_still_fits_three_pages() -> None:
    job = {
        **SOFT,
        "area": [{**SOFT["area"][0], "name": f"Part {k}"} for k in range(4)],
        "spot": [
            {**spot, "area": f"Part {k}", "name": f"{spot['name']} {k}"} for k in range(4) for spot in SOFT["spot"][:2]
        ],
    }
    sheet = load_workbook(BytesIO(client_file(trial_quote(job), 1)))["Quote"]
    assert len(sheet.row_breaks.brk) <= 2
    assert 70 <= sheet.page_setup.scale <= 100


def test_the_offer_without_a_date_still_says_how_long_it_holds() -> None:
    job = {**FIRM, "job": {key: value for key, value in FIRM["job"].items() if key != "date"}}
    text = texts(client_file(trial_quote(job), 1))
    assert "good for 30 days" in text
    assert str(date.today().year) not in text


def scale(job: dict[str, Any]) -> tuple[dict[str, list[float | None]], list[str]]:
    """Return the series of the strength picture by name, and the words at its side."""
    (picture,) = (chart for chart in charts(client_file(trial_quote(job), 1)) if kind(chart)[0] == "bar")
    found: dict[str, list[float | None]] = {}
    names: list[str] = []
    for series in picture.iter(f"{CHART}ser"):
        names = [node.text or "" for node in series.iterfind(f"{CHART}cat//{CHART}v")]
        values: list[float | None] = [None] * len(names)
        for point in series.iterfind(f"{CHART}val//{CHART}pt"):
            values[int(point.get("idx") or 0)] = float(point.findtext(f"{CHART}v") or "nan")
        found[series.findtext(f"{CHART}tx/{CHART}v") or ""] = values
    return found, names


def test_the_strength_picture_shows_the_named_scale_and_where_each_spot_lies_on_it() -> None:
    found, names = scale(TWO_AREAS)
    classes = ["very soft", "soft", "medium", "stiff", "very stiff", "hard"]
    assert list(found) == [*classes, "before", "spots"]
    assert all(found[word] == [1.0, None, None, None] for word in classes)
    assert names == [
        "from weak to strong", "Driveway: Street end", "Driveway: At the house, decides", "Parking bay: Bay, decides",
    ]  # fmt: skip
    # the rut at the street cuts the cone off at CBR 1.6, where stiff begins at 3; the house is medium, from 2 to 3
    assert found["before"][1:3] == pytest.approx([3.0 - 0.12, 2.0])
    assert found["spots"][1:3] == pytest.approx([0.24, 1.0])
    # 24 mm a blow is CBR 8.31 by 292 / DPI^1.12: a little beyond 6.4, where hard begins at 5
    assert found["before"][3] == pytest.approx(1 + log2(292 / 24**1.12 / 0.4) - 0.12)
    assert found["spots"][3] == pytest.approx(0.24)


def test_the_strength_picture_needs_no_colour() -> None:
    (picture,) = (chart for chart in charts(client_file(trial_quote(TWO_AREAS), 1)) if kind(chart)[0] == "bar")
    series = list(picture.iter(f"{CHART}ser"))
    outlined = [one for one in series if one.find(".//{*}ln/{*}solidFill") is not None]
    assert len(outlined) == 7  # every class and the spots; what only pushes the spots along is not drawn
    named = [one for one in series if one.find(f"{CHART}dLbls/{CHART}showSerName[@val='1']") is not None]
    assert len(named) == 6


def test_many_spots_are_cut_to_the_weakest_in_the_picture() -> None:
    spots = [
        {"name": f"S{k}", "readings": [{"test": "cone", "reading": 20}]} for k in range(strength_chart.MOST_ROWS + 4)
    ]
    spots.append({"name": "Last", "readings": [{"test": "walk", "reading": 2.5}]})
    _, names = scale({**FIRM, "spot": spots})
    assert len(names) == 1 + strength_chart.MOST_ROWS
    assert "Last, decides" in names


def test_no_picture_is_drawn_where_nothing_was_read() -> None:
    # silt of CBR 0.8 under a geogrid has the least base of weak fine soil, 200 mm, over all of its class
    data = client_file(trial_quote(METRIC, units="metric"), 1)
    assert not [chart for chart in charts(data) if kind(chart)[0] == "bar"]
    assert "the strength was given to us, we did not read it ourselves" in texts(data)
    assert "What we did" not in texts(data)


@pytest.mark.parametrize("job", ["soft", "firm", "two areas", "metric"])
def test_an_area_says_what_was_found_why_it_matters_and_what_was_done(job: str) -> None:
    made = trial_quote(JOBS[job], **({"units": "metric"} if job == "metric" else {}))
    data = client_file(made, 1)
    sheet = cells(data)["Quote"]
    for name, ground in made.ground.items():
        heading = f"{name}:\n{ground.strength.strength_class} ground"
        (row,) = (row for row in range(1, sheet.max_row + 1) if sheet.cell(row, 1).value == heading)
        found, why, *done = str(sheet.cell(row, 4).value).split("\n")
        assert found.casefold().startswith(ground.strength.strength_class)
        assert why.startswith("Why ")
        spots = len(ground.spots)
        counted = [f"What we did at {'one spot' if spots == 1 else f'{spots} spots'}:"] if spots else []
        assert [text.split(":")[0] + ":" for text in done] == counted
    walked = {ground.walked for ground in made.ground.values() if ground.spots}
    assert ("We walked all of" in texts(data)) is (True in walked)
    assert ("We did not walk all of" in texts(data)) is (False in walked)


@pytest.mark.parametrize("job", ["soft", "firm", "two areas", "metric"])
def test_the_client_reads_no_claim_to_know_the_ground_and_no_advice_of_the_office(job: str) -> None:
    """Every part of the file unzipped: no 'we know', no worth of a test, no chance."""
    data = client_file(trial_quote(JOBS[job], **({"units": "metric"} if job == "metric" else {})), 1)
    with ZipFile(BytesIO(data)) as parts:
        words = "\n".join(parts.read(name).decode("utf-8", "replace") for name in parts.namelist()).casefold()
    for forbidden in (
        "we know this ground", "could save", "could show", "expected saving", "cone test", "would not change the depth",
        "money in the ground", "more than a quarter", "chance of", "confidence",
    ):  # fmt: skip
        assert forbidden not in words, forbidden


def test_a_quote_with_little_on_its_last_page_is_set_smaller_before_it_takes_one_more() -> None:
    sheet = load_workbook(BytesIO(client_file(trial_quote(FIRM, deposit=0.0), 1)))["Quote"]
    assert len(sheet.row_breaks.brk) + 1 == 2


def test_areas_of_one_base_are_told_together_at_the_top() -> None:
    job = {
        **SOFT,
        "area": [{**SOFT["area"][0], "name": f"Court {k}"} for k in range(3)],
        "spot": [{**SOFT["spot"][0], "area": f"Court {k}", "name": f"spot {k}"} for k in range(3)],
    }
    words = texts(client_file(trial_quote(job), 1))
    assert "of compacted stone on a geogrid under court 0, court 1 and court 2. What we saw" in words


def test_many_areas_get_a_wider_picture_of_their_depths() -> None:
    def widths(count: int) -> list[int]:
        job = {
            **SOFT,
            "area": [{**SOFT["area"][0], "name": f"Court {k}"} for k in range(count)],
            "spot": [{**SOFT["spot"][0], "area": f"Court {k}", "name": f"spot {k}"} for k in range(count)],
        }
        sheet = load_workbook(BytesIO(client_file(trial_quote(job), 1)))["Quote"]
        return [chart.anchor.ext.width for chart in sheet._charts[-2:]]

    few, many = widths(1), widths(6)
    assert few[0] == pytest.approx(few[1], rel=0.25)
    assert many[0] > 2 * many[1]


def _many(count: int, name: str) -> dict[str, Any]:
    areas = [{**SOFT["area"][0], "name": f"{name} {at + 1}"} for at in range(count)]
    spots = [{**SOFT["spot"][0], "name": f"spot {at}", "area": area["name"]} for at, area in enumerate(areas)]
    return {**SOFT, "area": areas, "spot": spots}


def test_ten_areas_are_told_in_short_and_not_one_by_one() -> None:
    made = trial_quote(_many(10, "Bay"))
    data = client_file(made, 1)
    short = texts(data)
    depths = {round(area.base_m / 0.0254) for area in made.offer.takeoff.areas}
    assert len(depths) == 1
    assert f"it needs {depths.pop()} in of compacted stone, on a geogrid under all of the 10 areas." in short


def test_an_article_is_never_doubled_and_a_numbered_area_has_none() -> None:
    job = _many(2, "The long bend")
    job["area"][1] |= {"name": "The turning place"}
    job["spot"][1] |= {"area": "The turning place"}
    told = texts(client_file(trial_quote(job), 1))
    assert "the the" not in told.casefold()
    assert "the turning place." in told
    assert "under bay 1," in texts(client_file(trial_quote(_many(3, "Bay")), 1))


def test_a_picture_that_could_not_be_read_is_left_out() -> None:
    """Ten bars of the depth under names of two words and more cannot be lettered; the price keeps its picture."""

    def pictures(job: dict[str, Any]) -> int:
        return sum(
            name.startswith("xl/charts/chart") for name in ZipFile(BytesIO(client_file(trial_quote(job), 1))).namelist()
        )

    few, many = pictures(_many(2, "Bay")), pictures(_many(10, "The long bend at the far end of the yard"))
    assert (few, many) == (4, 3)
