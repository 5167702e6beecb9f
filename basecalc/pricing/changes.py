"""The ground is not as it was read: the signed job priced once more on the ground found, and what that changes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from basecalc.core.errors import BasecalcError, InputError, OutOfRangeError
from basecalc.core.numbers import brief, quoted
from basecalc.ground.classes import Strength, rank, strength
from basecalc.job import JobArea
from basecalc.pricing.estimate import differences, scope_weights
from basecalc.pricing.quote import quote_on
from basecalc.pricing.records import Estimate, Quote
from basecalc.takeoff.model import SCOPES
from basecalc.takeoff.takeoff import Takeoff

_NONE: Final = Decimal("0.00")
_SAME_M: Final = 1e-9
# What is dug, brought in and laid: a measure of the areas, or the count of a code.
_AMOUNTS: Final = (
    ("Ground dug, in place", "volume", "bank_m3"), ("Granular fill, compacted", "volume", "fill_m3"),
    ("Base stone", "mass", "stone_kg"), ("Loads of soil hauled away", "count", "spoil-haul"),
    ("Loads of stone and sand", "count", "stone-haul"), ("Rolls of geogrid", "count", "geogrid"),
    ("Rolls of geotextile", "count", "geotextile"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """One line the client reads: its price in the signed quote and with the change."""

    title: str
    signed: Decimal
    found: Decimal

    @property
    def difference(self) -> Decimal:
        """What it adds; negative where it is a credit."""
        return self.found - self.signed


@dataclass(frozen=True, slots=True)
class Amount:
    """One amount in the signed quote and on the ground found, in SI units or counted."""

    words: str
    kind: str
    signed: float
    found: float


@dataclass(frozen=True, slots=True)
class ChangeOrder:
    """A signed quote and the same job on the ground that was found.

    Parameters
    ----------
    signed, found
        The quote that was signed; the job on the ground found, at the same prices and built the same way where that
        can be.
    revision
        Revision of the signed quote; 0 where no signed quote was at hand and `signed` is what the job costs today.
    strengths
        The ground found, by area.
    promised
        For each area whose deeper base is in the signed quote's table, its price there [money].
    anew
        The job with only the other areas on the ground found there, priced anew; the signed quote where there are none.
    """

    signed: Quote
    found: Quote
    revision: int
    strengths: Mapping[str, Strength]
    promised: Mapping[str, Decimal]
    anew: Quote

    __repr__ = brief

    @property
    def total(self) -> Decimal:
        """What is added to the signed price; negative where it is a credit.

        The promised prices of the deeper bases, and the real difference of what is priced anew.
        """
        return sum(self.promised.values(), self.anew.offer.total - self.signed.offer.total)

    @property
    def price(self) -> Decimal:
        """The full price of the job with the change."""
        return self.signed.offer.total + self.total

    @property
    def real(self) -> Decimal:
        """What the ground found really changes, at the quote's own prices, whatever was promised."""
        return self.found.offer.total - self.signed.offer.total

    @property
    def priced_anew(self) -> Mapping[str, str]:
        """Each area that the table does not price, with the reason in words; no words where its ground is better."""
        return {name: _why_anew(self.signed, self.found, name) for name in self.strengths if name not in self.promised}

    @property
    def lines(self) -> tuple[ChangeLine, ...]:
        """The client's lines; signed, found and difference each sum to their total.

        Deeper bases from the quote's table have a line each. What is priced anew is spread over the lines whose work
        it changes, to the cent; a line whose work stays as it is does not change.
        """
        old = {one.scope: one.amount for one in self.signed.offer.scope_prices}
        before, after = (scope_weights(made.offer.lines, made.offer.markups) for made in (self.signed, self.anew))
        more = differences(self.anew.offer.total - self.signed.offer.total, before, after)
        titles = {one.scope: one.title for made in (self.signed, self.anew) for one in made.offer.scope_prices}
        lines = [
            ChangeLine(titles[key], old.get(key, _NONE), old.get(key, _NONE) + more.get(key, _NONE))
            for key in dict.fromkeys((*SCOPES, *titles))
            if key in old or key in more
        ]
        return (*lines, *(ChangeLine(f"Deeper base: {name}", _NONE, price) for name, price in self.promised.items()))

    @property
    def other(self) -> Estimate | None:
        """The other way to build on the ground found; None where there is none."""
        return self.found.stone if self.found.offered == "geogrid" else self.found.geogrid

    @property
    def left_out(self) -> bool:
        """Whether the signed quote has a geogrid that has no use on the ground found."""
        return self.signed.offered == "geogrid" and self.found.offered == "stone"

    @property
    def softer(self) -> bool:
        """Whether any area turned out to need a deeper base, or an old base that was to stay cannot."""
        before, after = self.signed.offer.takeoff, self.found.offer.takeoff
        pairs = [(before.area(name), after.area(name)) for name in self.strengths]
        return any(new.base_m > old.base_m or (old.kept_m > 0 and new.kept_m <= 0) for old, new in pairs)


def change_order(signed: Quote, found: Mapping[str, str | float | Strength], revision: int = 0) -> ChangeOrder:
    """Return what the ground that was found changes of a signed quote, at the signed quote's own prices.

    A deeper base on weaker ground costs what the signed quote's table promised for its depth, area by area. Ground
    beyond the table, another way to build an area and an old base that has to come out are priced anew. Where the
    ground is better than it was read, the difference is a credit of its full amount. A quote signed with geogrid stays
    with geogrid, and one of stone only stays that, where the ground found allows it. An area in which nothing was found
    stays as it was quoted.

    Parameters
    ----------
    signed
        The quote that was signed.
    found
        The ground found, by area: a class word or a CBR [%].
    revision
        Revision of the signed quote; 0 where there is none.

    Raises
    ------
    InputError
        No area, one the quote does not have, no strength, or ground that changes nothing.
    OutOfRangeError
        Very soft ground, which needs an engineered design, or what else cannot be priced.
    """
    strengths = _strengths(signed, found)
    made = _on_ground(signed, strengths)
    promised = {name: price for name in strengths if (price := _promised(signed, made, name)) is not None}
    rest = {name: ground for name, ground in strengths.items() if name not in promised}
    anew = signed if not rest else made if not promised else _on_ground(signed, rest)
    was, now = ((one.option, one.takeoff.base_m, one.total) for one in (signed.offer, made.offer))
    if was == now:
        words = " and ".join(f"{one.strength_class} ground in area {name}" for name, one in strengths.items())
        raise InputError(f"{words} takes the same base as the signed quote, so there is nothing to change")
    return ChangeOrder(signed, made, revision, strengths, promised, anew)


def _on_ground(signed: Quote, strengths: Mapping[str, Strength]) -> Quote:
    """Return the signed job with some areas on the ground found there, the others on that they were quoted for."""
    areas = tuple(
        _as_found(area, strengths[area.name], signed) if area.name in strengths else area for area in signed.job.areas
    )
    spots = tuple(spot for spot in signed.job.spots if spot.area not in strengths)
    job = replace(signed.job, areas=areas, spots=spots, offer="stone")
    known = {name: ground for name, ground in signed.ground.items() if name not in strengths}
    made = quote_on(job, signed.book, known)
    if signed.offered == "geogrid" and made.geogrid is not None:
        made = quote_on(replace(job, offer="geogrid"), signed.book, known)
    return replace(made, deeper=signed.deeper)


def _promised(signed: Quote, found: Quote, name: str) -> Decimal | None:
    """Return what the signed quote's table asks for an area on the ground found; None where it does not say."""
    old, new = (made.offer.takeoff.base_m[name] for made in (signed, found))
    weaker = found.offered_depths[name].cbr < signed.offered_depths[name].cbr
    table = weaker and new > old - _SAME_M and not _why_anew(signed, found, name)
    return signed.deeper.price(name, new - old) if table else None


def _why_anew(signed: Quote, found: Quote, name: str) -> str:
    """Return why the signed quote's table does not price an area, as the end of a sentence; nothing where it may."""
    before, after = (made.offer.takeoff.area(name) for made in (signed, found))
    laid = [made.offered_depths[name].reinforcement for made in (signed, found)]
    if before.kept_m > 0:
        return "the old stone base was to stay there" if after.kept_m > 0 else "the old stone base has to come out"
    if laid[0] != laid[1]:
        return "it takes a geogrid that was not quoted" if laid[0].kind == "none" else "it takes no geogrid now"
    if after.base_m < before.base_m - _SAME_M:
        return ""
    if signed.deeper.price(name, after.base_m - before.base_m) is None:
        return "the base goes deeper than the table"
    return ""


def _as_found(area: JobArea, found: Strength, signed: Quote) -> JobArea:
    """Return an area on the ground found: what was seen counts, not what the old pavement spoke for.

    Where loose fill is dug out, it is what was found below it; where fill stays, what lies below is no weaker than it.
    An old base that was priced as dug out stays so.
    """
    loose = area.loose_fill
    sound = loose.sound if loose else None
    weaker = sound is not None and rank(sound.strength_class) < rank(found.strength_class)
    if loose is not None and (loose.way == "fill" or weaker):
        loose = replace(loose, sound=found)
    known = replace(area.pavement, age=None, state="", seen=()) if area.pavement else None
    kept = area.keep_old_base and signed.offer.takeoff.area(area.name).kept_m > 0
    return replace(area, strength=found, loose_fill=loose, pavement=known, keep_old_base=kept)


def _strengths(signed: Quote, found: Mapping[str, str | float | Strength]) -> dict[str, Strength]:
    names = {area.name.casefold(): area.name for area in signed.job.areas}
    if not found:
        raise InputError("no ground is given; it must be an area and what was found there, such as Driveway=soft")
    strengths: dict[str, Strength] = {}
    for key, value in found.items():
        name = names.get(" ".join(key.split()).casefold())
        if name is None:
            raise InputError(
                f"there is no area {quoted(key)} in this quote; its areas are: {', '.join(names.values())}"
            )
        if name in strengths:
            raise InputError(f"area {quoted(name)} is given twice; one ground must be given for it")
        try:
            one = value if isinstance(value, Strength) else strength(value)
        except BasecalcError as refusal:
            raise refusal.at(f"area {quoted(name)}") from None
        if rank(one.strength_class) == 0:
            raise OutOfRangeError(
                f"area {quoted(name)}: very soft ground was found; it needs an engineered design by a licensed "
                "engineer, so no change is priced"
            )
        strengths[name] = one
    return strengths


def found_words(words: Sequence[str]) -> dict[str, str]:
    """Return what was found by area, from words such as ``Driveway=soft`` or ``Driveway=1.2`` (CBR, %).

    Examples
    --------
    >>> found_words(["Driveway=soft", "Parking bay = 1.2"])
    {'Driveway': 'soft', 'Parking bay': '1.2'}
    """
    found: dict[str, str] = {}
    for one in words:
        area, _, ground = (part.strip() for part in one.rpartition("="))
        if not area or not ground:
            raise InputError(
                f"what was found is {quoted(one)}; it must be an area, '=' and a class word or a CBR, "
                "such as 'Driveway=soft'"
            )
        if area in found:
            raise InputError(f"area {quoted(area)} is given twice; one ground must be given for it")
        found[area] = ground
    return found


def amounts(order: ChangeOrder) -> tuple[Amount, ...]:
    """Return what is dug, brought in and laid, before and after; what neither has is left out."""

    def of(takeoff: Takeoff, kind: str, key: str) -> float:
        return takeoff.amount(key) if kind == "count" else float(sum(getattr(area, key) for area in takeoff.areas))

    both = (order.signed.offer.takeoff, order.found.offer.takeoff)
    rows = [Amount(words, kind, *(of(one, kind, key) for one in both)) for words, kind, key in _AMOUNTS]
    return tuple(one for one in rows if one.signed or one.found)


def working_days(order: ChangeOrder) -> tuple[float, float, tuple[str, ...]]:
    """Return the working days of the signed job and of the one found, by the owner's work rates, and what they miss.

    Each kind of work takes as long as its crew or its machine, whichever is longer.
    """
    each = order.signed.book.company.hours_per_day
    days: list[float] = []
    missed: dict[str, None] = {}
    for made in (order.signed, order.found):
        done = made.offer.work(each)
        days.append(sum(max(work.crew_h or 0.0, work.machine_h or 0.0) for work in done) / each)
        missed |= {work.item: None for work in done if work.crew_h is None and work.machine_h is None}
    return days[0], days[1], tuple(missed)
