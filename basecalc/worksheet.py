"""The worksheet functions as a spreadsheet program calls them; in Excel on Windows through xlwings' own add-in.

Elsewhere xlwings leaves them as they are: plain functions of cells and ranges. A cell that cannot be worked out shows
`#` and one sentence; it is a text, so a total must never take it raw: ``=IF(ISNUMBER(x),x*price,NA())``.

>>> BASE_DEPTH("soft"), ROLLS(100, 20, 100, 13.1)
(24.0, 2.0)
>>> LOOSE_VOLUME([[100], [200]], "clay")
[[143.0], [286.0]]
>>> LOOSE_VOLUME(100, "chalk")[:16]
"#soil is 'chalk'"
"""

import inspect
from collections.abc import Callable
from typing import Any, Final

import xlwings as xw

from basecalc.formulas.functions import FUNCTIONS
from basecalc.formulas.ranges import Answer

CATEGORY: Final = "Driveway base"

_CALLABLE: Final = {function.name: function for function in FUNCTIONS}


def _offered(name: str) -> Callable[..., Answer | list[list[Answer]]]:
    """Return the worksheet function of this name, known to xlwings with its help."""
    function = _CALLABLE[name]

    def call(*cells: Any) -> Answer | list[list[Answer]]:
        return function(*cells)

    call.__name__ = call.__qualname__ = name
    call.__doc__ = function.help  # Excel shows it as it is
    call.__annotations__ = {}  # xlwings takes annotations for converters
    vars(call)["__signature__"] = inspect.signature(function.calculate)
    # Error cells as text, to tell them from blank ones; always rows of cells, to tell a row from a column.
    for argument in function.arguments:
        xw.arg(argument.name, doc=argument.help, err_to_str=True, ndim=2)(call)
    return xw.func(category=CATEGORY)(call)  # last: each xw.arg puts the category back to xlwings' own


STRENGTH_CLASS = _offered("STRENGTH_CLASS")
BEARING_RATIO = _offered("BEARING_RATIO")
SITE_STRENGTH = _offered("SITE_STRENGTH")
BASE_DEPTH = _offered("BASE_DEPTH")
BASE_DEPTH_REASON = _offered("BASE_DEPTH_REASON")
EXCAVATION_VOLUME = _offered("EXCAVATION_VOLUME")
LOOSE_VOLUME = _offered("LOOSE_VOLUME")
AGGREGATE_TONS = _offered("AGGREGATE_TONS")
TRUCKLOADS = _offered("TRUCKLOADS")
BASE_LIFTS = _offered("BASE_LIFTS")
ROLLS = _offered("ROLLS")
