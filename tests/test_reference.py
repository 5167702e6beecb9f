"""The reference page is the one that the docstrings give today, and leaves nothing public out."""

import importlib.util
import inspect
import re
from pathlib import Path
from types import ModuleType

import pytest

import basecalc
from basecalc.formulas.functions import FUNCTIONS

SCRIPT = Path(__file__).parent.parent / "examples" / "make_reference.py"
RENEW = "the reference page is not of today: run `python examples/make_reference.py` and look at what it changed"


@pytest.fixture(scope="module")
def writer() -> ModuleType:
    told = importlib.util.spec_from_file_location("make_reference", SCRIPT)
    assert told is not None
    assert told.loader is not None
    module = importlib.util.module_from_spec(told)
    told.loader.exec_module(module)
    return module


def test_the_page_is_what_the_docstrings_give(writer: ModuleType) -> None:
    assert writer.PAGE.read_text("utf-8") == writer.page(), RENEW


def test_every_name_and_every_argument_stands_on_it_with_a_word(writer: ModuleType) -> None:
    passages = [one for group in writer.groups().values() for one in group.items()]
    assert sorted(name for name, _ in passages) == sorted([*basecalc.__all__, *(one.name for one in FUNCTIONS)])
    for name, lines in passages:
        told = {word for row in re.findall(r"^\| (`.+?) \| \S.* \|$", "\n".join(lines), re.MULTILINE)
                for word in re.findall(r"`([^`]+)`", row)}  # fmt: skip
        public = getattr(basecalc, name, None)
        function = next((one for one in FUNCTIONS if one.name == name), None)
        if function is not None:
            wanted = [argument.name for argument in function.arguments]
        elif inspect.isfunction(public):
            wanted = list(inspect.signature(public).parameters)
        else:
            wanted = list(getattr(public, "__dataclass_fields__", ()))
        assert told >= set(wanted), name


def test_its_links_lead_somewhere(writer: ModuleType) -> None:
    page = writer.page()
    headings = re.findall(r"^##+ (.+)$", page, re.MULTILINE)
    assert set(re.findall(r"\]\(#([^)]+)\)", page)) == set(writer.anchors(headings).values())
    assert len(headings) == len(writer.anchors(headings))
