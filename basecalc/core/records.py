"""Records of files checked through pydantic; what it refuses becomes one sentence of ours with its place."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from pydantic import ValidationError

from basecalc.core.errors import BasecalcError, InputError, Place
from basecalc.core.numbers import shown, words
from basecalc.core.units import UNIT

Path = tuple[int | str, ...]
_NEEDED: Final = {
    "string_type": "text",
    "bool_type": "yes or no",
    "bool_parsing": "yes or no",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "float_parsing": "a number",
    "finite_number": "a finite number",
    "decimal_type": "a number",
    "decimal_parsing": "a number",
    "list_type": "a list",
    "tuple_type": "a list",
    "dict_type": "a table of fields",
    "model_type": "a table of fields",
    "model_attributes_type": "a table of fields",
    "date_type": "a date",
    "date_parsing": "a date such as 2025-04-30",
    "date_from_datetime_parsing": "a date such as 2025-04-30",
    "date_from_datetime_inexact": "a date without a time",
}


def refusals(
    error: ValidationError, where: Callable[[Path], Place | str], kind: type[BasecalcError] = InputError,
    labels: Mapping[str, str] | None = None,
) -> list[BasecalcError]:  # fmt: skip
    """Return everything that pydantic refused as errors of ours, each one sentence with its place."""
    found: list[BasecalcError] = []
    for detail in error.errors(include_url=False):
        path = detail["loc"]
        cause = detail.get("ctx", {}).get("error")
        if isinstance(cause, BasecalcError):
            one = cause.changed(type(cause) if kind is InputError else kind, where="")
        else:
            one = kind(
                _sentence(detail["type"], path, detail["input"], detail["msg"], detail.get("ctx", {}), labels or {})
            )
        key = next((part for part in reversed(path) if isinstance(part, str)), "")
        found.append(one.at(where(path), field=one.field if one.field == UNIT else key))
    return found


def _sentence(
    kind: str, path: Path, value: Any, message: str, context: Mapping[str, Any], labels: Mapping[str, str]
) -> str:
    field = next((part for part in reversed(path) if isinstance(part, str)), "the whole")
    name = labels.get(field) or words(field)
    if kind == "missing":
        return f"{name} is missing; it must be given"
    if kind == "extra_forbidden":
        return f"there is no field {shown(field)}"
    if kind in ("literal_error", "enum"):
        return f"{name} is {shown(value)}; it must be one of: {str(context.get('expected', '')).replace(' or ', ', ')}"
    if kind in _NEEDED:
        return f"{name} is {'missing' if value in (None, '') else shown(value)}; it must be {_NEEDED[kind]}"
    reason = message.removeprefix("Value error, ")
    return f"{name} is {shown(value)}; {reason[:1].lower()}{reason[1:]}"
