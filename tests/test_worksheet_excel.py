"""The real xlwings conversion, as Excel on Windows drives it: what VBA sends in, what the cell gets, what is told."""

import datetime as dt
import inspect
import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from com_host import ExcelHost
from com_stubs import MISSING, ComRange, TimeType, column, error, row

from basecalc import worksheet
from basecalc.formulas.cells import LEFT_OUT
from basecalc.formulas.functions import FUNCTIONS
from basecalc.ground.readings import MOISTURES, SOILS, TESTS

# A formula per function: every argument given, the value it must show, and how many arguments may be left out.
CASES: dict[str, tuple[tuple[Any, ...], float | str, int]] = {
    "STRENGTH_CLASS": (("pocket", 0.3, "moist"), "soft", 1),
    "BEARING_RATIO": (("cone", 40.0, "clay"), 2.16, 1),
    "SITE_STRENGTH": (("stiff", "weakest"), "stiff", 1),
    "BASE_DEPTH": (("hard", "light", "none", 0.32, "in"), 6.0, 4),
    "BASE_DEPTH_REASON": (
        (8.0, "light", "none", 0.32, "in"),
        "minimum governs: 6.0 in, 2.0 in more than the structural check",
        4,
    ),
    "EXCAVATION_VOLUME": ((800.0, 8.0, 0.0, 0.0, 0.0, "yd3"), 19.75, 4),
    "LOOSE_VOLUME": ((100.0, "clay", "yd3"), 143.0, 1),
    "AGGREGATE_TONS": ((19.75, 1.85, 1.0, 0.0, "ton"), 36.54, 4),
    "TRUCKLOADS": ((36.5, 14.0, 24.8, 14.0), 3.0, 2),
    "BASE_LIFTS": ((14.0, 6.0), 3.0, 1),
    "ROLLS": ((100.0, 20.0, 100.0, 13.1, 1.0), 2.0, 1),
}
# Arguments for which a blank cell is an answer: the modulus of a grid that is not there, spots that were not tested.
BLANK_IS_AN_ANSWER = {("BASE_DEPTH", 3), ("BASE_DEPTH_REASON", 3)}
ARGUMENTS = [(name, place) for name, (given, _, _) in CASES.items() for place in range(len(given))]


@pytest.fixture(scope="module")
def excel() -> Iterator[ExcelHost]:
    with ExcelHost() as host:
        yield host


def assert_shows(shown: Any, expected: float | str) -> None:
    if isinstance(expected, str):
        assert shown == expected
    else:
        assert type(shown) is float
        assert shown == pytest.approx(expected, abs=0.006)


def refused(shown: Any, name: str) -> bool:
    """Return whether a cell shows one sentence about this argument, and no program's talk."""
    assert isinstance(shown, str), shown
    assert "failed here" not in shown
    assert "Traceback" not in shown
    assert "\n" not in shown
    return shown.startswith(f"#{name}") or (name == "classes" and shown.startswith("#classes"))


NAMES = {function.name: [argument.name for argument in function.arguments] for function in FUNCTIONS}


@pytest.mark.parametrize("function", CASES)
def test_values_written_in_the_formula_and_in_cells(excel: ExcelHost, function: str) -> None:
    given, expected, _ = CASES[function]
    assert_shows(excel.call(function, *given), expected)
    assert_shows(excel.call(function, *map(ComRange, given)), expected)


@pytest.mark.parametrize("function", CASES)
def test_optional_arguments_may_be_left_out(excel: ExcelHost, function: str) -> None:
    given, expected, optional = CASES[function]
    shown = excel.call(function, *given[: len(given) - optional])
    if function == "AGGREGATE_TONS":  # its defaults are another stone: 19.75 x 1.48 x 1.254
        expected = 36.65
    elif function == "BASE_LIFTS":  # 14 in by 4 in
        expected = 4.0
    elif function == "BEARING_RATIO":  # the curve of lean clay, the weakest that fits a soil that is not named
        expected = 2.16
    assert_shows(shown, expected)


@pytest.mark.parametrize("function", CASES)
def test_an_argument_left_out_between_two_others(excel: ExcelHost, function: str) -> None:
    given, expected, optional = CASES[function]
    if optional < 2 or function in ("EXCAVATION_VOLUME", "TRUCKLOADS"):
        gap, tail = [], given
    else:
        gap, tail = [MISSING] * (optional - 1), given[-1:]
    head = given[: len(given) - len(gap) - len(tail)]
    if function == "AGGREGATE_TONS":
        expected = 36.65
    assert_shows(excel.call(function, *head, *gap, *tail), expected)


@pytest.mark.parametrize("function", CASES)
def test_a_needed_argument_that_is_missing_is_named(excel: ExcelHost, function: str) -> None:
    given, _, optional = CASES[function]
    for place, name in enumerate(NAMES[function][: len(given) - optional]):
        arguments = [*given[:place], MISSING, *given[place + 1 :]]
        shown = excel.call(function, *arguments)
        assert refused(shown, name), shown
        assert "missing" in shown or "blank" in shown


NO_ANSWERS = (True, False, TimeType(2024, 1, 2, tzinfo=dt.UTC), "about 3", float("nan"), float("inf"), -1e9, 1e300)


@pytest.mark.parametrize(("function", "place"), ARGUMENTS)
def test_each_argument_refuses_by_its_name_what_is_no_answer(excel: ExcelHost, function: str, place: int) -> None:
    """A blank, an error cell, a date, TRUE, no number; a currency is a number."""
    given, expected, _ = CASES[function]
    name = NAMES[function][place]

    def shown(cell: object) -> Any:
        return excel.call(function, *given[:place], ComRange(cell), *given[place + 1 :])

    for blank in (None, "", "   "):
        if (function, place) in BLANK_IS_AN_ANSWER:
            assert_shows(shown(blank), expected)
        else:
            assert refused(shown(blank), name)
    for number, word in ((2007, "#DIV/0!"), (2042, "#N/A"), (2045, "#SPILL!"), (2050, "#CALC!")):
        said = shown(error(number))
        assert refused(said, name)
        assert f"is the error {word}" in said
    for cell in NO_ANSWERS:
        assert refused(shown(cell), name), cell
    if isinstance(given[place], float):
        assert_shows(shown(Decimal(str(given[place]))), expected)


@pytest.mark.parametrize("function", CASES)
def test_a_column_gives_a_column_and_spoils_only_its_bad_row(excel: ExcelHost, function: str) -> None:
    given, expected, _ = CASES[function]
    if function == "SITE_STRENGTH":
        assert excel.call(function, column("stiff", "soft", None, "hard")) == "soft"
        return
    shown = excel.call(function, column(given[0], None, given[0]), *given[1:])
    assert [len(cells) for cells in shown] == [1, 1, 1]
    assert_shows(shown[0][0], expected)
    assert refused(shown[1][0], NAMES[function][0])
    assert_shows(shown[2][0], expected)


@pytest.mark.parametrize("function", CASES)
def test_columns_go_row_by_row_and_a_row_gives_a_row(excel: ExcelHost, function: str) -> None:
    given, expected, _ = CASES[function]
    if function == "SITE_STRENGTH":
        assert excel.call(function, row("stiff", "soft", None, "hard")) == "soft"
        return
    for shown in excel.call(function, *[column(value, value) for value in given]):
        assert_shows(shown[0], expected)
    across = excel.call(function, *[row(value, value) for value in given])
    assert len(across) == 2  # one row: xlwings hands its cells over without the list around them
    for value in across:
        assert_shows(value, expected)


@pytest.mark.parametrize("function", [name for name in CASES if name != "SITE_STRENGTH"])
def test_ranges_of_different_length_are_refused(excel: ExcelHost, function: str) -> None:
    given, _, _ = CASES[function]
    shown = excel.call(function, column(given[0], given[0]), column(given[1], given[1], given[1]), *given[2:])
    assert "is 3 x 1 cells (rows x columns); it must be as large as" in shown


def test_a_block_of_spots_is_one_area(excel: ExcelHost) -> None:
    assert excel.call("SITE_STRENGTH", ComRange((("stiff", None), ("hard", 2.0)))) == "stiff"


@pytest.mark.parametrize(
    ("cells", "start"),
    [
        ((None, None), "#classes is a range of 2 blank cells; it must have at least one"),
        (("soft", error(2042)), "#classes, cell 2: strength is the error #N/A; "),
        (("soft", None, "boggy"), "#classes, cell 3: strength is 'boggy'; it must be one of: very soft, soft"),
        (("soft", None, 0.0), "#classes, cell 3: strength is 0 %; it must be from 0.05 to 100 %"),
        (("soft", True), "#classes, cell 2: strength is TRUE; it must be"),
    ],
)
def test_a_spot_that_says_nothing_usable_spoils_the_area(excel: ExcelHost, cells: tuple[Any, ...], start: str) -> None:
    shown = excel.call("SITE_STRENGTH", column(*cells))
    assert shown.startswith(start)


def test_a_refusal_travels_down_the_sheet_to_the_quantity(excel: ExcelHost) -> None:
    strength = excel.call("STRENGTH_CLASS", "cone", 400.0)
    assert strength.startswith("#reading (cone) is 400 mm/blow; it must be from 1 to 350 mm/blow")
    depth = excel.call("BASE_DEPTH", ComRange(strength))
    assert depth == f"#strength: {strength[1:]}"
    assert excel.call("EXCAVATION_VOLUME", 800.0, ComRange(depth)) == f"#depth: {depth[1:]}"


def test_text_with_a_unit_is_converted(excel: ExcelHost) -> None:
    assert_shows(excel.call("EXCAVATION_VOLUME", "74.32 m^2", "203.2 mm", "0 m", MISSING, MISSING, "m3"), 15.10)
    assert_shows(excel.call("TRUCKLOADS", "30 tonne", "10000 kg"), 3.0)
    assert_shows(excel.call("STRENGTH_CLASS", "pocket", "28.7 kPa"), "soft")


@pytest.mark.parametrize(
    ("function", "arguments", "shown"),
    [
        ("EXCAVATION_VOLUME", ("800 ft", 8.0), "#area is '800 ft'; it must be a number (ft2), or a number with a unit"),
        ("AGGREGATE_TONS", (10.0, 2950.0), "#loose_density is 2950 ton/yd3; it must be from 0.7 to 2.1 ton/yd3"),
        ("TRUCKLOADS", ("36.5 tons", 14.0), "#tons is '36.5 tons'; write 'short ton' (2,000 lb) or 'tonne'"),
        ("AGGREGATE_TONS", (10.0, 1.48, 1.254, 5.0), "#waste is 5; it must be from 0 to 0.5 (a share: 0.05"),
        ("BASE_DEPTH", ("soft", "light", "geogrid"), "#aperture_stability is missing; it must be a number above 0"),
        ("BASE_DEPTH", ("soft", "light", "geogrid", 0.0), "#aperture_stability is 0 m-N/deg; it must be above 0"),
        ("BASE_DEPTH", ("soft", "light", "none", 3.0), "#aperture_stability is 3 m-N/deg; it must be from 0 to 0.8"),
        ("BASE_DEPTH", ("very soft",), "#strength is 'very soft' without a measured CBR; below CBR 0.4 %"),
        ("BASE_DEPTH", (0.3,), "#strength (CBR) is 0.3 %; below 0.4 % (very soft ground) no base depth is given"),
        ("BASE_DEPTH", ("soft", "busy"), "#traffic is 'busy'; it must be one of: light, delivery, heavy"),
        ("BEARING_RATIO", ("walk", 2.0), "#test is 'walk', which gives a class and no CBR; it must be one of: cone,"),
        ("BEARING_RATIO", ("pocket", 0.001), "#reading (pocket) is 0.001 tsf; it must stand for a CBR of at"),
        (
            "BEARING_RATIO",
            ("pocket", 1.0, "sand"),
            "#soil is sand, of which pocket says nothing; it must be one of: ",
        ),
        ("STRENGTH_CLASS", ("rod", "soft"), "#reading (rod) is 'soft'; it must be one of: easy, moderate, hard"),
        ("STRENGTH_CLASS", ("walk", None), "#reading (walk) is missing; it must be: sink of a person walking, in"),
        ("EXCAVATION_VOLUME", (800.0, 8.0, MISSING, 6.0), "#open_edge is missing though edge_extension is given"),
        ("EXCAVATION_VOLUME", (800.0, 8.0, 0.0, 6.0, 4.0), "#corners is 4 though open_edge is 0 ft; it must be 0"),
        ("TRUCKLOADS", (36.5, 14.0, 20.0), "#box_volume is missing though loose_volume is given; it must be a volume"),
        ("ROLLS", (100.0, 20.0, 100.0, 13.1, 7.0), "#overlap is 7 ft; it must be from 0 to 6.55 ft (at most half the"),
        ("LOOSE_VOLUME", (100.0, "chalk"), "#soil is 'chalk'; it must be one of: sand, gravel, earth"),
        ("LOOSE_VOLUME", (0.0, "clay"), "#bank_volume is 0 yd3; it must be from 0.001 to 500,000 yd3"),
    ],
)
def test_the_sentence_says_what_its_value_the_limit_and_the_unit(
    excel: ExcelHost, function: str, arguments: tuple[Any, ...], shown: str
) -> None:
    assert str(excel.call(function, *arguments)).startswith(shown)


# ---- what Excel is told: names and arguments that it can take, help that fits, each function once

ROOT = Path(__file__).parent.parent
README = (ROOT / "examples" / "guide-estimator.md").read_text("utf-8")
# The contract: names, arguments and their order; those in brackets may be left out.
CONTRACT = """
STRENGTH_CLASS(test, reading, [moisture])
BEARING_RATIO(test, reading, [soil])
SITE_STRENGTH(classes, [rule])
BASE_DEPTH(strength, [traffic], [reinforcement], [aperture_stability], [unit])
BASE_DEPTH_REASON(strength, [traffic], [reinforcement], [aperture_stability], [unit])
EXCAVATION_VOLUME(area, depth, [open_edge], [edge_extension], [corners], [unit])
LOOSE_VOLUME(bank_volume, soil, [unit])
AGGREGATE_TONS(compacted_volume, [loose_density], [compaction_factor], [waste], [unit])
TRUCKLOADS(tons, payload, [loose_volume], [box_volume])
BASE_LIFTS(depth, [max_lift])
ROLLS(length, width, roll_length, roll_width, [overlap])
"""
SIGNATURES = {line.split("(")[0]: line for line in CONTRACT.split("\n") if line}

# Reserved identifiers of Visual Basic for Applications.
RESERVED_WORDS = """
    abs addressof and any array as attribute boolean byref byte byval call case cbool cbyte ccur cdate cdbl cdec
    cdecl cint circle clng clnglng clngptr close const csng cstr currency cvar cverr date debug decimal declare
    defbool defbyte defcur defdate defdbl defdec defint deflng defobj defsng defstr defvar dim do doevents
    double each else elseif empty end endif enum eqv erase error event exit false fix for friend function get
    global gosub goto if imp implements in input inputb int integer is lbound len lenb let like line lock long
    longlong longptr loop lset me mod name new next not nothing null on open option optional or paramarray
    preserve print private pset public put raiseevent redim rem resume return rset scale seek select set sgn
    shared single spc static stop string sub tab then to true type typeof ubound unlock until variant wend while
    with withevents write xor
"""
RESERVED = frozenset(RESERVED_WORDS.split())
LIKE_A_CELL = re.compile(r"[a-z]{1,3}\d+|r\d*(c\d*)?|c\d*", re.IGNORECASE)


@pytest.fixture(scope="module")
def wrapper(excel: ExcelHost) -> str:
    return excel.module()


def headers(wrapper: str) -> list[str]:
    return re.findall(r"^Function .*$", wrapper, re.MULTILINE)


def test_every_function_of_the_contract_is_in_the_wrapper_once_with_its_arguments(wrapper: str) -> None:
    as_contract = [re.sub(r"Optional (\w+)", r"[\1]", header.removeprefix("Function ")) for header in headers(wrapper)]
    assert sorted(as_contract) == sorted(SIGNATURES.values())
    assert not re.search(r"^Sub ", wrapper, re.MULTILINE)


def test_the_pages_have_a_row_for_each_function_with_arguments_it_has() -> None:
    rows = re.findall(r"^\| `([A-Z_]+)\(`?([^|]*?)`?\)?` \| .+ \|$", README, re.MULTILINE)
    assert sorted(name for name, _ in rows) == sorted(function.name for function in FUNCTIONS)
    for name, told in rows:
        named = [word for word in re.findall(r"[a-z_]+", told) if word not in ("the", "same", "geogrid")]
        assert named == NAMES[name][: len(named)], name


def test_names_and_arguments_are_legal_in_visual_basic_and_no_cell_addresses(wrapper: str) -> None:
    for header in headers(wrapper):
        name, *arguments = re.findall(r"\w+", re.sub(r"\b(Function|Optional)\b", "", header))
        words = [word.lower() for word in (name, *arguments)]
        assert len(set(words)) == len(words), header
        for word in words:
            assert re.fullmatch(r"[a-z][a-z0-9_]{0,63}", word), word
            assert word not in RESERVED
            assert not LIKE_A_CELL.fullmatch(word), word


def test_the_wrapper_is_balanced_plain_text_within_the_limits_of_visual_basic(wrapper: str) -> None:
    lines = [line.strip() for line in wrapper.splitlines()]
    assert wrapper.isascii()
    assert max(map(len, lines)) < 1023
    for opening, closing in (("Function ", "End Function"), ("#If ", "#End If")):
        assert sum(line.startswith(opening) for line in lines) == lines.count(closing)
    for header in headers(wrapper):
        name = re.findall(r"\w+", header)[1]
        arguments = re.findall(r"\w+", re.sub(r"\bOptional\b", "", header.split("(")[1]))
        call = f'{name} = XLPy.CallUDF("basecalc.worksheet", "{name}", Array({", ".join(arguments)})'
        assert wrapper.count(call) == 2


def test_help_is_there_fits_the_boxes_of_excel_and_says_the_unit(excel: ExcelHost) -> None:
    for name, told in excel.described().items():
        assert told["category"] == worksheet.CATEGORY
        assert not told["volatile"]
        assert 20 < len(told["help"]) <= 255, name
        assert "\n" not in told["help"]
        for argument, text, _, options in told["arguments"]:
            assert 10 < len(text) <= 255, f"{name} {argument}: {len(text)} characters"
            assert "\n" not in text
            assert "`" not in text
            assert options == {"err_to_str": True, "ndim": 2}


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.name)
def test_help_tells_what_happens_when_an_argument_is_left_out(function: object) -> None:
    for argument in function.arguments:  # type: ignore[attr-defined]
        if argument.optional and argument.default is not LEFT_OUT:
            shown = f"{argument.default:g}" if isinstance(argument.default, float) else argument.default
            assert re.search(rf"\b{shown}\b.*if left out|As in [A-Z_]+: {shown}|if left out", argument.help), argument


@pytest.mark.parametrize("name", SIGNATURES)
def test_python_sees_the_same_signature(name: str) -> None:
    function = getattr(worksheet, name)
    parameters = inspect.signature(function).parameters.values()
    shown = ", ".join(p.name if p.default is p.empty else f"[{p.name}]" for p in parameters)
    assert f"{name}({shown})" == SIGNATURES[name]
    assert function.__name__ == name
    assert function.__doc__


def test_the_words_of_the_help_are_the_words_that_are_taken() -> None:
    helps = {(f.name, a.name): a.help for f in FUNCTIONS for a in f.arguments}
    for words, where in (
        (TESTS, ("STRENGTH_CLASS", "test")),
        (MOISTURES, ("STRENGTH_CLASS", "moisture")),
        (SOILS, ("LOOSE_VOLUME", "soil")),
    ):
        assert [word for word in words if not re.search(rf"\b{word}\b", helps[where])] == []


def test_more_arguments_than_there_are_is_a_mistake_of_the_program_not_of_a_cell() -> None:
    with pytest.raises(TypeError, match="LOOSE_VOLUME takes at most 3 arguments, 4 were given"):
        worksheet.LOOSE_VOLUME(1, "clay", "m3", 2)
