"""What Excel is told of the functions: names and arguments that it can take, help that fits, each function once."""

import inspect
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from com_host import ExcelHost

from basecalc import worksheet
from basecalc.formulas.cells import LEFT_OUT
from basecalc.formulas.functions import FUNCTIONS

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
def excel() -> Iterator[ExcelHost]:
    with ExcelHost() as host:
        yield host


@pytest.fixture(scope="module")
def wrapper(excel: ExcelHost) -> str:
    return excel.module()


def headers(wrapper: str) -> list[str]:
    return re.findall(r"^Function .*$", wrapper, re.MULTILINE)


def test_every_function_of_the_contract_is_in_the_wrapper_once_with_its_arguments(wrapper: str) -> None:
    as_contract = [re.sub(r"Optional (\w+)", r"[\1]", header.removeprefix("Function ")) for header in headers(wrapper)]
    assert sorted(as_contract) == sorted(SIGNATURES.values())


def test_the_pages_have_a_row_for_each_function_with_arguments_it_has() -> None:
    rows = re.findall(r"^\| `([A-Z_]+)\(`?([^|]*?)`?\)?` \| .+ \|$", README, re.MULTILINE)
    assert sorted(name for name, _ in rows) == sorted(function.name for function in FUNCTIONS)
    arguments = {function.name: [argument.name for argument in function.arguments] for function in FUNCTIONS}
    for name, told in rows:
        named = [word for word in re.findall(r"[a-z_]+", told) if word not in ("the", "same", "geogrid")]
        assert named == arguments[name][: len(named)], name


def test_nothing_else_is_exported(wrapper: str) -> None:
    assert not re.search(r"^Sub ", wrapper, re.MULTILINE)
    assert len(headers(wrapper)) == len(SIGNATURES)


def test_names_and_arguments_are_legal_in_visual_basic_and_no_cell_addresses(wrapper: str) -> None:
    for header in headers(wrapper):
        name, *arguments = re.findall(r"\w+", re.sub(r"\b(Function|Optional)\b", "", header))
        words = [word.lower() for word in (name, *arguments)]
        assert len(set(words)) == len(words), header
        for word in words:
            assert re.fullmatch(r"[a-z][a-z0-9_]{0,63}", word), word
            assert word not in RESERVED
            assert not LIKE_A_CELL.fullmatch(word), word


def test_optional_arguments_come_last_as_visual_basic_asks(wrapper: str) -> None:
    for header in headers(wrapper):
        given = header.split("(")[1].rstrip(")").split(", ")
        optional = [argument.startswith("Optional ") for argument in given]
        assert optional == sorted(optional), header


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
    from basecalc.ground.readings import MOISTURES, SOILS, TESTS

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
