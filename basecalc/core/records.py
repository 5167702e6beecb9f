"""Records of files checked through pydantic; what it refuses becomes one sentence of ours with its place."""

from collections.abc import Callable, Mapping
from math import inf
from typing import Any, Final

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError, ValidationInfo

from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.core.numbers import choice, quoted
from basecalc.core.units import Measure

Place = tuple[int | str, ...]
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


class Record(BaseModel):
    """A row or table of a file: unknown fields are refused, nothing is changed after it is read."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, arbitrary_types_allowed=True)


def words(field: object) -> str:
    """Return a field's name as a person writes it.

    Examples
    --------
    >>> words("open_edge")
    'open edge'
    """
    return str(field).replace("_", " ").replace("-", " ").strip()


def _name(info: ValidationInfo) -> str:
    labels: Mapping[str, str] = (info.context or {}).get("labels", {})
    field = info.field_name or "value"
    return labels.get(field) or words(field)


def measure(
    inside: str, us: str, metric: str = "", low: float = -inf, high: float = inf, *, above: bool = False,
    blank: bool = False, why: str = "",
) -> BeforeValidator:  # fmt: skip
    """Return a validator for ``Annotated[float, measure(...)]``: a number or a text with a unit becomes a float.

    The unit of a plain number comes from the validation context: ``{"unit_of": {field: unit}}`` where a heading names
    it, else ``{"units": "us" | "metric"}``. Names in messages may come from ``{"labels": {field: words}}``.
    """
    return measured(Measure(inside, us, metric, low, high, above, why), blank=blank)


def measured(kind: Measure, *, blank: bool = False) -> BeforeValidator:
    """Return a validator like that of `measure`, for a number whose unit and limits are kept elsewhere."""

    def check(value: Any, info: ValidationInfo) -> float | None:
        if blank and (value is None or (isinstance(value, str) and not value.strip())):
            return None
        context = info.context or {}
        unit = context.get("unit_of", {}).get(info.field_name, kind.unit(context.get("units", "us")))
        return kind.read(_name(info), value, unit)

    return BeforeValidator(check)


def one_of(options: Callable[[], tuple[str, ...]] | tuple[str, ...], *, blank: str | None = None) -> BeforeValidator:
    """Return a validator for ``Annotated[str, one_of(...)]``: one of the words offered, whatever its case."""

    def check(value: Any, info: ValidationInfo) -> str:
        if blank is not None and (value is None or (isinstance(value, str) and not value.strip())):
            return blank
        return choice(_name(info), value, options() if callable(options) else options)

    return BeforeValidator(check)


def text(*, needed: bool = True, longest: int = 200) -> BeforeValidator:
    """Return a validator for ``Annotated[str, text(...)]``: words on one line; a number is taken as its digits."""

    def check(value: Any, info: ValidationInfo) -> str:
        if isinstance(value, bool) or not (value is None or isinstance(value, str | int | float)):
            raise InputError(f"{_name(info)} is {quoted(value)}; it must be text")
        if isinstance(value, int | float) and not abs(value) < 1e200:  # nor nan
            raise InputError(f"{_name(info)} is {quoted(value)}; it must be text, in quotation marks")
        line = (
            " ".join((f"{value:.15g}" if isinstance(value, float) else str(value)).split()) if value is not None else ""
        )
        if needed and not line:
            raise InputError(f"{_name(info)} is missing; it must be text")
        if len(line) > longest:
            raise OutOfRangeError(f"{_name(info)} has {len(line)} characters; it must be at most {longest} characters")
        return line

    return BeforeValidator(check)


def yes_no(*, blank: bool | None = None) -> BeforeValidator:
    """Return a validator for ``Annotated[bool, yes_no(...)]``: yes or no, TRUE or FALSE, or `blank` for nothing."""

    def check(value: Any, info: ValidationInfo) -> bool:
        if isinstance(value, bool):
            return value
        if blank is not None and (value is None or (isinstance(value, str) and not value.strip())):
            return blank
        return choice(_name(info), value, ("yes", "no")) == "yes"

    return BeforeValidator(check)


def refusals(
    error: ValidationError, where: Callable[[Place], str], kind: type[BasecalcError] = InputError,
    labels: Mapping[str, str] | None = None,
) -> list[BasecalcError]:  # fmt: skip
    """Return everything that pydantic refused as errors of ours, each one sentence with its place."""
    complaints: list[BasecalcError] = []
    for detail in error.errors(include_url=False):
        path = detail["loc"]
        cause = detail.get("ctx", {}).get("error")
        if isinstance(cause, BasecalcError):
            complaint: BasecalcError = type(cause)(cause.sentence) if kind is InputError else kind(cause.sentence)
        else:
            complaint = kind(
                _sentence(detail["type"], path, detail["input"], detail["msg"], detail.get("ctx", {}), labels or {})
            )
        place = where(path)
        complaints.append(complaint.at(place) if place else complaint)
    return complaints


def _sentence(
    kind: str, path: Place, value: Any, message: str, context: Mapping[str, Any], labels: Mapping[str, str]
) -> str:
    field = next((part for part in reversed(path) if isinstance(part, str)), "the whole")
    name = labels.get(field) or words(field)
    if kind == "missing":
        return f"{name} is missing; it must be given"
    if kind == "extra_forbidden":
        return f"there is no field {quoted(field)}"
    if kind in ("literal_error", "enum"):
        return f"{name} is {quoted(value)}; it must be one of: {str(context.get('expected', '')).replace(' or ', ', ')}"
    if kind in _NEEDED:
        return f"{name} is {'missing' if value in (None, '') else quoted(value)}; it must be {_NEEDED[kind]}"
    reason = message.removeprefix("Value error, ")
    return f"{name} is {quoted(value)}; {reason[:1].lower()}{reason[1:]}"
