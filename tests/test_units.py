"""The foundations: numbers with units, checks, rounding, refusals, and tables as printed."""

import tomllib
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from importlib.resources import files
from math import inf, nan
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import basecalc
from basecalc import BasecalcError, InputError, OutOfRangeError, PriceError, WorkbookError
from basecalc.core import errors, numbers, units, words
from basecalc.core.errors import Place
from basecalc.core.published import TRUST, TableError, check, sources, table

DATA = files("basecalc") / "data"


# units
@pytest.mark.source(
    "qu 1.0 tsf = 95.76 kPa, 27 ft3 = 1 yd3 [computed]; WSDOT-M22-01, 1.85 ton/yd3 = 2195 kg/m3 [read]; "
    "TM-5-818-8, sec. 2-7: cu 4.2 psi at CBR 1, that is 28.96 kPa; [read]"
)
def test_factors_agree_with_the_print() -> None:
    assert pytest.approx(95.76, abs=0.005) == units.TSF_KPA
    assert pytest.approx(27 * units.FOOT_M**3) == units.YARD3_M3
    assert pytest.approx(9 * units.FOOT_M**2) == units.YARD2_M2
    assert pytest.approx(2195, abs=0.5) == 1.85 * units.SHORT_TON_KG / units.YARD3_M3
    assert pytest.approx(28.96, abs=0.005) == 4.2 * units.PSI_KPA


@pytest.mark.source("International yard and pound agreement, 1959: exact by definition; [memory]")
@pytest.mark.parametrize(
    ("unit", "to", "factor"),
    [
        ("in", "m", units.INCH_M),
        ("ft", "in", 12),
        ("yd3", "ft3", 27),
        ("sy", "sf", 9),
        ("cy", "cf", 27),
        ("lf", "in", 12),
        ("ton", "lb", 2000),
        ("short_ton", "kg", units.SHORT_TON_KG),
        ("t", "kg", 1000),
        ("tonne", "kg", 1000),
        ("pcf", "lb/ft3", 1),
        ("ton/yd3", "lb/yd3", 2000),
        ("tsf", "kPa", units.TSF_KPA),
        ("psi", "kPa", units.PSI_KPA),
        ("%", "share", 0.01),
        ("lb", "kg", units.POUND_KG),
        ("mm/blow", "mm", 1),
    ],
)
def test_one_of_a_unit_is_so_many_of_another(unit: str, to: str, factor: float) -> None:
    assert units.convert(1, unit, to) == pytest.approx(factor, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("350 mm", "in", 350 / 25.4),
        ("14 in", "in", 14),
        ('14"', "in", 14),
        ("12' 6\"", "ft", 12.5),
        ("12 ft 6 in", "ft", 12.5),
        ("12'", "in", 144),
        (" 7.5 ", "in", 7.5),
        ("1e2", "ft2", 100),
        ("85 m^2", "ft2", 85 / units.FOOT_M**2),
        ("85 m²", "ft2", 85 / units.FOOT_M**2),
        ("3 m³", "yd3", 3 / units.YARD3_M3),
        ("100 kPa", "tsf", 100 / units.TSF_KPA),
        ("2.1 %", "%", 2.1),
        ("5 %", "share", 0.05),
        ("2 short tons", "ton", 2),
        ("2 tonnes", "kg", 2000),
        ("3 metric tons", "t", 3),
        ("-2 in", "in", -2),
        ("1/2", "in", 0.5),
        ("½", "in", 0.5),
        ("1 1/2", "in", 1.5),
        ('1-1/2"', "in", 1.5),
        ("1½", "in", 1.5),
        ("1.5”", "in", 1.5),
        ("2 3/8 inches", "in", 2.375),
        ("-1/2", "in", -0.5),
        ("−2 in", "in", -2),
        ("14'-6\"", "ft", 14.5),
        ("14’-6”", "ft", 14.5),
        ("14 ft 6 in", "ft", 14.5),
        ("14' 6 1/2\"", "in", 174.5),
        ("1,250", "ft2", 1250),
        ("1,250.5 ft2", "ft2", 1250.5),
        ("12%", "share", 0.12),
        ("12", "share", 0.12),
        ("1/2 %", "share", 0.005),
        ("1,250.0", "m", 1250),
        (14, "in", 14),
        (Decimal("14.5"), "in", 14.5),
        ("12", "", 12),
    ],
)
def test_a_number_is_taken_and_text_with_a_unit_is_converted(text: object, unit: str, value: float) -> None:
    assert units.to_unit("length", text, unit) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize("text", ["0.12", ".5", "1/2"])
def test_a_text_below_one_where_a_percent_is_due_asks(text: str) -> None:
    with pytest.raises(InputError, match=r"is that .* %, or .* %\? \(type 12 for 12 %\)"):
        units.to_unit("overhead", text, "share")


@pytest.mark.parametrize(
    ("value", "unit"),
    [
        (None, "in"),
        ("", "in"),
        ("   ", "in"),
        ("fourteen", "in"),
        ("14 kg", "in"),
        ("14 inn", "in"),
        ("14 in in", "in"),
        ("1/0", "in"),
        ("1/2/3", "in"),
        ("1 3/2", "in"),
        ("12-", "in"),
        ("10 12", "in"),
        ("12:30", "in"),
        ("1,25", "in"),
        ("14'6'", "ft"),
        ("12' 13\"", "ft"),
        ("$14", "in"),
        ("12 %", "in"),
        ("14 in; 3", "in"),
        ("2 ton", "kg"),
        ("2 tons", "lb"),
        ("1.4 ton/yd3", "ton/yd3"),
        ("2 m^99", "ft2"),
        ("3 ft", ""),
        (True, "in"),
        ("__import__", "in"),
        ("1 " + "m" * 80, "in"),
        ([1], "in"),
    ],
)
def test_what_is_no_number_of_the_unit_is_refused_in_one_sentence(value: object, unit: str) -> None:
    with pytest.raises(InputError, match=r"^depth is .*; (it must be a number|write 'short ton')") as refusal:
        units.to_unit("depth", value, unit)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize(
    ("value", "kind", "says"),
    [
        (0, OutOfRangeError, "is 0 ton; it must be above 0 and at most 40 ton (because)"),
        (40.001, OutOfRangeError, "is 40.001 ton; it must be above 0 and at most 40 ton (because)"),
        ("90,000 lb", OutOfRangeError, "is '90,000 lb', 45 ton; it must be above 0 and at most 40 ton (because)"),
        *(
            (value, OutOfRangeError, "is not a finite number; it must be a number above 0")
            for value in (nan, inf, -inf)
        ),
        (10**400, OutOfRangeError, "is not a finite number"),
        ("14 tons", InputError, "is '14 tons'; write 'short ton' (2,000 lb) or 'tonne' (1,000 kg)"),
        (
            date(2026, 1, 2),
            InputError,
            "is the date or time '2026-01-02'; it must be a number above 0 and at most 40 ton",
        ),
        (None, InputError, "is missing; it must be a number above 0"),
        ({}, InputError, "is a table; it must be a number"),
        (True, InputError, "is TRUE; it must be a number"),
    ],
)
def test_a_number_outside_its_limits_and_what_is_none_are_refused(value: object, kind: type, says: str) -> None:
    with pytest.raises(kind) as refusal:
        units.to_unit("payload", value, "ton", 0, 40, above=True, why="because")
    assert str(refusal.value).startswith(f"payload {says}")
    assert units.to_unit("payload", "80,000 lb", "ton", 0, 40, above=True) == pytest.approx(40)
    with pytest.raises(InputError, match="may mean thousands or a decimal"):
        units.to_unit("length", "1,250", "m")


def test_a_bad_unit_or_dimension_cannot_be_converted() -> None:
    with pytest.raises(InputError, match="'kg' cannot be turned into in"):
        units.convert(1, "kg", "in")
    with pytest.raises(InputError, match="'zork' cannot be turned into in"):
        units.convert(1, "zork", "in")


@given(st.floats(0.001, 1e6), st.sampled_from([("in", "mm"), ("yd3", "m3"), ("tsf", "kPa"), ("ton", "kg")]))
def test_there_and_back_is_the_same_number(value: float, pair: tuple[str, str]) -> None:
    there, back = pair
    assert numbers.printed(units.convert(units.convert(value, there, back), back, there)) == numbers.printed(value)


# checks
@pytest.mark.parametrize(
    ("value", "words"),
    [
        (None, "nothing"),
        ("", "nothing"),
        (True, "TRUE"),
        (False, "FALSE"),
        (2.50, "2.5"),
        (Decimal("1.20"), "1.2"),
        ("ab", "'ab'"),
        ("x" * 50, repr("x" * 37 + "...")),
    ],
)
def test_a_value_is_shown_short(value: object, words: str) -> None:
    assert numbers.quoted(value) == words


SAID = {
    words.amount: [((0.254, "in", 1), "10.0 in"), ((0.254, "mm", 0), "254 mm"), ((33000.0, "ton", 1), "36.4 ton")],
    words.eighths: [((2.375,), "2-3/8"), ((14.0,), "14"), ((0.5,), "1/2"), ((2.36,), "2.4")],
    words.depth_words: [((0.060325, "us"), "2-3/8 in"), ((0.1464, "us"), "5.8 in"), ((0.35, "metric"), "350 mm")],
    words.tape_words: [((0.1464, "us"), "5-3/4 in"), ((0.1464, "metric"), "146 mm")],
    words.tenths: [((0.3048, "us"), "12 in"), ((0.1464, "us"), "5.8 in"), ((0.3, "metric"), "300 mm")],
    words.both: [((3.6576, "ft", "m"), "12 ft (3.6576 m)"), ((0.2032, "in", "mm"), "8 in (203.2 mm)")],
    words.money: [((Decimal("12345.5"),), "$12,345.50"), ((Decimal(-3),), "-$3.00")],
    words.listed: [((["a"],), "a"), ((["a", "b", "c"],), "a, b and c"), ((["light", "heavy"], "or"), "light or heavy")],
    words.fixed: [((1425.285, 2), "1,425.29"), ((2.5, 0), "3")],
    words.plural: [((1, "load"), "1 load"), ((7, "load"), "7 loads")],
    words.in_percent: [((0.0012,), "0.12 %"), ((15,), "1500 %")],
    numbers.digits: [((1e6,), "1,000,000"), ((2.50,), "2.5"), ((3000,), "3000"), ((0.00551156,), "0.00551156")],
    numbers.half_up: [((242.5,), 243.0), ((425.285, 2), 425.29), ((-0.125, 2), -0.13)],
    numbers.meant_share: [(("overhead", 0.12), 0.12), (("overhead", 0.0), 0.0)],
    units.written: [(('1-1/2"',), (1.5, "in")), (("14'-6\"",), (174.0, "in")), (("$1,250.00",), (1250.0, "$")),
                    (("½ %",), (0.5, "%")), (("1/0",), None)],
    units.price_unit: [(("Cu. Yd",), "yd3"), (("sf",), "ft2"), (("week",), None)],
    errors.column_letters: [((2,), "B"), ((28,), "AB")],
    errors.fault_sentence: [((PermissionError(13, "Permission denied", "jobs/drive.toml"),),
                             "jobs/drive.toml: the file or folder cannot be used (permission denied)")],
}  # fmt: skip


@pytest.mark.parametrize("function", SAID, ids=lambda function: function.__name__)
def test_numbers_lengths_and_money_are_said_and_read_as_the_trade_does(function: Callable[..., object]) -> None:
    assert [function(*given) for given, _ in SAID[function]] == [expected for _, expected in SAID[function]]
    assert numbers.meant_share("overhead", 0.005, sure=True) == 0.005
    assert words.amount(0.3048, "in", 1, trim=True) == "12 in"


@pytest.mark.parametrize(
    ("low", "high", "above", "phrase"),
    [
        (1, 350, False, "from 1 to 350 mm"),
        (0, inf, True, "above 0 mm"),
        (0, inf, False, "at least 0 mm"),
        (-inf, 4, False, "at most 4 mm"),
        (0, 40, True, "above 0 and at most 40 mm"),
        (-inf, inf, False, ""),
    ],
)
def test_limits_in_words(low: float, high: float, above: bool, phrase: str) -> None:
    assert numbers.limits(low, high, "mm", above=above) == phrase


def test_a_choice_forgives_case_and_spacing_only() -> None:
    assert numbers.choice("class", " Very   SOFT ", ["very soft", "soft"]) == "very soft"
    with pytest.raises(InputError, match="class is 'verysoft'; it must be one of: very soft, soft"):
        numbers.choice("class", "verysoft", ["very soft", "soft"])
    with pytest.raises(InputError, match="class is missing; it must be one of: very soft, soft"):
        numbers.choice("class", None, ["very soft", "soft"])
    with pytest.raises(InputError, match="class is 3"):
        numbers.choice("class", 3, ["very soft", "soft"])


def test_every_refusal_is_one_tree_and_keeps_its_kind_when_a_place_is_added() -> None:
    for kind in (InputError, OutOfRangeError, PriceError, WorkbookError):
        placed = kind("it is wrong", where="B3").at("Prices")
        assert isinstance(placed, BasecalcError)
        assert type(placed) is kind
        assert str(placed) == "Prices, B3: it is wrong"
    assert str(InputError("it is wrong").at("Prices")) == "Prices: it is wrong"


# rounding
@pytest.mark.source("spreadsheet-notes.md, numbers at the edge: 6 in -> m -> in came back 5.999999999999999")
def test_a_refusal_carries_its_field_and_its_place_as_data(tmp_path: Path) -> None:
    """A program that shows it beside an input needs no word of the sentence."""
    area = {"name": "Drive", "shape": "rectangle", "length": 40, "width": "wide", "soil": "clay", "strength": "soft"}
    job = {"number": "Q-1", "client": "Any Client", "site": "Any Lane 1"}
    with pytest.raises(BasecalcError) as refused:
        basecalc.parse_job({"job": job, "area": [{**area, "width": 12}, area]}, "drive.toml")
    assert (refused.value.field, refused.value.place.file) == ("width", "drive.toml")
    assert (refused.value.place.path, refused.value.place.within) == (("area", 1), ('area 2 "Drive"',))
    prices = basecalc.write_price_workbook(tmp_path / "prices.xlsx")
    with pytest.raises(BasecalcError) as refused:
        basecalc.load_prices(prices)
    place = refused.value.place
    assert (place.file, place.sheet, place.cell) == (str(prices), "Company", f"B{place.row}")
    assert str(refused.value) == f"{prices}, sheet Company, cell {place.cell}: {refused.value.sentence}"


def test_a_refusal_keeps_what_it_knows_when_its_place_or_its_name_changes() -> None:
    refusal = OutOfRangeError("is 9; it must be at most 4", about="blows", where=Place(row=7), field="blows_cell")
    moved = refusal.at("drop A").at(Place("log.csv"), field="blows")
    assert (str(moved), moved.field, moved.place.row) == (
        "log.csv, drop A, row 7: blows is 9; it must be at most 4",
        "blows",
        7,
    )
    other = moved.changed(InputError, about="strokes")
    assert (type(other), other.sentence, other.place) == (InputError, "strokes is 9; it must be at most 4", moved.place)
    assert (
        refusal.at(Place("log.csv")).at(Place("drive.toml", within=("spot 1",))).where
        == "drive.toml, spot 1, log.csv, row 7"
    )


def test_noise_does_not_change_what_is_printed() -> None:
    noisy = 6 * units.INCH_M / units.INCH_M
    assert numbers.printed(noisy) == 6.0
    assert numbers.printed(5.999999999999999) == 6.0
    assert numbers.printed(5.9999) == 5.9999


@given(st.integers(1, 400), st.integers(1, 300))
def test_an_exact_multiple_of_loads_is_never_one_load_more(loads: int, tenths: int) -> None:
    payload = tenths / 10
    assert numbers.round_up(loads * payload / payload) == loads
    assert numbers.round_up(sum([payload] * loads) / payload) == loads


@pytest.mark.parametrize(("ratio", "whole"), [(0, 0), (0.001, 1), (3, 3), (3.001, 4), (3 + 1e-12, 3), (2.999999, 3)])
def test_a_part_of_a_load_is_a_whole_one(ratio: float, whole: int) -> None:
    assert numbers.round_up(ratio) == whole


def test_a_depth_goes_up_to_the_next_step() -> None:
    assert numbers.round_up_to(14.2, 1) == 15
    assert numbers.round_up_to(14, 1) == 14
    assert numbers.round_up_to(0.1524, 0.0254) == 0.1524
    assert numbers.round_up_to(0.1525, 0.0254) == pytest.approx(0.1778)


def test_half_goes_up_as_it_is_printed() -> None:
    assert numbers.decimal(2.675, 2) == Decimal("2.68")
    assert numbers.decimal(1.005, 2) == Decimal("1.01")
    assert numbers.decimal(Decimal("0.125"), 2) == Decimal("0.13")
    assert numbers.decimal(-2.675, 2) == Decimal("-2.68")
    assert numbers.cents(Decimal("10.005")) == Decimal("10.01")
    assert numbers.cents(Decimal("10.0049")) == Decimal("10.00")


# tables
def raw_table(**changes: object) -> dict[str, object]:
    """Return a small sound table file, with changes."""
    sound: dict[str, object] = {
        "title": "sinks",
        "source": "PRACTICE",
        "trust": "practice",
        "rule": "from",
        "columns": {"class": "class", "from": "in", "below": "in"},
        "rows": [{"class": "hard", "from": 0, "below": 1}, {"class": "soft", "from": 1, "below": 3}],
    }
    return sound | changes


@pytest.mark.parametrize(
    ("changes", "complaint"),
    [
        ({"source": "NOBODY"}, "'NOBODY' is missing or is not a source"),
        ({"trust": "hearsay"}, "trust 'hearsay' is not one of"),
        ({"rule": "nearest"}, "rule 'nearest' is not one of"),
        ({"rows": []}, "it has no rows"),
        ({"columns": {"class": "class", "from": "in", "below": "furlong"}}, "unit 'furlong' is unknown"),
        ({"rows": [{"class": "hard", "from": 0}]}, "does not have the columns"),
        (
            {"rows": [{"class": "hard", "from": 0, "below": 1}, {"class": "soft", "from": 1.5, "below": 3}]},
            "a gap or an overlap at 1.5",
        ),
        (
            {"rows": [{"class": "hard", "from": 0, "below": 1}, {"class": "soft", "from": 0.5, "below": 3}]},
            "a gap or an overlap at 0.5",
        ),
        (
            {"rows": [{"class": "soft", "from": 1, "below": 3}, {"class": "hard", "from": 0, "below": 1}]},
            "a gap or an overlap at 0",
        ),
        ({"rows": [{"class": "hard", "from": 1, "below": 1}]}, "band 1 to 1 is upside down"),
        (
            {
                "rule": "exact",
                "columns": {"word": "text"},
                "rows": [{"word": "easy"}, {"word": "Easy"}],
            },
            "a key is listed twice",
        ),
    ],
)
def test_a_faulty_table_is_refused_by_name(changes: dict[str, object], complaint: str) -> None:
    with pytest.raises(TableError, match=r"^sinks\.toml: ") as refusal:
        check("sinks", raw_table(**changes))
    assert not isinstance(refusal.value, BasecalcError)  # a fault of the package, never of a user
    assert complaint in str(refusal.value)


@pytest.mark.parametrize("field", ["title", "source", "trust", "rule", "columns", "rows"])
def test_a_table_without_a_field_is_refused(field: str) -> None:
    raw = raw_table()
    del raw[field]
    with pytest.raises(TableError, match=rf"sinks\.toml: '{field}' is missing"):
        check("sinks", raw)


@pytest.mark.parametrize(
    ("value", "downward", "upward"),
    [(0, "hard", "soft"), (0.999, "hard", "soft"), (1, "soft", "soft"), (1.001, "soft", "hard"), (3, "soft", "hard")],
)
def test_a_boundary_belongs_to_the_row_that_the_rule_says(value: float, downward: str, upward: str) -> None:
    columns = {"class": "class", "above": "in", "up_to": "in"}
    rows = [{"class": "soft", "above": 0, "up_to": 1}, {"class": "hard", "above": 1, "up_to": 3}]
    assert check("sinks", raw_table()).band("sink", value)["class"] == downward
    assert check("sinks", raw_table(rule="up_to", columns=columns, rows=rows)).band("qu", value)["class"] == upward


@pytest.mark.parametrize("value", [-0.001, 3.001, nan, inf])
def test_a_table_refuses_what_lies_outside_its_print(value: float) -> None:
    with pytest.raises(OutOfRangeError, match=r"sink is .*from 0 to 3 in"):
        check("sinks", raw_table()).band("sink", value)


def test_a_table_says_which_words_it_has() -> None:
    words = check("w", raw_table(rule="exact", columns={"word": "text"}, rows=[{"word": "easy"}, {"word": "hard"}]))
    assert words.exact(" HARD ")["word"] == "hard"
    with pytest.raises(InputError, match="word is 'middling'; it must be one of: easy, hard"):
        words.exact("middling")


def _table_files() -> list[str]:
    names = sorted(entry.name for entry in DATA.iterdir() if entry.name.endswith(".toml"))
    return [name for name in names if "rule" in tomllib.loads((DATA / name).read_text("utf-8"))]


@pytest.mark.parametrize("name", _table_files())
def test_every_table_of_the_package_is_sound_and_cited(name: str) -> None:
    sound = table(name.removesuffix(".toml"))
    assert sound.rows
    assert sound.source.key in sources()
    assert f"[{sound.trust}]" in sound.cited
    assert sound.trust in TRUST
    if sound.source.key in ("PRACTICE", "BASECALC"):
        assert sound.trust in ("practice", "own", "computed")


@pytest.mark.parametrize("name", [name for name in _table_files() if "weakest" in table(name[:-5]).columns])
def test_a_closed_gap_between_classes_is_confessed_in_the_note(name: str) -> None:
    sound = table(name.removesuffix(".toml"))
    trusts = {str(row["trust"]) for row in sound.rows}
    assert trusts <= set(TRUST)
    if "own" in trusts:
        assert "our own c" in " ".join(sound.note.casefold().split())  # our own choice, our own closing of the gap


def test_every_source_has_a_title() -> None:
    assert all(source.title and str(source).startswith(source.title) for source in sources().values())


@pytest.mark.parametrize("unit", ["A/0", "0/0", "m**9e9", "2", "m*("])
def test_a_spelling_that_cannot_be_worked_out_is_no_unit(unit: str) -> None:
    with pytest.raises(InputError, match="cannot be turned into in"):
        units.convert(1.0, unit, "in")
    with pytest.raises(InputError, match="it must be a number"):
        units.to_unit("depth", f"0 {unit}", "in")
