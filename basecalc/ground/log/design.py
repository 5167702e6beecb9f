"""Which layer of a log a base is designed for, and that layer as a reading like any other."""

from collections.abc import Sequence
from pathlib import PurePath

from basecalc.checks import number
from basecalc.errors import InputError
from basecalc.ground.log.layers import profile
from basecalc.ground.log.record import RULES, ConeLog, Design, Layer, Profile, log_rule
from basecalc.ground.readings import Reading
from basecalc.tables import sources, table
from basecalc.units import INCH_M


def designs(log: ConeLog, soil: str = "", base_bottom_m: float | None = None) -> tuple[Design, ...]:
    """Return the layer to design for of each drop of a log.

    Parameters
    ----------
    log
        The log.
    soil
        The soil where the log names none; nothing takes the weakest curve.
    base_bottom_m
        How deep below the start of the log the bottom of the base will lie [m]; None where that is not known.

    Raises
    ------
    InputError
        No such soil, or a drop that ends above the bottom of the base.
    OutOfRangeError
        A bottom of the base that is negative or deeper than any log.
    """
    made = []
    for drop in log.drops:
        try:
            made.append(design(profile(drop, soil), base_bottom_m))
        except InputError as refusal:
            place = ", ".join(part for part in (log.file, f"drop {drop.name}" if drop.name else "") if part)
            raise refusal.at(place) from None
    return tuple(made)


def design(made: Profile, base_bottom_m: float | None = None) -> Design:
    """Return the layer of a drop to design for: the weakest that reaches into the zone below the base.

    The zone goes from the bottom of the base to 24 in below it. Where the bottom of the base is not known yet, every
    layer of the log counts, which is never too strong. Of layers that are equally weak the upper one is named.

    Parameters
    ----------
    made
        The drop and its layers.
    base_bottom_m
        How deep below the start of the log the bottom of the base will lie [m]; None where that is not known.

    Raises
    ------
    InputError
        The drop ends above the bottom of the base.
    OutOfRangeError
        A bottom of the base that is negative or deeper than any log.
    """
    depth = made.drop.depth_m
    warnings: list[str] = []
    if base_bottom_m is None:
        zone = (0.0, depth)
        inside = made.layers
        rule = "every layer counts, as the bottom of the base is not given"
    else:
        deepest = log_rule("greatest depth")
        bottom_mm = number("bottom of the base", base_bottom_m * 1000, "mm", 0, deepest, why="no log goes deeper")
        zone = (bottom_mm / 1000, bottom_mm / 1000 + log_rule("zone below the base") * INCH_M)
        inside = tuple(
            layer for layer in made.layers if min(layer.bottom_m, zone[1]) - max(layer.top_m, zone[0]) > 1e-9
        )
        if not inside:
            raise InputError(
                f"the log ends {inches(depth)} deep, above the bottom of the base ({inches(zone[0])}); it must go "
                "deeper to say anything about the ground under it"
            )
        rule = f"from the bottom of the base at {inches(zone[0])} to {inches(zone[1])}"
        if depth < zone[1] - 1e-9:
            warnings.append(
                f"The log ends at {inches(depth)}; what lies between there and {inches(zone[1])} was not tested"
            )
    weakest = min(inside, key=lambda layer: (layer.cbr, layer.top_m))
    of = f"the weakest of {len(inside)} layers" if len(inside) > 1 else "the only layer"
    how = (
        f"CBR {weakest.cbr:.2g} % is that of {of} ({rule}): from {between(weakest)} deep the cone went in "
        f"{_a_blow(made, weakest)}"
    )
    return Design(made, weakest, zone, how, tuple(warnings))


def log_reading(
    made: Design, file: str, moisture: str = "", soil: str = "", *, assumed: Sequence[str] = (), metric: bool = False
) -> Reading:
    """Return the layer to design for as a reading of the cone, to be judged like any other.

    Parameters
    ----------
    made
        The layer and how it was chosen.
    file
        The log; its name is told.
    moisture
        How wet the ground was.
    soil
        The soil where the log names none.
    assumed
        What was assumed for the whole log, a sentence each.
    metric
        Whether depths are told in millimetres.
    """
    drop, layer = made.profile.drop, made.layer
    name = PurePath(file).name + (f", drop {drop.name}" if drop.name else "")
    count = len(made.profile.layers)
    layers = "one layer" if count == 1 else f"{count} layers"
    matters = "which" if count == 1 else "the weakest that matters"
    told = (
        f"Driving a cone penetrometer {inches(drop.depth_m, metric=metric)} deep (log {name}): {layers}, {matters}, "
        f"from {between(layer, metric=metric)}, went in {_a_blow(made.profile, layer)}"
    )
    method = f"layers after {sources()['FEARNHEAD-RIGAILL']}; the zone that matters: {table(RULES).cited}"
    texts = (made.how, *made.warnings, *made.profile.remarks, *drop.notes, *assumed)
    note = " ".join(f"{text}." for text in texts)
    return Reading("cone", layer.mm_per_blow, moisture, layer.soil or soil, note, told, method)


def _a_blow(made: Profile, layer: Layer) -> str:
    light = any(step.hammer_factor != 1 for step in made.drop.steps)
    return f"{layer.mm_per_blow:.3g} mm a blow" + (" of the 8 kg hammer" if light else "")


def inches(depth_m: float, *, metric: bool = False) -> str:
    """Return a depth in words, to a tenth of an inch or a millimetre.

    Parameters
    ----------
    depth_m
        The depth [m].
    metric
        Whether it is told in millimetres.

    Examples
    --------
    >>> inches(0.3048), inches(0.3, metric=True)
    ('12 in', '300 mm')
    """
    return f"{depth_m * 1000:.0f} mm" if metric else f"{round(depth_m / INCH_M, 1):g} in"


def between(layer: Layer, *, metric: bool = False) -> str:
    """Return where a layer lies in words: ``4.5 to 12 in``."""
    top, bottom = inches(layer.top_m, metric=metric), inches(layer.bottom_m, metric=metric)
    return f"{top.rsplit(' ', 1)[0]} to {bottom}"
