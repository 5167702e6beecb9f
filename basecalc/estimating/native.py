"""The native functions that the formulas of the estimating workbook use, in their plain meaning."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, ROUND_UP, Decimal
from typing import Any, Final

Lazy = Callable[[], Any]


@dataclass(frozen=True, slots=True)
class Fault:
    """An error of a cell, such as #N/A."""

    text: str


def number_of(value: Any) -> Any:
    """Return a cell as a number, or the error that a sum with it shows."""
    if isinstance(value, Fault):
        return value
    if value is None:
        return 0.0
    if isinstance(value, bool):
        return float(value)
    if isinstance(value, str):
        try:
            return float(value)
        except ValueError:
            return Fault("#VALUE!")
    return value if isinstance(value, float) else float(value) if isinstance(value, int) else 0.0


def joined(value: Any) -> str:
    """Return a cell as the text that & makes of it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float):
        return f"{value:.15g}"
    return value.isoformat() if isinstance(value, date) else str(value)


def compared(operator: str, left: Any, right: Any) -> bool:
    """Return how two cells compare: numbers before texts before yes or no, texts whatever their case."""
    first, second = (_ranked(one, other) for one, other in ((left, right), (right, left)))
    match operator:
        case "=":
            return bool(first == second)
        case "<>":
            return bool(first != second)
        case "<":
            return bool(first < second)
        case ">":
            return bool(first > second)
        case "<=":
            return bool(first <= second)
        case _:
            return bool(first >= second)


def _ranked(value: Any, beside: Any) -> tuple[int, Any]:
    if value is None:  # an empty cell is like the nought or the empty text it is compared with
        return (1, "") if isinstance(beside, str) else (2, False) if isinstance(beside, bool) else (0, 0.0)
    if isinstance(value, bool):
        return 2, value
    return (1, value.casefold()) if isinstance(value, str) else (0, value)


def _flat(values: Any) -> Iterator[Any]:
    if isinstance(values, list):
        for row in values:
            yield from row
    else:
        yield values


def _numbers(*arguments: Lazy) -> Any:
    """Return the numbers of ranges, or the first error in them; texts and empty cells are passed over."""
    found = []
    for argument in arguments:
        held = argument()
        for value in _flat(held):
            if isinstance(value, Fault):
                return value
            if isinstance(value, float) or (not isinstance(held, list) and isinstance(value, bool)):
                found.append(float(value))
    return found


def _if(test: Lazy, then: Lazy, otherwise: Lazy = lambda: False) -> Any:
    held = test()
    if isinstance(held, Fault):
        return held
    if isinstance(held, str):
        return Fault("#VALUE!")
    return then() if held else otherwise()


def _every(*tests: Lazy) -> Any:
    held = [value for test in tests for value in _flat(test())]
    faults = [value for value in held if isinstance(value, Fault)]
    return faults[0] if faults else all(value for value in held if not isinstance(value, str) and value is not None)


def _some(*tests: Lazy) -> Any:
    held = [value for test in tests for value in _flat(test())]
    faults = [value for value in held if isinstance(value, Fault)]
    return faults[0] if faults else any(value for value in held if not isinstance(value, str) and value is not None)


def _sum(*arguments: Lazy) -> Any:
    found = _numbers(*arguments)
    return found if isinstance(found, Fault) else float(sum(found))


def _greatest(*arguments: Lazy) -> Any:
    found = _numbers(*arguments)
    return found if isinstance(found, Fault) else max(found, default=0.0)


def _least(*arguments: Lazy) -> Any:
    found = _numbers(*arguments)
    return found if isinstance(found, Fault) else min(found, default=0.0)


def _rounded(mode: str) -> Callable[[Lazy, Lazy], Any]:
    def rounded(value: Lazy, places: Lazy) -> Any:
        first, second = number_of(value()), number_of(places())
        for one in (first, second):
            if isinstance(one, Fault):
                return one
        step = Decimal(1).scaleb(-int(second))
        return float((Decimal(f"{first:.15g}") / step).quantize(Decimal(1), mode) * step)

    return rounded


def _product_sum(*arguments: Lazy) -> Any:
    lists = [list(_flat(argument())) for argument in arguments]
    total = 0.0
    for values in zip(*lists, strict=True):
        product = 1.0
        for value in values:
            if isinstance(value, Fault):
                return value
            product *= value if isinstance(value, float) else 0.0
        total += product
    return total


def _sum_if(tested: Lazy, criterion: Lazy, summed: Lazy) -> Any:
    total, wanted = 0.0, criterion()
    for value, amount in zip(_flat(tested()), _flat(summed()), strict=True):
        if _meets(value, wanted):
            if isinstance(amount, Fault):
                return amount
            total += amount if isinstance(amount, float) else 0.0
    return total


def _meets(value: Any, wanted: Any) -> bool:
    if isinstance(value, Fault):
        return False
    if isinstance(wanted, str) and wanted[:1] == ">":
        return isinstance(value, float) and value > float(wanted[1:])
    if isinstance(wanted, str) and wanted.endswith("*"):
        return isinstance(value, str) and value.casefold().startswith(wanted[:-1].casefold())
    return value is not None and compared("=", value, wanted)


def _count_if(tested: Lazy, criterion: Lazy) -> float:
    wanted = criterion()
    return float(sum(_meets(value, wanted) for value in _flat(tested())))


def _match(wanted: Lazy, among: Lazy, exact: Lazy) -> Any:
    held = wanted()
    if isinstance(held, Fault):
        return held
    assert exact() == 0
    for place, value in enumerate(_flat(among()), 1):
        if not isinstance(value, Fault) and value is not None and held is not None and compared("=", value, held):
            return float(place)
    return Fault("#N/A")


def _index(among: Lazy, row: Lazy, column: Lazy = lambda: 1.0) -> Any:
    at, across = number_of(row()), number_of(column())
    if isinstance(at, Fault):
        return at
    values = among()
    values = values if isinstance(values, list) else [[values]]
    if len(values) == 1 and len(values[0]) > 1:
        at, across = 1.0, at
    inside = 1 <= at <= len(values) and 1 <= across <= len(values[0])
    return values[int(at) - 1][int(across) - 1] if inside else Fault("#REF!")


def _if_error(value: Lazy, otherwise: Lazy) -> Any:
    held = value()
    return otherwise() if isinstance(held, Fault) else held


def _left(text: Lazy, count: Lazy = lambda: 1.0) -> Any:
    held = text()
    return held if isinstance(held, Fault) else joined(held)[: int(count())]


def _negated(value: Lazy) -> Any:
    held = value()
    return held if isinstance(held, Fault) else not held


def _is_number(value: Lazy) -> bool:
    held = value()
    return isinstance(held, float | date) and not isinstance(held, bool)


def _whole(value: Lazy) -> Any:
    held = number_of(value())
    return held if isinstance(held, Fault) else float(held // 1)


def _value(text: Lazy) -> Any:
    """Return the number that a text spells, as our lines spell it: digits and a power of ten."""
    held = text()
    if isinstance(held, Fault | float):
        return held
    try:
        return float(joined(held))
    except ValueError:
        return Fault("#VALUE!")


def _mid(text: Lazy, first: Lazy, count: Lazy) -> Any:
    held, at, many = text(), number_of(first()), number_of(count())
    for one in (held, at, many):
        if isinstance(one, Fault):
            return one
    return joined(held)[int(at) - 1 : int(at) - 1 + int(many)] if at >= 1 and many >= 0 else Fault("#VALUE!")


NATIVE: Final[dict[str, Callable[..., Any]]] = {
    "IF": _if,
    "AND": _every,
    "OR": _some,
    "NOT": _negated,
    "NA": lambda: Fault("#N/A"),
    "ISNUMBER": _is_number,
    "ISERROR": lambda value: isinstance(value(), Fault),
    "IFERROR": _if_error,
    "SUM": _sum,
    "MAX": _greatest,
    "MIN": _least,
    "ROUND": _rounded(ROUND_HALF_UP),
    "ROUNDUP": _rounded(ROUND_UP),
    "INT": _whole,
    "SUMPRODUCT": _product_sum,
    "SUMIF": _sum_if,
    "COUNTIF": _count_if,
    "COUNT": lambda *ranges: float(sum(isinstance(value, float) for one in ranges for value in _flat(one()))),
    "COUNTA": lambda *ranges: float(sum(value is not None for one in ranges for value in _flat(one()))),
    "MATCH": _match,
    "INDEX": _index,
    "LEFT": _left,
    "MID": _mid,
    "VALUE": _value,
    "TRIM": lambda text: " ".join(joined(text()).split()),
    "ROWS": lambda values: float(len(values())),
}
