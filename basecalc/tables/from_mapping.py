"""A mapping, as a job file or a web form gives it, read by the tables declared for it; all that is wrong at once."""

from collections.abc import Collection, Mapping, Sequence
from typing import Any, Final

from basecalc.core.errors import BasecalcError, InputError, Place
from basecalc.core.numbers import quoted, words
from basecalc.tables.schema import Each, Field, Inner, Row, Table, is_blank, unknown_key

_MISSING: Final = object()


def numbered(what: str, position: int, name: str = "") -> str:
    """Return how a refusal names one of several tables.

    Examples
    --------
    >>> numbered("area", 2, "Parking")
    'area 2 "Parking"'
    """
    short = name if len(name) <= 40 else name[:37] + "..."
    return f'{what} {position} "{short}"' if short else f"{what} {position}"


class MappingReader:
    """Reads tables of a mapping in one of the two unit systems.

    ``stray`` holds a refusal for each key that nobody knows, ``wrong`` those of everything else.
    """

    def __init__(self, units: str) -> None:
        self.units = units
        self.stray: list[BasecalcError] = []
        self.wrong: list[BasecalcError] = []

    def table(self, table: Table, data: Any, place: Place, leave: Collection[str] = ()) -> Any:
        """Return the record of a table, without the fields to `leave`; a value that is wrong is left out and noted."""
        row, before = Row(), len(self.wrong)
        for key in data:
            if key not in table.keys:
                self.stray.append(InputError(unknown_key(str(key), table.keys), where=place, field=str(key)))
        for field in table.fields:
            if field.key in leave:
                continue
            try:
                setattr(row, field.key, self._value(field, data.get(field.key, _MISSING), place))
            except BasecalcError as refusal:
                self.wrong.append(refusal.at(place, field=refusal.field if refusal.place.path else field.key))
        if table.record is Row or len(self.wrong) > before:
            return row
        try:
            return table.record(**{field.record_name: getattr(row, field.key) for field in table.fields})
        except BasecalcError as refusal:
            self.wrong.append(refusal.at(place))
            return row

    def _value(self, field: Field, value: Any, place: Place) -> Any:
        if value is _MISSING and not field.needed:
            return field.blank
        kind = field.kind
        if isinstance(kind, Inner):
            within = (kind.within,) if kind.within else ()
            return None if is_blank(value) else self._inner(kind.table, field.key, value, place, within)
        if isinstance(kind, Each):
            return self._each(kind, field, value, place)
        if not field.needed and (field.blank is None or field.blank is False or field.blank == "") and is_blank(value):
            return field.blank
        given = None if value is _MISSING else value
        try:
            return kind.read(words(field.key), given, field.unit(self.units))
        except BasecalcError as refusal:
            if value is _MISSING:
                raise InputError("is missing; it must be given", about=words(field.key)) from None
            raise refusal from None

    def _inner(self, table: Table, key: str, value: Any, place: Place, within: tuple[str, ...], *path: int) -> Any:
        inside = Place(within=within, path=(key, *path)).inside(place)
        if not isinstance(value, Mapping):
            state = "missing" if is_blank(value) else quoted(value)
            self.wrong.append(
                InputError(f"is {state}; it must be a table of fields", about=words(key), where=inside, field=key)
            )
            return Row()
        return self.table(table, value, inside)

    def _each(self, kind: Each, field: Field, value: Any, place: Place) -> list[Any] | None:
        name = words(field.key)
        if value is None and not field.needed:
            return [] if field.blank == [] else field.blank
        made: list[Any] = []
        for at, item in enumerate(
            _listed(kind, name, [value] if kind.single and isinstance(value, str | Mapping) else value)
        ):
            what = words(field.key.removeprefix("log_")).removesuffix("s")
            if isinstance(kind.of, Table):
                if kind.single and isinstance(item, str):  # the first field alone
                    item = {kind.of.fields[0].key: item}  # noqa: PLW2901
                label = (item.get("name") or item.get("item")) if isinstance(item, Mapping) else None
                within = (numbered(what, at + 1, label if isinstance(label, str) else ""),)
                made.append(self._inner(kind.of, field.key, item, place, within, at))
                continue
            inside = Place(within=(numbered(what, at + 1),), path=(field.key, at))
            try:
                made.append(self._item(kind.of, name, item))
            except BasecalcError as refusal:
                self.wrong.append(refusal.at(inside).at(place, field=field.key))
        return made

    def _item(self, kind: Any, name: str, item: Any) -> Any:
        if isinstance(kind, Each):
            return [self._item(kind.of, name, one) for one in _listed(kind, name, item)]
        return kind.read(name, item, kind.unit(self.units))


def _listed(kind: Each, name: str, value: Any) -> Sequence[Any]:
    """Return a list of as many things as it may have."""
    if not isinstance(value, list | tuple):
        state = "missing" if value is _MISSING or is_blank(value) else quoted(value)
        raise InputError(f"is {state}; it must be a list", about=name)
    if not kind.least <= len(value) <= kind.most:
        limit = f"at least {kind.least}" if len(value) < kind.least else f"at most {kind.most}"
        raise InputError(f"has {len(value)} entries; it must have {limit}", about=name)
    return value
