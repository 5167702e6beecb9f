"""What an old pavement says about the ground below it, and whether its stone base may stay."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import Final

from basecalc.core.numbers import printed
from basecalc.core.published import table
from basecalc.core.units import FOOT2_M2, FOOT_M, INCH_M
from basecalc.core.words import amount
from basecalc.ground.classes import rank
from basecalc.ground.readings import gap_under_six_feet, ground_words, pavement_rule, settled_gap_in

WHAT: Final = ("settlement", "rut")
STATES: Final = ("even", "settled", "rutted", "settled and rutted")
PLACES: Final = tuple(table("pavement_places").keys())
BASE_STATES: Final = tuple(table("old_base_credit").keys())


@dataclass(frozen=True, slots=True)
class Seen:
    """One settlement or rut of an old pavement."""

    what: str
    where: str
    gap_m: float
    straightedge_m: float = 6 * FOOT_M
    note: str = ""


@dataclass(frozen=True, slots=True)
class TestHole:
    """A hole opened through an old pavement down into the ground."""

    __test__ = False

    where: str
    base_m: float
    state: str


@dataclass(frozen=True, slots=True)
class Pavement:
    """What is known of an old pavement beyond its kind and thickness."""

    age: float | None = None
    state: str = ""
    seen: tuple[Seen, ...] = ()
    base_m: float = 0.0
    holes: tuple[TestHole, ...] = ()


@dataclass(frozen=True, slots=True)
class Speaks:
    """What an old pavement says about the ground."""

    weakest: str
    strongest: str
    sentences: tuple[str, ...]
    source: str


def speaks(pavement: Pavement, kind: str, units: str) -> Speaks:
    """Return what an old pavement says about the ground below it.

    Notes
    -----
    The greatest gap under a 6 ft straightedge counts (``straightedge_gap``); old and even speaks for firm ground
    (``straightedge_words``). Concrete bridges what sinks below it, so an even slab says nothing [own].
    """
    sentences = [_seen_words(seen, units) for seen in pavement.seen]
    gaps = _gaps(pavement)
    bands = table("straightedge_gap")
    if gaps and (kind != "concrete" or max(high for _, high in gaps) >= settled_gap_in()):
        worst, least = bands.band("gap", max(high for _, high in gaps)), bands.band("gap", max(low for low, _ in gaps))
        source = f"gap under a straightedge: {bands.source} [{worst['trust']}]"
        if any(low < high for low, high in gaps):
            source += ", carried over to 6 ft by basecalc's own choice [own]"
        return Speaks(str(worst["weakest"]), str(least["strongest"]), tuple(sentences), source)
    if kind == "concrete":
        sentences.append("concrete bridges what sinks below it: an even slab says nothing about the ground")
        return Speaks("", "", tuple(sentences), "")
    old = pavement.age is not None and pavement.age >= pavement_rule("age without settlement")
    if pavement.state == "even" and old:
        words = table("straightedge_words")
        row = words.exact("no settlement")
        sentences.append(f"{pavement.age:g} years old and even")
        return Speaks(str(row["weakest"]), str(row["strongest"]), tuple(sentences), f"{words.source} [{row['trust']}]")
    if pavement.state == "even":
        age = "its age is not known" if pavement.age is None else f"it is only {pavement.age:g} years old"
        sentences.append(f"it is even, but {age}: that says something after ten years only")
    elif pavement.state:
        sentences.append(f"it is {pavement.state}, but no gap was measured: lay a 6 ft straightedge on it")
    return Speaks("", "", tuple(sentences), "")


def _gaps(pavement: Pavement) -> list[tuple[float, float]]:
    """Return the least and the greatest gap [in] under 6 ft of each place that was seen."""
    return [gap_under_six_feet(seen.gap_m / INCH_M, seen.straightedge_m / FOOT_M) for seen in pavement.seen]


def _seen_words(seen: Seen, units: str) -> str:
    row = table("pavement_places").exact(seen.where)
    metric = units == "metric"
    gap = amount(seen.gap_m, "mm", 0) if metric else f"{printed(seen.gap_m / INCH_M):g} in"
    under = f"{printed(seen.straightedge_m):.3g} m" if metric else f"{printed(seen.straightedge_m / FOOT_M):.3g} ft"
    note = f" ({seen.note})" if seen.note else ""
    return f"{seen.what} {row['words']}, {gap} under a straightedge of {under}{note}: {row['speaks_for']}"


def open_words(speech: Speaks) -> str:
    """Return the classes an old pavement leaves open, in plain words; empty where it says nothing."""
    return ground_words(speech.weakest, speech.strongest) if speech.weakest else ""


_LEAST_CLASS: Final = "stiff"  # the trade's rule lets a base stay on stiff ground or better [practice]


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether an old base may stay."""

    against: tuple[str, ...]
    base_m: float
    share: float
    holes: int

    @property
    def stays(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.against


def holes_needed(area_m2: float) -> int:
    """Return how many test holes an old base needs before it may count: two, or one for each 1,000 ft2 [own]."""
    each = ceil(printed(area_m2 / FOOT2_M2 / pavement_rule("area of one test hole")))
    return max(int(pavement_rule("fewest test holes")), each)


def hole_advice(area_m2: float, units: str) -> str:
    """Return how many test holes to open, how deep, and what to look for, in one sentence."""
    deep = pavement_rule("test hole below the base")
    depth = amount(deep * INCH_M, "mm", 0) if units == "metric" else f"{deep:g} in"
    return (
        f"Open {holes_needed(area_m2)} test holes, one in a wheel track and one in the worst place, through pavement "
        f"and base and {depth} into the ground: measure the stone, look for mud or fines in it and for water, and "
        "press the ground below with a thumb or push the rod"
    )


def old_base_verdict(
    pavement: Pavement | None, strength_class: str, area_m2: float, others: Sequence[str] = ()
) -> Verdict:
    """Return whether an old base may stay: every reason against it, and what it counts for where there is none.

    Notes
    -----
    It stays on stiff ground or better, where it has not sunk, and where enough test holes show clean stone; the
    thinnest hole counts. Its credit is the layer coefficient of old stone over that of new, table ``old_base_credit``.
    """
    known = pavement or Pavement()
    need = holes_needed(area_m2)
    against = list(others)
    if len(known.holes) < need:
        against.append(f"{len(known.holes)} of the {need} test holes it needs are open")
    if rank(strength_class) < rank(_LEAST_CLASS):
        against.append(f"the ground below is {strength_class}, and it stays on {_LEAST_CLASS} ground or better only")
    if max((high for _, high in _gaps(known)), default=0.0) >= settled_gap_in() or known.state not in ("", "even"):
        against.append("the pavement on it has settled or rutted")
    credit = table("old_base_credit")
    shares = [_share(hole.state) for hole in known.holes]
    if dirty := [hole.where for hole in known.holes if _share(hole.state) == 0]:
        against.append(f"at {', '.join(dirty)} there is {credit.exact('dirty')['meaning']}")
    thinnest = min((hole.base_m for hole in known.holes), default=0.0)
    if known.holes and thinnest <= 0:
        against.append("a test hole shows no base at all")
    return Verdict(tuple(against), thinnest, min(shares, default=0.0), need)


def _share(state: str) -> float:
    credit = table("old_base_credit")
    return float(credit.exact(state)["low"]) / float(credit.exact("clean")["high"])
