"""The whole take-off and price of a job, every quantity declared once; read it from top to bottom.

A line is ``Quantity(key, label, kind, formula, sentence)``. Lengths, areas, volumes and masses are SI inside; each
quantity works itself out and writes itself as a sheet formula in US or metric units (`basecalc.core.expressions`).

Sources: the base reaches past an open edge by the greater of 6 in and its own depth (ICPI-TOLERANCES [read]); dig and
loose volume as FM-5-434, Table 1-1 [memory]; stone as WSDOT-M22-01, Exhibit 620-1 [read]: compacted volume x loose over
compacted volume x loose density x (1 + waste); profit as a share of the price before tax is common practice, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from basecalc.core.expressions import Entry, Input, Model, Quantity, Table
from basecalc.core.numbers import choice
from basecalc.core.units import COUNTED_UNITS


@dataclass(frozen=True, slots=True)
class Scope:
    """A line of the client's: its key, its title, and what it promises."""

    scope: str
    title: str
    text: str


@dataclass(frozen=True, slots=True)
class Code:
    """A quantity that is priced: what it is, the client's line it joins, the unit it is counted in.

    Material is taxed unless the owner says otherwise; work may be priced by its hours instead of a price of its own; a
    haul also by its weight, its loose volume or the hours it takes. Hours belong to the line of the work they are for.
    """

    code: str
    title: str
    kind: Literal["material", "haul", "work", "time"]
    scope: str
    us: str
    metric: str = ""

    @property
    def units(self) -> tuple[str, ...]:
        """The US unit, and the metric one where there is another."""
        return (self.us, self.metric) if self.metric else (self.us,)

    def unit(self, system: str) -> str:
        """Return the unit for 'us' or 'metric'."""
        return self.units[-1 if choice("units", system, ("us", "metric")) == "metric" else 0]

    @property
    def whole(self) -> bool:
        """Whether it is counted in whole pieces: loads, rolls, bags."""
        return self.us in COUNTED_UNITS

    @property
    def taxable_default(self) -> bool:
        """Whether it is taxed where the owner says nothing."""
        return self.kind == "material"

    @property
    def must_be_priced(self) -> bool:
        """Whether it needs a price of its own."""
        return self.kind != "work"

    @property
    def also_priced_by(self) -> tuple[str, ...]:
        """What else it may be priced by."""
        return ("ton", "t", "lb", "kg", "yd3", "ft3", "m3", "h") if self.kind == "haul" else ()


_SCOPES: Final = (  # every line of the client's, in the order of the work
    Scope("remove", "Remove the old pavement", "The old pavement is taken up, loaded and hauled away."),
    Scope("dig", "Dig out", "The ground is dug to the depth the base needs and shaped to drain; the soil is hauled away."),
    Scope("base", "Stone base", "Crushed stone is delivered, placed in layers, and each layer is compacted."),
    Scope(
        "reinforcement", "Reinforcement below the base",
        "The ground is covered with geotextile or geogrid, its strips overlapped, before the stone is placed.",
    ),
    Scope("surface", "Paved surface", "Bedding sand, pavers laid and cut to the edges, edge restraint, and sand in the joints."),
    Scope(
        "foundation", "Granular fill",
        "Loose soil, such as the backfill along a foundation, is replaced with granular fill, compacted in layers.",
    ),
)  # fmt: skip
_CODES: Final = (  # everything that is priced, in the order of the work; a quantity of JOB or RUBBLE names each but the hours
    Code("old-pavement", "remove old pavement", "work", "remove", "ft2", "m2"),
    Code("old-pavement-haul", "haul old pavement away", "haul", "remove", "load"),
    Code("dig", "dig, in the ground", "work", "dig", "yd3", "m3"),
    Code("spoil-haul", "haul soil away", "haul", "dig", "load"),
    Code("spoil-tip", "tipping fee for soil", "haul", "dig", "load"),
    Code("geotextile", "geotextile", "material", "reinforcement", "roll"),
    Code("geogrid", "geogrid", "material", "reinforcement", "roll"),
    Code("base-stone", "base stone", "material", "base", "ton", "t"),
    Code("stone-haul", "haul stone to the site", "haul", "base", "load"),
    Code("base-place", "place and compact the base", "work", "base", "yd3", "m3"),
    Code("bedding-sand", "bedding sand", "material", "surface", "ton", "t"),
    Code("pavers", "pavers", "material", "surface", "ft2", "m2"),
    Code("paver-lay", "lay and compact pavers", "work", "surface", "ft2", "m2"),
    Code("edge-restraint", "edge restraint", "material", "surface", "ft", "m"),
    Code("joint-sand", "joint sand", "material", "surface", "bag"),
    Code("foundation-fill", "granular fill", "material", "foundation", "ton", "t"),
    Code("foundation-place", "place and compact granular fill", "work", "foundation", "yd3", "m3"),
    Code("crew-time", "crew hours", "time", "", "h"),
    Code("machine-time", "machine hours", "time", "", "h"),
)
SCOPES: Final[Mapping[str, Scope]] = {one.scope: one for one in _SCOPES}
CODES: Final[Mapping[str, Code]] = {one.code: one for one in _CODES}
ROLLS: Final = {"textile": "geotextile", "grid": "geogrid"}
LIGHTEST_KG_M3, HEAVIEST_KG_M3 = 800, 2500  # loose stone
_STONES: Final = {"stone": "base stone", "sand": "bedding sand", "gravel": "granular fill"}

COMPANY: Final[tuple[Entry, ...]] = (
    Input("paver", "paver thickness", "depth", 0, 0.5),
    Input("bedding", "bedding sand", "depth", 0, 0.5),
    Input("least_reach", "least reach beyond the edge", "depth", 0, 5),
    Input("lift", "thickest lift", "depth", 0.025, 0.61),
    Input("thinnest_old", "thinnest old base that stays", "depth", 0, 5),
    Input("cutting", "cutting waste", "share", 0, 0.5),
    Input("joint_cover", "joint sand", "cover", 0.1, 50),
    Input("bag", "bag of joint sand", "bag", 1),
    *(
        Input(f"{stone}_{key}", f"{material}: {label}", kind, low, high)
        for stone, material in _STONES.items()
        for key, label, kind, low, high in (
            ("density", "loose density", "density", LIGHTEST_KG_M3, HEAVIEST_KG_M3),
            ("factor", "loose over compacted volume", "number", 1, 2),
            ("waste", "waste", "share", 0, 0.5),
        )
    ),
    Input("gravel_swell", "swell of old gravel", "number", 1, 2),
    Input("gravel_weight", "weight of loose old gravel", "density", 100, 5000),
    *(
        Input(f"{truck}_{key}", f"{use} truck: {label}", kind, low, high)
        for truck, use in (("spoil", "spoil"), ("supply", "stone"))
        for key, label, kind, low, high in (("payload", "payload", "mass", 100, 60_000), ("box", "box", "volume", 0.1, 60))
    ),
    *(
        Input(f"{roll}_{key}", f"{kind}: roll {key}", "length", low, high)
        for roll, kind in ROLLS.items()
        for key, low, high in (("length", 1, 1000), ("width", 0.1, 20))
    ),
)


def _cover(roll: str) -> tuple[Quantity, ...]:
    """Return how strips of a roll lie side by side over an area, its base and its reach."""
    wide = "wide + 2*reach"
    side_by_side = f"1 if {wide} <= 1.0000000001*{roll}_width else up(({wide} - {roll}_lap)/({roll}_width - {roll}_lap))"
    return (
        Quantity(
            f"{roll}_strips", f"{ROLLS[roll]}: strips", "count", f"({side_by_side}) if {roll} else 0", "Side by side.",
            refuse=(
                (
                    f"{wide} > 1.0000000001*{roll}_width and {roll}_lap >= {roll}_width if {roll} else 0",
                    f"overlap is {{{roll}_lap}}; it must be below the roll width of {{{roll}_width}}",
                ),
                (
                    f"{wide} - {roll}_lap > 10000*({roll}_width - {roll}_lap) if {roll} else 0",
                    f"overlap is {{{roll}_lap}}; beside a roll width of {{{roll}_width}} it leaves more than 10,000 strips",
                ),
            ),
        ),
        Quantity(f"{roll}_run", f"{ROLLS[roll]}: length of a strip", "length", "long + 2*reach", "The longer side with the reach."),
    )  # fmt: skip


AREA: Final[tuple[Entry, ...]] = (
    Input("plan", "paved area", "area", 1e-6),
    Input("open", "open edge", "length"),
    Input("corner", "outside less inside corners", "number", -1000, 1000),
    Input("long", "longer side", "length"),
    Input("wide", "shorter side", "length"),
    Input("finish", "finish above ground", "depth", -5, 5),
    Input("base", "base", "depth", 0.05, 5),
    Input("swell", "swell", "number", 1, 2),
    Input("weight", "weight of loose soil", "density", 100, 5000),
    Input("old", "old pavement", "depth", 0, 5),
    Input("old_kind", "kind of the old pavement", "word"),
    Input("old_weight", "weight of the old pavement in place", "density", 100, 5000),
    Input("bulking", "bulking of the old pavement", "number", 1, 3),
    Input("may_stay", "old base may stay", "yes"),
    Input("old_base", "old base in the thinnest test hole", "depth", 0, 5),
    Input("old_worth", "worth of an inch of old base", "share", 0, 0.99),
    Input("along", "length along the foundation", "length"),
    Input("fill_width", "width of the fill there", "length"),
    Input("fill_depth", "depth of the fill there", "depth", 0, 5),
    Input("sound_at", "sound ground below loose fill", "depth", 0, 30),
    Input("edge", "edge restraint", "length"),
    Input("textile", "geotextile", "yes"),
    Input("grid", "geogrid", "yes"),
    *(
        Input(f"{roll}_{key}", f"{kind}: {label}", "length", 0, 20)
        for roll, kind in ROLLS.items()
        for key, label in (("lap", "overlap of strips"), ("end", "overlap of roll ends"))
    ),
    # The base and its reach
    Quantity(
        "reach", "beyond the edge", "depth", "max(base, least_reach) if open > 0 else 0",
        "The base reaches past an open edge by its own depth or the owner's least.", source="ICPI-TOLERANCES [read]",
    ),
    Quantity(
        "beside", "area beyond the edge", "area", "open*reach + corner*reach*reach", "Along the open edges, corners mitred.",
        refuse=(
            (
                "open*reach + corner*reach*reach < -0.000000001*plan",
                "corners is {corner}; inside corners must not take away more than the open edge of {open} adds",
            ),
            ("open <= 0 and corner > 0", "corners is {corner}; it must be 0 where the open edge is {open}"),
        ),
    ),
    Quantity("base_area", "area of dig and base", "area", "plan + beside", "Paved area with what lies beyond its edge."),
    Quantity(
        "layers", "pavers, bedding and base", "depth", "paver + bedding + base", "From the finish down to the bottom of the base."
    ),
    # An old base that stays: the levels decide what is trimmed, what is laid on it, and whether enough of it is left
    Quantity(
        "old_top", "sand below the top of the old base", "depth", "paver + bedding - finish - old",
        "Below 0: new stone is laid on it.",
    ),
    Quantity(
        "stays", "old base below that", "depth", "old_base - max(old_top, 0) if may_stay else 0", "What the levels leave of it."
    ),
    Quantity(
        "swapped", "more of it replaced", "depth",
        "max(base - max(-old_top, 0) - old_worth*stays, 0)/(1 - old_worth) if may_stay else 0",
        "Until old and new stone are worth the base that is needed.",
        source="AASHTO 1993, layer coefficients of an old and a new granular base [memory]",
    ),
    Quantity(
        "keep", "the old base stays", "yes",
        "may_stay and not textile and not grid and stays - swapped >= 0.999999999*thinnest_old",
        "Nothing is laid below it, and enough of it is left.",
    ),
    Quantity("kept", "old base kept", "depth", "stays - swapped if keep else 0", "0 where it is dug out."),
    Quantity(
        "new", "new base below the paving", "depth", "max(-old_top, 0) + swapped if keep else base",
        "All of it where no old base stays.",
    ),
    # Digging
    Quantity(
        "room", "finish above what is left of the ground", "depth", "finish + (0 if keep else old)",
        "From the ground, or from below the old pavement, up to the finish.",
    ),
    Quantity(
        "lacks", "fill missing below the base", "depth", "max(room - layers, 0)", "More room than the layers fill.",
    ),
    Quantity(
        "dig", "dig below the ground", "depth", "max(old_top, 0) + swapped if keep else max(layers - finish - old, 0)",
        "The layers, less what rises above the ground and the old pavement.",
        refuse=(
            (
                "lacks > 0.000000001*layers",
                "the finish is {room} above the ground that is left, but pavers, bedding and base are only {layers}: {lacks} "
                "of fill is missing below the base; raise the least base depth by as much, or lower the finish",
            ),
        ),
    ),
    Quantity(
        "beside_dig", "dig beside the paving", "depth", "max(layers - finish, 0) if keep else dig + old",
        "From the ground; no old pavement lies there.",
    ),
    Quantity(
        "fill_area", "area of the granular fill", "area",
        "base_area if sound_at > 0 else along*fill_width if fill_depth > 0 else 0",
        "The whole dig where loose fill comes out, or the strip along a foundation as ordered.",
    ),
    Quantity(
        "fill_thick", "depth of the granular fill", "depth",
        "max(sound_at - dig - old, 0) if sound_at > 0 else fill_depth if fill_depth > 0 else 0",
        "From the bottom of the dig down to sound ground, or as ordered.",
    ),
    Quantity("fill", "granular fill, compacted", "volume", "fill_area*fill_thick", "Area times depth."),
    Quantity(
        "base_dig", "dig for the base", "volume", "plan*dig + beside*beside_dig", "Area times depth, below and beside the paving."
    ),
    Quantity("bank", "dig, in the ground", "volume", "base_dig + fill", "With what the fill replaces."),
    Quantity("trimmed", "taken off the old base", "volume", "plan*dig if keep else 0", "Gravel, not soil."),
    Quantity(
        "loose", "dig, loose", "volume", "(bank - trimmed)*swell + (trimmed*gravel_swell if keep else 0)", "In the truck.",
        source="FM-5-434, Table 1-1 [memory]",
    ),
    Quantity(
        "spoil", "weight of what is dug", "mass",
        "(bank - trimmed)*swell*weight + (trimmed*gravel_swell*gravel_weight if keep else 0)", "Loose volume times its weight.",
        source="TM-9-2320-366-10-1, Table 2-15 [read]",
    ),
    Quantity("pavement", "old pavement", "area", "plan if old > 0 else 0", "Broken out below the paving only."),
    Quantity("rubble", "old pavement, in the truck", "volume", "plan*old*bulking if old > 0 else 0", "Volume broken out."),
    Quantity(
        "rubble_mass", "weight of the old pavement", "mass", "plan*old*old_weight if old > 0 else 0",
        "Volume in place times its weight.", source="common practice, no source",
    ),
    # Stone, sand, fill, surface
    Quantity(
        "stone", "base, compacted", "volume", "plan*new + beside*base",
        "New stone below the paving, and the full base beside it.",
    ),
    Quantity("stone_loose", "stone in the trucks", "volume", "stone*stone_factor*(1 + stone_waste)", "Loose, with waste."),
    Quantity(
        "stone_mass", "base stone", "mass", "stone*stone_factor*stone_density*(1 + stone_waste)",
        "Compacted volume as it is bought.", source="WSDOT-M22-01, Exhibit 620-1 [read]",
    ),
    Quantity("laid", "depth compacted", "depth", "new if new > 0 else base", "What the lifts divide."),
    Quantity(
        "lifts", "lifts", "count", "up(laid/lift)", "Layers to compact, none thicker than the machine compacts through.",
        source="FHWA-NHI-05-037, sec. 8.4.4 [digitized]: 6 to 12 in with road rollers",
    ),
    Quantity("each_lift", "each lift", "depth", "laid/lifts", "Equal layers."),
    Quantity("sand", "bedding sand, screeded", "volume", "plan*bedding", "Area times thickness."),
    Quantity("sand_loose", "bedding sand in the trucks", "volume", "sand*sand_factor*(1 + sand_waste)", "Loose, with waste."),
    Quantity("sand_mass", "bedding sand", "mass", "sand*sand_factor*sand_density*(1 + sand_waste)", "As it is bought."),
    Quantity(
        "fill_loose", "fill in the trucks", "volume", "fill*gravel_factor*(1 + gravel_waste) if fill > 0 else 0",
        "Loose, with waste.",
    ),
    Quantity(
        "fill_mass", "granular fill", "mass", "fill*gravel_factor*gravel_density*(1 + gravel_waste) if fill > 0 else 0",
        "As it is bought.",
    ),
    Quantity("pavers", "pavers", "area", "plan*(1 + cutting)", "Paved area and what is cut away."),
    *_cover("textile"),
    *_cover("grid"),
)  # fmt: skip


def _strips(roll: str) -> Table:
    """Return the rows of strips: what is left of a roll begins the next strip, the pieces of a strip overlap."""
    need, over, left = f"{roll}_need", f"{roll}_over", f"{roll}_left_before"
    full, rest, more = f"{roll}_length", f"{roll}_rest", f"{roll}_more"
    entries: tuple[Entry, ...] = (
        Input(need, f"{ROLLS[roll]}: length of a strip", "length", 0, 1000),
        Input(over, f"{ROLLS[roll]}: end overlap", "length", 0, 20),
        Quantity(
            rest, f"{ROLLS[roll]}: after the begun roll", "length", f"{need} - max({left} - {over}, 0)",
            "The begun roll gives what it has, less the overlap.",
            refuse=(
                (
                    f"{need} > {full} and {over} > {full}/2",
                    f"end overlap is {{{over}}}; it must be at most half the roll length of {{{full}}}",
                ),
            ),
        ),
        Quantity(
            more, f"{ROLLS[roll]}: whole rolls besides", "count", f"up(({rest} - {full})/({full} - {over})) if {rest} > {full} else 0",
            "Each less the overlap.",
        ),
        Quantity(
            f"{roll}_fresh", f"{ROLLS[roll]}: rolls begun", "count", f"0 if {need} <= 1.0000000001*{left} else 1 + {more}",
            "New rolls this strip takes.",
        ),
        Quantity(
            f"{roll}_left", f"{ROLLS[roll]}: left on the roll", "length",
            f"max({left} - {need} if {roll}_fresh == 0 else {full} - {rest} + {more}*({full} - {over}), 0)",
            "For the next strip.",
        ),
        Quantity(
            f"{roll}_used", f"{ROLLS[roll]}: rolls so far", "count", f"{roll}_used_before + {roll}_fresh",
            "Counted on from the strip above.",
        ),
    )  # fmt: skip
    return Table(entries, {left: f"{roll}_left", f"{roll}_used_before": f"{roll}_used"})


def _hauled(key: str, label: str, mass: str, loose: str, truck: str, code: str) -> tuple[Quantity, ...]:
    """Return what is hauled of one thing: its weight, its room in the truck, the loads before and after rounding up.

    A haul is also sold by its weight or its volume.
    """
    return (
        Quantity(f"{key}_weight", f"{label}: weight", "mass", mass, "All that is hauled."),
        Quantity(f"{key}_room", f"{label}: loose volume", "volume", loose, "All that is hauled."),
        Quantity(
            f"{key}_trucks", f"{label}: loads, not rounded", "number",
            f"max({key}_weight/{truck}_payload, {key}_room/{truck}_box)", "By weight or by box, whichever takes more.",
        ),
        Quantity(
            f"{key}_loads", label, "count", f"up({key}_trucks)", "Whole loads.", code=code, also=(f"{key}_weight", f"{key}_room"),
        ),
    )  # fmt: skip


# What has a code is priced: a total area by area, a count (up of what is not rounded) once for the job.
JOB: Final[tuple[Entry, ...]] = (
    Quantity("old_out", "remove old pavement", "area", "total(pavement)", "All areas.", code="old-pavement"),
    Quantity("dug", "dig, in the ground", "volume", "total(base_dig) + total(fill)", "All areas.", code="dig"),
    *_hauled("spoil", "haul soil away", "total(spoil)", "total(loose)", "spoil", "spoil-haul"),
    Quantity(
        "tip_loads", "tipping fee for soil", "count", "up(spoil_trucks)", "One for each load.", code="spoil-tip",
        also=("spoil_weight", "spoil_room"),
    ),
    Quantity("textile_rolls", "geotextile", "count", "last(textile_used)", "Whole rolls, cut through.", code="geotextile"),
    Quantity("grid_rolls", "geogrid", "count", "last(grid_used)", "Whole rolls, cut through.", code="geogrid"),
    Quantity("stone_bought", "base stone", "mass", "total(stone_mass)", "All areas.", code="base-stone"),
    *_hauled("stone", "haul stone", "total(stone_mass)", "total(stone_loose)", "supply", "stone-haul"),
    *_hauled("sand", "haul bedding sand", "total(sand_mass)", "total(sand_loose)", "supply", "stone-haul"),
    *_hauled("fill", "haul fill", "total(fill_mass)", "total(fill_loose)", "supply", "stone-haul"),
    Quantity("placed", "place and compact the base", "volume", "total(stone)", "All areas.", code="base-place"),
    Quantity("sand_bought", "bedding sand", "mass", "total(sand_mass)", "All areas.", code="bedding-sand"),
    Quantity("pavers_bought", "pavers", "area", "total(pavers)", "All areas.", code="pavers"),
    Quantity("lay", "lay and compact pavers", "area", "total(plan)", "All areas.", code="paver-lay"),
    Quantity("edge_bought", "edge restraint", "length", "total(edge)", "All areas.", code="edge-restraint"),
    Quantity("bags_used", "joint sand, not rounded", "number", "total(plan)*joint_cover/bag", "In bags."),
    Quantity("bags", "joint sand", "count", "up(bags_used)", "Whole bags, counted once for the job.", code="joint-sand"),
    Quantity("fill_bought", "granular fill", "mass", "total(fill_mass)", "All areas.", code="foundation-fill"),
    Quantity("fill_placed", "place granular fill", "volume", "total(fill)", "All areas.", code="foundation-place"),
)  # fmt: skip
RUBBLE: Final[tuple[Entry, ...]] = (  # a row for each kind of old pavement
    Input("kind", "kind", "word"),
    *_hauled(
        "rubble", "haul old pavement away", "total_where(rubble_mass, old_kind, kind)", "total_where(rubble, old_kind, kind)",
        "spoil", "old-pavement-haul",
    ),
)  # fmt: skip
_UNITS: Final = "amount/(size*rate)"
LINE: Final[tuple[Entry, ...]] = (  # a row for each priced line; an extra line is a row whose amount is typed
    Input("line_code", "price row", "word"),
    Input("amount", "amount", "any", 0, 1e12),
    Input("size", "amount in one unit of the price", "number", 1e-9),
    Input("rate", "units in an hour, else 1", "number", 1e-6),
    Input("unit_price", "unit price", "money"),
    Input("taxable", "taxable", "yes"),
    Input("as_price", "charged as it is, no markup", "yes"),
    Quantity("units_bought", "quantity, not rounded", "number", _UNITS, "In the unit of the price, or in hours."),
    Quantity("bought", "quantity", "number", f"printed({_UNITS}) if amount > 0 else 0", "As printed: two places."),
    Quantity("line", "amount of money", "money", "cents(bought*unit_price) if amount > 0 else 0", "Printed quantity times price, to the cent."),
    Quantity("line_cost", "cost", "money", "(0 if as_price else line) if amount > 0 else 0", "What is marked up."),
    Quantity("line_price", "charged as it is", "money", "(line if as_price else 0) if amount > 0 else 0", "What is not marked up."),
    Quantity("taxed", "taxable", "money", "(line if taxable else 0) if amount > 0 else 0", "What tax is due on."),
)  # fmt: skip
MINIMUM: Final[tuple[Entry, ...]] = (  # a row for each price row with a minimum charge
    Input("least_code", "price row", "word"),
    Input("least", "minimum charge", "money"),
    Input("least_taxable", "taxable", "yes"),
    Quantity(
        "least_rest", "rest of the minimum charge", "money",
        "cents(max(least - total_where(line, line_code, least_code), 0)) if total_where(bought, line_code, least_code) > 0 else 0",
        "What the lines of that price row lack, where there are any.",
    ),
    Quantity("least_taxed", "taxable", "money", "least_rest if least_taxable else 0", "What tax is due on."),
)  # fmt: skip
PRICE: Final[tuple[Entry, ...]] = (
    *(
        Input(f"{key}_share", key, "share", 0, high)
        for key, high in (
            ("contingency", 1), ("overhead", 2), ("profit", 0.95), ("tax", 0.5), ("discount", 0.5), ("deposit", 1),
            ("progress", 1),
        )
    ),
    Input("minimum_charge", "minimum charge of a job", "money"),
    Input("round_to", "price rounded up to whole", "money", 0, 1000),
    Quantity("cost", "cost", "money", "cents(total(line_cost) + total(least_rest))", "Sum of the printed lines."),
    Quantity("contingency", "contingency", "money", "cents(cost*contingency_share)", "On cost."),
    Quantity("overhead", "overhead", "money", "cents((cost + contingency)*overhead_share)", "On cost and contingency."),
    Quantity("before", "before profit", "money", "cents(cost + contingency + overhead)", "Cost of all kinds."),
    Quantity(
        "profit", "profit", "money", "cents(before*profit_share/(1 - profit_share))", "A share of the price before tax.",
        source="common practice, no source",
    ),
    Quantity("charged", "charged as it is", "money", "cents(total(line_price))", "Sum of the lines without markup."),
    Quantity("asked", "price before tax", "money", "cents(before + profit + charged)", "Before discount and minimum."),
    Quantity("discount", "discount", "money", "cents(asked*discount_share)", "A share of the price before tax."),
    Quantity(
        "small_job", "added to reach the minimum charge", "money",
        "cents(max(minimum_charge - asked + discount, 0)) if asked > 0 else 0", "A job is never charged below it.",
    ),
    Quantity("taxable_cost", "taxable", "money", "cents(total(taxed) + total(least_taxed))", "Sum of the taxable lines."),
    Quantity("tax", "tax", "money", "cents(taxable_cost*tax_share)", "On the taxable rows."),
    Quantity("summed", "price", "money", "cents(asked - discount + small_job + tax)", "Before it is rounded."),
    Quantity(
        "rounding", "rounding", "money", "cents(up(summed/round_to)*round_to - summed) if round_to > 0 else 0",
        "Up to whole 1, 10 or 50 dollars.",
    ),
    Quantity("price_total", "total", "money", "cents(summed + rounding)", "What the client pays."),
    Quantity("deposit", "deposit at signing", "money", "cents(price_total*deposit_share)", "A share of the total."),
    Quantity(
        "progress", "progress payment", "money", "cents(price_total*progress_share)", "A share of the total.",
        refuse=(("deposit_share + progress_share > 1", "deposit and progress payment are more than the total"),),
    ),
    Quantity("rest", "balance", "money", "cents(price_total - deposit - progress)", "What is left."),
)  # fmt: skip
MODEL: Final = Model(
    company=Table(COMPANY),
    area=Table(AREA),
    textile=_strips("textile"),
    grid=_strips("grid"),
    job=Table(JOB),
    rubble=Table(RUBBLE),
    line=Table(LINE),
    minimum=Table(MINIMUM),
    price=Table(PRICE),
)
