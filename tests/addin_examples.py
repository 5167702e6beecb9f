"""A call of every worksheet function as a sheet makes it: ranges as rows of cells, None for what is left out."""

from typing import Any

from test_worksheet_excel import CASES

from basecalc.formulas.functions import FUNCTIONS

CALLABLE = {function.name: function for function in FUNCTIONS}

EXAMPLES: dict[str, tuple[Any, ...]] = {
    **{name: given for name, (given, _, _) in CASES.items()},
    "SITE_STRENGTH": ((("stiff",), (2.5,), ("",), ("medium",)), "weakest"),
}


def directly(name: str, given: tuple[Any, ...]) -> Any:
    """Return what the library itself answers to a call; what is left out at the end, or is None, takes its default."""
    from basecalc.formulas.cells import LEFT_OUT

    return CALLABLE[name](*[LEFT_OUT if cell is None else cell for cell in given])
